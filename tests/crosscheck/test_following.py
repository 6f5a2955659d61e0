"""Curves of rests against routes that know nothing of them: another energy minimised, and many independent starts."""

from itertools import pairwise

import numpy as np
import pytest
import trimesh

from dabchick.physics.balance import Balance
from dabchick.physics.branches import branches
from dabchick.physics.equilibrium import NotSettledError, find, heel_and_trim_deg
from dabchick.physics.filling import filling
from dabchick.physics.passage import begin, follow
from dabchick.physics.track import Track
from tests.crosscheck.test_equilibrium import DENSITY, Boat, bulk, manifold_of
from tests.support.dive_boats import UP, dive_boat

SIDES = 16


def tube(share: float) -> Boat:
    """A closed tube 400 mm long with a room along most of it, weighted a little low and aft, filled to a share."""
    body = trimesh.creation.cylinder(radius=0.04, height=0.4, sections=SIDES)
    room = trimesh.creation.cylinder(radius=0.035, height=0.36, sections=SIDES)
    for mesh in (body, room):
        mesh.apply_transform(trimesh.transformations.rotation_matrix(0.5 * np.pi, [0.0, 1.0, 0.0]))
    outside, inside = manifold_of(body), manifold_of(room)
    held = share * bulk(inside)[0]
    mass = 0.45 * DENSITY * bulk(outside)[0]
    return Boat(outside, (inside,), (held,), mass, np.array([-0.002, 0.0015, -0.012]))


def test_tube_with_water_inside_against_scipy() -> None:
    """Her water runs to one end and she stands up: manifold3d's volumes and scipy's minimum agree all along.

    The energy is flat at its minimum, which leaves the attitude open by some 1e-6, the print of the other route 2e-5.
    """
    most = 0.72

    def sample(progress: float) -> Balance:
        return tube(most * progress).ours()

    start = sample(0.0)
    track = Track(start, filling([0.0, 1.0], sample, start.radius + 1.0))
    stages = [0.0, 0.5, 0.9, 1.0]
    passage = follow(track, begin(track, UP), stages)
    trims = [heel_and_trim_deg(point.normal)[1] for point in passage.stages]
    assert max(abs(b - a) for a, b in pairwise(trims)) > 15.0, trims
    for stage, point in zip(stages, passage.stages, strict=True):
        if stage == 0.0:
            continue
        aside = point.normal + np.array([0.02, 0.03, -0.02])
        up, offset, _ = tube(most * stage).lowest(aside / np.linalg.norm(aside))
        assert point.normal == pytest.approx(up, abs=3e-5)
        assert point.state[3] * start.radius == pytest.approx(offset, abs=3e-6)


BOATS = 50
STAGES = (0.0, 0.23, 0.5, 0.77, 1.0)
STARTS = 24


@pytest.mark.parametrize("first", range(0, BOATS, 10))
def test_no_stable_rest_is_missed_by_the_curves(first: int) -> None:
    """50 random boats: whatever stable rest is found from random attitudes at a fill lies on a curve followed there.

    The attitudes are drawn at random for this test alone; the curves know nothing of them.
    """
    for seed in range(first, first + BOATS // 5):
        boat = dive_boat(seed, air=False)
        track = boat.track
        known = branches(track, STAGES)
        chance = np.random.default_rng(900_000 + seed)
        for stage, rests in zip(STAGES, known.rests, strict=True):
            if any(rest.hanging for rest in rests):
                continue
            afloat = track.balance_at(stage, UP)
            for _ in range(STARTS):
                try:
                    rest = find(afloat, chance.normal(size=3))
                except NotSettledError:
                    continue
                if rest.stable:
                    near = min(float(np.linalg.norm(other.normal - rest.normal)) for other in rests)
                    assert near < 1e-4, f"boat {seed} at {stage}: {rest.heel_deg}, {rest.trim_deg}"
        assert all(known.complete), f"boat {seed}: {known.complete}"
