"""Fields of a study file: text with a unit in, SI float out; the strict base of every table of the file."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from wingtool.errors import UnitError
from wingtool.units import KINDS, quantity

_NOBODY = "value"  # stands for the key in the message; the reader puts the real key and line in front


def _with_unit(kind: str, bounds: Any = None) -> Any:
    def to_si(text: object) -> float:
        try:
            return quantity(text, kind, _NOBODY)
        except UnitError as error:
            raise ValueError(str(error).removeprefix(f"{_NOBODY}: ")) from None

    examples = [spelling.strip('"') for spelling in KINDS[kind][1:]]
    schema = {"type": "string", "description": f"a {kind} with its unit", "examples": examples}
    return Annotated[float, bounds or Field(), BeforeValidator(to_si), WithJsonSchema(schema)]


Length = _with_unit("length", Field(gt=0.0, le=100.0))
Offset = _with_unit("length", Field(ge=-100.0, le=100.0))
Height = _with_unit("length", Field(ge=-500.0, le=11000.0))
Distance = _with_unit("length", Field(gt=0.0, le=1e6))
Speed = _with_unit("speed", Field(gt=0.0, le=200.0))
Mass = _with_unit("mass", Field(gt=0.0, le=1e5))
Force = _with_unit("force")
Pressure = _with_unit("pressure", Field(gt=0.0))
Temperature = _with_unit("temperature", Field(gt=0.0))
Power = _with_unit("power", Field(gt=0.0, le=1e7))
Area = _with_unit("area", Field(gt=0.0, le=1e3))
Time = _with_unit("time", Field(ge=0.0))
Stiffness = _with_unit("stiffness", Field(gt=0.0))
BendingStiffness = _with_unit("bending stiffness", Field(gt=0.0))
Acceleration = _with_unit("acceleration")
Density = _with_unit("density", Field(gt=0.0))


class Strict(BaseModel):
    """One table of a study file: unknown keys are errors, nothing changes once it is read.

    A field that holds SI carries its unit in the name (``span_m``); its key in the file is the alias
    (``span``), because there the text brings the unit.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
