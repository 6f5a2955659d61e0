"""Units at the border: an anchor for every spelling, texts people write, advice on what cannot be read."""

import math
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.model import units
from dabchick.model.unit_lines import UNIT_LINES
from dabchick.model.units import Dimension, UnitError, parse, shown, spellings, written

# Published: NIST SP 811 (2008), appendix B.8, seven digits, quoted from memory; rows ending in "exact" are
# definitions (BIPM SI Brochure 2019; international yard and pound 1959).
ANCHORS = [
    ("length", "mm", 1e-3), ("length", "cm", 1e-2), ("length", "m", 1.0), ("length", "in", 2.54e-2),
    ("length", "inch", 2.54e-2), ("length", "ft", 3.048e-1), ("area", "mm^2", 1e-6), ("area", "cm^2", 1e-4),
    ("area", "m^2", 1.0), ("area", "in^2", 6.4516e-4), ("area", "mm2", 1e-6), ("area", "cm2", 1e-4),
    ("area", "mm²", 1e-6), ("area", "cm²", 1e-4), ("volume", "ml", 1e-6), ("volume", "mL", 1e-6),
    ("volume", "l", 1e-3), ("volume", "L", 1e-3), ("volume", "cc", 1e-6), ("volume", "cm^3", 1e-6),
    ("volume", "cm3", 1e-6), ("volume", "cm³", 1e-6), ("volume", "mm^3", 1e-9), ("volume", "m^3", 1.0),
    ("volume", "in^3", 1.638706e-5), ("volume", "fl oz", 2.957353e-5), ("volume", "US fl oz", 2.957353e-5),
    ("volume", "imp fl oz", 2.841306e-5), ("mass", "g", 1e-3), ("mass", "kg", 1.0), ("mass", "mg", 1e-6),
    ("mass", "oz", 2.834952e-2), ("mass", "lb", 4.535924e-1),
    ("mass", "t", 1e3), ("mass", "long ton", 1.016047e3), ("density", "kg/m^3", 1.0),
    ("density", "kg/m3", 1.0), ("density", "kg/m³", 1.0), ("density", "g/cc", 1e3),
    ("density", "g/cm^3", 1e3), ("density", "g/cm3", 1e3), ("density", "kg/l", 1e3),
    ("density", "g/ml", 1e3), ("density", "lb/ft^3", 1.601846e1), ("density", "oz/in^3", 1.729994e3),
    ("pressure", "bar", 1e5), ("pressure", "mbar", 1e2), ("pressure", "psi", 6.894757e3),
    ("pressure", "kPa", 1e3), ("pressure", "Pa", 1.0), ("pressure", "mH2O", 9.80665e3), ("force", "N", 1.0),
    ("force", "gf", 9.80665e-3), ("force", "kgf", 9.80665), ("force", "ozf", 2.780139e-1),
    ("force", "lbf", 4.448222), ("speed", "m/s", 1.0), ("speed", "cm/s", 1e-2),
    ("speed", "km/h", 2.777778e-1), ("speed", "kn", 5.144444e-1), ("speed", "ft/s", 3.048e-1),
    ("angle", "deg", 1.745329e-2), ("angle", "°", 1.745329e-2), ("angle", "rad", 1.0),
    ("voltage", "V", 1.0), ("voltage", "mV", 1e-3), ("salinity", "g/kg", 1.0), ("salinity", "kg/kg", 1e3),
    ("salinity", "%", 10.0), ("power", "W", 1.0), ("power", "mW", 1e-3), ("power", "kW", 1e3),
    ("torque", "N mm", 1e-3), ("torque", "Nmm", 1e-3), ("torque", "N cm", 1e-2), ("torque", "Ncm", 1e-2),
    ("torque", "N m", 1.0), ("torque", "Nm", 1.0), ("torque", "g cm", 9.80665e-5),
    ("torque", "gcm", 9.80665e-5), ("torque", "kg cm", 9.80665e-2), ("torque", "kgcm", 9.80665e-2),
    ("torque", "oz in", 7.061552e-3), ("torque", "lb in", 1.129848e-1), ("rotation", "rpm", 1.666667e-2),
    ("rotation", "rps", 1.0), ("turn rate", "deg/s", 1.745329e-2),
    ("turn rate", "°/s", 1.745329e-2), ("turn rate", "rad/s", 1.0),
    ("time", "s", 1.0), ("time", "sec", 1.0), ("time", "min", 60.0), ("time", "minute", 60.0),
    ("time", "minutes", 60.0), ("time", "h", 3600.0), ("time", "hour", 3600.0), ("time", "hours", 3600.0),
    ("time", "d", 86400.0), ("time", "day", 86400.0), ("time", "days", 86400.0),
    ("flow", "ml/s", 1e-6), ("flow", "ml/min", 1.666667e-8), ("flow", "ml/h", 2.777778e-10),
    ("flow", "ml/d", 1.157407e-11), ("flow", "l/s", 1e-3), ("flow", "l/min", 1.666667e-5),
    ("flow", "l/h", 2.777778e-7), ("flow", "cc/s", 1e-6), ("flow", "cc/min", 1.666667e-8),
    ("flow", "in^3/s", 1.638706e-5), ("flow", "fl oz/s", 2.957353e-5), ("flow", "fl oz/min", 4.928922e-7),
]  # fmt: skip

# Exact: ice and steam points, 273.15 K and 32 degF at 0 degC, 212 degF at 100 degC.
TEMPERATURES = [
    ("0 degC", 0.0), ("100 °C", 100.0), ("32 degF", 0.0), ("212 °F", 100.0), ("-40 degF", -40.0),
    ("273.15 K", 0.0), ("-5 degC", -5.0),
]  # fmt: skip


