"""A trailing-edge tab on the pressure side, added to a polar from any method. Predicted, not fitted.

Lift: free-streamline theory for the outer flow (`wingtool.panels.tab_mode`), with the speed that the tab
meets in the boundary layer of the lower side: the coupled solver's own at the tail, laminar there near stall
on a smooth section; without it that of a turbulent plate. Drag: of the wall's drag against the pressure
behind it half comes back at the nose (the part that belongs to circulation); on top, the suction on the base
that goes with the speed of the upper side one tab height ahead of the tail.

Stall: a tab loads the whole chord, so at equal lift the nose is loaded less. By thin-aerofoil theory
circulation ``delta cl`` about a plate carries the nose suction of ``delta cl / (4 pi)`` of incidence, half of
the incidence that gives the same lift. Nominal is stall at equal nose suction: the stall angle falls by that,
clmax rises by half of the attached gain. The band runs from stall at equal lift (no gain) to stall at equal
angle (all of it), which is what separation from the tail gives when the tab relieves it.

Tried and left, as gains of greatest lift (a published value from memory for the 4412; none at hand for the
LS(1)-0413, the section of a measured wing with such a tab). Lift is traded until the speed of the peak
("nose"), or its ratio to that where the layer separates at stall ("separated") or to that at the tail, is
what it was; Head's method: until the layer separates at the same place.

                        MA409 0.4 %, 1, 2, 3e5   S1223 0.4, 1 %, 2e5   4412 2 %, 2e6   LS(1) 1.45 %, 4.5e5
    measured            0.05  0.09  0.09         0.04  0.10            0.47            -
    half, here; nose    0.04  0.05  0.06         0.06  0.12            0.20            0.11
    all                 0.08  0.10  0.13         0.12  0.23            0.41            0.23
    separated           0.05  0.12  0.15         0.10  0.19            0.30            0.16
    tail                0.09  0.12  0.15         0.24  0.37            0.42            0.25
    Head                0.27  0.27  0.31         0.19  0.29            0.54            0.22

Whatever relieves the tail helps the S1223 most, which gains least; neither how much is separated at stall nor
the nose's radius nor the thickness of a layer tells it from the 4412. Inside the coupled solver gains of
greatest lift are 2 to 6 times those published (S1223, 1 %: 0.67; with the tab's dead air in the wake 0.69;
with the speed of the upper side's last ten tab heights held 0.45), attached ones about twice.

Drag at equal lift, MA409 with 0.4 %, mean over cl 0 to 0.8 at 1, 2, 3e5: computed 0.0012, 0.0013, 0.0012
more, measured 0.0008, 0.0001, 0.0005 (UIUC, vol. 1 and 2), the band's low end 0.0006, 0.0004, 0.0002. Of the
moment only the sign is published in what could be read.
"""

from dataclasses import dataclass, fields, replace
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section, repanel
from wingtool.panels import EDGE, FRONT_DRAG, as_nodes, circulation, forces, solve, tab_mode
from wingtool.section.curves import Lookup, bilinear
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    NOT_CONVERGED,
    TWO_SOLUTIONS,
    SectionPolar,
    status_from_shape,
)

PANELS = 200
BASE_SUCTION = (1 + EDGE / 2) ** 2 - 1
NOMINAL_DRAG = FRONT_DRAG / 2 + BASE_SUCTION
CD_BAND = (FRONT_DRAG / 2 / NOMINAL_DRAG, (FRONT_DRAG + BASE_SUCTION) / NOMINAL_DRAG)
PLATE_SHAPE = 9 / 7  # of the 1/7 power profile
NOSE_SHARE = 0.5  # nose suction of circulation over that of incidence with the same lift
TAB_LIFT_BAND = (0.5, 1.5)  # five measured curves: 0.8 to 1.2 of it where attached; twice that miss
STALL_KNOWN_DEG = 0.5  # half the step between the angles of section data
BAND_ORIGIN = "tab: half to 1.5 of its lift (five curves: 0.8 to 1.2), stall from equal lift to equal angle"
OF_PLAIN_LAYER = [one.name for one in fields(SectionPolar) if one.name.endswith(("_upper", "_lower"))]
NOTE = "with a tab the greatest lift rises by half of what it adds below stall; measured, a third to all"


@dataclass(frozen=True, eq=False)
class TabEffect:
    """What a tab adds to attached flow at each Reynolds number (k) and angle (m).

    Parameters
    ----------
    shift_deg : ndarray, shape (k, m)
        Incidence that gives the same lift: the zero-lift angle falls by it [deg].
    cm_per_cl, circulation_per_cl : ndarray, shape (m,)
        Moment and circulation that come with unit added lift.
    cd : ndarray, shape (k, m)
        Added drag; `CD_BAND` of it are its low and its high end.
    """

    shift_deg: np.ndarray
    cm_per_cl: np.ndarray
    circulation_per_cl: np.ndarray
    cd: np.ndarray


