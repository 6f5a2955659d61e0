"""Figures as print wants them, from the one place that knows the builder's units."""

import math
from typing import Final

from dabchick.model.units import Dimension, UnitSet, parse, shown
from dabchick.model.vessel import Datum, Vector

NO_VALUE: Final = "–"
_PRINTED_UNITS: Final = {
    "degC": "°C",
    "degF": "°F",
    "kg/m^3": "kg/m³",
    "lb/ft^3": "lb/ft³",
    "in^3": "in³",
    "in^2": "in²",
    "cm^2": "cm²",
}


def number(value: float, decimals: int, *, plus: bool = False) -> str:
    """A bare figure: no negative zero, a dash where there is no value."""
    if not math.isfinite(value):
        return NO_VALUE
    rounded = round(value, decimals) + 0.0
    sign = "−" if rounded < 0.0 else "+" if plus and rounded > 0.0 else ""
    return f"{sign}{abs(rounded):.{decimals}f}"


def figure(value_si: float, dimension: Dimension, units: UnitSet, *, plus: bool = False) -> str:
    """The figure without its unit, for columns and drawings that name the unit once."""
    return _split(value_si, dimension, units, plus=plus)[0]


def with_unit(value_si: float, dimension: Dimension, units: UnitSet, *, plus: bool = False) -> str:
    """Figure and unit, such as `71.0 mm`; a dash where there is no value."""
    amount, unit = _split(value_si, dimension, units, plus=plus)
    return f"{amount}\u00a0{unit}" if unit else amount


def _split(value_si: float, dimension: Dimension, units: UnitSet, *, plus: bool) -> tuple[str, str]:
    if not math.isfinite(value_si):
        return NO_VALUE, ""
    amount, _, unit = shown(value_si, dimension, units).partition(" ")
    sign = (
        "−"
        if amount.startswith("-")
        else "+"
        if plus and any(digit in "123456789" for digit in amount)
        else ""
    )
    return sign + amount.removeprefix("-"), _PRINTED_UNITS.get(unit, unit)


def length_unit(units: UnitSet) -> tuple[str, float]:
    """The unit that lengths are printed in, and its size [m]."""
    unit = _split(1.0, "length", units, plus=False)[1]
    return unit, parse(f"1 {unit}", "length")


def short_length(value_m: float, units: UnitSet) -> str:
    """A length as a drawing wants it: whole where nothing is lost, else with the usual decimals."""
    return _without_idle_zeros(figure(value_m, "length", units))


def _without_idle_zeros(amount: str) -> str:
    return amount.rstrip("0").rstrip(".") if "." in amount else amount


def short_with_unit(value_si: float, dimension: Dimension, units: UnitSet) -> str:
    """Figure and unit without idle zeros, such as `12 g`, for figures that the builder has given."""
    amount, unit = _split(value_si, dimension, units, plus=False)
    return f"{_without_idle_zeros(amount)}\u00a0{unit}" if unit else amount


def degrees(value: float, *, plus: bool = True, decimals: int = 1) -> str:
    """An angle such as `+0.2°`."""
    amount = number(value, decimals, plus=plus)
    return amount if amount == NO_VALUE else f"{amount}°"


def across(value_m: float, units: UnitSet) -> str:
    """A distance off the centreline in words: `12.0 port`, `12.0 stbd`, `centre`."""
    amount = figure(abs(value_m), "length", units)
    if not any(digit in "123456789" for digit in amount):
        return "centre"
    return f"{amount} {'port' if value_m > 0.0 else 'stbd'}"


def place_words(point: Vector, datum: Datum, units: UnitSet) -> tuple[str, str, str]:
    """A point of the house frame as the builder measures it: along, across, up."""
    along, athwart, up = datum.to_builder(point)
    return figure(along, "length", units), across(athwart, units), figure(up, "length", units)
