"""Building errors that change a section's outline, as a home builder makes them."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from wingtool.geometry import Section

WAVE_X = (0.10, 0.35, 0.65)  # on the upper side as drawn, which is the suction side
WAVE_LENGTH = 0.16  # of the chord, from foot to foot: about the length of a sanding block; own choice
TAIL_FROM = 0.7  # of the chord: a tail that came out thick is faired in from here; own choice
NOSE_REACH = 6.0  # depths: over so much of the chord a blunted nose is faired in; own choice


@dataclass(frozen=True)
class ShapeError:
    """One error: its name, size at full size [mm], stretch of outline, and the change of the outline.

    `stretch` is (first x/c, last x/c, ``upper``, ``lower`` or ``both``); `change` takes a section and
    the size over the chord.
    """

    name: str
    size_mm: float
    stretch: tuple[float, float, str]
    change: Callable[[Section, float], Section]


def _halves(section: Section) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points, whether each is on the upper side, and the ordinate of the other side at its x."""
    xy = np.array(section.xy)
    nose = int(np.argmin(xy[:, 0]))
    upper = np.arange(len(xy)) <= nose
    top, bottom = xy[nose::-1], xy[nose:]
    root = np.sqrt(np.abs(xy[:, 0]))
    estimate = (np.interp(root, np.sqrt(np.abs(side[:, 0])), side[:, 1]) for side in (bottom, top))
    other = np.where(upper, *estimate)
    return xy, upper, other


def thicker(section: Section, size: float) -> Section:
    """Greatest thickness grown by `size`, all thickness in proportion, about the same mean line."""
    xy, _, other = _halves(section)
    thickness = np.abs(xy[:, 1] - other)
    xy[:, 1] += 0.5 * (xy[:, 1] - other) * size / thickness.max()
    return replace(section, xy=xy)


def thicker_tail(section: Section, size: float) -> Section:
    """Tail grown by `size`, faired in with a parabola."""
    xy, upper, _ = _halves(section)
    share = np.clip((xy[:, 0] - TAIL_FROM) / (1.0 - TAIL_FROM), 0.0, 1.0) ** 2
    xy[:, 1] += np.where(upper, 0.5, -0.5) * size * share
    return replace(section, xy=xy)


def blunter_nose(section: Section, size: float) -> Section:
    """Nose sanded back by `size`, faired into the sides."""
    xy = np.array(section.xy)
    xy[:, 0] += size * np.clip(1.0 - xy[:, 0] / (NOSE_REACH * size), 0.0, 1.0) ** 2
    return replace(section, xy=xy)


def wave(section: Section, size: float, at: float) -> Section:
    """A wave of the upper side, one crest `size` high at x/c, level feet."""
    xy, upper, _ = _halves(section)
    off = np.minimum(np.abs(xy[:, 0] - at) / WAVE_LENGTH, 0.5)
    xy[:, 1] += np.where(upper, size * np.cos(np.pi * off) ** 2, 0.0)
    return replace(section, xy=xy)


def _reach(x: float) -> tuple[float, float, str]:
    return x - WAVE_LENGTH / 2, x + WAVE_LENGTH / 2, "upper"


SHAPE_ERRORS = (
    ShapeError("thickness", 1.0, (0.08, 0.70, "both"), thicker),
    ShapeError("tail thicker", 1.0, (TAIL_FROM, 1.0, "both"), thicker_tail),
    ShapeError("nose blunted", 1.0, (0.0, 0.03, "both"), blunter_nose),
    *(
        ShapeError(f"wave of the suction side at {100 * x:.0f} % chord", 0.5, _reach(x), partial(wave, at=x))
        for x in WAVE_X
    ),
)
