"""Labels keep apart, keep their order and go no farther than they must."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from dabchick.report.labels import Label, labelled, spread

PLACES = st.lists(st.floats(-20.0, 120.0), min_size=1, max_size=12)


@given(PLACES)
def test_labels_keep_apart_in_order_and_inside(wanted):
    placed = spread(wanted, 8.0, 0.0, 100.0)
    order = np.argsort(wanted, kind="stable")
    assert np.all(np.diff(np.array(placed)[order]) >= 8.0 - 1e-9)
    assert min(placed) >= -1e-9
    assert max(placed) <= 100.0 + 1e-9


def test_labels_that_are_apart_already_stay():
    assert spread([10.0, 50.0, 30.0], 8.0, 0.0, 100.0) == pytest.approx([10.0, 50.0, 30.0])


def test_two_labels_in_one_place_part_evenly():
    assert spread([50.0, 50.0], 8.0, 0.0, 100.0) == pytest.approx([46.0, 54.0])


@pytest.mark.parametrize("seed", range(6))
def test_the_places_are_the_least_squares_ones(seed):
    # independent route: a general constrained minimiser
    wanted = np.sort(np.random.default_rng(seed).uniform(10.0, 90.0, 5))
    best = minimize(
        lambda places: np.sum((places - wanted) ** 2),
        np.linspace(20.0, 80.0, 5),
        constraints={"type": "ineq", "fun": lambda places: np.diff(places) - 12.0},
        bounds=[(0.0, 100.0)] * 5,
        options={"ftol": 1e-12},
    )
    assert spread(wanted, 12.0, 0.0, 100.0) == pytest.approx(best.x, abs=1e-3)


def test_a_row_that_is_too_short_is_refused():
    with pytest.raises(ValueError, match="more room"):
        spread([1.0] * 5, 30.0, 0.0, 100.0)


def test_of_too_many_the_heaviest_stay_in_their_order():
    labels = [Label(float(at), 0.0, "lead", str(at), "", "", weight=float(at % 7)) for at in range(30)]
    kept = labelled(labels, (0.0, 100.0))
    assert 0 < len(kept) < 30
    assert [label.x for label in kept] == sorted(label.x for label in kept)
    dropped = [label.weight for label in labels if label not in kept]
    assert min(label.weight for label in kept) >= max(dropped)
