"""What holds for any boat that dives: she ends in a proven answer, and no jump is told where her rest goes on."""

import pytest

from dabchick.physics.passage import Passage
from dabchick.physics.track import Track
from tests.support.dive_boats import distribution, dive_boat, dived

BOATS = 120
"""The measurement `python -m benchmarks stability` asks the same of 10,000."""


def test_every_boat_ends_in_a_proven_answer() -> None:
    found = distribution(range(BOATS))
    assert sum(count for outcome, count in found.items() if outcome.startswith("proven")) == BOATS, found
    # the seeds hold a good share of everything that can happen
    told = " ".join(found)
    assert all(word in told for word in ("jump", "fold", "fork", "under", "nothing happens"))


def jumps(passage: Passage) -> list[int]:
    return [index for index, entry in enumerate(passage.happenings) if entry.kind == "jump"]


@pytest.mark.parametrize("seed", [2, 6, 9, 12, 18, 31, 46, 55])
def test_a_jump_is_told_only_where_the_rest_has_ended(seed: int) -> None:
    """Just before it she is held; just past it Newton from the same pose finds no firm rest near by.

    And she goes downhill: past the place her new rest has less energy than the old one had there.
    """
    boat = dive_boat(seed, air=False)
    told = 0
    for passage, sense in zip(dived(boat), (1.0, -1.0), strict=True):
        for index in jumps(passage):
            entry = passage.happenings[index]
            if entry.after.hanging or entry.before.hanging:
                continue
            told += 1
            track = Track(boat.balance, boat.filling)
            place = entry.before
            assert place.numbers[9] > -1e-6
            for past in (1e-6, 1e-4):
                near = track.on(place.state, place.progress + sense * past, hanging=False)
                assert near is None or not near.stable or near.apart(place) > 0.05
            assert entry.after.stable
            assert entry.after.energy < place.energy + 1e-6 * place.mass * boat.balance.radius
    assert told or seed in (2, 9, 18), "this seed was kept for its jump"
