"""What a study file may say about the car, its parts, the circuit and the rules; SI inside.

Each table turns into the frozen dataclass of `wingtool.car` or `wingtool.track` by its `value(...)`.
"""

from inspect import signature
from typing import Annotated, Literal, TypeVar

import numpy as np
from pydantic import BeforeValidator, Field, model_validator

from wingtool.car import (
    FACTS,
    AirDam,
    Axle,
    BodyLift,
    Car,
    Estimate,
    Gears,
    Limits,
    Measured,
    Mounts,
    Spar,
    Splitter,
    Tyre,
    body_lift_of_type,
    drag_area_from_top_speed,
    measured_by_taps,
    stiffness_from_bench,
)
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import StudyError
from wingtool.study.schema.body_shapes import Body
from wingtool.study.schema.fields import (
    LEAST_CDA_M2,
    MOST_CDA_M2,
    Area,
    BendingStiffness,
    CarDragArea,
    CarMass,
    Distance,
    Force,
    GaugePressure,
    Length,
    LiftArea,
    Mass,
    Offset,
    PartLength,
    Power,
    Pressure,
    SegmentLength,
    Speed,
    Stiffness,
    Strict,
    Time,
    Wheelbase,
)
from wingtool.track import Circuit, Segment, circuit_from_segments
from wingtool.units import KG_PER_LB, METRE_PER_FOOT, METRE_PER_INCH, quantity

Value = TypeVar("Value")


def share_of(value: object) -> object:
    """A share written as per cent, "53 %", as a fraction; anything else as it is.

    Examples
    --------
    >>> share_of("53 %"), share_of(0.53)
    (0.53, 0.53)
    """
    if isinstance(value, str) and value.strip().endswith("%"):
        try:
            return float(value.strip().removesuffix("%").replace(",", ".")) / 100.0
        except ValueError:
            raise ValueError(f'{value!r} is not a share; write for example "53 %"') from None
    if isinstance(value, (int, float)) and 1.0 < value <= 100.0:
        raise ValueError(f'{value:g} is more than the whole; write {value / 100.0:g} or "{value:g} %"')
    return value


def _as(kind: type[Value], table: Strict, **given: object) -> Value:
    """The dataclass `kind` from the table's fields of the same names, and what is given besides."""
    same = signature(kind).parameters.keys() & type(table).model_fields.keys()
    return kind(**{name: getattr(table, name) for name in same} | given)


Name = Annotated[str, Field(min_length=1, max_length=80)]
Share = Annotated[float, BeforeValidator(share_of), Field(ge=0.2, le=0.8)]
US_SIZES = {"m": (METRE_PER_INCH, "in"), "kg": (KG_PER_LB, "lb")}
SEA_LEVEL_KG_M3 = 1.225
MOST_PART_M2 = 5.0  # force area that no splitter or air dam has; common practice, no source
DRAG_BAND = 0.1  # of CdA when the user gives no band: common practice, no source


def taken(table: Strict, names: tuple[str, ...], us: bool = False) -> list[str]:
    """What the file does not say of these fields, and the value that stands for it, by the file's own keys.

    `us`: in inches and pounds.

    Examples
    --------
    >>> taken(TyreTable(grip=1.2), ("grip", "load_sensitivity"))
    ['load_sensitivity 0.1']
    """
    found = []
    for name in names:
        value, unit = getattr(table, name), name.rsplit("_", 1)[-1]
        factor, shown = US_SIZES.get(unit, (1.0, "")) if us else (1.0, unit if unit in US_SIZES else "")
        text = f"{value / factor:.3g}" if factor != 1.0 else f"{value}"
        if name not in table.model_fields_set:
            found.append(f"{type(table).model_fields[name].alias} {text} {shown}".rstrip())
    return found


def taken_words(name: str, found: list[str]) -> str:
    """The same as a sentence on the study's table `name`; empty if nothing is taken."""
    return f"not given in [{name}], so taken: {', '.join(found)}" if found else ""


class TyreTable(Strict):
    """``[car.tyre]``: grip as the car shows it."""

    grip: float = Field(1.0, ge=0.2, le=3.0, description="lateral g held in a slow flat corner")
    load_sensitivity: float = Field(
        0.1, ge=0.0, le=0.5, description="n in force ~ load^(1-n); 0.05 to 0.2 is common practice, no source"
    )
    brake_grip: Annotated[float, Field(ge=0.2, le=3.0)] | None = Field(
        None, description="braking g; grip if left out"
    )


