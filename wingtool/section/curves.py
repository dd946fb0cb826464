"""Coefficients between the points of a polar: monotone cubics over angle, linear in log Reynolds number."""

from dataclasses import dataclass
from math import pi

import numpy as np

SEPARATED_X = 0.5  # a side separated ahead of this x/c counts as stalled; own choice, see `first_peak`
# Lift has stopped rising where the next STALL_WINDOW_DEG bring no more than STALL_GAIN, a tenth of what a
# degree brings before (own choice).
STALL_WINDOW_DEG, STALL_GAIN = 3.0, 0.01
# A fall by less than this part of the greatest lift, made good further on, is a dip. Measured: 168 curves
# (tests/data/section_record.csv) that rose again had fallen by 5.6 % at most, or by 10 to 35 %.
DIP = 0.06
DERIVATIVE = np.array([3.0, 2.0, 1.0])  # of the powers of a cubic


@dataclass(frozen=True, eq=False)
class Lookup:
    """What a polar says at the asked points; all arrays have the shape of the points.

    `inside` is False outside the data and across gaps in them; `low_confidence` is True beside a point whose
    status says so.
    """

    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    circulation: np.ndarray
    inside: np.ndarray
    low_confidence: np.ndarray


@dataclass(frozen=True, eq=False)
class CurveTable:
    """Piecewise cubics on shared breaks.

    Parameters
    ----------
    alpha_deg : ndarray, shape (n,)
        Breaks [deg].
    log_reynolds : ndarray, shape (k,)
        Natural logarithms of the Reynolds numbers.
    coefficients : ndarray, shape (n - 1, k, 4 columns, 4 powers)
        Powers of the distance [deg] from the left break, highest first; columns cl, cd, cm, circulation.
    known, doubtful : ndarray, shape (n - 1, k)
        Whether both ends of the interval are data; whether either end is of low confidence.
    """

    alpha_deg: np.ndarray
    log_reynolds: np.ndarray
    coefficients: np.ndarray
    known: np.ndarray
    doubtful: np.ndarray


def curve_table(
    alpha_deg: np.ndarray, reynolds: np.ndarray, columns: np.ndarray, known: np.ndarray, doubtful: np.ndarray
) -> CurveTable:
    """Cubics through columns of shape ``(k, n, 4)``; unknown points are bridged, and flagged as unknown."""
    from scipy.interpolate import PchipInterpolator

    bridged = np.array([_bridge(alpha_deg, *pair) for pair in zip(columns, known, strict=True)])
    cubics = PchipInterpolator(alpha_deg, bridged, axis=1).c  # (4, n - 1, k, columns)
    return CurveTable(
        alpha_deg,
        np.log(reynolds),
        np.ascontiguousarray(np.moveaxis(cubics, 0, -1)),
        (known[:, 1:] & known[:, :-1]).T,
        (doubtful[:, 1:] | doubtful[:, :-1]).T,
    )


def _bridge(alpha_deg: np.ndarray, row: np.ndarray, known: np.ndarray) -> np.ndarray:
    if known.all():
        return row
    if not known.any():
        return np.zeros_like(row)
    return np.stack([np.interp(alpha_deg, alpha_deg[known], column[known]) for column in row.T], axis=-1)


def look_up(table: CurveTable, alpha_deg: np.ndarray, reynolds: np.ndarray) -> Lookup:
    """Evaluate a table; the angle is held at the ends of the table, with `inside` False there."""
    alpha_deg, reynolds = np.broadcast_arrays(alpha_deg, reynolds)
    held, interval, step = _interval(table.alpha_deg, alpha_deg)
    low, weight = _bracket(table.log_reynolds, reynolds)
    value = _cubic(table.coefficients[interval, low], step[..., None])
    known, doubtful = _known(table, interval, low, step), table.doubtful[interval, low]
    if table.log_reynolds.size > 1:
        upper = _cubic(table.coefficients[interval, low + 1], step[..., None])
        value = value + weight[..., None] * (upper - value)
        known = (known | (weight == 1)) & (_known(table, interval, low + 1, step) | (weight == 0))
        doubtful = doubtful | table.doubtful[interval, low + 1]
    inside = known & (np.abs(held - alpha_deg) <= 1e-9)
    cl, cd, cm, circulation = np.moveaxis(value, -1, 0)
    return Lookup(cl, cd, cm, circulation, inside, doubtful)


