"""Smooth lines through measured points: what they must give back exactly, and how well they know what they do not."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.physics.smoothing import Parity, expected, smooth, waves

Array = NDArray[np.float64]
TURN = np.pi * np.array([0.0, 0.11, 0.18, 0.26, 0.35, 0.45, 0.55, 0.66, 0.78, 0.87, 1.0])
BETWEEN = np.linspace(0.0, np.pi, 61)
FREE: dict[tuple[Parity, Parity], tuple[int, ...]] = {
    ("odd", "odd"): (1, 2),
    ("even", "even"): (0, 1, 2),
}
"""Numbers of the waves that cost nothing: sin k t, cos k t."""


def free_line(ends: tuple[Parity, Parity], heights: tuple[float, ...], at: Array) -> Array:
    wave = np.sin if ends[0] == "odd" else np.cos
    return sum((c * wave(k * at) for c, k in zip(heights, FREE[ends], strict=False)), np.zeros(len(at)))


@example(ends=("odd", "odd"), heights=(1e-300, 0.0, 0.0), spread=1.0)
@given(
    ends=st.sampled_from(list(FREE)),
    heights=st.tuples(*(st.floats(-100.0, 100.0),) * 3),
    spread=st.floats(0.01, 3.0),
)
def test_what_costs_nothing_comes_back_as_it_was(
    ends: tuple[Parity, Parity], heights: tuple[float, float, float], spread: float
) -> None:
    """A line made of the free waves alone is met exactly, however large the spreads."""
    true = free_line(ends, heights, TURN)
    found = smooth(waves(TURN, *ends), true, np.full(len(TURN), spread))
    assert found(BETWEEN) == pytest.approx(free_line(ends, heights, BETWEEN), abs=1e-5 * (1.0 + np.ptp(true)))


def test_exact_measures_are_met_and_those_without_weight_pass_unheard() -> None:
    true = 60.0 * np.sin(TURN) * (1.0 + 0.3 * np.cos(TURN) + 0.1 * np.cos(4.0 * TURN))
    spread = np.full(len(TURN), 1e-6)
    lines = waves(TURN, "odd", "odd")
    assert smooth(lines, true, spread)(TURN) == pytest.approx(true, abs=1e-3)
    wild = true.copy()
    wild[4] = 1e6
    spread[4] = np.inf
    assert smooth(lines, wild, spread)(TURN)[4] == pytest.approx(true[4], abs=1.5)


def test_slope_is_the_derivative() -> None:
    found = smooth(
        waves(TURN, "even", "odd"), np.cos(0.5 * TURN) + 0.1 * np.cos(2.5 * TURN), np.full(11, 1e-3)
    )
    step = 1e-5
    # Central difference, an independent route.
    inner = BETWEEN[1:-1]
    assert found.slope(inner) == pytest.approx(
        (found(inner + step) - found(inner - step)) / (2.0 * step), abs=1e-6
    )


def test_leaving_one_out_agrees_with_a_fit_without_it() -> None:
    """The closed form for a measure left out, against the equations solved again without it at the same stiffness."""
    noise = np.random.default_rng(3)
    measured = 50.0 * np.sin(TURN) + 4.0 * np.sin(3.0 * TURN) + noise.normal(0.0, 0.3, 11)
    lines, spread = waves(TURN, "odd", "odd"), np.full(11, 0.3)
    found = smooth(lines, measured, spread)
    weight = np.full(11, 0.3**-2)
    weight[5] = 0.0
    normal = (lines.basis.T * weight) @ lines.basis + np.diag(lines.cost / found.strength)
    again = np.linalg.solve(normal, lines.basis.T @ (weight * measured))
    assert found.without(measured, 5)(TURN) == pytest.approx(lines.basis @ again, abs=1e-6)


def test_the_line_knows_how_well_it_knows_a_point_left_out() -> None:
    """Of many noisy lines, two thirds of the points left out lie within one spread of what is expected there.

    A normal deviate is within one standard deviation 68 times in 100 and within three 99.7 times; the stiffness is
    itself found from ten points, so some slack is due.
    """
    noise = np.random.default_rng(11)
    off = []
    for _ in range(60):
        heights = noise.normal(0.0, [40.0, 10.0, 1.0, 0.5, 0.2])
        true = sum(c * np.sin((k + 1) * TURN) for k, c in enumerate(heights))
        measured = true + noise.normal(0.0, 0.3, 11)
        measured[[0, -1]] = 0.0
        lines = waves(TURN, "odd", "odd")
        for k in (3, 5, 7):
            seen = expected(lines, measured, np.full(11, 0.3), k)
            off.append((measured[k] - seen.value) / np.hypot(0.3, seen.spread))
    within = np.abs(off)
    assert 0.5 < np.mean(within < 1.0) < 0.85
    assert np.mean(within < 3.0) > 0.96


def test_ends_do_what_their_parity_says() -> None:
    measured = 1.0 + np.sin(TURN)
    odd = smooth(waves(TURN, "odd", "even"), measured, np.full(11, 0.2))
    ends = np.array([0.0, np.pi])
    assert odd(ends)[0] == pytest.approx(0.0, abs=1e-12)
    assert odd.slope(ends)[1] == pytest.approx(0.0, abs=1e-9)


def test_too_little_and_nonsense_are_refused() -> None:
    lines = waves(TURN, "even", "even")
    few = np.full(11, np.inf)
    few[:3] = 1.0
    with pytest.raises(ValueError, match="needs 4 measures"):
        smooth(lines, np.ones(11), few)
    with pytest.raises(ValueError, match="not a number"):
        smooth(lines, np.full(11, np.nan), np.ones(11))
    for bad in ([0.0, 0.0, 1.0], [0.0, 2.0, 1.0], [-0.1, 1.0], [0.0, 4.0]):
        with pytest.raises(ValueError, match="rising order"):
            waves(np.array(bad), "even", "even")
