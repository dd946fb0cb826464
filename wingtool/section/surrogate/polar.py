"""The learned surrogate that ships with neuralfoil: a second opinion on a section, in milliseconds.

Its training data are results of an integral boundary-layer method, not measurements. It carries its own
measure of confidence, which falls away from the shapes and angles that it was trained on.
"""

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import kulfan
from wingtool.section.polar import LOW_CONFIDENCE, NOT_CONVERGED, Question, SectionPolar, status_from_shape
from wingtool.section.surface import trip_of
from wingtool.section.surrogate.network import network

# By which aerosandbox divides lift and moment at rest: its rounded form of Prandtl and Glauert's factor.
AT_REST = np.sqrt(np.log(np.exp(2.0) + np.exp(-2.0)) / 2.0)
LEAST_CONFIDENCE = 0.8  # own choice: below it, by its own account, it departs visibly from what it learned
BAND_ORIGIN = "surrogate: holds 95 % of the figures of the measured record, by Reynolds number"
# From Reynolds 2e5 up, and below (tests/data/section_record.csv, 163 curves without a tab): lift less by
# a + b |cl| or more by c; least and greatest part of drag.
BAND_REYNOLDS = 2e5
BAND = np.array([[0.10, 0.10, 0.05, 0.80, 1.35], [0.20, 0.15, 0.08, 0.75, 1.75]])


def surrogate_polar(question: Question) -> SectionPolar:
    """Polar of a plain section in free air by the learned surrogate.

    Raises
    ------
    RangeError
        An unknown surface, a trip off the chord, or a ground.
    """
    if np.isfinite(question.height_chord):
        raise RangeError("surrogate: no ground effect in its training data; leave it out or use coupled")
    trip = trip_of(question.surface, question.trip_x)
    if not 0.0 <= trip <= 1.0:
        raise RangeError(f"trip: {trip:g} is not on the chord; give x/c between 0 and 1")
    confidence, cl, cd, cm, upper, lower = _evaluate(question, trip)
    status = status_from_shape(question.alpha_deg, cl)
    status[confidence < LEAST_CONFIDENCE] = LOW_CONFIDENCE
    broken = ~(np.isfinite(cl) & np.isfinite(cd) & np.isfinite(cm))
    status[broken] = f"{NOT_CONVERGED}: the surrogate gave no number"
    cl, cd, cm = (np.where(broken, np.nan, column) for column in (cl, cd, cm))
    base, part, more, least, most = BAND[(question.reynolds < BAND_REYNOLDS).astype(int)].T[..., None]
    less, up = base + part * np.abs(cl), cl > 0
    return SectionPolar(
        **vars(question),
        cl=cl,
        cd=cd,
        cm=cm,
        status=status,
        method="surrogate",
        cl_low=cl - np.where(up, less, more),
        cl_high=cl + np.where(up, more, less),
        cd_low=least * cd,
        cd_high=most * cd,
        band_origin=BAND_ORIGIN,
        transition_upper=upper,
        transition_lower=lower,
        confidence=confidence,
    )


def _evaluate(question: Question, trip: float) -> np.ndarray:
    """As `network`, of a section with its chord laid from its foremost point to its tail; shape (6, k, m)."""
    rows, alpha_deg = question.reynolds, question.alpha_deg
    shape, nose, along = _fitted(question.section.xy)
    turned_deg, chord = -np.degrees(np.arctan2(along[1], along[0])), np.hypot(*along)
    angles, reynolds = np.tile(alpha_deg + turned_deg, len(rows)), np.repeat(rows * chord, len(alpha_deg))
    outputs = network(np.tile(shape, (len(angles), 1)), reynolds, angles, trip, "xlarge")
    outputs[[1, 3]] /= AT_REST
    quarter = nose + 0.25 * along - [0.25, 0.0]
    outputs[3] += outputs[2] * quarter[1] - outputs[1] * quarter[0]
    return outputs.reshape(len(outputs), len(rows), len(alpha_deg))


def _fitted(xy: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Kulfan parameters (18,) of an outline by least squares; its nose; from there to the tail."""
    tail = 0.5 * (xy[0] + xy[-1])
    nose = xy[np.argmax(np.linalg.norm(xy - tail, axis=1))]
    along = tail - nose
    unit = along / (along @ along)
    x, y = np.array([unit, [-unit[1], unit[0]]]) @ (xy - nose).T
    upper, lower = kulfan.side_rows(x, kulfan.SURROGATE_ORDER)
    rows = np.where((np.arange(len(x)) <= x.argmin())[:, None], upper, lower)
    shape = np.linalg.lstsq(rows, y)[0]
    if shape[-1] < 0.0:  # no tail has a negative gap
        shape = np.append(np.linalg.lstsq(rows[:, :-1], y)[0], 0.0)
    return shape, nose, along
