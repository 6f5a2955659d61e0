"""Faired curves: against scipy's spline, the circle's curvature, corners, combs, and refusals with advice."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from dabchick.physics.fairing import comb, curvature, fair, fair_many, sampled, sampled_many

Array = NDArray[np.float64]


def wandering(count: int, seed: int) -> Array:
    return np.cumsum(np.random.default_rng(seed).uniform(-0.3, 1.0, (count, 2)), axis=0)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 12, 60])
def test_is_the_not_a_knot_spline_over_chord_length(count: int) -> None:
    """scipy's CubicSpline on the same knots, which is a parabola for three points and a line for two."""
    points = wandering(count, count)
    curve = fair(points)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert curve.at == pytest.approx(np.concatenate([[0.0], np.cumsum(steps)]))
    reference = CubicSpline(curve.at, points)
    where = np.linspace(0.0, curve.at[-1], 301)
    for derivative in (0, 1, 2):
        assert curve(where, derivative) == pytest.approx(reference(where, derivative), abs=1e-9)


def test_corners_part_the_curve_into_splines_of_their_own() -> None:
    points = wandering(14, 3)
    curve = fair(points, (0, 5, 13))
    assert curve.corners == (5,)
    one, two = fair(points[:6]), fair(points[5:])
    where = np.linspace(0.0, one.at[-1], 50)
    assert curve(where) == pytest.approx(one(where), abs=1e-12)
    where = np.linspace(0.0, two.at[-1], 50)
    assert curve(where + one.at[-1]) == pytest.approx(two(where), abs=1e-12)


def test_circle_is_approached_with_the_fourth_power_of_the_spacing() -> None:
    """Radius 1 from points on it: halving the spacing brings the greatest error down 16 times, to a fifth of that."""
    errors = []
    for count in (9, 17, 33):
        angle = np.linspace(0.0, np.pi, count)
        line = sampled(fair(np.stack([np.cos(angle), np.sin(angle)], axis=1)), 1001)
        errors.append(float(np.abs(np.linalg.norm(line, axis=1) - 1.0).max()))
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert (orders > 3.7).all()
    assert errors[-1] < 1e-5


def test_curvature_of_a_circle_and_the_way_its_comb_stands() -> None:
    """Radius 2: curvature 1/2, above 0 where it turns from x towards y; teeth of 3 times that on the outer side."""
    angle = np.linspace(0.0, 1.5 * np.pi, 60)
    circle = np.stack([2.0 * np.cos(angle), 2.0 * np.sin(angle)], axis=1)
    curve = fair(circle)
    where = np.linspace(0.0, curve.at[-1], 40)
    assert curvature(curve, where) == pytest.approx(np.full(40, 0.5), rel=5e-3)
    assert curvature(fair(circle[::-1]), where) == pytest.approx(np.full(40, -0.5), rel=5e-3)
    for points in (circle, circle[::-1]):
        teeth = comb(fair(points), 25, 3.0)
        assert np.linalg.norm(teeth[:, 0], axis=1) == pytest.approx(np.full(25, 2.0), rel=1e-5)
        assert np.linalg.norm(teeth[:, 1], axis=1) == pytest.approx(np.full(25, 3.5), rel=5e-3)


def test_samples_hold_ends_and_corners() -> None:
    points = np.array([[0.0, 0.0], [1.0, 0.1], [2.0, 0.0], [2.1, 1.0], [2.0, 2.0]])
    line = sampled(fair(points, (2,)), 40)
    assert line.shape == (40, 2)
    assert line[0] == pytest.approx(points[0])
    assert line[-1] == pytest.approx(points[-1])
    assert np.linalg.norm(line - points[2], axis=1).min() < 1e-12


def test_many_curves_at_once_are_each_as_by_itself() -> None:
    points = np.stack([wandering(20, seed) for seed in range(5)])
    at, cubics = fair_many(points, (7, 8))
    lines = sampled_many(at, cubics, 6)
    for k in range(5):
        one = fair(points[k], (7, 8))
        assert at[k] == pytest.approx(one.at)
        where = np.concatenate(
            [(one.at[:-1, None] + np.diff(one.at)[:, None] * np.arange(6) / 6).ravel(), one.at[-1:]]
        )
        assert lines[k] == pytest.approx(one(where), abs=1e-9)


@pytest.mark.parametrize(
    ("points", "corners", "words"),
    [
        ([[0.0, 0.0]], (), "two points or more"),
        ([[0.0, 0.0], [1.0, 1.0], [1.0, 1.0]], (), "same place"),
        ([[0.0, 0.0], [np.nan, 1.0]], (), "not a finite number"),
        ([[0.0, 0.0], [1.0, 1.0]], (2,), "no point 2"),
        ([[0.0, 0.0], [1.0, 1.0]], (-1,), "no point -1"),
    ],
)
def test_what_makes_no_curve_is_refused(
    points: list[list[float]], corners: tuple[int, ...], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        fair(np.array(points), corners)
