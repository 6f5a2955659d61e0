"""The kinds of value in a boat file: numbers with units, points, how a number is known, materials."""

from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    GetJsonSchemaHandler,
    WithJsonSchema,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from dabchick.model import materials
from dabchick.model.units import EXAMPLES, Dimension, UnitError, allowed_units, an, parse
from dabchick.model.vessel import Known

Sign = Literal["any", "not negative", "positive"]


class Table(BaseModel):
    """A table of the boat file: frozen, no unknown keys, no NaN."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


def mistake(what: str, todo: str, allowed: str = "") -> PydanticCustomError:
    """A mistake in one value, for a validator to raise; it comes out as advice with file, line and key."""
    return PydanticCustomError("boat", "{what}", {"what": what, "todo": todo, "allowed": allowed})


def _parser(dimension: Dimension, sign: Sign) -> Callable[[object], float]:
    def parsed(text: object) -> float:
        try:
            value = parse(text, dimension)
        except UnitError as fault:
            raise mistake(fault.what, fault.todo, fault.allowed) from fault
        if value < 0.0 and sign != "any":
            raise mistake(
                f"{an(dimension).capitalize()} below zero makes no sense here.",
                f'Write it like "{EXAMPLES[dimension]}".',
                f"{dimension} {'above' if sign == 'positive' else 'from'} 0",
            )
        if value == 0.0 and sign == "positive":
            raise mistake(
                f"The {dimension} is zero.",
                f'Write it like "{EXAMPLES[dimension]}", or leave the key out if it is not known yet.',
                f"{dimension} above 0",
            )
        return value

    return parsed


def _schema(dimension: Dimension, sign: Sign) -> JsonSchemaValue:
    number = r"(\d+[ -])?\d+/\d+|(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?"
    sign_before = "[-+]?" if sign == "any" or dimension == "temperature" else r"\+?"
    text = {
        "type": "string",
        "pattern": rf"^\s*{sign_before}({number})\s*[^\d\s].*$",
        "description": f"{an(dimension).capitalize()} with its unit ({allowed_units(dimension)}).",
        "examples": [EXAMPLES[dimension]],
    }
    if sign == "positive" or dimension == "temperature":
        return text
    return {"anyOf": [text, {"const": 0}]}


Length = Annotated[float, BeforeValidator(_parser("length", "any")), WithJsonSchema(_schema("length", "any"))]
Extent = Annotated[
    float, BeforeValidator(_parser("length", "positive")), WithJsonSchema(_schema("length", "positive"))
]
Gap = Annotated[
    float,
    BeforeValidator(_parser("length", "not negative")),
    WithJsonSchema(_schema("length", "not negative")),
]
Area = Annotated[
    float, BeforeValidator(_parser("area", "positive")), WithJsonSchema(_schema("area", "positive"))
]
Volume = Annotated[
    float, BeforeValidator(_parser("volume", "positive")), WithJsonSchema(_schema("volume", "positive"))
]
VolumeSpread = Annotated[
    float,
    BeforeValidator(_parser("volume", "not negative")),
    WithJsonSchema(_schema("volume", "not negative")),
]
Mass = Annotated[
    float, BeforeValidator(_parser("mass", "positive")), WithJsonSchema(_schema("mass", "positive"))
]
MassSpread = Annotated[
    float, BeforeValidator(_parser("mass", "not negative")), WithJsonSchema(_schema("mass", "not negative"))
]
Lift = Annotated[float, BeforeValidator(_parser("mass", "any")), WithJsonSchema(_schema("mass", "any"))]
Density = Annotated[
    float, BeforeValidator(_parser("density", "positive")), WithJsonSchema(_schema("density", "positive"))
]
Angle = Annotated[float, BeforeValidator(_parser("angle", "any")), WithJsonSchema(_schema("angle", "any"))]
Temperature = Annotated[
    float, BeforeValidator(_parser("temperature", "any")), WithJsonSchema(_schema("temperature", "any"))
]
Salinity = Annotated[
    float,
    BeforeValidator(_parser("salinity", "not negative")),
    WithJsonSchema(_schema("salinity", "not negative")),
]

Point = tuple[Length, Length, Length]
FlatPoint = tuple[Length, Length]
Angles = tuple[Angle, Angle, Angle]
Axis = Literal["x", "y", "z"]


def _listed(given: object) -> object:
    return given if isinstance(given, list | tuple) else [given]


RailEnd = Annotated[
    tuple[Length, ...],
    BeforeValidator(_listed),
    WithJsonSchema(
        {
            "anyOf": [
                _schema("length", "any"),
                {"type": "array", "items": _schema("length", "any"), "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]
"""One length along a named axis, or the three of a point."""
BreakLine = Annotated[
    tuple[tuple[Length, ...], ...],
    BeforeValidator(lambda given: given if isinstance(given, list | tuple) else [[given]]),
    WithJsonSchema(
        {
            "anyOf": [
                _schema("length", "any"),
                {
                    "type": "array",
                    "items": {
                        "type": "array",
                        "items": _schema("length", "any"),
                        "minItems": 2,
                        "maxItems": 2,
                    },
                    "minItems": 2,
                },
            ]
        }
    ),
]
"""One height, kept as one point of one entry, or points (x, z)."""
PlaceNames = Annotated[
    tuple[str, ...],
    BeforeValidator(_listed),
    WithJsonSchema({"anyOf": [{"const": "auto"}, {"type": "array", "items": {"type": "string"}}]}),
]
"""Names of places, or the one word `auto`."""


def _known_material(name: str) -> str:
    try:
        materials.material(name)
    except materials.UnknownMaterialError as fault:
        near = " or ".join(f'"{entry}"' for entry in fault.near)
        raise mistake(
            str(fault),
            f"Did you mean {near}? Or give a density instead."
            if near
            else 'Give a density instead, such as density = "1200 kg/m^3".',
            "a name from the table of materials",
        ) from fault
    return name


def _filled(name: str) -> str:
    if not name.strip():
        raise mistake("The name is empty.", "Give it a name that you will know it by.", "a text")
    return name


MaterialName = Annotated[str, AfterValidator(_known_material)]
Name = Annotated[str, AfterValidator(_filled)]


class _Stated(Table):
    """A number that says how it is known; may be written as the bare text of its value."""

    known: Known | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, given: Any) -> Any:
        return given if isinstance(given, dict) else {"value": given}

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        table = handler.resolve_ref_schema(handler(core))
        return {"anyOf": [table["properties"]["value"], table]}

    @property
    def known_how(self) -> Known:
        """As stated; a number without a word on it counts as a guess."""
        return self.known or "guess"


class StatedMass(_Stated):
    """`{ value = "310 g", known = "weighed", spread = "1 g" }`, or `"310 g"` alone, which is a guess."""

    value: Mass
    spread: MassSpread | None = None


class StatedVolume(_Stated):
    """`{ value = "12 ml", known = "measured", spread = "0.5 ml" }`, or `"12 ml"` alone, which is a guess."""

    value: Volume
    spread: VolumeSpread | None = None


class Placed(Table):
    """How well the place of a part is known: `{ known = "drawing", spread = "2 mm" }`."""

    known: Known = "measured"
    spread: Gap | None = None
