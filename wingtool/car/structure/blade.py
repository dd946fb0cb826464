"""What the blade of a splitter bears: rods, sag of its front edge."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.front import FrontPart, Splitter


@dataclass(frozen=True)
class BladeLoad:
    """What the blade bears at one speed.

    `load_n` on the blade ahead of the bumper (the high end of the band), `rod_n` the pull in one rod,
    `sag_m` of the front edge (None without a modulus).
    """

    speed_m_s: float
    load_n: float
    rod_n: float
    sag_m: float | None
    caution: str


ROD_CAUTION = (
    "kerbs hit low parts: let rods buckle or break away, never let a cable hold a dragging board; seal wood, "
    "oil-soaked wood burns; the event's rules come first"
)


def blade_load(
    splitter: Splitter, part: FrontPart, dynamic_pressure_pa: float, speed_m_s: float
) -> BladeLoad:
    """Rod load and front-edge sag of the blade at the high end of the estimate.

    The board is a strip, evenly loaded (w per length), propped by the rods at `a` ahead of the bumper. For
    its sag it is clamped at the bumper: without rods w L^4 / (8 E I), with rods the prop force follows from
    zero deflection at the prop, R = w (6 L^2 - 4 L a + a^2) / (8 a), which at a = L is the textbook
    3 w L / 8. The rods' pull is the larger of that and of a board hinged at the bumper, w L^2 / (2 a): how
    stiffly a board sits there nobody knows.
    """
    length, rods = splitter.overhang_m, splitter.rods
    w = part.blade_m2 * dynamic_pressure_pa / length
    prop = splitter.rod_ahead_m if splitter.rod_ahead_m is not None else length
    reaction = w * (6 * length**2 - 4 * length * prop + prop**2) / (8 * prop) if rods else 0.0
    held_up = max(reaction, w * length**2 / (2 * prop))
    pull = held_up / rods / np.sin(np.radians(splitter.rod_angle_deg)) if rods else 0.0
    sag = None
    if splitter.modulus_pa is not None:
        rigidity = splitter.modulus_pa * splitter.width_m * splitter.thickness_m**3 / 12
        held = reaction * prop**2 * (3 * length - prop) / 6
        sag = float((w * length**4 / 8 - held) / rigidity)
    return BladeLoad(speed_m_s, float(w * length), float(pull), sag, ROD_CAUTION)
