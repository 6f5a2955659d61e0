"""Units at the border: what the builder writes becomes SI, and SI becomes what the builder reads.

Only units that builders use are known here, each with its exact definition; a bare number has no meaning and
is refused, except 0.
"""

import math
import re
from functools import cache
from typing import TYPE_CHECKING, Literal

from dabchick.model.unit_lines import UNIT_LINES

if TYPE_CHECKING:
    import pint

Dimension = Literal[
    "length", "area", "volume", "mass", "density", "pressure", "force", "speed", "angle", "voltage",
    "salinity", "temperature", "power", "torque", "rotation", "turn rate", "time", "flow",
]  # fmt: skip
UnitSet = Literal["metric", "inch"]

# Exact definitions. SI, litre, bar, degree Celsius: BIPM, The International System of Units, 9th ed. (2019).
# Inch, foot, pound, ounce, gallons, knot, pound-force, conventional metre of water: NIST SP 811 (2008), B.
# The fluid ounces are 1/128 of the US gallon (231 cubic inches) and 1/160 of the imperial gallon (4.54609 l).
_DEFINITIONS = """
meter = [length] = m = metre
gram = [mass] = g
second = [time] = s
kelvin = [temperature] = K
radian = []
volt = [potential] = V
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
inch = 0.0254 * meter = in
foot = 0.3048 * meter = ft
pound = 453.59237 * gram = lb
ounce = pound / 16 = oz
tonne = 1000000 * gram = t
long_ton = 2240 * pound
liter = 0.001 * meter ** 3 = l = litre
us_fluid_ounce = 231 * inch ** 3 / 128
imperial_fluid_ounce = 4.54609 * liter / 160
newton = kilogram * meter / second ** 2 = N
gram_force = 9.80665 * gram * meter / second ** 2 = gf
pound_force = 9.80665 * pound * meter / second ** 2 = lbf
ounce_force = pound_force / 16 = ozf
watt = newton * meter / second = W
pascal = newton / meter ** 2 = Pa
bar = 100000 * pascal
psi = pound_force / inch ** 2
meter_of_water = 9806.65 * pascal = mH2O
minute = 60 * second = min
hour = 3600 * second = h
day = 24 * hour = d
knot = 1852 * meter / hour = kn
percent = 0.01
degree = 3.14159265358979323846 / 180 * radian = deg
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 459.67 * 5 / 9 = degF
"""

