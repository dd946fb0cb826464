"""What a layer that separates near the ground costs less than the solver says: statistics, one coefficient.

Over a moving road a tripped wing lost half of what the solver takes off for separation (`wing/README.md`; no
physical cause was found). The lift that is given back is

    coefficient * (1 - x_separation) * (x_separation - x_transition) * g(height)

on the upper side, which faces the ground when the section is turned over: what a separated region costs grows
with its length and its thickness, and the layer that separates is the thicker the longer it was turbulent. So
nothing changes where the layer is attached or separates laminar, or in free air, and a stalled section
gets less again. Free and fixed transition are treated alike. `g` rises from zero at 0.6 chord, the height
from which the tripped wing differed, and falls again below 0.1 chord, where the layers of wing and road meet
and measured wings lose downforce that theory keeps.

`ground_record.json` has the coefficient, the rule and what is left of measurements left out; it is written by
tests/fit_ground_record.py. Method `coupled` goes without this step.
"""

import json
from functools import cache
from pathlib import Path

import numpy as np

from wingtool.section.band import GROUND_TRIPPED_FROM, GROUND_TRIPPED_NOTE
from wingtool.section.polar import SectionPolar

LOW_GROUND = 0.1  # height [chord] below which the layers of wing and road meet (as `wing/present.TOO_LOW`)
NOTED_CL = 0.02  # step from which a note is made
NOTE = (
    "low confidence where the layer separates near the ground: up to {most:.2f} of cl was added by one"
    " measured wing; the band keeps the value without"
)


@cache
def ground_fit() -> dict:
    """Coefficient ``lift``, the rule in words, and what is left of measurements ``left_out``."""
    return json.loads(Path(__file__).with_suffix(".json").read_text())


def ground_shape(polar: SectionPolar) -> np.ndarray:
    """What the coefficient multiplies, shape (k, m); zero from 0.6 chord up and where nothing separates."""
    height = polar.height_chord
    near = max(1.0 - height / GROUND_TRIPPED_FROM, 0.0) * min(height / LOW_GROUND, 1.0)
    if near == 0.0 or polar.separation_upper is None or polar.transition_upper is None:
        return np.zeros(polar.cl.shape)
    turbulent = np.clip(polar.separation_upper - polar.transition_upper, 0.0, None)
    return near * np.nan_to_num((1.0 - polar.separation_upper) * turbulent)


def ground_notes(polar: SectionPolar, lift: np.ndarray) -> tuple[str, ...]:
    """Notes of a polar with the step: the solver's own word on a tripped layer gives way to the step's."""
    if lift.max(initial=0.0) < NOTED_CL:
        return polar.notes
    kept = tuple(note for note in polar.notes if note != GROUND_TRIPPED_NOTE)
    return (*kept, NOTE.format(most=lift.max()))
