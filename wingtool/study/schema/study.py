"""The study: what a study file may say, checked, with SI inside."""

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, WithJsonSchema, field_validator, model_validator

from wingtool.air import Air, standard_air
from wingtool.study.schema.body_shapes import Body, body_outline_m
from wingtool.study.schema.car import (
    AirDamTable,
    CarTable,
    CircuitTable,
    CorrectionTable,
    LimitsTable,
    MountsTable,
    OilTable,
    PartTable,
    SparTable,
    SplitterTable,
)
from wingtool.study.schema.display import display_units
from wingtool.study.schema.fields import Area, Height, Length, Offset, Pressure, Speed, Strict, Temperature
from wingtool.units import M_S_PER_KM_H, DisplayUnits

Angle = Annotated[float, Field(ge=-90.0, le=90.0)]
Angle60 = Annotated[float, Field(ge=-60.0, le=60.0)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
SpanFraction = Annotated[Fraction, Field(description="0 at the middle, 1 at the tip")]
Text = Annotated[str, Field(min_length=1, max_length=200)]
USUAL_SPEEDS_M_S = tuple(float(v) * M_S_PER_KM_H for v in range(60, 221, 20))
USUAL_SPEEDS_MPH = [f"{v} mph" for v in range(40, 141, 20)]
USUAL_ANGLES = "-2:16:1"
MOST_ANGLES = 400
MOST_POINTS = 10_000


def angle_range(text: object) -> tuple[float, ...]:
    """Angles [deg] of ``"FROM:TO:STEP"``, both ends included; ``"4"`` is one angle.

    Raises
    ------
    ValueError
        Not three numbers, a step that never arrives, or more than 400 angles.

    Examples
    --------
    >>> angle_range("0:3:1.5")
    (0.0, 1.5, 3.0)
    >>> angle_range("4")
    (4.0,)
    """
    way_out = 'write FROM:TO:STEP in degrees, for example "-2:16:1"'
    parts = str(text).split(":")
    if len(parts) == 1:
        parts = [parts[0], parts[0], "1"]
    try:
        first, last, step = (float(part) for part in parts)
    except ValueError:
        raise ValueError(f"{text!r} is not an angle range; {way_out}") from None
    if not (abs(first) <= 90.0 and abs(last) <= 90.0 and step > 0.0 and last >= first):
        raise ValueError(f"{text!r} must rise by a positive step between -90 and 90; {way_out}")
    if not (count := (last - first) / step + 1.0 + 1e-9) < MOST_ANGLES + 1.0:
        raise ValueError(f"{text!r} makes more than {MOST_ANGLES} angles; {way_out}")
    return tuple(round(first + step * i, 9) for i in range(int(count)))


Angles = Annotated[
    tuple[Angle60, ...],
    BeforeValidator(angle_range),
    WithJsonSchema({"type": "string", "description": "FROM:TO:STEP in degrees", "examples": ["-2:16:1"]}),
]


class AirInput(Strict):
    """``[air]``: what was measured on the day; the rest from the standard atmosphere."""

    altitude_m: Height | None = Field(None, description="height of the circuit above sea level")
    temperature_k: Temperature | None = Field(None, description="air temperature")
    pressure_pa: Pressure | None = Field(None, description="absolute (not sea-level) pressure")

    def air(self) -> Air:
        """Air [density, viscosity] for the day."""
        return standard_air(self.altitude_m or 0.0, self.temperature_k, self.pressure_pa)


class EndplateInput(Strict):
    """``[wing.endplate]``: the two plates, alike."""

    height_m: Length = Field(description="total height of a plate")
    length_m: Length | None = Field(None, description="length of a plate; the chord if left out")
    above_m: Offset | None = Field(None, description="of it above the chord line; half if left out")
    ahead_m: Offset | None = Field(None, description="how far it reaches ahead of the nose")
    sweep_deg: Angle60 = Field(0.0, description="rake of its edges, positive when the top lies further aft")
    thickness_m: Length | None = Field(None, description="of the sheet; 3 mm if left out")
    outline: tuple[tuple[Offset, Offset, Offset], ...] = Field(
        (),
        max_length=100,
        description="any other shape, from the lowest point up: height above the chord line, front edge and"
        " rear edge behind the wing's nose; height, length, above, ahead and sweep then count for nothing",
    )

    @model_validator(mode="after")
    def _above_within_height(self) -> "EndplateInput":
        if self.above_m is not None and not 0.0 <= self.above_m <= self.height_m:
            raise ValueError("above is more than the plate's height or below zero; correct one of them")
        return self


class ElementInput(Strict):
    """``[[wing.element]]``: a further element behind the main one."""

    section: Text = Field(description="coordinate file, designation or name")
    chord_m: Length
    angle_deg: Angle = Field(description="to the main chord line, positive makes more downforce")
    gap_m: Length = Field(description="slot, from the main element's tail to this element's surface")
    overlap_m: Offset = Field(description="how far its nose lies ahead of the main tail")


class StationInput(Strict):
    """``[[wing.station]]``: where along the half span something changes; straight lines between."""

    span_fraction: SpanFraction
    chord_m: Length | None = None
    twist_deg: Angle | None = Field(None, description="added to the wing angle there")
    section: Text | None = None


class StandInput(Strict):
    """``[[wing.stand]]``: what a stand, or a gap for it, takes from the lift beside it."""

    span_fraction: Fraction = Field(description="0 at the middle, 1 at the tip; the other side alike")
    width_m: Length = Field(description="width of span that it disturbs")
    load_left: Fraction = Field(1.0, description="of the lift there: 1 undisturbed, 0 an open gap")
    drag_area_m2: Area | None = Field(None, description="drag area of one stand")
    origin: Text = Field(description="where the numbers come from, in the user's words")


class PlaneInput(Strict):
    """``[[wing.plane]]``: a second plane behind or above the first, on its angle, solved together with it."""

    section: Text = Field(description="coordinate file, designation or name")
    span_m: Length | None = Field(None, description="that of the first plane if left out")
    chord_m: Length
    behind_m: Offset = Field(description="its nose behind that of the first plane")
    above_m: Offset = Field(description="its chord line above that of the first plane")
    angle_deg: Angle60 = Field(0.0, description="added to the wing angle")


class WingInput(Strict):
    """``[wing]``: the rear wing."""

    section: Text = Field(description="coordinate file, designation or name")
    section_known: bool = Field(True, description="false while `section` stands in for one not yet traced")
    span_m: Length
    chord_m: Length = Field(description="chord in the middle")
    tip_chord_m: Length | None = None
    twist_tip_deg: Angle = Field(0.0, description="angle of the tip less that of the middle")
    sweep_deg: Angle60 = Field(0.0, description="of the quarter-chord line")
    dihedral_deg: float = Field(0.0, ge=-30.0, le=30.0, description="tips up is positive")
    height_m: Length = Field(description="lowest point of the wing at the set angle, above ground")
    flip: bool = Field(False, description="true where the section's file is drawn with the suction side down")
    surface: Literal["smooth", "race", "dirty"] = "race"
    trip_x: Fraction | None = Field(None, description="x/c where a strip or step trips the flow, both sides")
    tab_m: Length | None = Field(None, description="height of a trailing-edge tab")
    method: Literal["corrected", "coupled", "surrogate"] | None = Field(
        None, description="where the section data come from; left out: the best that there is"
    )
    endplate: EndplateInput | None = None
    element: tuple[ElementInput, ...] = ()
    station: tuple[StationInput, ...] = ()
    stand: tuple[StandInput, ...] = ()
    plane: tuple[PlaneInput, ...] = Field((), max_length=3)

    @field_validator("station")
    @classmethod
    def _once_at_a_place(cls, stations: tuple[StationInput, ...]) -> tuple[StationInput, ...]:
        for key in ("chord_m", "twist_deg", "section"):
            places = [one.span_fraction for one in stations if getattr(one, key) is not None]
            if len(set(places)) < len(places):
                raise ValueError(f"two of them give {key.partition('_')[0]} at one span_fraction; keep one")
        return stations


class InflowInput(Strict):
    """``[[roof.inflow]]``: the air that arrives at one span station behind the roof."""

    span_fraction: SpanFraction
    angle_deg: float = Field(
        ge=-45.0, le=45.0, description="positive where the air descends, which adds to the wing's angle"
    )
    angle_band_deg: float = Field(2.0, ge=0.0, le=30.0, description="half width of its band")
    speed_ratio: float = Field(1.0, gt=0.0, le=1.5, description="local speed over car speed")
    speed_ratio_band: float = Field(0.05, ge=0.0, le=0.5, description="half width of its band")


class RoofInput(Strict):
    """``[roof]``: the flow behind the roof, from tufts on the car or else from its side view."""

    inflow: tuple[InflowInput, ...] = ()
    side: tuple[tuple[Offset, Length], ...] = Field(
        (), max_length=400, description="side outline without wheels: x rearwards, height above ground"
    )
    wing_behind_m: Offset = Field(0.0, description="the wing's quarter chord behind the roof edge")
    edge_m: tuple[Offset, Length] | None = Field(
        None, description="roof edge in the side view; left out: where the flow leaves the roof"
    )
    width_m: Length = Field(1.7, description="width of the car")
    body: Body | None = Field(None, description="in place of `side`; with length and height of the car")
    length_m: Length | None = Field(None, description="length of the car")
    height_m: Length | None = Field(None, description="height of the roof")

    @model_validator(mode="after")
    def _side_of_the_body(self) -> "RoofInput":
        if self.body is None:
            return self
        if self.side or self.length_m is None or self.height_m is None:
            raise ValueError("give length and height beside body, and no side")
        outline = body_outline_m(self.body, self.length_m, self.height_m)
        object.__setattr__(self, "side", tuple((float(x), float(z)) for x, z in outline))
        return self


class SweepInput(Strict):
    """``[sweep]``: angles and speeds of the tables."""

    angles_deg: Angles = Field(default_factory=lambda: angle_range(USUAL_ANGLES), alias="angles")
    speeds_m_s: tuple[Speed, ...] = Field(
        default_factory=lambda: USUAL_SPEEDS_M_S, min_length=1, max_length=100
    )

    @model_validator(mode="after")
    def _not_too_many(self) -> "SweepInput":
        points = len(self.angles_deg) * len(self.speeds_m_s)
        if points > MOST_POINTS:
            raise ValueError(f"{points} points of angle and speed; at most {MOST_POINTS}, take wider steps")
        return self

    @field_validator("speeds_m_s")
    @classmethod
    def _rising(cls, speeds: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(sorted(set(speeds)))


class Study(Strict):
    """A study file: one wing on one car at one circuit."""

    title: Text = "A wing"
    note: str = Field("", max_length=2000)
    air: AirInput = Field(default_factory=lambda: AirInput.model_validate({}))
    wing: WingInput
    roof: RoofInput | None = None
    car: CarTable | None = None
    splitter: SplitterTable | None = None
    air_dam: AirDamTable | None = None
    mounts: MountsTable | None = None
    spar: SparTable | None = None
    circuit: CircuitTable | None = None
    limits: LimitsTable | None = None
    part: tuple[PartTable, ...] = ()
    oil: OilTable | None = None
    correction: CorrectionTable | None = None
    sweep: SweepInput = Field(default_factory=lambda: SweepInput.model_validate({}))
    _folder: Path = PrivateAttr(default=Path())
    _source: str = PrivateAttr(default="")
    _units: DisplayUnits = PrivateAttr(default=DisplayUnits())
    _not_answered: tuple[str, ...] = PrivateAttr(default=())

    @property
    def folder(self) -> Path:
        """Folder of the study file; paths in it are taken from here."""
        return self._folder

    @property
    def source(self) -> str:
        """The study file as it was named; empty for a study from flags."""
        return self._source

    @property
    def units(self) -> DisplayUnits:
        """Units that the study's own texts use; its answers show them first."""
        return self._units

    @property
    def not_answered(self) -> tuple[str, ...]:
        """Keys whose values the file marks as usual ones that nobody gave."""
        return self._not_answered


def study_from(data: dict[str, Any], folder: Path = Path()) -> Study:
    """A study from plain data, as flags or a file give it; pydantic's own error if it does not fit."""
    units, sweep = display_units(data), data.get("sweep", {})
    if units.speed == "mph" and isinstance(sweep, dict) and "speeds" not in sweep:
        data = data | {"sweep": sweep | {"speeds": USUAL_SPEEDS_MPH}}
    study = Study.model_validate(data)
    study._folder = folder
    study._units = units
    return study
