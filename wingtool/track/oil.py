"""Sustained lateral load: seconds at each lateral g, longest spells, g-seconds per corner."""

from dataclasses import dataclass

import numpy as np

from wingtool.files import words_beside
from wingtool.track.log import stretches

WORDS = words_beside(__file__, "oil")
OIL_CAUTION = WORDS["caution"]
BIN_G = 0.05
HELD = 0.9  # of a corner's peak: what counts as held


@dataclass(frozen=True, eq=False)
class Sustained:
    """One lap, or one log, by lateral load.

    Parameters
    ----------
    level_g : ndarray, shape (b,)
        Lower edge of each bin [g].
    seconds : ndarray, shape (b,)
        Time in each bin [s].
    longest_s : ndarray, shape (b,)
        Longest spell without a break at or above the level [s].
    g_seconds : float
        Sum of g times time [s].
    """

    level_g: np.ndarray
    seconds: np.ndarray
    longest_s: np.ndarray
    g_seconds: float


@dataclass(frozen=True)
class SustainedCorner:
    """One corner: `peak_g`, `held_s` at 90 % of it or more, `g_seconds`, `over_s` the longest spell above the
    user's level (None without one)."""

    name: str
    peak_g: float
    held_s: float
    g_seconds: float
    over_s: float | None


def sustained(lateral_g: np.ndarray, step_s: np.ndarray, most_g: float = 2.0) -> Sustained:
    """Histogram of lateral load over time.

    Parameters
    ----------
    lateral_g, step_s : ndarray, shape (n,)
        Load (sign ignored) and the time that each sample stands for [s].

    Examples
    --------
    >>> turn = sustained(np.array([0.0, 1.04, 1.04, 0.0]), np.ones(4))
    >>> float(turn.seconds[20]), float(turn.longest_s[20]), round(turn.g_seconds, 2)
    (2.0, 2.0, 2.08)
    """
    g = np.abs(lateral_g)
    count = int(np.ceil(max(most_g, float(g.max(initial=0.0)) + 1e-9) / BIN_G))
    level = np.arange(count) * BIN_G
    index = np.minimum((g / BIN_G + 1e-9).astype(int), count - 1)
    seconds = np.bincount(index, weights=step_s, minlength=count)
    longest = np.array([longest_spell(g >= edge - 1e-9, step_s) for edge in level])
    return Sustained(level, seconds, longest, float(np.sum(g * step_s)))


def longest_spell(on: np.ndarray, step_s: np.ndarray) -> float:
    """Longest unbroken time [s] in which `on` holds."""
    running = np.r_[0.0, np.cumsum(step_s)]
    return float(max((running[last] - running[first] for first, last in stretches(on)), default=0.0))


def corner_holds(
    lateral_g: np.ndarray, step_s: np.ndarray, part: np.ndarray, names: tuple[str, ...],
    trusted_g: float | None = None, least_g: float = 0.2,
) -> tuple[SustainedCorner, ...]:  # fmt: skip
    """Lateral load in each part of the lap; parts that stay below 0.2 g are left out."""
    g = np.abs(lateral_g)
    corners = []
    for index, name in enumerate(names):
        here = part == index
        peak = float(g[here].max(initial=0.0))
        if peak < least_g:
            continue
        held = longest_spell(here & (g >= HELD * peak), step_s)
        over = None if trusted_g is None else longest_spell(here & (g >= trusted_g), step_s)
        corners.append(SustainedCorner(name, peak, held, float(np.sum((g * step_s)[here])), over))
    return tuple(corners)


def oil_warning(
    trusted_g: float | None, trusted_s: float, longest_s: float, before_s: float, most_s: float = 0.0
) -> str:
    """One sentence on the user's own limit: kept, perhaps not, or not; `most_s` is the high end of the time.

    Without a limit it says that none is set.
    """
    if trusted_g is None:
        return "no limit is set in [oil]; none is assumed"
    spell = WORDS["spell"].format(trusted_g, longest_s, trusted_s, before_s)
    if longest_s <= trusted_s < most_s:
        return WORDS["near"].format(spell, most_s)
    return WORDS["within" if longest_s <= trusted_s else "over"].format(spell)
