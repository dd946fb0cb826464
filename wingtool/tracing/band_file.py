"""A traced section on disk: the coordinate file that everybody reads, and the band beside it."""

import json
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import write_text
from wingtool.geometry import Section, kulfan, section_text
from wingtool.tracing.band import TracedSection
from wingtool.tracing.fit.curve import ORDER, SHAPE

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
