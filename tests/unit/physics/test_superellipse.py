"""Superellipses: closed forms, a polyline of our own, and the way back from a girth."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from dabchick.physics.superellipse import (
    LEAST_EXPONENT,
    MOST_EXPONENT,
    area,
    exponent_of,
    girth_range,
    outline,
    perimeter,
)

AXES = st.tuples(st.floats(1e-3, 10.0), st.floats(1e-3, 10.0))


def polyline(half: float, tall: float, exponent: float) -> float:
    """An independent route: the length of two million straight pieces, even in the angle from the middle."""
    angle = np.linspace(0.0, 0.5 * np.pi, 2_000_001)
    out, up = np.cos(angle), np.sin(angle)
    reach = ((out / half) ** exponent + (up / tall) ** exponent) ** (-1.0 / exponent)
    return 4.0 * float(np.hypot(np.diff(out * reach), np.diff(up * reach)).sum())


def test_diamond_is_four_straight_sides() -> None:
    # Closed form: 4 sqrt(3^2 + 4^2) = 20.
    assert perimeter(3.0, 4.0, 1.0) == pytest.approx(20.0, rel=1e-13)


@pytest.mark.parametrize("tall", [1.0, 0.9, 0.5, 0.05])
def test_ellipse_has_the_elliptic_integral(tall: float) -> None:
    # Closed form: 4 a E(1 - b^2 / a^2), scipy's complete elliptic integral of the second kind.
    assert perimeter(1.0, tall, 2.0) == pytest.approx(4.0 * ellipe(1.0 - tall**2), rel=1e-12)


def test_towards_infinity_it_is_the_box_less_its_corners() -> None:
    # Each corner keeps a shape of the size of 1/n, so the box's perimeter less a term in 1/n: halved when n doubles.
    missing = [4.0 * (3.0 + 2.0) - perimeter(3.0, 2.0, n) for n in (100.0, 200.0, 400.0)]
    assert missing[0] < 0.11
    assert missing[0] / missing[1] == pytest.approx(2.0, rel=0.01)
    assert missing[1] / missing[2] == pytest.approx(2.0, rel=0.01)


@pytest.mark.parametrize("exponent", [1.001, 1.05, 1.3, 2.5, 4.0, 7.0, 10.0, 30.0])
def test_perimeter_is_that_of_a_fine_polyline(exponent: float) -> None:
    assert perimeter(3.0, 2.0, exponent) == pytest.approx(polyline(3.0, 2.0, exponent), rel=1e-9)


@pytest.mark.parametrize(("exponent", "filled"), [(1.0, 2.0), (2.0, math.pi), (1e6, 4.0)])
def test_area_of_diamond_ellipse_and_box(exponent: float, filled: float) -> None:
    # Closed forms: 2 b h, pi b h, 4 b h.
    found = area(np.array(3.0), np.array(0.5), np.array(exponent))
    assert float(found) == pytest.approx(1.5 * filled, rel=1e-9)


def test_area_is_that_within_the_outline() -> None:
    # Shoelace over the drawn outline, both halves.
    up, out = outline(3.7, 20_001)
    shoelace = 2.0 * float(np.trapezoid(out, up))
    assert shoelace == pytest.approx(float(area(np.array(1.0), np.array(1.0), np.array(3.7))), rel=1e-6)


@given(axes=AXES, exponent=st.floats(LEAST_EXPONENT, MOST_EXPONENT))
def test_girth_gives_its_exponent_back(axes: tuple[float, float], exponent: float) -> None:
    girth = perimeter(*axes, exponent)
    # In a section far flatter than wide the girth hardly hangs on n, so it is the girth that must come back.
    assert perimeter(*axes, exponent_of(*axes, girth)) == pytest.approx(girth, rel=1e-10)
    if 0.2 < axes[0] / axes[1] < 5.0:
        assert exponent_of(*axes, girth) == pytest.approx(exponent, rel=1e-5)


@given(axes=AXES, low=st.floats(1.0, 9.0), more=st.floats(0.01, 5.0))
def test_perimeter_grows_with_the_exponent_between_diamond_and_box(
    axes: tuple[float, float], low: float, more: float
) -> None:
    diamond, box = girth_range(*axes)
    first, second = perimeter(*axes, low), perimeter(*axes, low + more)
    slack = 1e-12 * box
    assert diamond - slack <= first <= second + slack
    assert second <= box + slack


@given(axes=AXES, exponent=st.floats(1.0, 10.0), by=st.floats(0.01, 100.0))
def test_perimeter_scales_and_does_not_mind_a_quarter_turn(
    axes: tuple[float, float], exponent: float, by: float
) -> None:
    half, tall = axes
    plain = perimeter(half, tall, exponent)
    assert perimeter(by * half, by * tall, exponent) == pytest.approx(by * plain, rel=1e-12)
    assert perimeter(tall, half, exponent) == pytest.approx(plain, rel=1e-12)


def test_girths_outside_give_the_limits_and_nonsense_is_refused() -> None:
    assert exponent_of(1.0, 1.0, 5.0) == LEAST_EXPONENT
    assert exponent_of(1.0, 1.0, 7.99) == MOST_EXPONENT
    for bad in ((0.0, 1.0, 5.0), (1.0, -1.0, 5.0), (1.0, 1.0, math.nan)):
        with pytest.raises(ValueError, match="above 0"):
            exponent_of(*bad)
    for axes in ((-1.0, 1.0, 2.0), (1.0, 1.0, 0.5), (1.0, math.nan, 2.0)):
        with pytest.raises(ValueError, match="Half axes"):
            perimeter(*axes)


@given(exponent=st.floats(1.0, 10.0))
def test_outline_rises_and_lies_on_the_curve(exponent: float) -> None:
    up, out = outline(exponent, 33)
    assert (np.diff(up) > 0.0).all()
    assert up[0] == -1.0
    assert up[-1] == 1.0
    assert out[0] == out[-1] == 0.0
    assert np.abs(up) ** exponent + out**exponent == pytest.approx(np.ones(33), abs=1e-12)
