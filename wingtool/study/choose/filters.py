"""What a home builder can make: filters on the shape, at the study's chord."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np

from wingtool.errors import StudyError
from wingtool.geometry import kulfan
from wingtool.study.choose.shapes import GAP, Shapes
from wingtool.study.flags import check_known, check_within
from wingtool.tracing import KULFAN_ORDER
from wingtool.units import METRE_PER_INCH, METRIC, DisplayUnits, quantity

SPAR_X = 0.30  # of the chord: where a spar stands as a rule; common practice, no source
TAIL_PART = 0.05  # of the chord, over which the tail's angle is taken
HOLLOW_X = np.linspace(0.10, 0.96, 44)  # where hollows are looked for
DEEP = 0.2  # curvature times chord: a hollow flatter than five chords is none; own choice
LEAST_THICKNESS = 0.005  # over the chord, from 5 to 90 %: sides that cross or nearly so are no section


@dataclass(frozen=True)
class Filters:
    """Limits of a builder, lengths in metre at full size; zero asks for nothing.

    Parameters
    ----------
    spar_thickness_m, spar_x : float
        Least thickness at the spar, and its place [x/c].
    tail_angle_deg : float
        Least angle between the sides at the tail.
    hollow_radius_m : float
        Least radius of a hollow.
    nose_radius_m : float
        Least radius of the nose.
    tail_thickness_m : float
        Least thickness of the tail. A thinner tail is opened to it, as a builder does, not refused.
    """

    spar_thickness_m: float = 0.0
    tail_angle_deg: float = 0.0
    hollow_radius_m: float = 0.0
    nose_radius_m: float = 0.0
    tail_thickness_m: float = 0.0
    spar_x: float = SPAR_X


LENGTHS = {"--spar": "spar_thickness_m", "--tail": "tail_thickness_m", "--hollow": "hollow_radius_m",
           "--nose": "nose_radius_m"}  # fmt: skip
# Common practice, no source: what the three ways of a home builder leave sound.
WAYS = {
    "wire": Filters(tail_angle_deg=6.0, hollow_radius_m=0.10, nose_radius_m=0.0015, tail_thickness_m=0.0015),
    "ribs": Filters(tail_angle_deg=8.0, hollow_radius_m=0.40, nose_radius_m=0.0030, tail_thickness_m=0.0020),
    "mould": Filters(tail_angle_deg=4.0, hollow_radius_m=0.02, nose_radius_m=0.0010, tail_thickness_m=0.0010),
}


def filters_for(
    way: str | None,
    lengths: Mapping[str, str | None] = {},
    spar_x: float = SPAR_X,
    tail_angle_deg: float | None = None,
) -> Filters:
    """The filters of a way of building, with the user's own limits in their place.

    Parameters
    ----------
    way : str, optional
        A key of `WAYS`.
    lengths : mapping
        By flag (`LENGTHS`), as text with a unit; None where not given.

    Raises
    ------
    WingtoolError
        An unknown way, a length without a unit, a spar off the chord.
    """
    if way is not None:
        check_known(way, WAYS, "--build")
    check_within(spar_x, 0.05, 0.9, "--spar-at", "of the chord")
    base = Filters() if way is None else WAYS[way]
    own = {
        LENGTHS[flag]: quantity(text, "length", flag) for flag, text in lengths.items() if text is not None
    }
    if tail_angle_deg is not None:
        own["tail_angle_deg"] = tail_angle_deg
    return replace(base, spar_x=spar_x, **own)


def measured(rows: np.ndarray, spar_x: float = SPAR_X) -> dict[str, np.ndarray]:
    """Measures (n,) over the chord of rows of shape parameters (n, 26); no hollow has the radius inf."""
    x = np.linspace(0.05, 0.90, 69)
    upper, lower = (rows @ side.T for side in kulfan.side_rows(x, KULFAN_ORDER))
    places = np.array([spar_x, 1.0 - TAIL_PART, 1.0])
    at = np.subtract(*(rows @ side.T for side in kulfan.side_rows(places, KULFAN_ORDER)))
    root = 0.5 * (rows[:, 0] - rows[:, KULFAN_ORDER])  # half thickness over the root of x at the nose
    return {
        "thickness": (upper - lower).max(axis=1),
        "at_spar": at[:, 0],
        "nose_radius": 0.5 * root**2,
        "tail_angle_deg": np.degrees(2.0 * np.arctan((at[:, 1] - at[:, 2]) / (2.0 * TAIL_PART))),
        "hollow_radius": _hollow_radius(rows),
        "least_thickness": (upper - lower).min(axis=1),
    }


def _hollow_radius(rows: np.ndarray) -> np.ndarray:
    """Tightest hollow of both sides, over the chord (n,): y'' of either side bends away from the inside."""
    h = 0.02
    ahead, here, behind = (kulfan.side_rows(HOLLOW_X + d, KULFAN_ORDER) for d in (-h, 0.0, h))
    tightest = np.full(len(rows), DEEP)
    for side, sign in ((0, 1.0), (1, -1.0)):
        a, b, c = (rows @ place[side].T for place in (ahead, here, behind))
        slope, bend = (c - a) / (2 * h), sign * (a - 2 * b + c) / h**2
        tightest = np.maximum(tightest, (bend / (1.0 + slope**2) ** 1.5).max(axis=1))
    return np.where(tightest > DEEP, 1.0 / tightest, np.inf)


def margins(
    rows: np.ndarray, filters: Filters, chord_m: float, units: DisplayUnits = METRIC
) -> dict[str, np.ndarray]:
    """By how much each row (n, 26) keeps each limit, over the limit's own size; negative where it does not.

    Keys are the limits in words. Only limits that ask for something, and the one that sides do not cross.
    """
    found = measured(rows, filters.spar_x)
    spar, nose, hollow = filters.spar_thickness_m, filters.nose_radius_m, filters.hollow_radius_m
    at_spar = f"{size_text(spar, units)} thick at {100 * filters.spar_x:.0f} % of the chord"
    flat = np.minimum(found["hollow_radius"] * chord_m, 1e3)
    asked = (
        ("sides that do not cross", LEAST_THICKNESS, found["least_thickness"]),
        (at_spar, spar, found["at_spar"] * chord_m),
        (f"nose radius of {size_text(nose, units)}", nose, found["nose_radius"] * chord_m),
        (f"tail angle of {filters.tail_angle_deg:.3g}°", filters.tail_angle_deg, found["tail_angle_deg"]),
        (f"no hollow tighter than {size_text(hollow, units)}", hollow, flat),
    )
    return {what: kept / least - 1.0 for what, least, kept in asked if least > 0.0}


def size_text(metre: float, units: DisplayUnits) -> str:
    """A small length in the study's own unit, to the hundredth of an inch or two figures of a millimetre.

    Examples
    --------
    >>> size_text(0.022, DisplayUnits()), size_text(0.0015, DisplayUnits(length="in"))
    ('22 mm', '0.059 in')
    """
    inch = units.length == "in"
    return f"{metre / METRE_PER_INCH:.2g} in" if inch else f"{1000 * metre:.3g} mm"


def applied(
    shapes: Shapes, filters: Filters, chord_m: float, units: DisplayUnits = METRIC
) -> tuple[Shapes, dict[str, int], str]:
    """The shapes that keep every limit, tails opened; how many each limit removes; what the own one fails.

    The study's own section stays, as what the others are compared with.

    Raises
    ------
    StudyError
        A limit below zero, or nothing left; the message says how many each filter removed.
    """
    for field in fields(filters):
        if not 0.0 <= getattr(filters, field.name) < 90.0:
            raise StudyError(f"filter {field.name}: {getattr(filters, field.name):g} cannot be; correct it")
    rows = shapes.rows.copy()
    rows[:, GAP] = np.maximum(rows[:, GAP], filters.tail_thickness_m / chord_m)
    kept = {what: margin >= 0.0 for what, margin in margins(rows, filters, chord_m, units).items()}
    removed = {what: int((~one).sum()) for what, one in kept.items()}
    keep = np.all(list(kept.values()), axis=0)
    if not keep.any():
        sentence = "; ".join(f"{what} removes {count}" for what, count in removed.items())
        raise StudyError(f"no section of {len(shapes)} passes all filters: {sentence}; loosen one of them")
    fails = ", ".join(what for what, one in kept.items() if not one[shapes.own].all())
    return replace(shapes, rows=rows).take(keep | shapes.own), removed, fails
