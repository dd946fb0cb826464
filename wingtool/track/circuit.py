"""A circuit as curvature and camber over distance, from segments or from a log of one lap."""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import LogError, StudyError

STEP_M = 1.0
WIDEST_CORNER_M = 400.0  # a wider bend counts as straight; own choice
EASE_M = 20.0  # straight and arc do not join with a jump of curvature on any road


@dataclass(frozen=True)
class Segment:
    """A straight (`radius_m` None) or a corner of constant radius; positive camber helps it turn."""

    name: str
    length_m: float
    radius_m: float | None = None
    camber_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Circuit:
    """One lap cut into equal steps.

    Parameters
    ----------
    name : str
    step_m : float
        Length of a step [m]; n steps make the lap.
    curvature_1_m : ndarray, shape (n,)
        Size of the curvature at the middle of each step [1/m].
    camber_rad : ndarray, shape (n,)
        Positive towards the inside of the corner.
    part : ndarray of int, shape (n,)
        Index into `names` for each step.
    names : tuple of str
        Corners and straights in driving order.
    origin : str
        Where it comes from.
    """

    name: str
    step_m: float
    curvature_1_m: np.ndarray
    camber_rad: np.ndarray
    part: np.ndarray
    names: tuple[str, ...]
    origin: str

    @property
    def length_m(self) -> float:
        """Length of the lap [m]."""
        return self.step_m * len(self.curvature_1_m)

    @property
    def distance_m(self) -> np.ndarray:
        """Distance at the end of each step [m]."""
        return self.step_m * np.arange(1, len(self.curvature_1_m) + 1)


def circuit_from_segments(name: str, segments: tuple[Segment, ...], step_m: float = STEP_M) -> Circuit:
    """A circuit of straights and arcs; curvature is eased over 20 m at each joint.

    Easing is a running mean, so the turned angle (the sum of curvature times length) is kept.

    Raises
    ------
    StudyError
        No segments, or a lap shorter than 100 m or longer than 50 km.
    """
    total = sum(segment.length_m for segment in segments)
    if not 100.0 <= total <= 50e3:
        raise StudyError(f"circuit: the segments make {total:.4g} m; give 100 m to 50 km")
    steps = max(round(total / step_m), 1)
    step = total / steps
    middle = (np.arange(steps) + 0.5) * step
    ends = np.cumsum([segment.length_m for segment in segments])
    part = np.minimum(np.searchsorted(ends, middle, side="right"), len(segments) - 1)
    sharp = np.array([1.0 / s.radius_m if s.radius_m else 0.0 for s in segments])[part]
    camber = np.radians([s.camber_deg for s in segments])[part]
    curvature, camber = (running_mean(values, round(EASE_M / step)) for values in (sharp, camber))
    names = tuple(segment.name for segment in segments)
    return Circuit(name, step, curvature, camber, part, names, "segments of the study")


def running_mean(values: np.ndarray, width: int) -> np.ndarray:
    """Mean over `width` neighbours round a closed lap."""
    width = max(min(width, len(values)), 1)
    wrapped = np.pad(np.asarray(values, float), (width // 2, (width - 1) // 2), mode="wrap")
    return np.convolve(wrapped, np.full(width, 1.0 / width), "valid")


def circuit_from_lap(
    name: str, distance_m: np.ndarray, speed_m_s: np.ndarray, lateral_m_s2: np.ndarray
) -> Circuit:
    """A circuit from one logged lap: curvature = lateral acceleration / speed squared.

    Camber is not seen by a log and is taken as none: it hides in the curvature that the car made of it.

    Raises
    ------
    LogError
        The lap is shorter than 100 m, or slower than 3 m/s for more than a tenth of it.
    """
    length = float(distance_m[-1] - distance_m[0])
    if length < 100.0 or np.mean(speed_m_s < 3.0) > 0.1:
        raise LogError("the lap in the log is under 100 m or the car mostly stands; choose a flying lap")
    steps = round(length / STEP_M)
    step = length / steps
    at = distance_m[0] + (np.arange(steps) + 0.5) * step
    rough = np.abs(lateral_m_s2) / np.maximum(speed_m_s, 3.0) ** 2
    curvature = running_mean(np.interp(at, distance_m, rough), round(EASE_M / step))
    part, names = corners_of(curvature)
    return Circuit(name, step, curvature, np.zeros(steps), part, names, "logged lap; camber not seen")


def corners_of(curvature_1_m: np.ndarray) -> tuple[np.ndarray, tuple[str, ...]]:
    """Cut a lap at 400 m radius into corners and straights, numbered as they come."""
    turning = curvature_1_m >= 1.0 / WIDEST_CORNER_M
    change = np.r_[False, turning[1:] != turning[:-1]]
    turns = turning[np.r_[0, np.flatnonzero(change)]]  # of each part
    corners = zip(turns, np.cumsum(turns), strict=True)
    names = tuple(f"corner {k}" if turn else f"straight after {k}" for turn, k in corners)
    return np.cumsum(change), names