def tip_speed(tab_chord: float, theta: ArrayLike, shape: ArrayLike) -> np.ndarray:
    """Root mean square of the speed over the tab's height, over the speed outside the boundary layer.

    The power profile of momentum thickness `theta` [chord] and shape factor `shape`, no fuller than the
    turbulent plate's; the mean dynamic pressure over the height is what a wall in a boundary layer answers to
    (Hoerner, Fluid-Dynamic Drag, 1965, chapter 5, from memory). Arrays of one shape.

    Examples
    --------
    >>> tip_speed(0.01, *plate_layer([2e5, 2e6])).round(2)
    array([0.75, 0.8 ])
    """
    power = (np.maximum(shape, PLATE_SHAPE) - 1) / 2
    share = tab_chord * power / ((1 + power) * (1 + 2 * power) * np.asarray(theta))
    lost = 2 * power / (1 + 2 * power)  # of the dynamic pressure over the whole layer
    return np.sqrt(np.where(share < 1, (1 - lost) * share ** (2 * power), 1 - lost / share))


def plate_layer(reynolds: ArrayLike) -> tuple[np.ndarray, float]:
    """Momentum thickness [chord] and shape factor at the end of a turbulent plate.

    ``0.37 Re^(-1/5)`` thick with a 1/7 power profile (Schlichting, Boundary-Layer Theory, from memory).
    """
    return 7 / 72 * 0.37 * np.asarray(reynolds, dtype=float) ** -0.2, PLATE_SHAPE


def tab_effect(
    section: Section,
    tab_chord: float,
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    height_chord: float = np.inf,
    layer: tuple[np.ndarray, ...] | None = None,
) -> TabEffect:
    """Effect of a tab on attached flow.

    Parameters
    ----------
    section : Section
    tab_chord : float
        Height over the chord, 0 to 0.06.
    reynolds : float or array, shape (k,)
    alpha_deg : float or array, shape (m,)
    height_chord : float
        Lowest point of the turned-over section above the ground; inf in free air.
    layer : pair of array, shape (k, m), optional
        Momentum thickness [chord] and shape factor of the lower side at the tail; else those of a plate.
    """
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    outline = repanel(section, PANELS).xy
    ground = height_chord if np.isfinite(height_chord) else None
    before, plain, after = (solve([outline], alpha + step, ground) for step in (-1.0, 0.0, 1.0))
    modes = [tab_mode(system, tab_chord) for system in plain.systems]
    mode, reading = (np.stack(part) for part in zip(*modes, strict=True))
    tail = (plain.gamma * reading).sum(axis=1)
    tabbed = plain.gamma + tail[:, None] * mode
    cl, _, cm = forces(as_nodes([outline]), plain.systems[0], tabbed, alpha)
    added, slope = (cl - plain.cl)[:, 0], (after.cl - before.cl)[:, 0] / 2
    speed = tip_speed(tab_chord, *(layer or plate_layer(np.atleast_1d(reynolds)[:, None])))
    return TabEffect(
        shift_deg=speed * added / slope,
        cm_per_cl=(cm - plain.cm)[:, 0] / added,
        circulation_per_cl=(circulation(plain.systems[0], tabbed) - plain.circulation)[:, 0] / added,
        cd=(speed * tail) ** 2 * tab_chord * NOMINAL_DRAG,
    )


