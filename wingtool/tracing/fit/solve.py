"""The smooth section through measured points: regularised least squares on distances, with its covariance.

Unknown are the shape (Kulfan weights and tail gap), its place in the frame of the readings, and three small
errors that points share. Each distance is taken along the normal (orthogonal distance regression). The
weights' second differences are held near zero by a prior as wide as their spread over the open collection,
so that twelve weights a side do not follow the noise. Errors of neighbouring points are half in common over a
tenth of the chord, with calipers a quarter (common practice, no source): a hand, a cut, a lens errs smoothly.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import kulfan
from wingtool.tracing.fit.curve import (
    GAP,
    NOSE,
    ORDER,
    SHAPE,
    Distances,
    Placed,
    distances,
    thickness_columns,
)
from wingtool.tracing.fit.doubts import doubts
from wingtool.tracing.fit.start import first_outline, guess_sides
from wingtool.tracing.readings import LOWER, UPPER, Readings

WORDS = words_beside(__file__, "solve")
COMMON_SHARE = {"photo": 0.5, "points": 0.5, "stations": 0.25}  # of the variance; calipers are set anew
COMMON_LENGTH = 0.1
TRUNCATION = 2e-4  # of twelve weights a side, over the chord
# rms of the weights' second differences over every sixth section of the open collection, nose to tail, mean
# of both sides: cusped tails make the last ones large
SECOND_DIFFERENCE = np.array([0.17, 0.23, 0.20, 0.15, 0.135, 0.155, 0.13, 0.17, 0.27, 0.34])
# standard deviations, own choice: the first weights' sum (no kink at the nose), nose term, tail gap, over the
# chord, and its mean; over the open collection the first two are 0.08 and 0.45 (real_sections.csv)
SAME_NOSE, NOSE_TERM, TAIL_GAP, USUAL_GAP = 0.05, 0.4, 0.01, 0.003
# own choices from here on, unless said otherwise; what the last step still moved is told as `unsettled_mm`
END_ERROR_MM = 0.1  # of nose and tail across the chord line, beside the readings' own
JOINTLY = 2.0  # neighbours err alike: four count as one
NOSE_REACH = 0.006  # of the chord: the points this close to the farthest one show where the nose lies
OUTLIER, HUBER = 3.5, 1.5  # standard deviations: left out; counted less
MOST_OUTLIERS = {"photo": 0.1, "points": 0.2, "stations": 0.2}  # an edge is followed, readings may slip
WORST_MISFIT = 8.0
FEWEST_A_SIDE = 5
ROBUST_STEPS, STEPS = 7, 16
LEAST_THICKNESS = 5e-4  # over the chord: 0.1 mm on 250 mm, paint (common practice, no source)
SHARED = 3
ACTIVE_SETS = 4


@dataclass(frozen=True, eq=False)
class Fitted:
    """The fitted outline in the frame of the readings.

    `covariance` (SHAPE, SHAPE) is that of the shape parameters, over the chord; `chord_error_mm` and
    `angle_error_deg`, of the chord line, are standard deviations; `residual_mm` (n,) signed, positive
    outside, with the shared errors taken out; `outlier` (n,).
    `gain` (SHAPE + 4, n) is how shape and frame follow the readings, per mm of each across the outline.
    `unsettled_mm` is how far the last step still moved the outline at most. `misfit` is the rms of the
    residuals over their stated errors, for the degrees of freedom that the outline leaves.
    """

    placed: Placed
    covariance: np.ndarray
    gain: np.ndarray
    chord_error_mm: float
    angle_error_deg: float
    readings: Readings
    foot_x: np.ndarray
    foot_side: np.ndarray
    residual_mm: np.ndarray
    outlier: np.ndarray
    misfit: float
    unsettled_mm: float
    doubts: tuple[str, ...] = field(default=())

    @property
    def apart(self) -> str:
        """How far the points lie off the section, those left out apart."""
        off = self.residual_mm[~self.outlier]
        return f"lie {np.sqrt(np.mean(off**2)):.2f} mm off it, at most {np.abs(off).max():.2f} mm"


def prior(readings: Readings) -> tuple[np.ndarray, np.ndarray]:
    """Rows and targets, in standard deviations, that hold the shape smooth and the shared errors small."""
    total = SHAPE + 4 + SHARED
    second = np.diff(np.eye(ORDER), 2, axis=0) / SECOND_DIFFERENCE[:, None]
    rows = np.zeros((2 * len(second) + 3 + SHARED, total))
    rows[: 2 * len(second), : 2 * ORDER] = np.kron(np.eye(2), second)
    target = np.zeros(len(rows))
    same_nose, nose, gap = 2 * len(second) + np.arange(3)
    rows[same_nose, [0, ORDER]] = 1.0 / SAME_NOSE
    rows[nose, NOSE] = 1.0 / NOSE_TERM
    rows[gap, GAP] = 1.0 / TAIL_GAP
    target[gap] = USUAL_GAP / TAIL_GAP
    shared = max(readings.shared_error_mm, 1e-3)
    offset = np.hypot(readings.offset_error_mm, shared)
    rows[gap + 1 :, SHAPE + 4 :] = np.diag([1.0 / offset, 1.0 / shared, 1.0 / shared])
    return rows, target


def _tail_row(placed: Placed, readings: Readings, outlier: np.ndarray) -> tuple[np.ndarray, float, float]:
    """The tail lies where the points end: nothing else keeps a thin tail from growing past them."""
    along = placed.turn[:, 0]
    reach = np.sort((readings.points_mm[~outlier] - placed.frame[:2]) @ along)
    aft = reach[reach > 0.9 * reach[-1]]
    spacing = 2.0 * 0.1 * reach[-1] / max(len(aft), 1)
    row = np.zeros(SHAPE + 4 + SHARED)
    row[SHAPE : SHAPE + 2] = along
    row[SHAPE + 3] = placed.chord_mm
    lost = 0.0 if readings.chord_mm is None else 0.25 * readings.tail_blur_mm
    error = float(np.linalg.norm([np.median(readings.error_mm), 0.5 * spacing, lost]))
    return row, float(reach[-1] - readings.offset_mm - placed.chord_mm), error


def _end_rows(placed: Placed, readings: Readings, outlier: np.ndarray):
    """Across the chord line, nose and tail lie where the points have them: row, gap and error [mm] of each.

    A round nose lets a smooth outline slide along itself, and a thin tail lets it end too high. The nose is
    the point farthest from the tail's middle; its place is the top of a quartic through that distance.
    """
    points, chord = readings.points_mm[~outlier], placed.chord_mm
    over = (points - placed.frame[:2]) @ placed.turn
    own = float(np.median(readings.error_mm))
    reach = 0.001 * chord + 1.5 * own + 0.1 * chord * max(placed.shape[GAP], 0.0)
    corners = over[over[:, 0] > over[:, 0].max() - reach]
    middle = 0.5 * (corners.max(axis=0) + corners.min(axis=0))
    at = float(np.clip(over[:, 0].max() / chord, 0.9, 1.0))  # a thin tail may be lost in the photo
    mean_line = 0.5 * np.sum(kulfan.side_rows(np.array([at]), ORDER), axis=0)[0]
    row = np.zeros((2, SHAPE + 4 + SHARED))
    row[:, SHAPE : SHAPE + 2] = placed.turn[:, 1]
    row[0, SHAPE + 2] = at * chord
    row[0, :SHAPE] = chord * mean_line
    if readings.tail_blur_mm:  # points of a hand stand too far apart to show the middle of the edge
        yield row[0], middle[1] - chord * mean_line @ placed.shape, np.hypot(END_ERROR_MM, own)
    away = np.hypot(*(over - [over[:, 0].max(), middle[1]]).T)
    near = away > away.max() - NOSE_REACH * chord
    if near.sum() >= 8:
        across = over[near, 1]
        centre, half = 0.5 * (across.max() + across.min()), 0.5 * np.ptp(across)
        place, fine = (across - centre) / half, np.linspace(-0.8, 0.8, 161)
        quartic = np.polyfit(place, away[near], 4)
        ragged = np.std(away[near] - np.polyval(quartic, place))
        (bend, *_), spread = np.polyfit(place, away[near], 2, cov="unscaled")
        top_error = JOINTLY * half * ragged * np.sqrt(spread[1, 1]) / abs(2.0 * bend)
        error = float(np.linalg.norm([END_ERROR_MM, 1.5 * own, top_error]))
        yield row[1], centre + half * fine[np.polyval(quartic, fine).argmax()], error


def _open_tail_rows(placed: Placed, change: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A section is nowhere thinner than nothing: where the changed outline would be, it is pushed apart."""
    columns = thickness_columns()
    active = columns @ (placed.shape + change[:SHAPE]) < LEAST_THICKNESS
    rows = np.zeros((int(active.sum()), SHAPE + 4 + SHARED))
    rows[:, :SHAPE] = columns[active] / LEAST_THICKNESS
    return rows, 1.0 - rows[:, :SHAPE] @ placed.shape


