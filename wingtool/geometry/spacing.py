"""Repanelling: nodes where the outline turns and where the flow changes, neighbours of similar length."""

from dataclasses import replace

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry.curve import Curve, arc_length, smooth_curve
from wingtool.geometry.fairing import faired
from wingtool.geometry.shape import Section

GROWTH = 0.13  # largest change of panel length over distance along the outline: neighbours within 1.14
# How much closer nodes stand where the outline turns: least error of exact potential flows at 160 panels.
CURVATURE_WEIGHT = 0.8
# Wanted panel length at the tail over that of an uncurved part. It falls where panels are many: cusped tails
# that bear load need fine ones (grid study with their layers); few panels are needed at the nose.
TAIL_LENGTH, TAIL_PANELS = 0.1, 4.8
MOST_PANELS = 2000


def _wanted_length(curve: Curve, t: np.ndarray, s: np.ndarray, panels: int) -> np.ndarray:
    """Relative panel length wanted along the outline, before neighbours are made alike."""
    bend = np.minimum(np.abs(curve.curvature(t)), 2000.0)
    from_tail = np.minimum(s, s[-1] - s) / s[-1]
    length = 1.0 / (1.0 + CURVATURE_WEIGHT * np.sqrt(bend))
    return np.minimum(length, min(TAIL_LENGTH, TAIL_PANELS / panels) + 6.0 * from_tail)


def _graded(length: np.ndarray, s: np.ndarray) -> np.ndarray:
    """The largest function below `length` whose slope along `s` stays within `GROWTH`."""
    after = np.minimum.accumulate(length - GROWTH * s) + GROWTH * s
    before = np.minimum.accumulate((length + GROWTH * s)[::-1])[::-1] - GROWTH * s
    return np.minimum(after, before)


def _count(length: np.ndarray, s: np.ndarray) -> np.ndarray:
    """Running number of panels along `s` for a given local panel length."""
    return np.r_[0.0, np.cumsum(np.diff(s) * (1.0 / length[1:] + 1.0 / length[:-1]) / 2.0)]


def _with_corners(running: np.ndarray, s: np.ndarray, corner_s: np.ndarray, panels: int) -> np.ndarray:
    """Running number of panels stretched a little, so that a whole number of them ends at each edge."""
    marks = np.interp(corner_s, s, running) * panels / running[-1]
    whole = np.round(marks)
    for i in range(len(whole)):
        whole[i] = max(whole[i], whole[i - 1] + 1 if i else 1)
    whole = np.minimum(whole, panels - np.arange(len(whole), 0, -1))
    exact = np.r_[0.0, marks, panels]
    return np.interp(running * panels / running[-1], exact, np.r_[0.0, whole, panels])


def _node_places(wanted: np.ndarray, s: np.ndarray, corner_s: np.ndarray, panels: int) -> np.ndarray:
    """Arc lengths of the nodes: the wanted length scaled until exactly `panels` fit."""
    scale = _count(wanted, s)[-1] / panels
    for _ in range(12):
        running = _count(_graded(scale * wanted, s), s)
        scale *= running[-1] / panels
    running = _with_corners(running, s, corner_s, panels)
    return np.interp(np.arange(panels + 1), running, s)


def repanel(section: Section, panels: int = 200) -> Section:
    """The same outline with new points: closer at nose and tail, on a curve through the old ones.

    Coordinates known to be rounded are first smoothed within their last digit (see `faired`).

    Parameters
    ----------
    section : Section
        Any outline with at least 6 distinct points.
    panels : int
        Panels from the tail round to the tail, even, 20 to 2000; a blunt tail's base is not among them.

    Returns
    -------
    Section
        ``panels + 1`` points; first and last are those given, so that a blunt tail stays blunt. Edges keep a
        node. Neighbouring panels differ by less than a quarter in length.

    Raises
    ------
    RangeError
        An odd or impossible number of panels.
    """
    if panels % 2 or not 20 <= panels <= MOST_PANELS:
        raise RangeError(f"{panels} panels: choose an even number from 20 to {MOST_PANELS}")
    curve = smooth_curve(faired(section))
    t, s = arc_length(curve)
    corner_t = curve.knots[curve.corners]
    places = _node_places(_wanted_length(curve, t, s, panels), s, np.interp(corner_t, t, s), panels)
    new = curve.at(np.interp(places, s, t))
    new[0], new[-1] = section.xy[0], section.xy[-1]
    return replace(section, xy=new, rounding=0.0)