def with_tab(polar: SectionPolar, tab_chord: float, alpha_deg: ArrayLike | None = None) -> SectionPolar:
    """The polar of the same section with a tab.

    Parameters
    ----------
    polar : SectionPolar
        Without a tab, with its section; from any method.
    tab_chord : float
        Height over the chord, 0 to 0.06.
    alpha_deg : array, shape (m,), optional
        Angles of the new polar [deg]; those of `polar` if not given. The tab takes lift from up to 4 degrees
        further on, so a polar that shall have a tab at all its angles must reach that much further.

    Returns
    -------
    SectionPolar
        A point for which the plain polar does not reach far enough is nan and its status says so.

    Raises
    ------
    RangeError
        A polar without outline, one that has a tab already, or a height outside the range.
    """
    if polar.section is None:
        raise RangeError("tab: this polar came without its outline; name the section or leave out the tab")
    if polar.tab_chord:
        raise RangeError("tab: this polar has one already; start from the plain section")
    alpha = polar.alpha_deg if alpha_deg is None else np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    rows, layer = polar.reynolds[:, None], None
    if polar.tail_theta_lower is not None and polar.tail_shape_lower is not None:
        ends = (polar.tail_theta_lower, polar.tail_shape_lower)
        layer = tuple(bilinear(polar.alpha_deg, polar.reynolds, end, alpha, rows) for end in ends)
    effect = tab_effect(polar.section, tab_chord, polar.reynolds, alpha, polar.height_chord, layer)
    moved, plain, raised = _moved(polar, alpha, effect.shift_deg, NOSE_SHARE)
    cl = plain.cl + raised
    unknown = ~np.isfinite(cl)
    aft = polar.separation_upper
    separation = None if aft is None else bilinear(polar.alpha_deg, polar.reynolds, aft, moved, rows)
    status = status_from_shape(alpha, cl, separation)
    _carry_over(status, polar, moved, plain.low_confidence)
    status[unknown] = f"{NOT_CONVERGED}: the data without the tab do not reach far enough"
    low, high = _lift_ends(polar, alpha, effect.shift_deg)
    cl_below, cl_above, cd_below, cd_above = (
        np.where(unknown, np.nan, width) for width in polar.half_widths(moved, rows)
    )
    return replace(
        polar,
        alpha_deg=alpha,
        cl=cl,
        cd=plain.cd + effect.cd,
        cm=plain.cm + effect.cm_per_cl * raised / (1 - NOSE_SHARE),
        status=status,
        tab_chord=tab_chord,
        circulation=plain.circulation + effect.circulation_per_cl * raised,
        cl_low=low - cl_below,
        cl_high=high + cl_above,
        cd_low=plain.cd + CD_BAND[0] * effect.cd - cd_below,
        cd_high=plain.cd + CD_BAND[1] * effect.cd + cd_above,
        band_origin="; ".join(filter(None, (polar.band_origin, BAND_ORIGIN))),
        **(dict.fromkeys([*OF_PLAIN_LAYER, "confidence"]) | {"separation_upper": separation}),
        notes=(*polar.notes, NOTE),
    )


def _carry_over(status: np.ndarray, polar: SectionPolar, moved_deg: np.ndarray, doubtful: np.ndarray) -> None:
    """What the plain points beside the place that a point is taken from say of themselves.

    Between two that are stalled, on whichever side, a point is; beside one with two solutions it has two.
    """
    right = np.clip(np.searchsorted(polar.alpha_deg, moved_deg - 1e-9), 0, len(polar.alpha_deg) - 1)
    exact = np.abs(polar.alpha_deg[right] - moved_deg) < 1e-9
    left = np.where(exact, right, np.maximum(right - 1, 0))
    left_status, right_status = (np.take_along_axis(polar.status, at, axis=1) for at in (left, right))
    status[(left_status == BEYOND_STALL) & (right_status == BEYOND_STALL)] = BEYOND_STALL
    status[(status == CONVERGED) & doubtful] = LOW_CONFIDENCE
    status[(left_status == TWO_SOLUTIONS) | (right_status == TWO_SOLUTIONS)] = TWO_SOLUTIONS


def _moved(polar, alpha, shift_deg, share) -> tuple[np.ndarray, Lookup, np.ndarray]:
    """The plain curve moved by `share` of the shift: the angles taken, shape ``(k, m)``, what it says there,
    and the lift by which the rest of the shift raises it.

    The stall of section data is known to half a step of their angles, and falls between two points when the
    curve is moved: what comes as near as that to it is taken from it, or the greatest lift would be lost.
    """
    moved = alpha + share * shift_deg
    stall, _, seen = (column[:, None] for column in polar.stall())
    moved = np.where(seen & (np.abs(moved - stall) <= STALL_KNOWN_DEG + 1e-9), stall, moved)
    raised = _slope(polar)[:, None] * (1 - share) * shift_deg
    return moved, polar.at(moved, polar.reynolds[:, None]), raised


def _slope(polar: SectionPolar) -> np.ndarray:
    """Attached lift slope [1/deg] of each row: the median between lowest lift and stall.

    Not up to the highest lift: far behind stall a thin section may lift more than at its stall.
    """
    slopes = []
    for cl, stall_deg in zip(polar.cl, polar.stall()[0], strict=True):
        there = np.isfinite(cl) & (polar.alpha_deg <= stall_deg)
        alpha, lift = polar.alpha_deg[there], cl[there]
        rising = slice(int(np.argmin(lift)), None) if there.any() else slice(0)
        steps = np.diff(lift[rising]) / np.diff(alpha[rising])
        slopes.append(np.median(steps) if steps.size else np.nan)
    return np.array(slopes)


def _lift_ends(polar, alpha, shift_deg) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest cl over the shares and factors of the band."""
    cases = []
    for share, factor in product((0.0, NOSE_SHARE, 1.0), (TAB_LIFT_BAND[0], 1.0, TAB_LIFT_BAND[1])):
        _, plain, raised = _moved(polar, alpha, factor * shift_deg, share)
        cases.append(plain.cl + raised)
    return np.fmin.reduce(cases), np.fmax.reduce(cases)
