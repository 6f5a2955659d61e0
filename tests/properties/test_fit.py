"""What holds of any fit: it is symmetric, the same in a moved or mirrored boat, and never made by asking for more."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.nearest import nearest, triangle_tree
from dabchick.physics.solid import Solid
from dabchick.studies import fit
from tests.support.fitting_boats import box_hull, item, mirrored, vessel
from tests.support.random_boats import numbers, rotations, vectors

SIDES = 16


def corners(solid: Solid) -> np.ndarray:
    return np.concatenate([vertices[faces] for vertices, faces, _ in solid.meshes(SIDES)])


@st.composite
def bodies(draw: st.DrawFn) -> np.ndarray:
    size = draw(numbers(0.02, 0.1))
    made = draw(
        st.sampled_from(
            [shapes.box(size, 0.03, 0.05), shapes.cylinder(size, 0.04), shapes.cone(size, 0.05, 0.01)]
        )
    )
    return corners(made.moved(np.zeros(3), draw(rotations())).moved(draw(vectors(0.15))))


def gap(first: np.ndarray, second: np.ndarray, sweep: np.ndarray) -> float:
    found = nearest(triangle_tree(first), triangle_tree(second), sweep=sweep)
    assert found is not None
    return found.distance_m


@settings(max_examples=60, deadline=None)
@given(bodies(), bodies(), vectors(0.2), rotations(mirrored=True), vectors(1.0))
def test_distances_are_symmetric_and_the_same_anywhere(
    first: np.ndarray, second: np.ndarray, sweep: np.ndarray, turn: np.ndarray, shift: np.ndarray
) -> None:
    still = np.zeros(3)
    assert abs(gap(first, second, still) - gap(second, first, still)) <= 1e-12
    # One drawn past the other is the other drawn back past the one.
    drawn = gap(first, second, sweep)
    assert abs(drawn - gap(second, first, -sweep)) <= 1e-12
    there = gap(first @ turn.T + shift, second @ turn.T + shift, sweep @ turn.T)
    assert abs(drawn - there) <= 1e-9
    # A longer way comes no less near.
    assert drawn <= gap(first, second, still) + 1e-12
    assert drawn <= gap(first, second, 0.5 * sweep) + 1e-12


@st.composite
def fleets(draw: st.DrawFn) -> Vessel:
    parts = []
    for number in range(draw(st.integers(2, 4))):
        size = [draw(numbers(0.01, 0.12)) for _ in range(3)]
        at = (draw(numbers(0.05, 0.95)), draw(numbers(-0.05, 0.05)), draw(numbers(0.01, 0.14)))
        parts.append(item(f"part {number}", "solid", shapes.box(*size).moved(at)))
    return vessel(box_hull(), parts)


def told(result: fit.FitResult) -> dict[frozenset[str], tuple[str, float, float]]:
    return {
        frozenset((one.first, one.second)): (one.kind, one.overlap_m3, one.clearance_m)
        for one in result.pairs
    }


def assert_alike(one: fit.FitResult, other: fit.FitResult) -> None:
    first, second = told(one), told(other)
    assert first.keys() == second.keys()
    for pair, (kind, overlap, clearance) in first.items():
        assert second[pair][0] == kind
        np.testing.assert_allclose(second[pair][1:], (overlap, clearance), rtol=1e-6, atol=1e-9)


@settings(max_examples=25, deadline=None)
@given(fleets())
def test_a_mirrored_and_a_reordered_boat_fits_alike(boat: Vessel) -> None:
    result = fit.run(boat)
    assert_alike(result, fit.run(mirrored(boat)))
    assert_alike(result, fit.run(replace(boat, items=boat.items[::-1])))


@settings(max_examples=25, deadline=None)
@given(fleets(), numbers(0.0, 0.01), numbers(0.0, 0.01))
def test_more_clearance_never_makes_a_fit_of_a_misfit(boat: Vessel, first: float, more: float) -> None:
    less, greater = (fit.run(boat, clearance_m=first), fit.run(boat, clearance_m=first + more))
    assert told(less).keys() <= told(greater).keys()
    assert less.tried_count == greater.tried_count