# Spelling in the boat file -> the registry's expression; the first one of each dimension stands in advice.
_SPELLINGS: dict[Dimension, dict[str, str]] = {
    "length": {"mm": "mm", "cm": "cm", "m": "m", "in": "inch", "ft": "foot", "inch": "inch"},
    "area": {
        "mm^2": "mm**2", "cm^2": "cm**2", "m^2": "m**2", "in^2": "inch**2", "mm2": "mm**2", "cm2": "cm**2",
        "mm²": "mm**2", "cm²": "cm**2",
    },
    "volume": {
        "ml": "ml", "l": "l", "cc": "cm**3", "cm^3": "cm**3", "mm^3": "mm**3", "m^3": "m**3",
        "in^3": "inch**3", "fl oz": "us_fluid_ounce", "imp fl oz": "imperial_fluid_ounce",
        "mL": "ml", "L": "l", "cm3": "cm**3", "cm³": "cm**3", "US fl oz": "us_fluid_ounce",
    },
    "mass": {
        "g": "g", "kg": "kg", "mg": "mg", "oz": "ounce", "lb": "pound", "t": "tonne", "long ton": "long_ton",
    },
    "density": {
        "kg/m^3": "kg/m**3", "g/cc": "g/cm**3", "g/cm^3": "g/cm**3", "kg/l": "kg/l", "g/ml": "g/ml",
        "lb/ft^3": "pound/foot**3", "oz/in^3": "ounce/inch**3", "kg/m3": "kg/m**3", "kg/m³": "kg/m**3",
        "g/cm3": "g/cm**3",
    },
    "pressure": {"bar": "bar", "mbar": "millibar", "psi": "psi", "kPa": "kPa", "Pa": "Pa", "mH2O": "mH2O"},
    "force": {"N": "newton", "gf": "gf", "kgf": "kgf", "ozf": "ozf", "lbf": "lbf"},
    "speed": {"m/s": "m/s", "cm/s": "cm/s", "km/h": "km/hour", "kn": "knot", "ft/s": "foot/s"},
    "angle": {"deg": "degree", "rad": "radian", "°": "degree"},
    "voltage": {"V": "volt", "mV": "mV"},
    "salinity": {"g/kg": "g/kg", "kg/kg": "kg/kg", "%": "percent"},
    "temperature": {
        "degC": "degree_Celsius", "degF": "degree_Fahrenheit", "K": "kelvin", "°C": "degree_Celsius",
        "°F": "degree_Fahrenheit",
    },
    "power": {"W": "watt", "mW": "milliwatt", "kW": "kilowatt"},
    "torque": {
        "N mm": "newton*mm", "N cm": "newton*cm", "N m": "newton*m", "g cm": "gf*cm", "kg cm": "kgf*cm",
        "oz in": "ozf*inch", "lb in": "lbf*inch", "Nmm": "newton*mm", "Ncm": "newton*cm", "Nm": "newton*m",
        "gcm": "gf*cm", "kgcm": "kgf*cm",
    },
    "rotation": {"rpm": "1/minute", "rps": "1/s"},
    "turn rate": {"deg/s": "degree/s", "rad/s": "radian/s", "°/s": "degree/s"},
    "time": {
        "s": "s", "min": "minute", "h": "hour", "d": "day", "sec": "s", "minute": "minute", "minutes": "minute",
        "hour": "hour", "hours": "hour", "day": "day", "days": "day",
    },
    "flow": {
        "ml/s": "ml/s", "ml/min": "ml/minute", "ml/h": "ml/hour", "l/s": "l/s", "l/min": "l/minute", "l/h": "l/hour",
        "cc/s": "cm**3/s", "cc/min": "cm**3/minute", "in^3/s": "inch**3/s", "fl oz/s": "us_fluid_ounce/s",
        "fl oz/min": "us_fluid_ounce/minute", "ml/d": "ml/day",
    },
}  # fmt: skip

# What a parsed value comes out in: SI, but degC and g/kg, as the formulas for water take them.
_HOUSE: dict[Dimension, str] = {
    "length": "m", "area": "m**2", "volume": "m**3", "mass": "kg", "density": "kg/m**3", "pressure": "Pa",
    "force": "newton", "speed": "m/s", "angle": "radian", "voltage": "volt", "salinity": "g/kg",
    "temperature": "degree_Celsius", "power": "watt", "torque": "newton*m", "rotation": "1/s",
    "turn rate": "radian/s", "time": "s", "flow": "m**3/s",
}  # fmt: skip

EXAMPLES: dict[Dimension, str] = {
    "length": "71 mm", "area": "60 mm^2", "volume": "12 ml", "mass": "310 g", "density": "35 kg/m^3",
    "pressure": "0.2 bar", "force": "4 N", "speed": "0.8 m/s", "angle": "5 deg", "voltage": "7.2 V",
    "salinity": "0.2 g/kg", "temperature": "12 degC", "power": "20 W", "torque": "60 N mm",
    "rotation": "3000 rpm", "turn rate": "30 deg/s", "time": "20 s", "flow": "20 ml/s",
}  # fmt: skip

_PLAIN = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_FRACTION = r"[-+]?(?:(?P<whole>\d+)[ -])?(?P<over>\d+)/(?P<under>\d+)"
_AROUND_SLASH = re.compile(r" ?/ ?")
_TEXT = re.compile(rf"\s*(?P<number>{_FRACTION}|{_PLAIN})\s*(?P<unit>[^\d\s].*?)?\s*", re.DOTALL)


class UnitError(ValueError):
    """A text that is no value of the dimension asked for: `what`, what is `allowed`, and what `todo`."""

    def __init__(self, what: str, allowed: str, todo: str) -> None:
        self.what = what
        self.allowed = allowed
        self.todo = todo
        super().__init__(f"{what} {todo}")