@pytest.mark.parametrize(("dimension", "unit", "anchor"), ANCHORS)
def test_anchor(dimension: Dimension, unit: str, anchor: float) -> None:
    assert parse(f"1 {unit}", dimension) == pytest.approx(anchor, rel=3e-7)
    assert parse(f"-2.5{unit}", dimension) == pytest.approx(-2.5 * anchor, rel=3e-7)


@pytest.mark.parametrize(("text", "anchor"), TEMPERATURES)
def test_temperature_anchor(text: str, anchor: float) -> None:
    assert parse(text, "temperature") == pytest.approx(anchor, abs=1e-9)


def test_every_spelling_has_an_anchor() -> None:
    known = {(dimension, unit) for dimension, unit, _ in ANCHORS}
    known |= {("temperature", text.split(" ")[1]) for text, _ in TEMPERATURES}
    every = {(dimension, unit) for dimension in get_args(Dimension) for unit in spellings(dimension)}
    assert every == known


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("3/16 in", "length", 3 / 16 * 0.0254),
        ("1 3/16 in", "length", 19 / 16 * 0.0254),
        ("1-3/16in", "length", 19 / 16 * 0.0254),
        ("-1/4 in", "length", -0.25 * 0.0254),
        (" 71  mm ", "length", 0.071),
        ("+1.5e1 mm", "length", 0.015),
        (".5 in", "length", 0.0127),
        ("2  fl   oz", "volume", 2 * 2.95735295625e-5),
        (0, "length", 0.0),
        ("0", "mass", 0.0),
        (0.0, "angle", 0.0),
    ],
)
def test_texts_people_write(text: object, dimension: Dimension, value: float) -> None:
    assert parse(text, dimension) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        (71, "length", ["has no unit", '"71 mm"']),
        ("71", "length", ["has no unit", '"71 mm"']),
        (12.5, "mass", ['"12.5 g"']),
        ("310 mm", "mass", ["is a length", "a mass is wanted", '"310 g"']),
        ("5 deg", "temperature", ["is an angle"]),
        (0, "temperature", ["has no unit", '"0 degC"']),
        ("1,8 mm", "length", ["comma", '"1.8 mm"']),
        ("3 inches", "length", ["'inches'", '"3 in"']),
        ('3"', "length", ['"3 in"']),
        ("12 KG", "mass", ['"12 kg"']),
        ("3 furlong", "length", ["'furlong' is not known", '"71 mm"']),
        ("nan mm", "length", ["is not a length"]),
        (math.nan, "mass", ["not a number"]),
        (math.inf, "mass", ["not a number"]),
        ("1/0 in", "length", ["is not a length"]),
        ("", "length", ["is not a length"]),
        (True, "mass", ["true or false"]),
        (["1 g"], "mass", ["a list"]),
        ({"value": "1 g"}, "mass", ["a table"]),
        (None, "length", ["nothing"]),
    ],
)
def test_advice(text: object, dimension: Dimension, words: list[str]) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    for word in words:
        assert word in str(caught.value)
    assert caught.value.allowed.startswith("a number with one of")
    assert caught.value.todo.endswith((".", "?"))


@pytest.mark.parametrize(
    ("value", "dimension", "metric", "inch"),
    [
        (0.071, "length", "71.0 mm", "2.795 in"),
        (0.31, "mass", "310.0 g", "10.93 oz"),
        (12.3456, "mass", "12.346 kg", "27.217 lb"),
        (59.15e-6, "volume", "59.1 ml", "3.61 in^3"),
        (0.0213, "volume", "21.300 l", "1299.81 in^3"),
        (998.2, "density", "998.2 kg/m^3", "62.32 lb/ft^3"),
        (-1e-6, "length", "0.0 mm", "0.000 in"),
        (math.nan, "mass", "unknown", "unknown"),
        (math.inf, "mass", "no limit", "no limit"),
        (math.radians(-5.0), "angle", "-5.00 deg", "-5.00 deg"),
        (12.0, "temperature", "12.0 degC", "53.6 degF"),
        (0.0637, "torque", "63.7 N mm", "9.02 oz in"),
        (50.0, "rotation", "3000 rpm", "3000 rpm"),
    ],
)
def test_shown(value: float, dimension: Dimension, metric: str, inch: str) -> None:
    """Hand-worked with the definitions above."""
    assert shown(value, dimension) == metric
    assert shown(value, dimension, "inch") == inch


@given(
    st.floats(-20.0, 20.0),
    st.sampled_from(["length", "volume", "mass", "density", "angle"]),
    st.sampled_from(["metric", "inch"]),
)
def test_written_is_read_back(value: float, dimension: Dimension, units: str) -> None:
    """To half of the last digit written, such as 0.001 mm and 0.001 g, or the coarser of the two sets."""
    text = written(value, dimension, units)  # type: ignore[arg-type]
    slack = {"length": 6e-7, "volume": 3e-7, "mass": 6e-6, "density": 1e-3, "angle": 1e-6}[dimension]
    assert parse(text, dimension) == pytest.approx(value, abs=slack)
    assert not text.startswith("-0 ")


def test_kept_conversions_are_pints_own() -> None:
    """Every row of the written table against the registry, to the last bit; none missing, none left over."""
    assert {pair: units.line_by_registry(*pair) for pair in units.conversions()} == UNIT_LINES