def extra_rows(placed: Placed, readings: Readings, outlier: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows for chord, tail and nose radius measured on their own, linear at the present outline."""
    chord, shape, unit = placed.chord_mm, placed.shape, np.eye(SHAPE + 4 + SHARED)
    first = 0.5 * (shape[0] - shape[ORDER])
    measured = (
        (readings.chord_mm, chord * unit[SHAPE + 3], chord),
        (readings.tail_mm, chord * unit[GAP], chord * shape[GAP]),
        (readings.nose_radius_mm, 0.5 * chord * first * (unit[0] - unit[ORDER]), 0.5 * chord * first**2),
    )
    found = [(row, reading[0] - now, reading[1]) for reading, row, now in measured if reading is not None]
    if readings.way != "stations":
        found += _end_rows(placed, readings, outlier)
        found.append(_tail_row(placed, readings, outlier))
    rows = np.array([row / error for row, _, error in found]).reshape(-1, SHAPE + 4 + SHARED)
    return rows, np.array([gap / error for _, gap, error in found])


def error_columns(placed: Placed, found: Distances) -> np.ndarray:
    """Derivatives of the distances by all unknowns: shape, frame, then offset, split and bow in common."""
    up = found.jacobian[:, SHAPE : SHAPE + 2] @ placed.turn[:, 1]
    shared = np.column_stack([np.ones(len(up)), found.side, up * 4.0 * found.x * (1.0 - found.x)])
    return np.hstack([found.jacobian, shared])


def whitener(found: Distances, error_mm: np.ndarray, chord_mm: float, share: float) -> np.ndarray:
    """Inverse of the Cholesky factor of the points' covariance."""
    apart = np.abs(found.arc[:, None] - found.arc)
    apart = np.minimum(apart, np.abs(found.arc.max() + 1e-3 - apart))
    together = share * np.exp(-apart / COMMON_LENGTH)
    own = (1.0 - share) * error_mm**2 + (TRUNCATION * chord_mm) ** 2
    covariance = together * np.outer(error_mm, error_mm) + np.diag(own)
    return np.linalg.inv(np.linalg.cholesky(covariance))


def _solve(
    placed, columns, gap, whiten, shared, readings, outlier
) -> tuple[np.ndarray, np.ndarray, float, np.ndarray]:
    """A Gauss-Newton step, its normal matrix, the sum of squares before it, and how the unknowns follow the
    points; the prior pulls the present `shared` errors to zero."""
    rows, target = prior(readings)
    now = np.concatenate([placed.shape, np.zeros(4), shared])
    extra, extra_target = extra_rows(placed, readings, outlier)
    fixed = np.vstack([whiten @ columns, extra, rows])
    wanted = np.concatenate([whiten @ gap, extra_target, target - rows @ now])
    change = np.zeros(SHAPE + 4 + SHARED)
    squares = float(wanted @ wanted + (_open_tail_rows(placed, change)[1] ** 2).sum())
    for _ in range(ACTIVE_SETS):
        tail, tail_target = _open_tail_rows(placed, change)
        a, b = np.vstack([fixed, tail]), np.concatenate([wanted, tail_target])
        normal = a.T @ a
        change = np.linalg.solve(normal + 1e-12 * np.diag(np.diag(normal)), a.T @ b)
    return change, normal, squares, np.linalg.solve(normal, columns.T @ whiten.T @ whiten)


def _with_tail_blur(readings: Readings, placed: Placed) -> Readings:
    """Photos round a thin tail off: their last points count less."""
    reach = (readings.points_mm - placed.frame[:2]) @ placed.turn[:, 0]
    aft = reach > reach.max() - readings.tail_blur_mm
    return replace(readings, error_mm=readings.error_mm + aft * readings.tail_blur_mm / 4.0)


def _outliers(residual: np.ndarray, error: np.ndarray) -> np.ndarray:
    """Points whose residual is far outside both the stated error and the others' spread."""
    spread = 1.4826 * np.median(np.abs(residual / error))
    return np.abs(residual / error) > OUTLIER * max(spread, 1.0)


def _iterate(placed, readings, steps, correlated, outlier):
    """The outline after Gauss-Newton steps, its distances, residuals, normal matrix and the last step tried.

    With weights that stay, a step that does not lower the sum of squares is halved.
    """
    shared, least, change = np.zeros(SHARED), np.inf, np.zeros(0)
    for _ in range(steps):
        found = distances(placed, readings.points_mm, readings.side, readings.way == "stations")
        columns = error_columns(placed, found)
        gap = found.distance_mm - readings.offset_mm - columns[:, SHAPE + 4 :] @ shared
        error = np.where(outlier, 1e3 * readings.error_mm, readings.error_mm)
        if correlated:
            whiten = whitener(found, error, placed.chord_mm, COMMON_SHARE[readings.way])
        else:
            size = np.maximum(np.abs(gap) / readings.error_mm, HUBER)
            whiten = np.diag(1.0 / (error * np.sqrt(size / HUBER)))  # Huber's weights
        step, normal, squares, gain = _solve(placed, columns, gap, whiten, shared, readings, outlier)
        if correlated and squares > least:
            change = 0.5 * change
        else:
            kept, least, change = (placed, found, gap, normal, gain), squares, step
            from_shared = shared
            change[SHAPE + 2] = np.clip(change[SHAPE + 2], -0.05, 0.05)
            change[SHAPE + 3] = np.clip(change[SHAPE + 3], -0.1, 0.1)
        placed, shared = kept[0].moved(change), from_shared + change[SHAPE + 4 :]
    return (*kept, change)


def fit_outline(readings: Readings) -> Fitted:
    """Fit a smooth section; nose at the left, the side that lifts as the person holds it.

    Raises
    ------
    TraceError
        More than a fifth of the points do not belong to any section-like outline, or the fit has no solution.
    """
    readings = guess_sides(readings)
    for value, name in ((UPPER, "upper"), (LOWER, "lower")):
        if np.count_nonzero(readings.side == value) < FEWEST_A_SIDE:
            raise TraceError(f"{readings.way}: too few points on the {name} side; measure both sides")
    placed = first_outline(readings)
    none = np.zeros(len(readings.points_mm), dtype=bool)
    try:
        placed, *_ = _iterate(placed, readings, ROBUST_STEPS, False, none)
        readings = _with_tail_blur(readings, placed)
        placed, _, residual, *_ = _iterate(placed, readings, ROBUST_STEPS, False, none)
        outlier = _outliers(residual, readings.error_mm)
        fit = _iterate(placed, readings, STEPS, True, outlier)
    except np.linalg.LinAlgError:
        raise TraceError(f"{readings.way}: no outline fits; measure both sides, nose and tail") from None
    if outlier.mean() > MOST_OUTLIERS[readings.way]:
        way_out = "take out what is not the wing, or state a larger error"
        if readings.way == "photo":
            way_out = "a rib's side, a shadow, a bright face? blacken it, hold the camera square above it"
        off = f"{outlier.sum()} of {len(outlier)} points"
        raise TraceError(f"{readings.way}: {off} lie off any section-like outline: {way_out}")
    return _judged(readings, outlier, *fit)


def _judged(readings, outlier, placed, found, residual, normal, gain, step) -> Fitted:
    good = ~outlier
    ratio = residual[good] / readings.error_mm[good]
    used = (gain * error_columns(placed, found).T).sum()  # of the points' degrees of freedom
    free = max(len(ratio) - float(used), 1.0)
    misfit = float(np.sqrt((ratio**2).sum() / free))
    unsettled = float(np.abs(found.jacobian @ step[: SHAPE + 4]).max())
    if misfit > WORST_MISFIT:
        raise TraceError(WORDS["misfit"].format(readings.way, misfit))
    high = misfit * (1.0 + 1.0 / np.sqrt(2.0 * free))  # by chance it may be as low as that
    covariance = np.linalg.inv(normal) * max(1.0, high**2)
    shape_covariance = covariance[:SHAPE, :SHAPE]
    doubted, modes_mm = doubts(readings, placed, found, outlier, misfit, free, unsettled, shape_covariance)
    fitted = Fitted(
        placed=placed,
        covariance=shape_covariance,
        gain=gain[: SHAPE + 4],
        chord_error_mm=placed.chord_mm * float(np.sqrt(covariance[SHAPE + 3, SHAPE + 3])),
        angle_error_deg=float(np.degrees(np.sqrt(covariance[SHAPE + 2, SHAPE + 2]))),
        readings=readings,
        foot_x=found.x,
        foot_side=found.side,
        residual_mm=residual,
        outlier=outlier,
        misfit=misfit,
        unsettled_mm=unsettled,
        doubts=doubted,
    )
    return left_open(fitted, modes_mm)


def left_open(fitted: Fitted, modes_mm: np.ndarray) -> Fitted:
    """The fit with a wider band: the readings may be off together by each of the columns (n, k) [mm], one
    standard deviation outwards (systematic errors, carried through the linear fit)."""
    moved = fitted.gain @ modes_mm
    moved_chord = np.linalg.norm(moved[SHAPE + 3])
    return replace(
        fitted,
        covariance=fitted.covariance + moved[:SHAPE] @ moved[:SHAPE].T,
        chord_error_mm=float(np.hypot(fitted.chord_error_mm, fitted.placed.chord_mm * moved_chord)),
    )
