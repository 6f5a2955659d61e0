"""Masses taken together: closed forms, and sums that must not depend on order or frame."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from dabchick.physics import shapes
from dabchick.physics.inertia import combine, moved, rotated

number = st.floats(-2.0, 2.0)
bodies = st.lists(st.tuples(st.floats(0.01, 5.0), number, number, number), min_size=1, max_size=8)


def test_two_point_masses() -> None:
    mass, centre, tensor = combine([1.0, 3.0], [[0, 0, 0], [4, 0, 0]], np.zeros((2, 3, 3)))
    assert mass == 4.0
    assert_allclose(centre, [3.0, 0.0, 0.0])
    # reduced mass 3/4 times the distance squared
    assert_allclose(tensor, np.diag([0.0, 12.0, 12.0]), atol=1e-15)


def test_two_halves_of_a_box_make_the_box() -> None:
    half = shapes.box(1.0, 2.0, 3.0)
    mass, centre, tensor = combine([6.0, 6.0], [[-0.5, 0, 0], [0.5, 0, 0]], [half.inertia()] * 2)
    assert mass == 12.0
    assert_allclose(centre, np.zeros(3), atol=1e-16)
    assert_allclose(tensor, shapes.box(2.0, 2.0, 3.0).inertia(), atol=1e-13)


@settings(max_examples=100, deadline=None)
@given(bodies, st.randoms(use_true_random=False), st.tuples(number, number, number))
def test_order_and_frame_change_nothing(
    parts: list[tuple[float, float, float, float]],
    random: object,
    shift: tuple[float, float, float],
) -> None:
    array = np.array(parts)
    masses, centres = array[:, 0], array[:, 1:]
    inertias = np.array([np.diag([0.1, 0.2, 0.3]) * mass for mass in masses])
    mass, centre, tensor = combine(masses, centres, inertias)
    order = np.random.default_rng(len(parts)).permutation(len(parts))
    other = combine(masses[order], centres[order], inertias[order])
    assert_allclose(other[0], mass, rtol=1e-14)
    assert_allclose(other[1], centre, atol=1e-13)
    assert_allclose(other[2], tensor, atol=1e-12 * (1.0 + np.abs(tensor).max()))
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    there = combine(
        masses, centres @ turn.T + np.array(shift), np.array([rotated(i, turn) for i in inertias])
    )
    assert_allclose(there[1], turn @ centre + np.array(shift), atol=1e-12)
    assert_allclose(there[2], rotated(tensor, turn), atol=1e-11 * (1.0 + np.abs(tensor).max()))
    assert (np.linalg.eigvalsh(tensor) >= -1e-12).all()


def test_parallel_axis() -> None:
    tensor = moved(np.diag([1.0, 2.0, 3.0]), 2.0, [0.0, 3.0, 0.0])
    assert_allclose(tensor, np.diag([1.0 + 18.0, 2.0, 3.0 + 18.0]))


@pytest.mark.parametrize(
    ("masses", "centres", "inertias", "advice"),
    [
        ([1.0, np.nan], np.zeros((2, 3)), np.zeros((2, 3, 3)), "Body 1 has a mass"),
        ([1.0], [[0, np.inf, 0]], np.zeros((1, 3, 3)), "Body 0 has a centre"),
        ([1.0], np.zeros((1, 3)), np.full((1, 3, 3), np.nan), "Body 0 has a inertia"),
        ([0.0], np.zeros((1, 3)), np.zeros((1, 3, 3)), "total mass is 0"),
        ([], np.zeros((0, 3)), np.zeros((0, 3, 3)), "total mass is 0"),
        ([1.0, 2.0], np.zeros((1, 3)), np.zeros((1, 3, 3)), "differ in number"),
    ],
)
def test_mistakes_get_advice(masses: list[float], centres: object, inertias: object, advice: str) -> None:
    with pytest.raises(ValueError, match=advice):
        combine(masses, centres, inertias)  # type: ignore[arg-type]
