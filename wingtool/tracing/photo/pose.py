"""Where the camera stood, from the map of the sheet, and what its height does to the edge of a thick rib.

The columns of the inverse map are the sheet's axes seen through the lens: at right angles and of one length,
once the focal length is right (Z. Zhang, "A Flexible New Technique for Camera Calibration", IEEE PAMI
22(11), 2000, equations 3 and 4). Square on they do not show the focal length: then it comes from the photo's
own record, the stated distance, or a phone's usual lens.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.tracing.photo.plane import Plane

# the sheets ask for 1.5 m, people stand closer; spread of the logarithm: common practice, no source
USUAL_DISTANCE_MM, DISTANCE_SPREAD = 1100.0, 0.45
STATED_ERROR, RECORDED_ERROR, GUESSED_ERROR = 0.05, 0.15, 0.35  # of the height
SQUARENESS = 0.005  # of the axes seen, as marks are found: common practice, no source
COMMON_RIB_MM = 4.0
UNKNOWN_RIB_MM = 1.5  # standard deviation of a rib's thickness that nobody stated


@dataclass(frozen=True, eq=False)
class Pose:
    """Camera position (3,) over the sheet [mm], and the angle [deg] of its axis off the sheet's normal.

    `height_error` is the standard deviation of its height, over the height.
    """

    camera_mm: np.ndarray
    tilt_deg: float
    height_error: float


def _axes(inverse: np.ndarray, focal: float) -> np.ndarray:
    """The sheet's two axes and its origin in the camera's frame (3, 3), the axes of mean length one."""
    seen = inverse / np.array([[focal], [focal], [1.0]])
    scale = 0.5 * np.linalg.norm(seen[:, :2], axis=0).sum()
    return seen / (scale * np.sign(seen[2, 2]))


def _off_square(inverse: np.ndarray, focal: float) -> float:
    axes = _axes(inverse, focal)
    first, second = axes[:, 0], axes[:, 1]
    return float(np.hypot(first @ second, 0.5 * (first @ first - second @ second)))


def pose_of(plane: Plane, focal: float | None = None, distance_mm: float | None = None) -> Pose | None:
    """Where the camera stood; None for a ruler, which does not show the tilt.

    Parameters
    ----------
    plane : Plane
    focal : float, optional
        Focal length over half the picture's diagonal, from the photo's own record.
    distance_mm : float, optional
        From camera to sheet, as measured [mm]; overrides `focal`.
    """
    if len(plane.marks_mm) < 4:
        return None
    inverse = np.linalg.inv(plane.matrix)
    middle = np.append(plane.marks_mm.mean(axis=0), 0.0)
    if focal is not None and distance_mm is None:
        return _pose(inverse, focal, RECORDED_ERROR)
    trials = np.geomspace(0.5, 20.0, 300)
    away = np.array([np.linalg.norm(_pose(inverse, trial, 0.0).camera_mm - middle) for trial in trials])
    if distance_mm is not None:
        return _pose(inverse, float(np.interp(distance_mm, away, trials)), STATED_ERROR)
    square = np.array([_off_square(inverse, trial) for trial in trials]) / SQUARENESS
    usual = np.log(away / USUAL_DISTANCE_MM) / DISTANCE_SPREAD
    return _pose(inverse, float(trials[np.argmin(square**2 + usual**2)]), GUESSED_ERROR)


def _pose(inverse: np.ndarray, focal: float, height_error: float) -> Pose:
    axes = _axes(inverse, focal)
    left, _, right = np.linalg.svd(axes[:, :2], full_matrices=False)
    first, second = (left @ right).T
    up = -np.cross(first, second)  # the camera's frame is left-handed: x right, y up, z into the picture
    camera = -np.array([first, second, up]) @ axes[:, 2]
    return Pose(camera, float(np.degrees(np.arccos(np.clip(-up[2], -1.0, 1.0)))), height_error)


def edge_shift_mm(points_mm: np.ndarray, outward: np.ndarray, pose: Pose) -> np.ndarray:
    """How far each edge point (n, 2) appears moved on the sheet per mm of rib, (n, 2).

    Where the camera sees the rib's side the lower edge is the outline and stands on the sheet: no shift.
    Elsewhere the upper edge hides it and is seen away from the camera.
    """
    away = points_mm - pose.camera_mm[:2]
    beyond = (away * outward).sum(axis=1) > 0.0
    return np.where(beyond[:, None], away / pose.camera_mm[2], 0.0)


def side_seen(points_mm: np.ndarray, outward: np.ndarray, pose: Pose) -> np.ndarray:
    """How wide the rib's side appears on the sheet at each edge point, per mm of rib, (n,)."""
    away = ((points_mm - pose.camera_mm[:2]) * outward).sum(axis=1)
    return np.maximum(-away, 0.0) / pose.camera_mm[2]
