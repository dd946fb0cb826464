"""A stand-in wing table and an invented car for the tests of car and track: arrays, no flow is solved."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np

from wingtool.air import Air
from wingtool.car import Axle, Car, Tyre
from wingtool.track import Segment, circuit_from_segments
from wingtool.wing import Force

# The green hatch of the Fenmark Saloons at Harrow Down: car, class and circuit are our own invention.
GREEN_HATCH = Car(
    mass_kg=1150.0,
    front_share=0.58,
    wheelbase_m=2.5,
    cg_height_m=0.5,
    cda_m2=0.72,
    cda_low_m2=0.65,
    cda_high_m2=0.79,
    power_w=135e3,
    driven="front",
    tyre=Tyre(1.05, 0.1, 1.05),
    front=Axle(50e3, 0.05, 1.5, 5300.0),
    rear=Axle(40e3, 0.06, 1.5, 5300.0),
    name="the green hatch",
)
HARROW_DOWN = (
    Segment("pit straight", 700.0),
    Segment("Heron", 150.0, 60.0),
    Segment("rise", 400.0),
    Segment("Long Sedge", 300.0, 150.0),
    Segment("dip", 300.0),
    Segment("Sluice", 60.0, 25.0),
    Segment("bank", 500.0),
    Segment("Withy", 200.0, 100.0, 2.0),
    Segment("far straight", 900.0),
    Segment("Windmill", 250.0, 200.0),
    Segment("home", 240.0),
)


def harrow_down(step_m: float = 1.0):
    """The invented circuit, 4 km."""
    return circuit_from_segments("Harrow Down", HARROW_DOWN, step_m)


@dataclass(frozen=True, eq=False)
class StandInWing:
    """The fields of the wing's table that the car reads; coefficients linear in the angle."""

    wing_angle_deg: np.ndarray
    speed_m_s: np.ndarray
    downforce: Force
    drag: Force
    pitching_moment_nm: np.ndarray
    CL: np.ndarray
    CD: np.ndarray
    CM: np.ndarray
    strip_cl: np.ndarray
    strip_y_m: np.ndarray
    strip_load_n_m: np.ndarray
    strip_moment_n: np.ndarray
    strip_plane: np.ndarray
    status: np.ndarray
    CL_far_wake: float = 0.0
    CL_other: float = float("nan")
    CD_induced: float = 0.0
    CD_profile: float = 0.0
    CD_plates: float = 0.0
    CD_base: float = 0.0
    CD_mounts: float = 0.0
    band_origin: str = "stand-in"
    air: Air = field(default_factory=Air)
    wing: SimpleNamespace = field(
        default_factory=lambda: SimpleNamespace(
            span_m=1.4,
            chord_m=0.25,
            height_m=1.3,
            area_m2=0.35,
            endplate=None,
            chord_at=lambda fraction: np.full(np.shape(fraction), 0.25),
        )
    )
    polars: tuple = field(default_factory=lambda: (SimpleNamespace(section=None),))
    inflow: None = None

    @property
    def stall_margin_deg(self) -> np.ndarray:
        """Stall at 20 degrees, beyond the table."""
        return np.broadcast_to(20.0 - self.wing_angle_deg, self.downforce.n.shape)


def stand_in_wing(angles_deg=None, speeds_m_s=None, area_m2: float = 0.35) -> StandInWing:
    """A wing of CL 0.3 + 0.08 / deg and CD 0.02 + 0.08 CL^2, band 15 %."""
    angle = np.linspace(0.0, 12.0, 13) if angles_deg is None else np.asarray(angles_deg, float)
    speed = np.linspace(20.0, 60.0, 9) if speeds_m_s is None else np.asarray(speeds_m_s, float)
    lift = np.broadcast_to(0.3 + 0.08 * angle, (len(speed), len(angle)))
    drag = 0.02 + 0.08 * lift**2
    force = Air().dynamic_pressure_pa(speed)[:, None] * area_m2
    y = (np.arange(40) + 0.5) / 40 * 1.4 - 0.7
    load = (force * lift / 1.4)[:, :, None] * np.ones(40)
    return StandInWing(
        angle, speed, *(Force(force * c, 0.85 * force * c, 1.15 * force * c) for c in (lift, drag)),
        -0.25 * 0.1 * force * lift, lift, drag,
        -0.1 * lift, load, y,
        load, -0.25 * 0.1 * load, np.zeros(40, int), np.full(lift.shape, "converged"),
    )  # fmt: skip
