"""The choice of vents against trying every set of them, and its pieces against the air that is really trapped."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.vents import Pieces, choose, pieces
from tests.support.air_spaces import Space

GROUPS = ((1,), (2, 3), (4,), (5, 6))
COSTS = np.array([1.0, 2.0, 0.9, 2.0])


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), leave=st.sampled_from((0.0, 0.5, 2.0)))
def test_no_set_of_vents_is_cheaper_or_keeps_less(seed: int, leave: float) -> None:
    """All 16 sets of four groups, tried one by one; opening 0 is there already."""
    random = np.random.default_rng(seed)
    attitudes = [
        Pieces(random.uniform(0.0, 1.0, 7), random.random((7, 7)) < random.choice([0.1, 0.3]))
        for _ in range(3)
    ]
    found = choose(attitudes, [0], GROUPS, COSTS, leave)

    def kept(taken: tuple[int, ...]) -> np.ndarray:
        there = [0, *(opening for number in taken for opening in GROUPS[number])]
        return np.array([float(a.volume[~a.let_out_by[:, there].any(axis=1)].sum()) for a in attitudes])

    every = [tuple(np.flatnonzero(ways).tolist()) for ways in product((False, True), repeat=4)]
    least = kept((0, 1, 2, 3))
    good = [taken for taken in every if (kept(taken) <= leave + least + 1e-9).all()]
    cheapest = min(COSTS[list(taken)].sum() for taken in good)
    assert found.unreached_m3 == pytest.approx(tuple(least), abs=1e-9)
    assert COSTS[list(found.taken)].sum() == pytest.approx(cheapest)
    assert found.trapped_m3 == pytest.approx(tuple(kept(found.taken)), abs=1e-9)
    alike = [taken for taken in good if COSTS[list(taken)].sum() <= cheapest + 1e-9]
    assert sum(found.trapped_m3) == pytest.approx(min(kept(taken).sum() for taken in alike), abs=1e-6)


@pytest.mark.parametrize("angles", [(0.0, 0.0), (12.0, -20.0), (-50.0, 35.0), (170.0, 5.0)])
def test_pieces_add_up_to_the_air_that_stays_in(angles: tuple[float, float]) -> None:
    """For each set of three holes in a box with a plate in it, the pieces that none of them lets out are the air."""
    space = Space(
        shapes.box(0.2, 0.1, 0.1), (shapes.box(0.004, 0.1, 0.06).moved((0.02, 0.0, 0.02)),), spacing=2e-3
    )
    holes = (((-0.08, 0.0, 0.05), 0.0), ((0.06, 0.02, 0.05), 0.0), ((0.1, 0.01, -0.03), 0.0))
    up = up_vector(*angles)
    cut = pieces(space.columns, space.mouths(*holes), up)
    assert cut.volume.sum() == pytest.approx(
        float((space.columns.high - space.columns.low).sum()) * space.columns.spacing**2, rel=1e-9
    )
    for taken in product((False, True), repeat=3):
        made = np.flatnonzero(taken)
        stays = float(cut.volume[~cut.let_out_by[:, made].any(axis=1)].sum())
        air = space.air(up, *(holes[number] for number in made)).volume_m3
        # columns against faces, and hollows without a hole of their own: a spacing's worth over the box
        assert stays == pytest.approx(air, abs=0.02 * 0.2 * 0.1 * 0.1)