def parse(text: object, dimension: Dimension) -> float:
    """A number with its unit, such as `"3/16 in"`, in SI; temperature in degC, salinity in g/kg.

    Takes 0 without a unit, except for a temperature. Raises UnitError on anything else that has no unit or
    one of another dimension, and on what is not a finite number.
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise _mistake(f"{an(dimension).capitalize()} is wanted here, not {_kind(text)}.", dimension)
    if not isinstance(text, str):
        return _bare(float(text), f"{text}", dimension)
    found = _TEXT.fullmatch(text)
    if found is None:
        raise _unreadable(text, dimension)
    number = _number(found, text, dimension)
    unit = found["unit"]
    if unit is None:
        return _bare(number, found["number"], dimension)
    unit = _AROUND_SLASH.sub("/", " ".join(unit.split()))
    if unit not in _SPELLINGS[dimension]:
        raise _strange_unit(unit, found["number"], dimension)
    return _convert(number, _SPELLINGS[dimension][unit], _HOUSE[dimension])


def shown(value: float, dimension: Dimension, units: UnitSet = "metric") -> str:
    """An SI value with its unit in the builder's set, rounded to what can be measured on a bench."""
    if not math.isfinite(value):
        return "unknown" if math.isnan(value) else ("no limit" if value > 0 else "no lower limit")
    unit, digits = _reading(value, dimension, units)
    amount = _convert(value, _HOUSE[dimension], _SPELLINGS[dimension][unit])
    text = f"{amount:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return f"{text} {unit}"


def written(value: float, dimension: Dimension, units: UnitSet = "metric") -> str:
    """An SI value as text for the boat file: as `shown` but with two digits more, and without idle zeros."""
    unit, digits = _reading(value, dimension, units)
    amount = _convert(value, _HOUSE[dimension], _SPELLINGS[dimension][unit])
    text = f"{amount:.{digits + 2}f}".rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} {unit}"


def allowed_units(dimension: Dimension) -> str:
    """The units of a dimension as a list for people, without the second spellings."""
    seen: dict[str, str] = {}
    for spelling, expression in _SPELLINGS[dimension].items():
        seen.setdefault(expression, spelling)
    return ", ".join(seen.values())


def spellings(dimension: Dimension) -> tuple[str, ...]:
    """Every spelling that `parse` takes."""
    return tuple(_SPELLINGS[dimension])


def _reading(value: float, dimension: Dimension, units: UnitSet) -> tuple[str, int]:
    """Unit and digits after the point."""
    size = abs(value)
    inch = units == "inch"
    if dimension == "length":
        return ("in", 3) if inch else ("mm", 1)
    if dimension == "mass":
        if inch:
            return ("oz", 2) if size < 0.45359237 else ("lb", 3)
        return ("g", 1) if size < 10.0 else ("kg", 3)
    if dimension == "volume":
        if inch:
            return ("in^3", 2)
        return ("ml", 1) if size < 0.01 else ("l", 3)
    table: dict[Dimension, tuple[tuple[str, int], tuple[str, int]]] = {
        "area": (("cm^2", 2), ("in^2", 3)),
        "density": (("kg/m^3", 1), ("lb/ft^3", 2)),
        "pressure": (("kPa", 1), ("psi", 2)),
        "force": (("N", 2), ("lbf", 3)),
        "speed": (("m/s", 3), ("ft/s", 2)),
        "angle": (("deg", 2), ("deg", 2)),
        "voltage": (("V", 2), ("V", 2)),
        "salinity": (("g/kg", 2), ("g/kg", 2)),
        "temperature": (("degC", 1), ("degF", 1)),
        "power": (("W", 1), ("W", 1)),
        "torque": (("N mm", 1), ("oz in", 2)),
        "rotation": (("rpm", 0), ("rpm", 0)),
        "turn rate": (("deg/s", 1), ("deg/s", 1)),
        "time": (("s", 1), ("s", 1)),
        "flow": (("ml/s", 2), ("in^3/s", 3)),
    }
    return table[dimension][1 if inch else 0]


