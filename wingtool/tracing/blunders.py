"""Slips of a person with calipers or a pen: named by their row, not smoothed over."""

from dataclasses import replace

import numpy as np

from wingtool.tracing.curve import GAP, ORDER, SHAPE
from wingtool.tracing.fit import OUTLIER, Fitted, fit_outline
from wingtool.tracing.readings import UPPER

# standard deviations; without a slip the worst of 64 simulated hands were 1.9, once 4.3, and 3.1
TAIL_APART, RADIUS_APART = 2.2, 3.2
SLIP = 2.0 * OUTLIER  # standard deviations: beyond it a reading was written down wrong
NAMED = 4


def slips(fitted: Fitted) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Readings left out of the fit, as notes, and as doubts those that were written down wrong."""
    readings, residual = fitted.readings, fitted.residual_mm
    points, side = readings.points_mm * readings.lay, readings.side * readings.lay[1]
    off = np.abs(residual) / readings.error_mm
    notes: list[str] = []
    doubts: list[str] = []
    for k in sorted(np.flatnonzero(fitted.outlier), key=lambda k: -off[k])[:NAMED]:
        x, y = points[k]
        name = f"point ({x:g}, {y:g}) mm"
        if readings.way == "stations":
            name = f"station x = {x:g} mm, {'upper' if side[k] == UPPER else 'lower'} {y:g} mm"
        wrong = off[k] > SLIP and readings.way != "photo"
        text = f"{name}, lies {abs(residual[k]):.1f} mm off the section and was left out as an outlier"
        (doubts if wrong else notes).append(f"{text}: correct that reading" if wrong else text)
    return tuple(notes), tuple(doubts)


def contradictions(fitted: Fitted) -> tuple[str, ...]:
    """Tail and nose radius as measured on their own against what the other readings say without them."""
    readings = fitted.readings
    if readings.way == "photo" or (readings.tail_mm is None and readings.nose_radius_mm is None):
        return ()
    own = fit_outline(replace(readings, tail_mm=None, nose_radius_mm=None))
    shape, chord = own.placed.shape, own.placed.chord_mm
    first = 0.5 * (shape[0] - shape[ORDER])
    gap, radius = np.eye(SHAPE)[GAP] * chord, 0.5 * chord * first * (np.eye(SHAPE)[0] - np.eye(SHAPE)[ORDER])
    measured = (
        ("tail", readings.tail_mm, chord * shape[GAP], gap, TAIL_APART),
        ("nose radius", readings.nose_radius_mm, 0.5 * chord * first**2, radius, RADIUS_APART),
    )
    found = []
    for name, single, value, row, most in measured:
        if single is None:
            continue
        error = np.hypot(single[1], np.sqrt(row @ own.covariance @ row))
        if abs(single[0] - value) > most * error:
            found.append(
                f"the readings make the {name} {value:.1f} mm (+-{2 * error:.1f}), measured on its own it "
                f"is {single[0]:g} mm: a wrong number, or zero or table moved between upper and lower side"
            )
    return tuple(found)
