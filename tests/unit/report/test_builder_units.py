"""Figures as they are printed."""

import math

import pytest

from dabchick.model.vessel import Datum
from dabchick.report.builder_units import (
    across,
    degrees,
    figure,
    length_unit,
    number,
    place_words,
    short_length,
    short_with_unit,
    with_unit,
)


@pytest.mark.parametrize(
    ("value", "dimension", "units", "printed"),
    [
        # anchors by hand: 25.4 mm to the inch, 28.349523125 g to the ounce, 16.387064 ml to the cubic inch
        (0.0254, "length", "metric", "25.4\u00a0mm"),
        (0.0254, "length", "inch", "1.000\u00a0in"),
        (0.028349523125, "mass", "inch", "1.00\u00a0oz"),
        (16.387064e-6, "volume", "inch", "1.00\u00a0in³"),
        (12.0, "temperature", "inch", "53.6\u00a0°F"),
        (12.0, "temperature", "metric", "12.0\u00a0°C"),
        (999.66, "density", "metric", "999.7\u00a0kg/m³"),
        (-0.0023, "length", "metric", "−2.3\u00a0mm"),
        (math.nan, "length", "metric", "–"),
    ],
)
def test_figures_with_their_unit(value, dimension, units, printed):
    assert with_unit(value, dimension, units) == printed


def test_zero_has_no_sign_and_plus_is_shown_on_demand():
    assert number(-0.01, 1) == "0.0"
    assert number(0.04, 1, plus=True) == "0.0"
    assert degrees(0.16) == "+0.2°"
    assert degrees(-0.16) == "−0.2°"
    assert figure(0.0121, "mass", "metric", plus=True) == "+12.1"
    assert figure(0.0, "mass", "metric", plus=True) == "0.0"


def test_short_figures_lose_idle_zeros_only():
    assert short_length(0.312, "metric") == "312"
    assert short_length(0.3005, "metric") == "300.5"
    assert short_length(0.3, "metric") == "300"
    assert short_with_unit(0.012, "mass", "metric") == "12\u00a0g"
    assert short_with_unit(0.1, "mass", "metric") == "100\u00a0g"


def test_the_length_unit_and_its_size():
    assert length_unit("metric") == ("mm", 0.001)
    assert length_unit("inch") == ("in", 0.0254)


def test_a_point_in_the_builders_words():
    datum = Datum("bow", "waterline", 0.84, 0.08)
    assert place_words((0.64, -0.012, 0.05), datum, "metric") == ("200.0", "12.0 stbd", "−30.0")
    assert across(0.004, "metric") == "4.0 port"
    assert across(0.00001, "metric") == "centre"