class AxleTable(Strict):
    """``[car.front]`` and ``[car.rear]``: springs and tyres of one axle."""

    spring_rate_n_m: Stiffness | None = Field(None, description="of one spring")
    motion_ratio: float = Field(1.0, gt=0.1, le=2.0, description="spring travel over wheel travel")
    bump_travel_m: Length | None = Field(None, description="wheel travel left to the bump stop")
    track_m: Length | None = Field(None, description="between the tyre centres")
    tyre_load_kg: Mass | None = Field(None, description="load rating of one tyre")
    tyre_rate_n_m: Stiffness | None = Field(None, description="of one tyre, upright, for the clearance")

    def value(self) -> Axle:
        """The axle in SI."""
        rate = None if self.spring_rate_n_m is None else self.spring_rate_n_m * self.motion_ratio**2
        load = None if self.tyre_load_kg is None else self.tyre_load_kg * GRAVITY_M_S2
        return Axle(rate, self.bump_travel_m, self.track_m, load, self.tyre_rate_n_m)


class GearsTable(Strict):
    """``[car.gears]``: optional; without it the power is there at every speed."""

    limit_speeds_m_s: tuple[Speed, ...] = Field(
        min_length=1, max_length=10, description="car speed at the rev limit, gear by gear"
    )
    power_curve: tuple[
        tuple[Annotated[float, Field(gt=0, le=1)], Annotated[float, Field(ge=0, le=1)]], ...
    ] = Field(
        ((0.3, 0.3), (0.85, 1.0), (1.0, 0.95)),
        min_length=2,
        description="[revs over limit, power over greatest]",
    )

    @model_validator(mode="after")
    def _rising(self) -> "GearsTable":
        revs = tuple(point[0] for point in self.power_curve)
        for name, row in (("limit_speeds", self.limit_speeds_m_s), ("power_curve", revs)):
            if any(b <= a for a, b in zip(row, row[1:], strict=False)):
                raise ValueError(f"{name} must rise from one entry to the next; sort it")
        return self

    def value(self) -> Gears:
        """Gears as arrays."""
        curve = np.array(self.power_curve)
        return Gears(np.array(self.limit_speeds_m_s), curve[:, 0], curve[:, 1])


