"""The answer of a study: where to start, how far to go and why.

The rule, the same whatever range of angles was asked for:
end    the first stall of all speeds, less the band of the roof's flow and a margin, rounded down to a row;
start  the first row at which the wing makes downforce at every speed even at the low end of its band, and the
       front axle does not carry more of the load than in the bare car by more than a driver takes.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.car import OVERSTEER_POINTS
from wingtool.files import words_beside
from wingtool.section import LOW_CONFIDENCE
from wingtool.study.cautions import CAUTIONS, UNKNOWN_ROOF_DEG, Caution, cautions_for
from wingtool.units import METRIC, DisplayUnits
from wingtool.wing import WingPolar

WORDS = words_beside(__file__, "advice")
STALL_MARGIN_DEG = 3.0  # stay 2 to 3 degrees below the computed stall; common practice, no source
RAISE_BY_DEG = 1.0  # nose down by so much at a time; common practice, no source
UNDERSTEER_POINTS = 3.0  # % of the load off the front axle that drivers accept; common practice, no source
SOUND = ("converged", "beyond stall")


@dataclass(frozen=True)
class Advice:
    """What to do with the table.

    Parameters
    ----------
    start_deg, high_deg : float
        First and last advised angle [deg]; nan when there is none.
    stall_deg : float
        Lowest wing angle at which a strip stalls, over all speeds [deg]; nan if none stalls in the table.
    roof_deg : float
        What the air behind the roof adds to the angle at the strip that stalls first [deg].
    roof_band_deg : float or None
        Half band of the roof's flow angle [deg]; None if nobody measured it.
    cautions : tuple of Caution
    starts_because, ends_because : str
        What sets the first and the last angle.
    understeers_from_deg : float
        First advised angle at which the front axle has lost more of the load than drivers take; nan if none.
    doubt : str
        Why the advice is not to be trusted; empty if it is.
    """

    start_deg: float
    high_deg: float
    stall_deg: float
    roof_deg: float
    roof_band_deg: float | None
    cautions: tuple[Caution, ...]
    starts_because: str = ""
    ends_because: str = ""
    understeers_from_deg: float = np.nan
    doubt: str = ""

    @property
    def given(self) -> bool:
        """Whether an angle is advised."""
        return bool(np.isfinite(self.start_deg))


def advise(
    wing: WingPolar,
    roof_band_deg: float | None,
    front_shift_points: np.ndarray | None = None,
    units: DisplayUnits = METRIC,
) -> Advice:
    """First and last angle, and cautions.

    Parameters
    ----------
    wing : WingPolar
    roof_band_deg : float or None
        Half width of the band of the flow angle behind the roof [deg]; None if nobody measured it.
    front_shift_points : ndarray, shape (m,), optional
        Front axle's share of the load with all parts less that of the bare car, in per cent of the load,
        over the wing's angles; left out without a car.
    units : DisplayUnits
        In which cautions show their numbers first.
    """
    margin = kept_margin_deg(roof_band_deg)
    stall = stall_angle_deg(wing.wing_angle_deg, wing.stall_margin_deg)
    allowed, high = angles_allowed(wing, margin), end_deg(wing, roof_band_deg)
    roof = roof_at_stall_deg(wing, stall)
    if not allowed.any():
        cautions = cautions_for(wing, np.nan, roof_band_deg, units)
        return Advice(np.nan, np.nan, stall, roof, roof_band_deg, cautions, doubt=_no_angle(wing, margin))
    angles = wing.wing_angle_deg
    index, because, sure = _start(wing, allowed, front_shift_points)
    cautions = cautions_for(wing, high, roof_band_deg, units) + (() if sure else (CAUTIONS["may_lift"],))
    return Advice(
        float(angles[index]), high, stall, roof, roof_band_deg, cautions, because,
        _end(wing, high, stall, margin), _understeers(angles, allowed, front_shift_points),
    )  # fmt: skip


def _start(wing: WingPolar, allowed: np.ndarray, shift_points: np.ndarray | None) -> tuple[int, str, bool]:
    """Index of the first angle, what sets it, and whether its whole band is downforce there."""
    sure = allowed & np.all(wing.downforce.low_n > 0.0, axis=0)
    if not sure.any():
        last = int(np.flatnonzero(allowed)[-1])
        return last, "no allowed angle makes downforce over its whole range: the steepest is taken", False
    steady = sure if shift_points is None else sure & ~(shift_points > OVERSTEER_POINTS)
    if not steady.any():
        last = int(np.flatnonzero(sure)[-1])
        return last, "every allowed angle leaves the front too heavy when fast: the steepest is taken", True
    first, start = (int(np.flatnonzero(one)[0]) for one in (sure, steady))
    if start > first:
        return start, "less may oversteer at speed with this front end", True
    return first, "least angle whose whole range is downforce", True


def _understeers(angles: np.ndarray, allowed: np.ndarray, shift_points: np.ndarray | None) -> float:
    if shift_points is None:
        return np.nan
    light = np.flatnonzero(allowed & (shift_points < -UNDERSTEER_POINTS))
    return float(angles[light[0]]) if light.size else np.nan


def roof_at_stall_deg(wing: WingPolar, stall_deg: float) -> float:
    """Flow angle of the roof [deg] at the strip that stalls first; 0 where none stalls."""
    if wing.inflow is None or not np.isfinite(stall_deg) or not np.any(wing.inflow.angle_deg):
        return 0.0
    m = min(int(np.searchsorted(wing.wing_angle_deg, stall_deg)), len(wing.wing_angle_deg) - 1)
    margins = np.where(np.isfinite(wing.strip_margin_deg[:, m]), wing.strip_margin_deg[:, m], np.inf)
    strip = int(np.unravel_index(np.argmin(margins), margins.shape)[1])
    fraction = abs(float(wing.strip_y_m[strip])) / (0.5 * wing.wing.span_m)
    return float(np.interp(fraction, wing.inflow.span_fraction, wing.inflow.angle_deg))


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
    stalls = [first_zero(angles_deg, row) for row in margin_deg]
    return float(np.fmin.reduce(stalls)) if stalls else np.nan


def first_zero(angles_deg: np.ndarray, margin_deg: np.ndarray) -> float:
    """Angle at which a margin (m,) first falls through zero, straight between; nan where it does not."""
    good = np.isfinite(margin_deg)
    angles, margin = angles_deg[good], margin_deg[good]
    past = np.flatnonzero(margin <= 0.0)
    if not past.size:
        return np.nan
    i = int(past[0])
    if i == 0:
        return float(angles[0])
    share = margin[i - 1] / (margin[i - 1] - margin[i])
    return float(angles[i - 1] + share * (angles[i] - angles[i - 1]))


def degrees_left(angles_deg: np.ndarray, margin_deg: np.ndarray) -> np.ndarray:
    """Degrees of the wing's angle left to the stall, (k, m), of each speed's margin of the section.

    The flow angle at a section grows by less than the wing's angle, so a section's own margin is short of
    what the gauge shows; at the stall, where lift grows no more, it grows by as much and half a degree too
    much may be told. A speed that does not stall in the table keeps the section's margin.

    Examples
    --------
    >>> degrees_left(np.array([0.0, 5.0, 10.0]), np.array([[7.0, 3.0, -1.0], [9.0, 6.0, 3.0]])).tolist()
    [[8.75, 3.75, -1.25], [9.0, 6.0, 3.0]]
    """
    stalls = np.array([first_zero(angles_deg, row) for row in margin_deg])[:, None]
    return np.where(np.isfinite(stalls) & np.isfinite(margin_deg), stalls - angles_deg, margin_deg)


def least_left(wing: WingPolar) -> np.ndarray:
    """Where the degrees left are a section's own margin, boolean (k, m): at least so much is left.

    There no stall was found at that speed.
    """
    own = np.where(np.isnan(wing.strip_margin_deg), np.inf, wing.strip_margin_deg).min(axis=-1)
    return (wing.stall_margin_deg == own) & (own > 0.0)


def off_for_roof_deg(roof_band_deg: float | None) -> float:
    """What is taken off the degrees left [deg], because nobody measured the air behind the roof."""
    return UNKNOWN_ROOF_DEG if roof_band_deg is None else 0.0


def kept_margin_deg(roof_band_deg: float | None) -> float:
    """Angle kept clear of the stall [deg]: common practice, and the band of the flow behind the roof.

    Where nothing is known of that flow (None) more is kept than for the bands that tufts usually leave, but
    less may be than a measured roof's angle and band take together: the caution says so.
    """
    return STALL_MARGIN_DEG + (UNKNOWN_ROOF_DEG if roof_band_deg is None else roof_band_deg)


def angles_allowed(wing: WingPolar, margin_deg: float) -> np.ndarray:
    """Angles, boolean (m,), that are sound at every speed, make downforce, and keep the margin.

    The margin is kept on the gauge, where the band of the roof's angle counts too, so that the degrees of
    the answer add up; where no stall was found, by the section of each strip.
    """
    sound = np.isin(wing.status, SOUND) & np.isfinite(wing.downforce.n)
    stall = stall_angle_deg(wing.wing_angle_deg, wing.stall_margin_deg)
    if np.isfinite(stall):
        kept = wing.wing_angle_deg <= round(stall, 1) - margin_deg + 1e-9
    else:
        kept = np.all(wing.stall_margin_deg >= margin_deg, axis=0)
    good = kept & np.all(sound & (wing.downforce.n > 0.0), axis=0)
    first_bad_past_good = np.flatnonzero(~good & (np.cumsum(good) > 0))
    if first_bad_past_good.size:
        good[first_bad_past_good[0] :] = False
    return good


def end_deg(wing: WingPolar, roof_band_deg: float | None) -> float:
    """Last allowed angle [deg] of a wing; nan where none is allowed."""
    allowed = wing.wing_angle_deg[angles_allowed(wing, kept_margin_deg(roof_band_deg))]
    return float(allowed[-1]) if allowed.size else np.nan


def _no_angle(wing: WingPolar, margin_deg: float) -> str:
    """Why no angle can be advised, and what to change."""
    known = wing.downforce.n[np.isfinite(wing.downforce.n)]
    if known.size and known.max() <= 0.0:
        return WORDS["lifts"]
    keeps = np.all(~(wing.stall_margin_deg < margin_deg), axis=0)  # what has no number may keep it
    unsound = ~np.isin(wing.status, SOUND)
    if keeps.any() and np.all(unsound[:, keeps].any(axis=0)):
        words = list(wing.status[:, keeps][unsound[:, keeps]])
        commonest = max(set(words), key=words.count)
        bare = wing.wing.endplate is None and commonest == LOW_CONFIDENCE
        return WORDS["unsound"].format(commonest, WORDS["tips"] if bare else "")
    return WORDS["no_margin"].format(margin_deg, "larger " if wing.wing.endplate else "")


def _end(wing: WingPolar, high_deg: float, stall_deg: float, margin_deg: float) -> str:
    past = np.flatnonzero(wing.wing_angle_deg > high_deg)
    if not past.size:
        return "no angle above was computed"
    words = wing.status[:, past[0]]
    unsound = words[~np.isin(words, SOUND)]
    if unsound.size:
        return f"no reliable data at the next angle ({unsound[0]})"
    if not np.isfinite(stall_deg):
        return f"{margin_deg:.2g} degrees are kept from the stall"
    return f"{margin_deg:.2g} degrees are kept from the stall at {stall_deg:.1f}"