def _interval(breaks: np.ndarray, alpha_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Angles held within the breaks, the interval of each, and how far it is into it."""
    held = np.minimum(np.maximum(alpha_deg, breaks[0]), breaks[-1])  # np.clip takes five times as long
    interval = np.searchsorted(breaks[1:-1], held, side="right")
    return held, interval, held - breaks[interval]


def _known(table: CurveTable, interval: np.ndarray, row: np.ndarray, step: np.ndarray) -> np.ndarray:
    """Whether the interval is data, or the point is the last of the interval on the left."""
    return table.known[interval, row] | ((step < 1e-9) & table.known[np.maximum(interval - 1, 0), row])


def circulation_at(
    table: CurveTable, alpha_deg: np.ndarray, reynolds: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Circulation with its derivative [1/rad], for a Newton solve; constant beyond the ends of the table."""
    held, interval, step = _interval(table.alpha_deg, alpha_deg)
    low, weight = _bracket(table.log_reynolds, reynolds)
    power = table.coefficients[interval, low, 3]
    if table.log_reynolds.size > 1:
        power = power + weight[..., None] * (table.coefficients[interval, low + 1, 3] - power)
    slope = _cubic(power[..., :3] * DERIVATIVE, step) * (180 / pi)
    return _cubic(power, step), slope * (held == alpha_deg)


def _cubic(power: np.ndarray, step: np.ndarray) -> np.ndarray:
    value = power[..., 0]
    for k in range(1, power.shape[-1]):  # np.polyval takes twice as long
        value = value * step + power[..., k]
    return value


def _bracket(log_rows: np.ndarray, reynolds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lower row and weight of the upper one, held at the ends."""
    if log_rows.size == 1:
        return np.zeros(np.shape(reynolds), dtype=int), np.zeros(np.shape(reynolds))
    wanted = np.log(np.maximum(reynolds, 1.0))
    low = np.searchsorted(log_rows[1:-1], wanted, side="right")
    weight = (wanted - log_rows[low]) / (log_rows[low + 1] - log_rows[low])
    return low, np.minimum(np.maximum(weight, 0.0), 1.0)


def bilinear(
    alpha_deg: np.ndarray, rows: np.ndarray, values: np.ndarray, at_deg: np.ndarray, reynolds: np.ndarray
) -> np.ndarray:
    """Straight lines over angle and log Reynolds through ``(k, m)`` values; gaps bridged, ends held."""
    from scipy.interpolate import RegularGridInterpolator

    known = np.isfinite(values)
    curves = np.array(
        [_bridge(alpha_deg, row[:, None], k)[:, 0] for row, k in zip(values, known, strict=True)]
    )
    if len(rows) == 1:
        return np.interp(at_deg, alpha_deg, curves[0])
    log_rows = np.log(rows)
    wanted = np.clip(np.log(np.maximum(reynolds, 1.0)), log_rows[0], log_rows[-1])
    points = np.broadcast_arrays(wanted, np.clip(at_deg, alpha_deg[0], alpha_deg[-1]))
    return RegularGridInterpolator((log_rows, alpha_deg), curves)(np.stack(points, axis=-1))


def over_log_reynolds(row_values: np.ndarray, rows: np.ndarray, reynolds: np.ndarray | float) -> np.ndarray:
    """One value for each Reynolds row, linear in the logarithm, held at the ends; rows of nan left out."""
    known = np.isfinite(row_values)
    if not known.any():
        return np.full(np.shape(reynolds), np.nan)
    rows, row_values = rows[known], row_values[known]
    return np.interp(np.log(np.maximum(np.asarray(reynolds, float), 1.0)), np.log(rows), row_values)


def first_peak(
    alpha_deg: np.ndarray, cl: np.ndarray, separation: np.ndarray | None = None
) -> tuple[float, float, bool]:
    """Angle [deg] from which lift has stopped rising, the lift reached, whether the data get so far.

    Stall is the first angle in whose next 3 degrees lift gains no more than 0.01: a peak or the start of a
    plateau, but no wiggle on the way up; looked for above the last angle ahead of the highest lift that has
    no more than a third of it, so that a stall of the other side is none of this. Data that end sooner must
    fall by 0.01 at the next point. Lift that falls by less than `DIP` and then comes to be higher by more has
    not stalled: a bubble shifted. Where lift goes on rising the last angle with data is given with False; a
    row without data gives nan.

    With `separation` (x/c on the lifting side, shape of `cl`) the last angle before more than half of the
    side is separated is stall as well, though lift may creep on: what thin layers say of such a flow is worth
    little. Own choice; sections that peak do so with a fifth or less separated.

    Examples
    --------
    >>> first_peak(np.array([0.0, 5.0, 10.0, 15.0]), np.array([0.0, 0.5, 1.0, 0.8]))
    (10.0, 1.0, True)
    >>> first_peak(np.array([0.0, 3.0, 6.0, 9.0, 12.0]), np.array([0.0, 0.8, 0.76, 1.2, 0.9]))
    (9.0, 1.2, True)
    >>> creeping = np.array([1.0, 0.9, 0.6, 0.4])
    >>> first_peak(np.array([0.0, 5.0, 10.0, 15.0]), np.array([0.0, 0.5, 0.8, 0.9]), creeping)
    (10.0, 0.8, True)
    """
    known = np.isfinite(cl)
    if not known.any():
        return np.nan, np.nan, False
    alpha, lift = alpha_deg[known], cl[known]
    ahead_of_most = np.arange(len(lift)) < int(np.argmax(lift))
    low = np.flatnonzero(ahead_of_most & (lift <= lift.max() / 3)) if (lift > 0).any() else [np.argmin(lift)]
    start = int(low[-1]) if len(low) else 0
    alpha, lift = alpha[start:], lift[start:]
    best = _best_ahead(alpha, lift)
    far_enough = alpha[-1] - alpha >= np.minimum(STALL_WINDOW_DEG, np.append(np.diff(alpha), np.inf)) - 1e-9
    falls = np.append(np.diff(lift), 0.0) < -STALL_GAIN
    stalled = (far_enough | falls) & (best <= lift + STALL_GAIN) & ~_dips(lift)
    if separation is not None:
        ahead_of_half = separation[known][start:] < SEPARATED_X
        stalled |= np.append(ahead_of_half[1:], False) & (lift > 0)
    seen = bool(stalled.any())
    peak = int(np.argmax(stalled)) if seen else len(alpha) - 1
    highest = np.where(best <= lift + STALL_GAIN, np.maximum(lift, best), lift)[peak] if seen else lift.max()
    return float(alpha[peak]), float(highest), seen


def _dips(lift: np.ndarray) -> np.ndarray:
    """Where lift comes to be higher by `DIP` of the greatest before it has fallen by as much."""
    change = (lift[None, :] - lift[:, None]) * np.triu(np.ones((len(lift), len(lift))))
    least = DIP * max(lift.max(), 0.0)
    risen, fallen = change > least, change < -least
    return risen.any(axis=1) & (~fallen.any(axis=1) | (risen.argmax(axis=1) < fallen.argmax(axis=1)))


def stall_between(alpha_deg: np.ndarray, cl: np.ndarray, separation: np.ndarray | None = None) -> float:
    """The stall of `first_peak`, solved between the angles [deg]: straight from the angle ahead, where lift
    still gains, or to the next, where too much is separated. nan where no stall is seen.

    Examples
    --------
    >>> stall_between(np.array([0.0, 3.0, 6.0, 9.0]), np.array([0.0, 0.5, 0.71, 0.62]))
    5.0
    """
    peak, _, seen = first_peak(alpha_deg, cl, separation)
    if not seen:
        return np.nan
    known = np.isfinite(cl)
    alpha, lift = alpha_deg[known], cl[known]
    i = int(np.searchsorted(alpha, peak))
    gain = (_best_ahead(alpha, lift) - lift - STALL_GAIN)[[max(i - 1, 0), i]]  # over what counts as rising
    if gain[1] <= 0.0 < gain[0]:
        return float(peak - (alpha[i] - alpha[i - 1]) * gain[1] / (gain[1] - gain[0]))
    if separation is not None and gain[1] > 0.0:
        before, after = separation[known][i : i + 2] - SEPARATED_X
        return float(peak + (alpha[i + 1] - alpha[i]) * before / (before - after))
    return peak


def _best_ahead(alpha_deg: np.ndarray, lift: np.ndarray) -> np.ndarray:
    """Highest lift in the window ahead of each point, at least of the next; -inf for the last, shape (n,)."""
    ahead = alpha_deg[None, :] - alpha_deg[:, None]
    nearest = np.append(np.diff(alpha_deg), np.inf)
    window = (ahead > 0) & (ahead <= np.maximum(STALL_WINDOW_DEG, nearest)[:, None] + 1e-9)
    return np.where(window, lift[None, :], -np.inf).max(axis=1)