class CarTable(Strict):
    """``[car]``: the car without wing, splitter and dam. Defaults are common practice, no source.

    Drag by cda, or drag_coefficient and frontal_area, or top_speed (two-way mean, without the parts).
    """

    name: Name = "the car"
    mass_kg: CarMass = Field(description="with driver and fuel")
    front_share: Share = Field(description="share of the weight on the front axle at rest")
    wheelbase_m: Wheelbase
    cg_height_m: Length = 0.5
    power_w: Power = Field(description="at the wheels")
    cda_m2: CarDragArea | None = Field(None, description="drag area without the parts")
    drag_coefficient: Annotated[float, Field(gt=0.05, lt=2.0)] | None = None
    frontal_area_m2: Area | None = None
    top_speed_m_s: Speed | None = Field(None, description="measured, without the parts")
    cda_band: float = Field(DRAG_BAND, ge=0.0, lt=1.0, description="half width over cda")
    body: Body | None = Field(None, description="for the lift of the bare body where it was not measured")
    lift_area_front_m2: LiftArea | None = Field(
        None, description="bare body's lift over dynamic pressure at the front axle, positive upwards"
    )
    lift_area_rear_m2: LiftArea | None = Field(None, description="the same under the rear axle")
    lift_area_band_m2: Area = Field(0.05, description="half width of both when they are given")
    rolling: float = Field(0.015, ge=0.0, le=0.1, description="rolling resistance over weight")
    rotating_mass_factor: float = Field(
        1.04, ge=1.0, le=1.3, alias="rotating", description="mass with inertia of what turns, over mass"
    )
    driven: Literal["front", "rear", "all"] = "rear"
    nose_m: Length = Field(0.8, description="body ahead of front axle")
    roof_height_m: Length | None = None
    tyre: TyreTable = TyreTable.model_validate({})
    front: AxleTable = AxleTable.model_validate({})
    rear: AxleTable = AxleTable.model_validate({})
    gears: GearsTable | None = None

    @model_validator(mode="after")
    def _drag_known(self) -> "CarTable":
        both = self.drag_coefficient is not None and self.frontal_area_m2 is not None
        ways = [self.cda_m2 is not None, both, self.top_speed_m_s is not None]
        if sum(ways) != 1:
            raise ValueError(
                "give the drag in one way: cda, or drag_coefficient with frontal_area, or top_speed"
            )
        if (self.lift_area_front_m2 is None) != (self.lift_area_rear_m2 is None):
            raise ValueError("give lift_area_front and lift_area_rear together or neither")
        return self

    def value(self, density_kg_m3: float, us: bool = False) -> Car:
        """The car in SI, its notes in US units if `us`; the density is needed for a drag from a top speed."""
        cda, note = self._cda(density_kg_m3)
        if not LEAST_CDA_M2 <= cda <= MOST_CDA_M2:
            raise StudyError(f"car: a {note} would be {cda:.3g} m^2, which no car has; check them")
        lift = self._body_lift()
        size, unit = (METRE_PER_FOOT**2, "ft2") if us else (1.0, "m2")
        sizes = ([f"{area / size:.3g}" for area in (e.value, e.low, e.high)] for e in (lift.front, lift.rear))
        front, rear = (f"{value} {unit} ({low} to {high})" for value, low, high in sizes)
        lift_note = f"lift area of the bare body: front {front}, rear {rear}; {lift.origin}"
        found = taken(self, ("cg_height_m", "nose_m", "rolling", "rotating_mass_factor", "driven"), us)
        found += [f"tyre.{text}" for text in taken(self.tyre, ("grip", "load_sensitivity"))]
        return _as(
            Car,
            self,
            cda_m2=cda,
            cda_low_m2=cda * (1 - self.cda_band),
            cda_high_m2=cda * (1 + self.cda_band),
            body_lift=lift,
            tyre=Tyre(self.tyre.grip, self.tyre.load_sensitivity, self.tyre.brake_grip or self.tyre.grip),
            front=self.front.value(),
            rear=self.rear.value(),
            gears=self.gears.value() if self.gears else None,
            notes=(note, lift_note, *filter(None, [taken_words("car", found)])),
        )

    def _body_lift(self) -> BodyLift:
        front, rear, half = self.lift_area_front_m2, self.lift_area_rear_m2, self.lift_area_band_m2
        if front is None or rear is None:
            return body_lift_of_type(self.body)
        front_band, rear_band = (Estimate(value, value - half, value + half) for value in (front, rear))
        return BodyLift(front_band, rear_band, "as given in [car]")

    def _cda(self, density_kg_m3: float) -> tuple[float, str]:
        if self.cda_m2 is not None:
            return self.cda_m2, "drag area as given"
        if self.drag_coefficient is not None and self.frontal_area_m2 is not None:
            return self.drag_coefficient * self.frontal_area_m2, "drag area from coefficient and frontal area"
        speed = self.top_speed_m_s or 0.0
        cda = drag_area_from_top_speed(speed, self.power_w, self.mass_kg, self.rolling, density_kg_m3)
        return cda, "drag area from the measured top speed and the power at the wheels"


class MeasuredTable(Strict):
    """``[splitter.measured]``, ``[air_dam.measured]``: the user's own measurement replaces the estimate."""

    downforce_n: Force
    error_n: Force = Field(description="half width, 95 %")
    speed_m_s: Speed
    drag_n: Force = 0.0
    drag_error_n: Force = 0.0

    @model_validator(mode="after")
    def _possible(self) -> "MeasuredTable":
        for name, force_n in (("downforce", self.downforce_n), ("drag", self.drag_n)):
            area_m2 = abs(force_n) / (0.5 * SEA_LEVEL_KG_M3 * self.speed_m_s**2)
            if area_m2 > MOST_PART_M2:
                raise ValueError(
                    f"a {name} of {area_m2:.3g} m^2 times the dynamic pressure; check force and speed"
                )
        return self

    def value(self, density_kg_m3: float) -> Measured:
        """Areas over the dynamic pressure."""
        q = 0.5 * density_kg_m3 * self.speed_m_s**2
        return Measured(
            self.downforce_n / q, abs(self.error_n) / q, self.drag_n / q, abs(self.drag_error_n) / q
        )


class TapsTable(Strict):
    """``[splitter.taps]``: pressures against the stream's static pressure, read with a differential gauge."""

    speed_m_s: Speed
    above_pa: tuple[GaugePressure, GaugePressure] = Field(description="on the blade")
    below_pa: tuple[GaugePressure, GaugePressure] = Field(description="under the blade")
    floor_pa: tuple[GaugePressure, GaugePressure] = Field(description="under the floor behind")
    error_pa: Pressure = Field(description="half width of one reading, 95 %")


