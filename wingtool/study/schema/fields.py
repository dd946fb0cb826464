"""Fields of a study file: text with a unit in, SI float out; the strict base of every table of the file."""

import re
from math import inf, isfinite
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo, WithJsonSchema, field_validator

from wingtool.errors import UnitError
from wingtool.units import KINDS, quantity

_NOBODY = "value"  # stands for the key in the message; the reader puts the real key and line in front


def _with_unit(kind: str, least: float = -inf, most: float = inf, zero: bool = True) -> Any:
    unit = KINDS[kind][0]

    def to_si(text: object) -> float:
        try:
            value = quantity(text, kind, _NOBODY)
        except UnitError as error:
            raise ValueError(str(error).removeprefix(f"{_NOBODY}: ")) from None
        if not least <= value <= most or (value == 0.0 and not zero):
            bounds = {"at least" if zero else "above": least, "at most": most}
            limits = " and ".join(f"{word} {bound:g}" for word, bound in bounds.items() if isfinite(bound))
            raise ValueError(f"{text} must be {limits} {unit}; check the number and its unit")
        return value

    examples = [spelling.strip('"') for spelling in KINDS[kind][1:]]
    schema = {"type": "string", "description": f"a {kind} with its unit", "examples": examples, "unit": unit}
    return Annotated[float, BeforeValidator(to_si), WithJsonSchema(schema)]


Length = _with_unit("length", 0.0, 100.0, zero=False)
PartLength = _with_unit("length", 0.0, 3.0, zero=False)  # of a splitter or an air dam
Offset = _with_unit("length", -100.0, 100.0)
Height = _with_unit("length", -500.0, 11000.0)
Distance = _with_unit("length", 0.0, 1e6, zero=False)
SegmentLength = _with_unit("length", 2.0, 1e5)  # of a circuit, which is driven in steps of about 1 m
Speed = _with_unit("speed", 0.5, 120.0)
Mass = _with_unit("mass", 0.0, 1e5, zero=False)
# What no car to be raced is outside of: a slip of the unit (lb for kg, mm for cm, W for kW) is. Own choice.
CarMass = _with_unit("mass", 100.0, 2e4)
Wheelbase = _with_unit("length", 0.5, 10.0)
LEAST_CDA_M2, MOST_CDA_M2 = 0.05, 20.0
CarDragArea = _with_unit("area", LEAST_CDA_M2, MOST_CDA_M2)
Force = _with_unit("force")
Pressure = _with_unit("pressure", 0.0, zero=False)
GaugePressure = _with_unit("pressure", -1e4, 1e4)
Temperature = _with_unit("temperature", 0.0, zero=False)
Power = _with_unit("power", 1e3, 1e7)  # of a car
Area = _with_unit("area", 0.0, 1e3, zero=False)
LiftArea = _with_unit("area", -3.0, 3.0)
Time = _with_unit("time", 0.0)
Stiffness = _with_unit("stiffness", 0.0, zero=False)
BendingStiffness = _with_unit("bending stiffness", 0.0, zero=False)


def file_key(name: str) -> str:
    """Key in the file of a field's name, without the unit; degrees are written without theirs and keep it.

    Examples
    --------
    >>> file_key("span_m"), file_key("top_speed_m_s"), file_key("angle_deg")
    ('span', 'top_speed', 'angle_deg')
    """
    return re.sub(r"_(m|m2|kg|m_s|n|n_m|n_m2|pa|k|w)$", "", name)


class Strict(BaseModel):
    """One table of a study file: unknown keys are errors, nothing changes once it is read.

    A field that holds SI carries its unit in the name (``span_m``); its key in the file is the alias
    (``span``), because there the text brings the unit.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, alias_generator=file_key)

    @field_validator("*", mode="before")
    @classmethod
    def _no_truth_for_a_number(cls, value: Any, info: ValidationInfo) -> Any:
        """``true`` would count as 1."""
        if isinstance(value, bool) and cls.model_fields[info.field_name or ""].annotation is not bool:
            raise ValueError(f"{str(value).lower()} is no number or text; write the value")
        return value
