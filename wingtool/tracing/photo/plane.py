"""From a photo's pixels to millimetres on the sheet: perspective by homography, and one lens term.

Homography from point pairs by the direct linear transform on normalised coordinates (R. Hartley, "In Defense
of the Eight-Point Algorithm", IEEE PAMI 19(6), 1997, for the normalisation). With six marks or more a radial
lens term r (1 + k r^2) is solved for as well (D. C. Brown, "Close-Range Camera Calibration", Photogrammetric
Engineering 37(8), 1971).
"""

from dataclasses import dataclass, field

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside

WORDS = words_beside(__file__, "plane")
LENS_SPREAD = 0.05  # of k at the half diagonal; phones are within it (common practice, no source)


@dataclass(frozen=True, eq=False)
class Plane:
    """Map from pixels (x right, y down) to the sheet (mm, y up).

    `matrix` (3, 3) acts on pixels measured from `centre_px` in units of `half_diagonal_px`, after the lens
    term `lens`. `residual_mm` is the rms distance of the mapped marks from where they are, over the redundant
    equations; 0 when nothing is redundant.
    """

    matrix: np.ndarray
    centre_px: np.ndarray
    half_diagonal_px: float
    lens: float
    residual_mm: float
    marks_px: np.ndarray
    marks_mm: np.ndarray
    notes: tuple[str, ...] = field(default=())

    def to_mm(self, px: np.ndarray) -> np.ndarray:
        """Sheet coordinates [mm] of pixels, both (n, 2)."""
        return projected(self.matrix, _straight(self._unit(px), self.lens))

    def to_px(self, mm: np.ndarray) -> np.ndarray:
        """Pixels of sheet coordinates [mm], both (n, 2); the lens term is undone by iteration."""
        straight = projected(np.linalg.inv(self.matrix), mm)
        bent = straight
        for _ in range(8):
            bent = straight / (1.0 + self.lens * (bent**2).sum(axis=1, keepdims=True))
        return bent * self.half_diagonal_px * np.array([1.0, -1.0]) + self.centre_px

    def _unit(self, px: np.ndarray) -> np.ndarray:
        return (np.asarray(px, dtype=float) - self.centre_px) * np.array([1.0, -1.0]) / self.half_diagonal_px


def _straight(unit: np.ndarray, lens: float) -> np.ndarray:
    return unit * (1.0 + lens * (unit**2).sum(axis=1, keepdims=True))


def projected(matrix: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Points (n, 2) mapped by a homography (3, 3)."""
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return mapped[:, :2] / mapped[:, 2:]


def _normaliser(points: np.ndarray) -> np.ndarray:
    centre = points.mean(axis=0)
    scale = np.sqrt(2.0) / max(np.hypot(*(points - centre).T).mean(), 1e-12)
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1]])


def homography(source: np.ndarray, target: np.ndarray) -> np.ndarray:
    """The (3, 3) matrix that maps `source` (n, 2) to `target` (n, 2), n at least 4, with unit last element.

    Raises
    ------
    TraceError
        Three of the four points on one line, or fewer than four.

    Examples
    --------
    >>> square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    >>> np.allclose(homography(square, 2 * square + 5), [[2, 0, 5], [0, 2, 5], [0, 0, 1]])
    True
    """
    if len(source) < 4:
        raise TraceError(f"{len(source)} marks cannot show the tilt; four are needed, well apart")
    from_unit, to_unit = _normaliser(source), _normaliser(target)
    (x, y), (u, v) = projected(from_unit, source).T, projected(to_unit, target).T
    zero, one = np.zeros_like(x), np.ones_like(x)
    across = np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y, -u])
    along = np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y, -v])
    rows = np.vstack([across, along])
    singular, right = np.linalg.svd(rows)[1:]
    if len(singular) < 8 or singular[7] < 1e-6 * singular[0]:
        raise TraceError("the marks lie on one line; take four that span the sheet")
    matrix = np.linalg.inv(to_unit) @ right[-1].reshape(3, 3) @ from_unit
    return matrix / matrix[2, 2]


def _similarity(source: np.ndarray, target: np.ndarray) -> np.ndarray:
    """Scale, turn and shift from two points: a ruler."""
    a, b = source @ [1, 1j], target @ [1, 1j]
    if abs(a[1] - a[0]) < 1e-9:
        raise TraceError("the two ends of the ruler are the same pixel; click both ends")
    turn = (b[1] - b[0]) / (a[1] - a[0])
    shift = b[0] - turn * a[0]
    return np.array([[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag], [0, 0, 1.0]])


def _with_lens(unit: np.ndarray, mm: np.ndarray, scale_mm: float) -> tuple[np.ndarray, float]:
    """Homography and lens term together, the latter held near zero by its spread among phones."""
    from scipy.optimize import least_squares

    start = homography(unit, mm)
    blur_mm = 0.1  # marks are found to about this

    def misses(unknown: np.ndarray) -> np.ndarray:
        matrix = np.append(unknown[:8], 1.0).reshape(3, 3)
        away = (projected(matrix, _straight(unit, unknown[8])) - mm) / blur_mm
        return np.append(away.ravel(), unknown[8] / LENS_SPREAD)

    size = np.maximum(np.abs(start.ravel()[:8]), 1e-2 * scale_mm)
    size[6:] = 0.1
    found = least_squares(misses, np.append(start.ravel()[:8], 0.0), x_scale=np.append(size, LENS_SPREAD)).x
    return np.append(found[:8], 1.0).reshape(3, 3), float(found[8])


def plane_from_marks(marks_px: np.ndarray, marks_mm: np.ndarray, photo_shape: tuple[int, int]) -> Plane:
    """The map from a photo to the sheet.

    Parameters
    ----------
    marks_px, marks_mm : ndarray, shape (n, 2)
        Two marks are a ruler: scale and turn only, the tilt stays in. Four or more remove the tilt, six or
        more the lens's bow as well.
    photo_shape : tuple
        Rows and columns of the photo.

    Raises
    ------
    TraceError
        One or three marks, marks in line, or marks that do not fit one plane within 2 mm.
    """
    marks_px, marks_mm = np.asarray(marks_px, dtype=float), np.asarray(marks_mm, dtype=float)
    n = len(marks_px)
    if n < 2 or n == 3:
        raise TraceError(f"{n} marks: give two (the ends of a ruler) or four and more (the sheet's marks)")
    centre = np.array([photo_shape[1], photo_shape[0]]) / 2.0
    half = float(np.hypot(*centre))
    unit = (marks_px - centre) * np.array([1.0, -1.0]) / half
    lens = 0.0
    notes: tuple[str, ...] = ()
    if n == 2:
        matrix = _similarity(unit, marks_mm)
        notes = (WORDS["ruler"],)
    elif n < 6:
        matrix = homography(unit, marks_mm)
    else:
        matrix, lens = _with_lens(unit, marks_mm, float(np.ptp(marks_mm)))
    unknowns = {2: 4, 4: 8, 5: 8}.get(n, 9)
    away = projected(matrix, _straight(unit, lens)) - marks_mm
    spare = 2 * n - unknowns
    residual = float(np.sqrt((away**2).sum() / spare)) if spare else 0.0
    if residual > 2.0:
        worst = int(np.hypot(*away.T).argmax())
        raise TraceError(WORDS["missed"].format(residual, worst + 1))
    if residual > 0.5:
        notes += (f"the marks miss their places by {residual:.1f} mm: sheet not flat or not to scale",)
    return Plane(matrix, centre, half, lens, residual, marks_px, marks_mm, notes)
