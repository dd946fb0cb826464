"""One section over an angle range: what `wingtool sweep` computes, with a second opinion on it."""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from wingtool.errors import CoordinateFileError, StudyError
from wingtool.geometry import Section, find_section
from wingtool.section import DEFAULT_METHOD, METHODS, SOLVED, SURFACES, Question, SectionPolar, polar
from wingtool.study.flags import check_known, check_within
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import angle_range
from wingtool.study.section.parallel import polars_in_parts

SOUND_BELOW_STALL = ("converged", "two solutions")


def second_polar(first: SectionPolar) -> SectionPolar | None:
    """The surrogate at the same angles and Reynolds numbers; None with a tab, ground, itself."""
    known = first.tab_chord == 0.0 and not np.isfinite(first.height_chord)
    if first.method not in SOLVED or not known or first.section is None:
        return None
    return polar(first.section, first.reynolds, first.alpha_deg, "surrogate", first.surface, first.trip_x)


def outside_band(polar: SectionPolar, second: SectionPolar) -> np.ndarray:
    """Where below stall the second opinion lies outside the polar's own band of cl, boolean (k, m).

    Two methods that differ by more than either's error are how a solution on the wrong branch shows itself.
    """
    if polar.cl_low is None or polar.cl_high is None:
        return np.zeros(polar.cl.shape, bool)
    outside = (second.cl < polar.cl_low) | (second.cl > polar.cl_high)
    return outside & np.isin(polar.status, SOUND_BELOW_STALL)


LOWEST_REYNOLDS, HIGHEST_REYNOLDS = 1e4, 1e8


def sweep_section(
    section: str,
    reynolds: str,
    angles: str,
    method: str = DEFAULT_METHOD,
    surface: str = "race",
    trip_x: float | None = None,
    tab_percent: float = 0.0,
    ground_chord: float | None = None,
    jobs: int = 1,
    keep_in: Path | None = None,
    progress: Callable[[str], None] = no_progress,
) -> SectionPolar:
    """Polar of a section from the words of a command line.

    Parameters
    ----------
    section : str
        Coordinate file, designation, or name in a collection.
    reynolds : str
        One or several Reynolds numbers, with commas between.
    angles : str
        ``FROM:TO:STEP`` [deg].
    trip_x : float, optional
        Trip on both sides [x/c].
    tab_percent : float
        Height of the trailing-edge tab [per cent of chord], 0 to 5.
    ground_chord : float, optional
        Lowest point of the turned-over section above the ground, over the chord; free air if left out.
    jobs, keep_in, progress
        As for `sweep_grid`; the rows are the same for any number of jobs.

    Raises
    ------
    WingtoolError
        An unknown section, or a value that cannot be meant; the message names the flag.
    """
    check_known(method, METHODS, "--method")
    check_known(surface, SURFACES, "--surface")
    if trip_x is not None:
        check_within(trip_x, 0.0, 1.0, "--trip", "x/c")
    check_within(tab_percent, 0.0, 5.0, "--tab", "per cent of chord")
    if ground_chord is not None:
        check_within(ground_chord, 0.02, 50.0, "--ground", "chords")
    check_within(jobs, 1, 256, "--jobs", "processes")
    height_chord = np.inf if ground_chord is None else ground_chord
    state = (surface, trip_x, tab_percent / 100.0, height_chord)
    question = Question(find_section(section), reynolds_numbers(reynolds), angles_asked(angles), *state)
    (found,) = polars_in_parts([question], method, jobs=int(jobs), keep_in=keep_in, progress=progress)
    return found


def section_of(text: str, folder: Path) -> Section:
    """The section that a study names: a file beside the study, else whatever `find_section` knows."""
    beside = folder / text
    if beside.is_file():
        return find_section(str(beside))
    try:
        return find_section(text)
    except CoordinateFileError as error:
        sentence = f"{error}; the study names it, and files are looked for beside it, in {folder.resolve()}"
        raise CoordinateFileError(sentence) from None


def reynolds_numbers(text: str) -> np.ndarray:
    """Rising Reynolds numbers, shape (k,), from text with commas.

    Examples
    --------
    >>> reynolds_numbers("1e6, 5e5").tolist()
    [500000.0, 1000000.0]
    """
    try:
        values = np.unique([float(part) for part in text.split(",")])
    except ValueError:
        raise StudyError(f"--reynolds: {text!r} is not a number; write for example 5e5 or 3e5,1e6") from None
    for value in values:
        check_within(value, LOWEST_REYNOLDS, HIGHEST_REYNOLDS, "--reynolds")
    return values


def angles_asked(text: str, most_deg: float = 90.0) -> np.ndarray:
    """Angles [deg] of the option --angles; StudyError names it where they are no range or too large."""
    try:
        angles = np.array(angle_range(text))
    except ValueError as error:
        raise StudyError(f"--angles: {error}") from None
    for end in (angles[0], angles[-1]):
        check_within(end, -most_deg, most_deg, "--angles", "degrees")
    return angles