class SplitterTable(Strict):
    """``[splitter]``: a flat board ahead of and under the bumper."""

    overhang_m: PartLength = Field(description="ahead of the bumper")
    width_m: PartLength
    clearance_m: Length = Field(description="underside above the ground at rest")
    floor_m: Offset = Field(0.0, description="length back under the car")
    thickness_m: Length = 0.012
    rods: int = Field(2, ge=0, le=12)
    rod_ahead_m: Length | None = Field(None, description="rods ahead of the bumper; front edge")
    rod_angle_deg: float = Field(60.0, gt=5.0, le=90.0, description="rods above the board")
    modulus_pa: Pressure | None = Field(None, description="bending modulus of the board")
    measured: MeasuredTable | None = None
    taps: TapsTable | None = None

    @model_validator(mode="after")
    def _sound(self) -> "SplitterTable":
        if self.measured and self.taps:
            raise ValueError("give measured or taps, not both")
        if self.floor_m < 0.0:
            raise ValueError("floor must not be negative; it is the length under the car")
        if self.rod_ahead_m is not None and self.rod_ahead_m > self.overhang_m:
            raise ValueError("rod_ahead must lie on the blade; it is at most the overhang")
        return self

    def taken(self, us: bool = False) -> str:
        """What is taken for what the file does not say of board and rods; empty if it says all."""
        rods = ("rods", "rod_angle_deg") if self.rods else ("rods",)
        return taken_words("splitter", taken(self, ("thickness_m", "floor_m", *rods), us))

    def value(self, density_kg_m3: float) -> Splitter:
        """The splitter in SI."""
        return _as(Splitter, self, measured=self._measured(density_kg_m3))

    def _measured(self, density_kg_m3: float) -> Measured | None:
        if (taps := self.taps) is None:
            return self.measured.value(density_kg_m3) if self.measured else None
        q = 0.5 * density_kg_m3 * taps.speed_m_s**2
        size = (self.overhang_m, self.width_m, self.floor_m)
        return measured_by_taps(*size, taps.above_pa, taps.below_pa, taps.floor_pa, taps.error_pa, q)


class AirDamTable(Strict):
    """``[air_dam]``: a vertical sheet under the bumper."""

    height_m: PartLength = Field(description="how far it reaches down")
    width_m: PartLength
    clearance_m: Length = Field(description="lower edge above the ground at rest")
    measured: MeasuredTable | None = None

    def value(self, density_kg_m3: float) -> AirDam:
        """The dam in SI."""
        measured = self.measured.value(density_kg_m3) if self.measured else None
        return _as(AirDam, self, measured=measured)


class MountsTable(Strict):
    """``[mounts]``: where and how the wing stands on the car. Factors are common practice, no source."""

    behind_rear_axle_m: Offset = Field(description="wing's quarter chord behind the axle")
    stands: Literal[1, 2] = 2
    spacing_m: Length = 0.9
    stand_height_m: Length = 0.3
    foot_ahead_m: Offset = 0.0
    bolts_per_foot: int = Field(4, ge=2, le=12)
    bolt_rows_m: Length = Field(0.1, description="front to rear row")
    wing_mass_kg: Mass = 6.0
    gust_factor: float = Field(1.5, ge=1.0, le=5.0)
    shock_g: float = Field(3.0, ge=0.0, le=20.0)
    proof_factor: float = Field(2.0, ge=2.0, le=5.0)

    def taken(self, us: bool = False) -> str:
        """What is taken for what the file does not say of stands and feet; empty if it says all."""
        names = (
            "stands", "spacing_m", "stand_height_m", "foot_ahead_m", "bolts_per_foot", "bolt_rows_m",
            "wing_mass_kg",
        )  # fmt: skip
        return taken_words("mounts", taken(self, names, us))

    def value(self) -> Mounts:
        """The mounts in SI."""
        return _as(Mounts, self)


