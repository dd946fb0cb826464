"""Splitter and air dam: a wide estimate, or the user's own measurement, which wins; what a blade bears.

A splitter works by the high pressure that stands on its upper face ahead of the bumper and by the low
pressure under it. How much of each a given car makes no formula tells. The pressure coefficients below are
common practice, no source; only the upper bound of the first is physics: no pressure in a steady stream
exceeds that of the air brought to rest (cp = 1).
"""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import AxleAreas, placed
from wingtool.car.vehicle import Car
from wingtool.files import words_beside

COMMON = "common practice, no source"
MEASURED = "the user's own measurement"

# (low, middle, high): cp on the upper face, cp under the overhang, cp under the floor behind it
CP_ABOVE = np.array([0.3, 0.55, 0.9])
CP_UNDER_BLADE = np.array([-0.05, -0.3, -0.8])
CP_UNDER_FLOOR = np.array([0.0, -0.08, -0.25])
# clearance [m]; half width over the force that it adds to the band: size of the trend of a plane flow under a
# blunt nose with the friction of a smooth floor (tests/test_car_balance.py), both ways (README.md)
CLEARANCE_DOUBT = ((0.03, 0.045, 0.06, 0.09, 0.12, 0.15), (0.78, 0.46, 0.26, 0.0, 0.18, 0.32))
# drag over the board's frontal area (blunt edge) and downforce over the induced part
BLADE_DRAG = np.array([0.2, 0.6, 1.2])
# downforce and drag of a dam over its own frontal area; drag may fall because the air under the car slows
DAM_DOWNFORCE = np.array([0.1, 0.4, 1.0])
DAM_DRAG = np.array([-0.4, 0.1, 0.8])
ENDS = np.array([-1.0, 0.0, 1.0])


@dataclass(frozen=True)
class Measured:
    """What the user measured of a front part: downforce and drag areas with their error [m^2]."""

    cla_m2: float
    error_m2: float
    cda_m2: float = 0.0
    cda_error_m2: float = 0.0


@dataclass(frozen=True)
class Splitter:
    """A flat board ahead of and under the bumper; lengths in metres.

    `overhang_m` is what stands ahead of the bumper, `floor_m` what runs back under the car, `clearance_m`
    the board's underside above the ground at rest, `rod_ahead_m` where the rods hold it, ahead of the
    bumper. `modulus_pa` is the board's bending modulus from the user or a bench test.
    """

    overhang_m: float
    width_m: float
    clearance_m: float
    floor_m: float = 0.0
    thickness_m: float = 0.012
    rods: int = 2
    rod_ahead_m: float | None = None
    rod_angle_deg: float = 60.0
    modulus_pa: float | None = None
    measured: Measured | None = None


@dataclass(frozen=True)
class AirDam:
    """A vertical sheet under the bumper, `height_m` deep, with `clearance_m` left to the ground."""

    height_m: float
    width_m: float
    clearance_m: float
    measured: Measured | None = None


@dataclass(frozen=True, eq=False)
class FrontPart:
    """Estimate of one front part.

    `low`, `middle`, `high` are axle areas; `cla_m2`, `cda_m2` the three values (low, middle, high)
    of the part alone; `origin` says where the band comes from.
    """

    name: str
    low: AxleAreas
    middle: AxleAreas
    high: AxleAreas
    cla_m2: tuple[float, float, float]
    cda_m2: tuple[float, float, float]
    origin: str
    blade_m2: float = 0.0


def splitter_estimate(splitter: Splitter, car: Car) -> FrontPart:
    """Downforce, drag and axle areas of a splitter with their band.

    Parameters
    ----------
    splitter : Splitter
    car : Car
        Wheelbase and nose.
    """
    blade = splitter.overhang_m * splitter.width_m
    under = splitter.floor_m * splitter.width_m
    pressures = blade * CP_ABOVE, -blade * CP_UNDER_BLADE, -under * CP_UNDER_FLOOR
    doubt = np.interp(splitter.clearance_m, *CLEARANCE_DOUBT) * sum(part[1] for part in pressures)
    force = _in_quadrature(*pressures, doubt * ENDS)
    on_blade, on_floor = _in_quadrature(*pressures[:2]), pressures[2]
    ahead, behind = car.nose_m + splitter.overhang_m / 2, car.nose_m - splitter.floor_m / 2
    lever = (on_blade * ahead + on_floor * behind) / (on_blade + on_floor)
    blade_share = (pressures[0][2] + pressures[1][2]) / force[2]  # rods: both high ends at once
    drag = BLADE_DRAG * splitter.thickness_m * splitter.width_m
    return _front_part(
        "splitter", force, drag, lever, splitter.clearance_m, car, splitter.measured, blade_share
    )


def measured_by_taps(
    overhang_m: float, width_m: float, floor_m: float, above_pa, below_pa, floor_pa, error_pa: float,
    q_pa: float,
) -> Measured:  # fmt: skip
    """Downforce area from pressure taps, two above the blade, two below it and two under the floor.

    Pressures [Pa] against the static pressure of the stream. The half width of each mean holds the gauge's
    error over two readings and half the difference of the two taps; the three are added as squares over
    their areas.
    """
    blade, under = overhang_m * width_m, floor_m * width_m
    force, square = 0.0, 0.0
    for area, pair in ((blade, above_pa), (-blade, below_pa), (-under, floor_pa)):
        force += area * (pair[0] + pair[1]) / 2
        square += area**2 * (error_pa**2 / 2 + ((pair[0] - pair[1]) / 2) ** 2)
    return Measured(force / q_pa, square**0.5 / q_pa)


def _in_quadrature(*forces: np.ndarray) -> np.ndarray:
    """Sum of independent (low, middle, high) with the half widths added as squares."""
    rows = np.array(forces)
    middle = rows[:, 1].sum()
    below, above = (np.sqrt(np.sum((rows[:, end] - rows[:, 1]) ** 2)) for end in (0, 2))
    return np.array([middle - below, middle, middle + above])


def air_dam_estimate(dam: AirDam, car: Car) -> FrontPart:
    """Downforce, drag and axle areas of an air dam with their band; its force acts on the nose."""
    area = dam.height_m * dam.width_m
    force, drag, lever = area * DAM_DOWNFORCE, area * DAM_DRAG, np.full(3, car.nose_m / 2)
    return _front_part("air dam", force, drag, lever, dam.clearance_m, car, dam.measured)


def _front_part(name, force, drag, lever, height, car, measured, blade_share=0.0) -> FrontPart:
    origin = COMMON
    if measured is not None:
        origin = MEASURED
        force = measured.cla_m2 + measured.error_m2 * ENDS
        drag = measured.cda_m2 + measured.cda_error_m2 * ENDS
        lever = np.full(3, lever[1])
    low, middle, high = (placed(force[i], drag[i], -lever[i], height, car.wheelbase_m) for i in range(3))
    blade = float(force[2] * blade_share)
    return FrontPart(name, low, middle, high, tuple(force.tolist()), tuple(drag.tolist()), origin, blade)


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


ROD_CAUTION = words_beside(__file__, "front")["rods"]


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