@cache
def _registry() -> "pint.UnitRegistry[float]":
    """The one registry, made when the first unit is met: small, so that a command starts at once."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for line in _DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry


def conversions() -> set[tuple[str, str]]:
    """Every pair (from, to) of the registry's expressions that the boat file or its reader can ask for."""
    pairs = set()
    for dimension, table in _SPELLINGS.items():
        for expression in table.values():
            pairs |= {(expression, _HOUSE[dimension]), (_HOUSE[dimension], expression)}
    return pairs


def line_by_registry(source: str, target: str) -> tuple[float, float]:
    """Factor and shift of one conversion, both from the registry."""
    registry = _registry()
    if source.startswith("degree_") or target.startswith("degree_"):
        low, high = (registry.Quantity(value, source).to(target).magnitude for value in (0.0, 100.0))
        return (high - low) / 100.0, low
    return registry.Quantity(1.0, source).to(target).magnitude, 0.0


def _convert(value: float, source: str, target: str) -> float:
    factor, shift = UNIT_LINES[source, target]
    return value * factor + shift


def _number(found: re.Match[str], text: str, dimension: Dimension) -> float:
    if found["under"] is None:
        return float(found["number"])
    if int(found["under"]) == 0:
        raise _unreadable(text, dimension)
    size = int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    return -size if found["number"].startswith("-") else size


def _bare(number: float, text: str, dimension: Dimension) -> float:
    if not math.isfinite(number):
        raise _mistake(f"{text} is not a number that can be used.", dimension)
    if number == 0.0 and dimension != "temperature":
        return 0.0
    unit = EXAMPLES[dimension].split(" ", 1)[1]
    raise UnitError(
        f"The {dimension} {text} has no unit.",
        f"a number with one of {allowed_units(dimension)}",
        f'Write "{text} {unit}" if {unit} is meant.',
    )


def _strange_unit(unit: str, number: str, dimension: Dimension) -> UnitError:
    other = next((name for name, table in _SPELLINGS.items() if unit in table), None)
    if other is not None:
        return _mistake(f'"{number} {unit}" is {an(other)}, but {an(dimension)} is wanted here.', dimension)
    near = next((spelling for spelling in _SPELLINGS[dimension] if spelling.lower() == unit.lower()), None)
    near = near or _COMMON_WORDS.get(unit.lower())
    if near in _SPELLINGS[dimension]:
        return UnitError(
            f"The unit '{unit}' is not known.",
            f"a number with one of {allowed_units(dimension)}",
            f'Write "{number} {near}".',
        )
    if unit.startswith(","):
        return UnitError(
            f'"{number}{unit}" has a comma in the number.',
            f"a number with one of {allowed_units(dimension)}",
            f'Write the number with a point: "{number}.{unit[1:].strip()}".',
        )
    return _mistake(f"The unit '{unit}' is not known.", dimension)


_COMMON_WORDS = {
    "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "inches": "in",
    '"': "in", "''": "in", "'": "ft", "feet": "ft", "gram": "g", "grams": "g", "gr": "g", "gramme": "g",
    "grammes": "g", "lbs": "lb", "pounds": "lb", "ounce": "oz", "ounces": "oz", "c": "degC", "f": "degF",
    "celsius": "degC",
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "fl.oz.": "fl oz", "floz": "fl oz",
    "knots": "kn", "ccm": "cc", "degrees": "deg", "psu": "g/kg", "ppt": "g/kg", "volt": "V", "volts": "V",
}  # fmt: skip


def _unreadable(text: str, dimension: Dimension) -> UnitError:
    return _mistake(f'"{text}" is not {an(dimension)}.', dimension)


def _mistake(what: str, dimension: Dimension) -> UnitError:
    return UnitError(
        what, f"a number with one of {allowed_units(dimension)}", f'Write it like "{EXAMPLES[dimension]}".'
    )


def an(dimension: Dimension) -> str:
    """The dimension's name with its article."""
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"


def _kind(value: object) -> str:
    names = {bool: "true or false", list: "a list", dict: "a table", type(None): "nothing"}
    return names.get(type(value), f"a {type(value).__name__}")
