"""The outline that the fit moves: shape parameters and a frame, distances to it and their derivatives."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from wingtool.geometry import kulfan, polyline

ORDER = 12  # weights a side; over the open collection their truncation is 0.02 % chord rms in the median
SHAPE = 2 * ORDER + 2
NOSE, GAP = 2 * ORDER, 2 * ORDER + 1
SIDE_POINTS = 161
BASE_POINTS = 7
AFT_STATIONS = np.array([0.6, 0.7, 0.8, 0.85, 0.9, 0.94, 0.97, 0.99, 1.0])


@lru_cache(maxsize=1)
def closed_loop() -> tuple[np.ndarray, np.ndarray]:
    """Stations and matrix of the loop with the blunt tail's edge closed: (m,), (m, SHAPE)."""
    x, matrix = kulfan.loop_matrix(ORDER, SIDE_POINTS)
    down = np.linspace(-0.5, 0.5, BASE_POINTS + 2)[1:]
    base = np.zeros((len(down), SHAPE))
    base[:, -1] = down
    return np.concatenate([x, np.ones(len(down))]), np.vstack([matrix, base])


@lru_cache(maxsize=1)
def real_sections() -> tuple[np.ndarray, np.ndarray]:
    """Mean of the weights and nose term over the open collection (GAP,), and their covariance."""
    mean, *covariance = np.loadtxt(Path(__file__).with_name("real_sections.csv"), delimiter=",")
    return mean, np.array(covariance) + 1e-8 * np.eye(GAP)


@lru_cache(maxsize=1)
def thickness_columns() -> np.ndarray:
    """Thickness over the chord at stations of the aft half, per unit of shape parameters."""
    upper, lower = kulfan.side_rows(AFT_STATIONS, ORDER)
    return upper - lower


@dataclass(frozen=True, eq=False)
class Placed:
    """An outline in the frame of the readings.

    Parameters
    ----------
    shape : ndarray, shape (SHAPE,)
        Upper weights, lower weights, nose term, tail gap, over the chord.
    frame : ndarray, shape (4,)
        Nose x and y [mm], chord angle [rad], natural logarithm of the chord [mm].
    """

    shape: np.ndarray
    frame: np.ndarray

    @property
    def chord_mm(self) -> float:
        return float(np.exp(self.frame[3]))

    @property
    def angle_deg(self) -> float:
        """Of the chord line, tail up positive."""
        return float(np.degrees(self.frame[2]))

    @property
    def turn(self) -> np.ndarray:
        """Rotation from the chord's frame to that of the readings."""
        c, s = np.cos(self.frame[2]), np.sin(self.frame[2])
        return np.array([[c, -s], [s, c]])

    def loop_mm(self) -> np.ndarray:
        """The closed outline [mm], shape (m, 2), from the tail over the upper side."""
        x, matrix = closed_loop()
        return self.frame[:2] + self.chord_mm * np.column_stack([x, matrix @ self.shape]) @ self.turn.T

    def to_chord(self, points_mm: np.ndarray) -> np.ndarray:
        """Points of the readings over the chord, nose at the origin."""
        return (points_mm - self.frame[:2]) @ self.turn / self.chord_mm

    def moved(self, step: np.ndarray) -> "Placed":
        return Placed(self.shape + step[:SHAPE], self.frame + step[SHAPE : SHAPE + 4])


@dataclass(frozen=True, eq=False)
class Distances:
    """Signed distance of points from an outline, positive outside, and its derivatives.

    `distance_mm` (n,); `jacobian` (n, SHAPE + 4) is the outward movement of the outline at the foot of each
    point per unit of shape and frame parameters [mm]; `arc` (n,) is the foot's place along the loop over the
    chord; `x` and `side` say where the foot is.
    """

    distance_mm: np.ndarray
    jacobian: np.ndarray
    arc: np.ndarray
    x: np.ndarray
    side: np.ndarray


def _normals(loop: np.ndarray, segment: np.ndarray, fraction: np.ndarray) -> np.ndarray:
    """Outward normal at each foot; at a corner the mean of both segments', which tells inside from outside
    (J. A. Baerentzen and H. Aanaes, IEEE Trans. Vis. Comp. Graphics 11(3), 2005)."""
    along = np.diff(loop, axis=0)
    each = np.column_stack([along[:, 1], -along[:, 0]]) / np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    neighbour = np.where(fraction > 1.0 - 1e-9, segment + 1, np.where(fraction < 1e-9, segment - 1, segment))
    both = each[segment] + each[neighbour % len(each)]
    return both / np.maximum(np.hypot(*both.T), 1e-12)[:, None]


def _sides(count: int) -> np.ndarray:
    """Side of each segment of the closed loop: upper 1, lower -1, tail edge 0."""
    side = np.zeros(count, dtype=int)
    side[: SIDE_POINTS - 1] = 1
    side[SIDE_POINTS - 1 : 2 * (SIDE_POINTS - 1)] = -1
    return side


def distances(placed: Placed, points_mm: np.ndarray, side: np.ndarray, heights: bool = False) -> Distances:
    """Distances of points (n, 2) [mm] from a placed outline.

    A point whose `side` is known is held to that side from 3 % chord aft, so that noise at a thin tail does
    not jump across. Beyond a tail corner the distance is that from the corner, so that a pen's offset is
    removed along the true normal; with `heights`, which are read at a station, that from the side drawn on.
    """
    x_loop, matrix = closed_loop()
    loop = placed.loop_mm()
    segment_side = _sides(len(loop) - 1)
    aft = 0.5 * (x_loop[:-1] + x_loop[1:]) > 0.03
    wrong = ((side[:, None] * segment_side < 0) & aft) | (heights & (segment_side == 0))
    segment, fraction, away = polyline.feet(loop, points_mm, ~wrong)
    along = loop[segment + 1] - loop[segment]
    length = np.maximum(np.hypot(*along.T), 1e-12)
    x = (1.0 - fraction) * x_loop[segment] + fraction * x_loop[segment + 1]
    normal = _normals(loop, segment, fraction)
    reach = np.hypot(*away.T)
    sign = np.where((away * normal).sum(axis=1) >= 0.0, 1.0, -1.0)
    far = reach > 1e-3
    direction = np.where(far[:, None], away / np.maximum(reach, 1e-12)[:, None] * sign[:, None], normal)
    if heights:
        own = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        direction = np.where((x > 1.0 - 1e-9)[:, None], own, direction)
    blend = fraction[:, None]
    row = (1.0 - blend) * matrix[segment] + blend * matrix[segment + 1]
    foot = loop[segment] + fraction[:, None] * along - placed.frame[:2]
    jacobian = np.empty((len(points_mm), SHAPE + 4))
    jacobian[:, :SHAPE] = (direction @ placed.turn[:, 1])[:, None] * row * placed.chord_mm
    jacobian[:, SHAPE : SHAPE + 2] = direction
    jacobian[:, SHAPE + 2] = direction[:, 1] * foot[:, 0] - direction[:, 0] * foot[:, 1]
    jacobian[:, SHAPE + 3] = (direction * foot).sum(axis=1)
    arc_loop = polyline.arc_length(loop) / placed.chord_mm
    arc = arc_loop[segment] + fraction * length / placed.chord_mm
    return Distances((away * direction).sum(axis=1), jacobian, arc, x, segment_side[segment])
