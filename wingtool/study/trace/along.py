"""Several sections of one tapered or twisted wing in one job: shape, chord and twist along the span."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.study.progress import no_progress
from wingtool.study.schema.read import forward_slashes
from wingtool.study.schema.toml_text import toml_data, toml_text
from wingtool.study.trace.measure import Measured, TraceRequest, check_words, length_mm, measure_section
from wingtool.study.trace.shape_band import TWO_SIDED_95

WORDS = words_beside(__file__, "along")
FILES = ("photo", "points", "stations", "marks", "clicked")
OF_ONE_SECTION = {"name", "reynolds", "angle_deg", "surface", "method"}
KEYS = {field.name for field in fields(TraceRequest)} - OF_ONE_SECTION
MOST_TWIST_DEG = 10.0
FARTHEST = 0.25  # from middle and tip: over so much a straight line is drawn on
FORM = 'span = "1.4 m" and height = "1.1 m", then tables [[station]], each with its span_fraction'


@dataclass(frozen=True, eq=False)
class MeasuredSpan:
    """Sections of one wing from the middle outwards.

    `span`, `height` as the list has them; `span_fraction` (n,) 0 in the middle, 1 at the tip; `twist_deg`
    (n,) against the middle, nan where no common line was stated, with its standard deviation
    `twist_error_deg`; bands are half widths of 95 %; `inputs` are the files that were read.
    """

    span: str
    height: str
    span_fraction: np.ndarray
    sections: tuple[Measured, ...]
    twist_deg: np.ndarray
    twist_error_deg: np.ndarray
    inputs: tuple[Path, ...]
    doubts: tuple[str, ...] = ()

    @property
    def chord_mm(self) -> np.ndarray:
        return np.array([section.found.chord_mm for section in self.sections])

    @property
    def chord_band_mm(self) -> np.ndarray:
        return TWO_SIDED_95 * np.array([section.found.chord_error_mm for section in self.sections])

    @property
    def twist_band_deg(self) -> np.ndarray:
        return TWO_SIDED_95 * self.twist_error_deg

    def at(self, span_fraction: float, values: np.ndarray) -> float:
        """Values (n,) of the sections at a place, along straight lines, past the last ones too."""
        from scipy.interpolate import make_interp_spline

        return float(make_interp_spline(self.span_fraction, values, k=1)(span_fraction))


def measure_span(path: Path, name: str, progress: Callable[[str], None] = no_progress) -> MeasuredSpan:
    """The sections that a list names, each measured on its own, and chord and twist along the span.

    Parameters
    ----------
    path : Path
        A TOML file: `span`, `height`, perhaps `datum_error_deg`, and keys of `TraceRequest` for all sections;
        in tables ``[[station]]`` the same keys for one section, its `span_fraction` and perhaps `datum_deg`.
        `datum_error_deg` [deg] says that the tables or sheets lay along one line, and how well (a standard
        deviation); `datum_deg` is the angle of one of them to that line, tail end down positive.
    name : str
        Of the wing; sections are numbered from the middle outwards.

    Raises
    ------
    WingtoolError
        A list that cannot be meant, or a section that gives no outline; the message says which.
    """
    data = toml_data(forward_slashes(toml_text(path)), path)
    rows = data.pop("station", [])
    if not isinstance(rows, list) or len(rows) < 2 or not all(isinstance(row, dict) for row in rows):
        raise TraceError(f"{path}: two stations at least make a wing: give {FORM}")
    span, height = (_text(data.pop(key, None), path, key) for key in ("span", "height"))
    length_mm(span, f"{path}: span")
    length_mm(height, f"{path}: height")
    datum_error = data.pop("datum_error_deg", None)
    if datum_error is not None:
        _number(datum_error, path, "datum_error_deg", 0.01, 5.0)
    places = [_number(row.pop("span_fraction", None), path, "span_fraction", 0.0, 1.0) for row in rows]
    if len(set(places)) < len(places):
        raise TraceError(f"{path}: two stations at one span_fraction; correct the places")
    if min(places) > FARTHEST or max(places) < 1.0 - FARTHEST:
        raise TraceError(WORDS["open"].format(path, min(places), max(places)))
    order = np.argsort(places)
    angles, errors, sections, inputs = [], [], [], [path]
    for number, k in enumerate(order, start=1):
        where = f"{path}, station at span_fraction {places[k]:g}"
        datum = _number(rows[k].pop("datum_deg", 0.0), where, "datum_deg", -90.0, 90.0)
        progress(f"section {number} of {len(rows)}")
        request = _request(data | rows[k], where, path.parent, f"{name}-{number}")
        try:
            measured = measure_section(request)
        except TraceError as error:
            raise TraceError(f"{where}: {error}") from None
        lay = -1.0 if request.suction_side == "down" else 1.0
        angles.append(lay * datum - measured.fitted.placed.angle_deg)
        errors.append(np.hypot(measured.fitted.angle_error_deg, datum_error or np.nan))
        sections.append(measured)
        inputs += [file for key in FILES if (file := getattr(request, key))]
    along = np.array(places)[order], tuple(sections), np.array(angles), np.array(errors)
    wing = MeasuredSpan(span, height, *along, tuple(inputs))
    return _twisted(wing)  # nan errors, so no twist, where no common line was stated


def _twisted(wing: MeasuredSpan) -> MeasuredSpan:
    """Twist against the middle, its error in each section's band, and what speaks against it."""
    error = np.hypot(wing.twist_error_deg, wing.twist_error_deg[0]) * (np.arange(len(wing.sections)) > 0)
    twist = np.where(np.isnan(error), np.nan, wing.twist_deg - wing.at(0.0, wing.twist_deg))
    sections = tuple(
        replace(section, found=replace(section.found, twist_error_deg=float(np.nan_to_num(own))))
        for section, own in zip(wing.sections, error, strict=True)
    )
    doubts = tuple(
        f"at span_fraction {place:g}: {doubt}"
        for place, section in zip(wing.span_fraction, sections, strict=True)
        for doubt in section.doubts
    )
    if np.nanmax(np.abs(twist), initial=0.0) > MOST_TWIST_DEG:
        doubts += (
            f"a twist of {twist[np.nanargmax(np.abs(twist))]:.0f} deg: see that all lay along one line",
        )
    return replace(wing, sections=sections, twist_deg=twist, twist_error_deg=error, doubts=doubts)


def _request(keys: dict[str, Any], where: str, folder: Path, name: str) -> TraceRequest:
    """One section's request; files are taken from the list's folder."""
    for key, value in keys.items():
        if key not in KEYS:
            raise TraceError(f"{where}: unknown key {key}; known are {', '.join(sorted(KEYS))}")
        if key != "dark_sheet":
            _text(value, where, key)
        elif not isinstance(value, bool):
            raise TraceError(f"{where}: dark_sheet: write true or false")
    paths = {key: folder / keys[key] for key in FILES if key in keys}
    request = TraceRequest(**(keys | paths | {"name": name}))
    try:
        check_words(request)
    except TraceError as error:
        raise TraceError(f"{where}: {error}") from None
    return request


def _text(value: Any, where: object, key: str) -> str:
    if not isinstance(value, str):
        raise TraceError(f'{where}: {key}: a text in quotes is wanted, as in span = "1.4 m"')
    return value


def _number(value: Any, where: object, key: str, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise TraceError(f"{where}: {key}: a number from {low:g} to {high:g} is wanted")
    return float(value)