class SparTable(Strict):
    """``[spar]``: stiffness of the wing, or a bench test (a known weight hung on it and the sag under it)."""

    bending_n_m2: BendingStiffness | None = None
    torsion_n_m2: BendingStiffness | None = None
    behind_m: Offset = Field(0.0, description="twist axis behind quarter chord")
    bench_mass_kg: Mass | None = None
    bench_sag_m: Length | None = None
    bench_at: Literal["middle", "tip"] = "middle"

    @model_validator(mode="after")
    def _one_way(self) -> "SparTable":
        bench = self.bench_mass_kg is not None and self.bench_sag_m is not None
        if (self.bending_n_m2 is not None) == bench:
            raise ValueError("give bending, or bench_mass with bench_sag, not both and not neither")
        return self

    def value(self, mounts: Mounts, span_m: float) -> Spar:
        """The spar in SI, on these mounts."""
        bending = self.bending_n_m2
        if bending is None:
            weight, sag = (self.bench_mass_kg or 0.0) * GRAVITY_M_S2, self.bench_sag_m or 0.0
            stands = (mounts.stands, mounts.spacing_m)
            bending = stiffness_from_bench(weight, sag, self.bench_at, *stands, span_m)
        return Spar(bending, self.torsion_n_m2, self.behind_m)


class SegmentTable(Strict):
    """``[[circuit.segment]]``: a straight, or a corner with its radius."""

    name: Name
    length_m: SegmentLength
    radius_m: Distance | None = Field(None, description="of the driven line; left out on a straight")
    camber_deg: float = Field(0.0, ge=-30.0, le=40.0, description="positive helps the car turn")


class CircuitTable(Strict):
    """``[circuit]``: segments, or a log of a flying lap."""

    name: Name = "the circuit"
    segment: tuple[SegmentTable, ...] = ()
    log: str | None = Field(None, description="CSV or GPX file of laps, beside the study")

    @model_validator(mode="after")
    def _one_way(self) -> "CircuitTable":
        if bool(self.segment) == bool(self.log):
            raise ValueError("give segments or a log, not both and not neither")
        return self

    def value(self) -> Circuit:
        """The circuit from its segments."""
        return circuit_from_segments(self.name, tuple(_as(Segment, one) for one in self.segment))


class LimitsTable(Strict):
    """``[limits]``: the user's rules.

    ``[limits.most]`` and ``[limits.least]`` hold measures with their units; or `file` names a TOML file with
    the same three entries (source, most, least).
    """

    source: Name = "the user's reading of the rules"
    most: dict[str, str] = {}
    least: dict[str, str] = {}
    file: str | None = None

    @model_validator(mode="after")
    def _known(self) -> "LimitsTable":
        for name, text in [*self.most.items(), *self.least.items()]:
            if name not in FACTS:
                raise ValueError(f"{name} is no measure that can be checked; known: {', '.join(FACTS)}")
            quantity(text, FACTS[name][0], name)
        return self

    def value(self) -> Limits:
        """The limits in SI."""
        most, least = (
            {name: quantity(text, FACTS[name][0], name) for name, text in side.items()}
            for side in (self.most, self.least)
        )
        return Limits(self.source, most, least)


class PartTable(Strict):
    """``[[part]]``: something to buy."""

    name: Name
    price: float = Field(ge=0.0, le=1e7, description="of one, a bare number in `currency`")
    currency: str = Field("", max_length=8)
    count: int = Field(1, ge=1, le=1000)


class OilTable(Strict):
    """``[oil]``: the lateral load the user trusts the pickup to stand; without it nothing is."""

    trusted_g: Annotated[float, Field(gt=0.0, le=4.0)]
    trusted_s: Time = Field(1.0, alias="trusted_time", description="how long above it")


class CorrectionTable(Strict):
    """``[correction]``: the track's answer, written by `wingtool verify`; factors on the wing's estimate."""

    downforce_factor: float = Field(1.0, ge=-1.0, le=3.0)
    downforce_low: Annotated[float, Field(ge=-2.0, le=4.0)] | None = None
    downforce_high: Annotated[float, Field(ge=-2.0, le=4.0)] | None = None
    drag_factor: float = Field(1.0, ge=-1.0, le=10.0)
    drag_low: Annotated[float, Field(ge=-5.0, le=20.0)] | None = None
    drag_high: Annotated[float, Field(ge=-5.0, le=20.0)] | None = None
    drag_on_car: bool = Field(
        False, description="the drag was measured on the car (coast-down), installation included"
    )
    origin: str = Field("the track", min_length=1, max_length=400)

    @model_validator(mode="after")
    def _between_its_ends(self) -> "CorrectionTable":
        for name in ("downforce", "drag"):
            low, factor, high = (getattr(self, f"{name}_{end}") for end in ("low", "factor", "high"))
            if (low is None) != (high is None):
                raise ValueError(f"give {name}_low and {name}_high together or neither")
            if low is not None and not low <= factor <= high:
                raise ValueError(
                    f"{name}_factor {factor:g} is not between {low:g} and {high:g}; correct them"
                )
        return self
