"""The answer of a study: which angles, what force at three speeds, and which cautions stand beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.section import LOW_CONFIDENCE
from wingtool.study.cautions import MAY_LIFT, Caution, cautions_for

if TYPE_CHECKING:
    from wingtool.wing import WingPolar

STALL_MARGIN_DEG = 3.0  # stay 2 to 3 degrees below the computed stall; common practice, no source
UNKNOWN_ROOF_DEG = 4.0  # kept for air behind a roof that nobody measured; common practice, no source
USEFUL_RANGE_DEG = 6.0  # widest range that is advised at once; small steps between runs are common practice
SOUND = ("converged", "beyond stall")


@dataclass(frozen=True)
class Force:
    """Downforce and drag at one speed and the advised start angle, each with its band [N]."""

    speed_m_s: float
    downforce_n: float
    downforce_low_n: float
    downforce_high_n: float
    drag_n: float
    drag_low_n: float
    drag_high_n: float


@dataclass(frozen=True)
class Advice:
    """What to do with the table.

    Parameters
    ----------
    start_deg, low_deg, high_deg : float
        Angle to start with, and the advised range [deg]; nan when there is none.
    stall_deg : float
        Lowest wing angle at which a strip stalls, over all speeds [deg]; nan if none stalls in the table.
    margin_deg : float
        What is kept from the stall: common practice plus the band of the roof's flow angle [deg].
    forces : tuple of Force
        At three speeds and the start angle.
    cautions : tuple of Caution
    ends_because : str
        What ends the range: the margin to the stall, the end of the table, or a row that is not sound.
    doubt : str
        Why the advice is not to be trusted; empty if it is.
    """

    start_deg: float
    low_deg: float
    high_deg: float
    stall_deg: float
    margin_deg: float
    forces: tuple[Force, ...]
    cautions: tuple[Caution, ...]
    ends_because: str = ""
    doubt: str = ""


def advise(wing: WingPolar, roof_band_deg: float | None) -> Advice:
    """Angle range with margin to stall, forces at three speeds, cautions.

    The start angle is the low end of the range: first runs are made there, and the angle is raised in steps.

    Parameters
    ----------
    wing : WingPolar
    roof_band_deg : float or None
        Half width of the band of the flow angle behind the roof [deg]; None if nobody measured it.
    """
    margin = kept_margin_deg(roof_band_deg)
    stall = stall_angle_deg(wing.wing_angle_deg, wing.stall_margin_deg)
    allowed = angles_allowed(wing, margin)
    angles = wing.wing_angle_deg[allowed]
    if not angles.size:
        cautions = cautions_for(wing, np.nan, roof_band_deg)
        doubt = _no_angle(wing, margin)
        return Advice(np.nan, np.nan, np.nan, stall, margin, (), cautions, doubt=doubt)
    high = float(angles[-1])
    low = float(angles[angles >= high - USEFUL_RANGE_DEG][0])
    index = int(np.flatnonzero(wing.wing_angle_deg == low)[0])
    forces = tuple(_force(wing, k, index) for k in three_of(len(wing.speed_m_s)))
    cautions = cautions_for(wing, high, roof_band_deg)
    cautions += (MAY_LIFT,) if any(force.downforce_low_n < 0.0 for force in forces) else ()
    return Advice(low, low, high, stall, margin, forces, cautions, _end(wing, high, margin))


def stall_angle_deg(angles_deg: np.ndarray, margin_deg: np.ndarray) -> float:
    """Lowest angle at which the margin reaches nothing, over all speeds [deg]; nan if it never does.

    Between two angles that converged it is interpolated, across those that did not.

    Parameters
    ----------
    angles_deg : ndarray, shape (m,)
    margin_deg : ndarray, shape (k, m)

    Examples
    --------
    >>> float(stall_angle_deg(np.array([0.0, 10.0]), np.array([[8.0, -2.0], [9.0, -1.0]])))
    8.0
    """
    lowest = []
    for row in margin_deg:
        good = np.isfinite(row)
        angles, margin = angles_deg[good], row[good]
        past = np.flatnonzero(margin <= 0.0)
        if past.size and past[0] > 0:
            i = past[0]
            share = margin[i - 1] / (margin[i - 1] - margin[i])
            lowest.append(angles[i - 1] + share * (angles[i] - angles[i - 1]))
        elif past.size:
            lowest.append(angles[0])
    return float(min(lowest)) if lowest else np.nan


def three_of(count: int) -> tuple[int, ...]:
    """Indices of the first, the middle and the last of `count`, each once."""
    return tuple(sorted({0, count // 2, count - 1}))


def kept_margin_deg(roof_band_deg: float | None) -> float:
    """Angle kept clear of the stall [deg]: common practice, and the band of the flow behind the roof.

    Where nothing is known of that flow (None) more is kept than for the bands that tufts usually leave.
    """
    return STALL_MARGIN_DEG + (UNKNOWN_ROOF_DEG if roof_band_deg is None else roof_band_deg)


def angles_allowed(wing: WingPolar, margin_deg: float) -> np.ndarray:
    """Angles, boolean (m,), that are sound at every speed, make downforce, and keep the margin."""
    sound = np.isin(wing.status, SOUND) & np.isfinite(wing.downforce_n)
    kept = wing.stall_margin_deg >= margin_deg
    good = np.all(sound & kept & (wing.downforce_n > 0.0), axis=0)
    first_bad_past_good = np.flatnonzero(~good & (np.cumsum(good) > 0))
    if first_bad_past_good.size:
        good[first_bad_past_good[0] :] = False
    return good


def _no_angle(wing: WingPolar, margin_deg: float) -> str:
    """Why no angle can be advised, and what to change."""
    known = wing.downforce_n[np.isfinite(wing.downforce_n)]
    if known.size and known.max() <= 0.0:
        return (
            "the wing lifts the car at every angle of the table: give steeper angles in [sweep], and look at "
            "the section with `wingtool inspect`, whether it is upside down"
        )
    keeps = np.all(~(wing.stall_margin_deg < margin_deg), axis=0)  # what has no number may keep it
    unsound = ~np.isin(wing.status, SOUND)
    if keeps.any() and np.all(unsound[:, keeps].any(axis=0)):
        words = list(wing.status[:, keeps][unsound[:, keeps]])
        commonest = max(set(words), key=words.count)
        bare = (
            "; tips without endplates work at lower angles than the middle, where a cambered section may "
            "have no data: try [wing.endplate]"
        )
        return (
            f"no angle that keeps the margin is sound at every speed (most often: {commonest}): look at the "
            f"section data with `wingtool sweep`{bare if commonest == LOW_CONFIDENCE else ''}"
        )
    return (
        "no angle of the table makes sound downforce at every speed and keeps the margin to the stall, "
        f"{margin_deg:.2g} degrees: give lower angles in [sweep], or tufts, which narrow the roof's band"
    )


def _end(wing: WingPolar, high_deg: float, margin_deg: float) -> str:
    past = np.flatnonzero(wing.wing_angle_deg > high_deg)
    if not past.size:
        return "the table ends there"
    words = wing.status[:, past[0]]
    unsound = words[~np.isin(words, SOUND)]
    if unsound.size:
        return f"the next angle is not sound ({unsound[0]})"
    return f"{margin_deg:.2g} degrees are kept as a margin to the stall"


def _force(wing: WingPolar, k: int, m: int) -> Force:
    names = ("downforce_n", "downforce_low_n", "downforce_high_n", "drag_n", "drag_low_n", "drag_high_n")
    return Force(float(wing.speed_m_s[k]), *(float(getattr(wing, name)[k, m]) for name in names))
