"""The traced section with its band: what a fit leaves open, as draws, widths and measures; both on disk."""

import json
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import write_text
from wingtool.geometry import Section, kulfan, section_text
from wingtool.tracing.fit.curve import GAP, NOSE, ORDER, SHAPE, Placed, distances
from wingtool.tracing.fit.solve import TRUNCATION, Fitted

WIDE = 0.03  # of the chord: a band as wide says nothing of the outline there
TWO_SIDED_95 = 1.96  # normal distribution
MEASURE_STATIONS = np.linspace(0.05, 0.95, 37)


@dataclass(frozen=True, eq=False)
class TracedSection:
    """A section found by measuring, with what the measuring leaves open.

    Parameters
    ----------
    section : Section
        Unit chord, as the trade stores it, from the best shape parameters.
    band_mm : ndarray, shape (n,)
        Half width of the 95 % band across the outline at each of the section's points [mm].
    shape, covariance : ndarray, shapes (SHAPE,) and (SHAPE, SHAPE)
        Shape parameters (Kulfan weights, nose term, tail gap over the chord) and their covariance.
    chord_mm, chord_error_mm : float
        Chord and its standard deviation [mm].
    error_mm : float
        The stated error, a standard deviation [mm].
    way : str
        ``photo``, ``points`` or ``stations``.
    twist_error_deg : float
        Of the chord line against the middle's, in a wing measured at several places [deg].
    notes : tuple of str
    forces : ndarray, shape (k, 3)
        Force [N], speed [m/s] and wing angle [deg] of each reading that has narrowed the band.
    """

    section: Section
    band_mm: np.ndarray
    shape: np.ndarray
    covariance: np.ndarray
    chord_mm: float
    chord_error_mm: float
    error_mm: float
    way: str
    twist_error_deg: float = 0.0
    notes: tuple[str, ...] = field(default=())
    forces: np.ndarray = field(default_factory=lambda: np.zeros((0, 3)))


def traced(fitted: Fitted, name: str, error_mm: float) -> TracedSection:
    """The fitted outline as a section of unit chord, with its band."""
    points = kulfan.outline(fitted.placed.shape)
    way = fitted.readings.way
    origin = f"traced from {way}, {len(fitted.residual_mm)} points, error {error_mm:g} mm"
    return TracedSection(
        section=Section(name, points, origin),
        band_mm=band_of(fitted.placed.shape, fitted.covariance, fitted.placed.chord_mm, points),
        shape=fitted.placed.shape,
        covariance=fitted.covariance,
        chord_mm=fitted.placed.chord_mm,
        chord_error_mm=fitted.chord_error_mm,
        error_mm=error_mm,
        way=way,
        notes=fitted.readings.notes + fitted.doubts,
    )


def narrowed(
    found: TracedSection, shape: np.ndarray, covariance: np.ndarray, note: str, force: np.ndarray
) -> TracedSection:
    """The traced section after a force has told more about its shape; a new object."""
    points = kulfan.outline(shape)
    return replace(
        found,
        section=Section(found.section.name, points, f"{found.section.origin}; {note}"),
        band_mm=band_of(shape, covariance, found.chord_mm, points),
        shape=shape,
        covariance=covariance,
        notes=(*found.notes, note),
        forces=np.vstack([found.forces, force]),
    )


def band_of(shape: np.ndarray, covariance: np.ndarray, chord_mm: float, points: np.ndarray) -> np.ndarray:
    """Half width [mm] of the 95 % band across the outline at points (n, 2) over the chord.

    Chord and nose stay where they are: this is the band of the shape, not of its place.
    """
    placed = Placed(shape, np.array([0.0, 0.0, 0.0, np.log(chord_mm)]))
    rows = distances(placed, points * chord_mm, np.zeros(len(points), dtype=int)).jacobian[:, :SHAPE]
    variance = np.einsum("ij,jk,ik->i", rows, covariance, rows)
    return TWO_SIDED_95 * np.sqrt(np.maximum(variance, 0.0) + (TRUNCATION * chord_mm) ** 2)


def widest(found: TracedSection) -> str:
    """How wide the band is at its widest, and where; empty if that is no more than 3 % of the chord."""
    at = int(found.band_mm.argmax())
    if found.band_mm[at] <= WIDE * found.chord_mm:
        return ""
    x = found.section.xy[:, 0]
    side = "upper" if at < x.argmin() else "lower"
    return f"+-{found.band_mm[at]:.1f} mm at {x[at]:.0%} of the chord, {side} side as drawn"


def draws(shape: np.ndarray, covariance: np.ndarray, count: int, seed: int = 1) -> np.ndarray:
    """Shapes that the measurements allow, (count, SHAPE): smooth deformations, correlated along the outline.

    The tail gap of a draw is never below zero.
    """
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0)) @ vectors.T  # no sign of an eigenvector in it
    found = shape + np.random.default_rng(seed).normal(size=(count, SHAPE)) @ root
    found[:, GAP] = np.maximum(found[:, GAP], 0.0)
    return found


def for_surrogate(shapes: np.ndarray) -> np.ndarray:
    """Rows (n, 18) of eight weights a side, nose term and tail gap, from rows (n, SHAPE)."""
    rows = np.atleast_2d(shapes) @ kulfan.surrogate_matrix(ORDER).T
    rows[:, -1] = np.maximum(rows[:, -1], 0.0)
    return rows


