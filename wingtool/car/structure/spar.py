"""The wing as a beam on its stands: shear, bending, torsion and deflection from the load along the span."""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import StudyError

POINTS = 2001


@dataclass(frozen=True)
class Spar:
    """Stiffness of the wing along its span, from the user or from a bench test.

    Parameters
    ----------
    bending_n_m2 : float
        E I [N m^2].
    torsion_n_m2 : float, optional
        G J [N m^2].
    behind_m : float
        Axis of twist behind the point about which the wing's moment is given [m].
    """

    bending_n_m2: float
    torsion_n_m2: float | None = None
    behind_m: float = 0.0


@dataclass(frozen=True, eq=False)
class BeamLoads:
    """The beam over the span, all arrays (n,), downwards positive, from the left tip to the right.

    `y_m` station, `load_n_m` line load, `shear_n`, `bending_nm` (positive bends the tips down, hogging over
    the stands), `torsion_nm`, `sag_m` below the stands (nan without stiffness), `twist_deg` (nan without
    torsional stiffness), `support_n` the load on each stand, `support_y_m` where they stand.
    """

    y_m: np.ndarray
    load_n_m: np.ndarray
    shear_n: np.ndarray
    bending_nm: np.ndarray
    torsion_nm: np.ndarray
    sag_m: np.ndarray
    twist_deg: np.ndarray
    support_y_m: np.ndarray
    support_n: np.ndarray


def stand_stations(stands: int, spacing_m: float) -> np.ndarray:
    """Where one or two stands hold the wing [m] from the middle.

    Raises
    ------
    StudyError
        Three or more stands: the beam would be statically indeterminate.
    """
    if stands == 1:
        return np.zeros(1)
    if stands == 2:
        return np.array([-0.5, 0.5]) * spacing_m
    raise StudyError(f"mounts.stands: {stands} stands share the load as their feet yield; give 1 or 2")


def whole_span(
    strip_y_m: np.ndarray, strip_load_n_m: np.ndarray, span_m: float
) -> tuple[np.ndarray, np.ndarray]:
    """Line load on an even grid from tip to tip; a half span given from the middle is mirrored.

    Between strips the load is linear; from the last strip's centre to the tip it is held, and the whole is
    scaled so that the total is the strips' own (mean load times span, by the strips' widths).
    """
    y, load = np.asarray(strip_y_m, float), np.asarray(strip_load_n_m, float)
    if y.min() >= 0.0:
        inner = y > 1e-9
        y, load = np.r_[-y[inner][::-1], y], np.r_[load[inner][::-1], load]
    order = np.argsort(y)
    y, load = y[order], load[order]
    edges = np.r_[-span_m / 2, (y[1:] + y[:-1]) / 2, span_m / 2]
    force = float(np.sum(load * np.diff(edges)))
    grid = np.linspace(-span_m / 2, span_m / 2, POINTS)
    line = np.interp(grid, y, load)
    raw = float(np.trapezoid(line, grid))
    return grid, line * (force / raw if raw else 1.0)


def running(values: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Integral from the first station to each."""
    from scipy.integrate import cumulative_trapezoid

    return cumulative_trapezoid(values, y, initial=0.0)


def beam(
    y_m: np.ndarray,
    load_n_m: np.ndarray,
    supports_m: np.ndarray,
    spar: Spar | None = None,
    torque_n: np.ndarray | float = 0.0,
) -> BeamLoads:
    """Statics of the wing on one or two stands, and its sag and twist if the stiffness is known.

    Parameters
    ----------
    y_m, load_n_m : ndarray, shape (n,)
        Even grid from tip to tip [m] and downward line load [N/m] (`whole_span`).
    supports_m : ndarray, shape (1,) or (2,)
        Stations of the stands [m].
    spar : Spar, optional
        Stiffness; without it sag and twist are nan.
    torque_n : ndarray, shape (n,), or float
        Nose-up moment about the quarter chord for each metre of span [N m/m], on the same grid.

    Notes
    -----
    Euler and Bernoulli's beam: V' = -w, M'' = w between the stands, sag'' = M / EI with zero sag at the
    stands (one stand: clamped there). Range: sag small against the span, straight uniform spar.
    """
    shear, support = _shear(y_m, load_n_m, supports_m)
    arms = np.maximum(y_m[None, :] - supports_m[:, None], 0.0)
    hogging = running(running(load_n_m, y_m), y_m) - (support[:, None] * arms).sum(axis=0)
    if len(supports_m) == 1:
        hogging = hogging - np.where(y_m >= supports_m[0], hogging[-1], 0.0)
    arm = spar.behind_m if spar else 0.0
    torsion = -_shear(y_m, torque_n - arm * load_n_m, supports_m)[0]  # the stands share a torque as a load
    sag, twist = np.full_like(y_m, np.nan), np.full_like(y_m, np.nan)
    if spar:
        sag = _zeroed(y_m, running(running(hogging, y_m), y_m) / spar.bending_n_m2, supports_m)
    if spar and spar.torsion_n_m2:
        angle = np.degrees(running(torsion, y_m) / spar.torsion_n_m2)
        twist = angle - np.interp(supports_m, y_m, angle).mean()
    return BeamLoads(y_m, load_n_m, shear, hogging, torsion, sag, twist, supports_m, support)


def _shear(y_m: np.ndarray, load: np.ndarray, supports_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shear along the span and the load on each stand: both by the load's sum and first moment."""
    support = np.array([np.trapezoid(load, y_m)])
    if len(supports_m) == 2:
        arms = (np.trapezoid(load * y_m, y_m) - support * supports_m[::-1]) / np.diff(supports_m)
        support = arms * [-1.0, 1.0]
    carried = (support[:, None] * (y_m[None, :] >= supports_m[:, None])).sum(axis=0)
    return carried - running(load, y_m), support


def _zeroed(y_m, raw, supports_m) -> np.ndarray:
    """The free line and slope of a twice-integrated curve fixed by the stands."""
    at = np.interp(supports_m, y_m, raw)
    if len(supports_m) == 2:
        slope = (at[1] - at[0]) / (supports_m[1] - supports_m[0])
    else:
        slope = np.interp(supports_m[0], y_m, np.gradient(raw, y_m))
    return raw - at[0] - slope * (y_m - supports_m[0])


def stiffness_from_bench(
    load_n: float, sag_m: float, at: str, stands: int, spacing_m: float, span_m: float
) -> float:
    """E I [N m^2] from a weight hung on the wing and the sag under it.

    Parameters
    ----------
    load_n, sag_m : float
        Weight [N] and sag under it [m], the wing resting on its stands.
    at : str
        ``middle`` (between two stands: P L^3 / 48 EI) or ``tip`` (one tip; two stands: P a^2 (L + a) / 3 EI
        with overhang a; one stand: P a^3 / 3 EI).

    Raises
    ------
    StudyError
        A weight in the middle over a single stand, or at a tip without overhang.

    Examples
    --------
    >>> round(stiffness_from_bench(100.0, 0.002, "middle", 2, 0.9, 1.4), 1)
    759.4
    """
    arm = span_m / 2 - (spacing_m / 2 if stands == 2 else 0.0)
    if at == "middle" and stands == 2:
        return load_n * spacing_m**3 / (48.0 * sag_m)
    if at == "tip" and arm > 0.0:
        inner = spacing_m if stands == 2 else 0.0
        return load_n * arm**2 * (inner + arm) / (3.0 * sag_m)
    raise StudyError("spar.bench_at: no sag shows there; hang the weight on a tip that overhangs its stand")
