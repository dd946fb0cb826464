"""More angle or a tab: the wing with other tabs, and drag and margin of each at the same downforce."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np

from wingtool.study.advice import Advice, least_left
from wingtool.study.schema.study import Study
from wingtool.study.wing.finite_wing import wing_of_study, with_wing
from wingtool.wing import Force, WingPolar

SAME_TAB_M = 0.0002
SHARES_OF_CHORD = (0.0, 0.01, 0.02)  # the heights that people fit; common practice, no source
REACHED = "converged"
NOT_REACHED = "not converged: this downforce is not reached before the table's peak"
MORE_ALREADY = "not converged: it makes more than this at the table's first angle; start the table lower"


def tab_wings(study: Study) -> list[tuple[float, WingPolar | None]]:
    """Pairs of tab height [m] and wing over the study's angles and speeds, from no tab upwards.

    None stands for the wing with the study's own tab. A wing of several elements comes alone: a tab on it
    cannot be computed.
    """
    own_m = study.wing.tab_m or 0.0
    if study.wing.element:
        return [(own_m, None)]
    usual = (round(share * study.wing.chord_m, 4) for share in SHARES_OF_CHORD)
    others = [height_m for height_m in usual if abs(height_m - own_m) > SAME_TAB_M]
    wings = [(height_m, wing_of_study(with_wing(study, tab_m=height_m or None))) for height_m in others]
    return sorted([(own_m, None), *wings], key=itemgetter(0))


@dataclass(frozen=True, eq=False)
class TabChoice:
    """Tabs (t,) against wanted downforces (d,) at one speed; columns of shape ``(t, d)``.

    `wanted_n` is what the wing without a tab (or with the lowest) makes at `without_deg`. Where a tab makes
    it below the first angle of the table or not at all, numbers are nan and `status` says so. Where no stall
    was found, `least_left`, at least the margin is left.
    """

    tab_m: np.ndarray
    wanted_n: np.ndarray
    without_deg: np.ndarray
    speed_m_s: float
    wing_angle_deg: np.ndarray
    drag: Force
    stall_margin_deg: np.ndarray
    least_left: np.ndarray
    status: np.ndarray


def tab_choice(
    tabs: Sequence[tuple[float, WingPolar]], without_deg: Sequence[float], speed_m_s: float
) -> TabChoice:
    """Angle, drag and margin of each tab at equal downforce.

    Parameters
    ----------
    tabs : pairs of tab height [m] and the wing with it, all over the same angles and speeds
        The first is the one to compare with.
    without_deg : sequence of float, shape (d,)
        Angles of the first wing whose downforce is wanted [deg].
    speed_m_s : float
        The nearest speed of the tables is used.
    """
    heights, wings = zip(*tabs, strict=True)
    first = wings[0]
    k = int(np.argmin(np.abs(first.speed_m_s - speed_m_s)))
    wanted = np.interp(without_deg, first.wing_angle_deg, first.downforce.n[k])
    rows = [_at_equal_downforce(wing, k, wanted) for wing in wings]
    angle, drag, low, high, margin, least_margin = (np.array(column) for column in zip(*rows, strict=True))
    least = np.array([np.fmin.reduce(wing.downforce.n[k]) for wing in wings])[:, None]
    missed = np.where(wanted < least, MORE_ALREADY, NOT_REACHED)
    status = np.where(np.isfinite(angle), REACHED, missed)
    return TabChoice(
        np.array(heights), wanted, np.asarray(without_deg, float), float(first.speed_m_s[k]),
        angle, Force(drag, low, high), margin, least_margin > 0.0, status,
    )  # fmt: skip


def choice_of_tab(
    tabs: Sequence[tuple[float, WingPolar]], wing: WingPolar, advice: Advice
) -> TabChoice | None:
    """The choice at the downforces of the advised range, at the table's middle speed; None without either."""
    if len(tabs) < 2 or not advice.given:
        return None
    middle = (advice.start_deg + advice.high_deg) / 2
    speed_m_s = wing.speed_m_s[wing.middle_speed]
    return tab_choice(tabs, sorted({advice.start_deg, middle, advice.high_deg}), speed_m_s)


def _at_equal_downforce(wing: WingPolar, k: int, wanted: np.ndarray) -> tuple[np.ndarray, ...]:
    """Angle, drag with its band, and margin where the rising branch makes each wanted downforce."""
    drag, force = wing.drag[k], wing.downforce.n[k]
    columns = (wing.wing_angle_deg, *drag, wing.stall_margin_deg[k], least_left(wing)[k])
    rising = rising_branch(force, force)
    if rising.size < 2:
        return tuple(np.full(wanted.shape, np.nan) for _ in columns)
    return tuple(np.interp(wanted, force[rising], c[rising], left=np.nan, right=np.nan) for c in columns)


def rising_branch(values: np.ndarray, downforce: np.ndarray) -> np.ndarray:
    """Indices from the least value to the highest downforce along which values grow; gaps left out."""
    known = np.flatnonzero(np.isfinite(values) & np.isfinite(downforce))
    if not known.size:
        return known
    branch = known[: int(np.argmax(downforce[known])) + 1]
    branch = branch[int(np.argmin(values[branch])) :]
    return branch[np.concatenate([[True], np.diff(np.maximum.accumulate(values[branch])) > 0])]