def camber_of(shape: np.ndarray) -> float:
    """Largest ordinate of the mean line over the chord, with its sign."""
    return float(measure_rows(shape)["greatest camber"][0] @ shape)


def measure_bands(found: TracedSection) -> dict[str, float]:
    """Half widths (95 %) over the chord of greatest thickness, camber, nose radius and tail gap."""
    rows = measure_rows(found.shape)
    first = {name: rows[name][0] for name in ("thickness", "greatest camber", "nose radius", "tail")}
    return {
        name: TWO_SIDED_95 * float(np.sqrt(row @ found.covariance @ row + TRUNCATION**2))
        for name, row in first.items()
    }


def measure_rows(shape: np.ndarray) -> dict[str, np.ndarray]:
    """Derivatives by the shape of what a person can measure by hand, over the chord; rows (r, SHAPE).

    Examples
    --------
    The nose radius is half the square of the mean first weight (Kulfan 2008, equation 5).

    >>> shape = np.zeros(SHAPE)
    >>> shape[0], shape[ORDER] = 0.2, -0.2
    >>> float(measure_rows(shape)["nose radius"][0, 0])
    0.1
    """
    upper, lower = kulfan.side_rows(MEASURE_STATIONS, ORDER)
    thickness, camber = upper - lower, 0.5 * (upper + lower)
    first = 0.5 * (shape[0] - shape[ORDER])
    unit = np.eye(SHAPE)
    radius, nose, gap = 0.5 * first * (unit[[0]] - unit[[ORDER]]), unit[[NOSE]], unit[[GAP]]
    thickest, most = int((thickness @ shape).argmax()), int(np.abs(camber @ shape).argmax())
    at = [np.abs(MEASURE_STATIONS - x).argmin() for x in (0.25, 0.5, 0.75)]
    aft = np.abs(MEASURE_STATIONS - 0.9).argmin()
    return {
        "nose radius": radius,
        "nose, both sides": np.vstack([radius, nose, upper[:1], lower[:1]]),
        "camber": camber[at],
        "greatest camber": camber[[most]],
        "thickness": thickness[[thickest]],
        "tail thickness": np.vstack([gap, thickness[[aft]]]),
        "tail": np.vstack([gap, thickness[[aft]], camber[[aft]]]),
    }


FORMAT = 1
NUMBERS = ("chord_mm", "chord_error_mm", "error_mm")


def band_path(path: Path | str) -> Path:
    """Where the band of a coordinate file stands: beside it, ``.band.json`` in place of its suffix."""
    return Path(path).with_suffix(".band.json")


def write_traced(found: TracedSection, path: Path | str) -> tuple[Path, Path]:
    """Write the coordinate file and its band file; returns both paths.

    Raises
    ------
    OutputError
        A file cannot be written.
    """
    stored = {
        "what": "band of a traced section: shape parameters over the chord and their covariance",
        "format": FORMAT,
        "name": found.section.name,
        "origin": found.section.origin,
        "way": found.way,
        **{name: getattr(found, name) for name in NUMBERS},
        "twist_error_deg": found.twist_error_deg,
        "notes": list(found.notes),
        "forces_n_m_s_deg": found.forces.tolist(),
        "weights_a_side": ORDER,
        "shape": found.shape.tolist(),
        "covariance": found.covariance.tolist(),
        "columns": ["x", "y", "band_mm"],
        "points": np.column_stack([found.section.xy, found.band_mm]).round(7).tolist(),
    }
    coordinates = write_text(path, section_text(found.section))
    return coordinates, write_text(band_path(path), json.dumps(stored, indent=1) + "\n")


def read_traced(path: Path | str) -> TracedSection | None:
    """The traced section whose coordinate file is at `path`; None when no band file lies beside it.

    Raises
    ------
    TraceError
        The band file is broken, of another format, or not that of this coordinate file.
    """
    beside = band_path(path)
    if not beside.is_file():
        return None
    mend = "trace the section again, or delete the band file to go on without a band"
    try:
        stored = json.loads(beside.read_text(encoding="utf-8"))
        shape = np.array(stored["shape"], dtype=float)
        covariance = np.array(stored["covariance"], dtype=float)
        points = np.array(stored["points"], dtype=float)
        numbers = {name: float(stored[name]) for name in NUMBERS}
        numbers["twist_error_deg"] = float(stored.get("twist_error_deg", 0.0))  # older files have neither
        forces = np.array(stored.get("forces_n_m_s_deg", []), dtype=float).reshape(-1, 3)
        texts = {name: str(stored[name]) for name in ("name", "origin", "way")}
        notes = tuple(str(note) for note in stored["notes"])
        known = stored["format"] == FORMAT and stored["weights_a_side"] == ORDER
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise TraceError(f"{beside}: not a band file ({error}); {mend}") from None
    sound = (
        shape.shape == (SHAPE,) and covariance.shape == (SHAPE, SHAPE) and points.shape == (len(points), 3)
    )
    if not (known and sound and np.all(np.isfinite(covariance)) and np.all(np.isfinite(shape))):
        raise TraceError(f"{beside}: a band file of another format; {mend}")
    section = Section(texts["name"], kulfan.outline(shape), texts["origin"])
    return TracedSection(
        section, points[:, 2], shape, covariance, way=texts["way"], notes=notes, forces=forces, **numbers
    )
