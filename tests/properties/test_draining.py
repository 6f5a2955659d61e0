"""Truths of running water for any boxes and holes: nothing is lost, and no level passes the one it runs to."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics.draining import levels_m
from tests.support.basins import OUTSIDE, UP, basins, holes, moments

FEW = settings(max_examples=25, deadline=None, derandomize=True)
AREA = st.floats(1e-5, 2e-3)
SHARE = st.floats(0.05, 0.95)


@FEW
@given(AREA, SHARE, SHARE, st.floats(0.02, 0.4), st.floats(0.02, 0.4), st.floats(0.1, 5.0))
def test_a_level_goes_towards_the_one_outside_and_never_past_it(
    area: float, start: float, outside: float, length: float, width: float, longest: float
) -> None:
    """One open box, the water outside at rest: its level moves one way only, and stops at the level outside."""
    box = basins([(length, width, 0.3, 0.0)])
    through = holes([(0.0, area, 0, OUTSIDE), (0.3, 1e-2, 0, OUTSIDE)], 0.62)
    room = float(box.room_m3[0])
    level = 0.3 * outside
    found = moments(
        box, through, [start * room], lambda time: level, lambda now: now.time_s > 20.0, longest=longest
    )
    heights = np.array([levels_m(box, UP, now.water_m3)[0] for now in found])
    way = np.sign(level - heights[0])
    assert np.all(way * np.diff(heights) >= -2e-5)
    assert np.all(way * (level - heights) >= -2e-5)
    assert max(abs(now.water_m3[0] + now.left_m3 - start * room) for now in found) <= 1e-15 * max(1.0, room)


@FEW
@given(st.lists(AREA, min_size=4, max_size=4), st.lists(SHARE, min_size=3, max_size=3), SHARE)
def test_three_spaces_and_the_water_outside_lose_nothing(
    areas: list[float], starts: list[float], outside: float
) -> None:
    """A chain with narrow vents and air shut in: water in all of them and gone outside adds up to the same."""
    boxes = basins([(0.1, 0.1, 0.3, 0.0), (0.2, 0.1, 0.2, 0.05), (0.1, 0.05, 0.25, 0.02)])
    chain = holes(
        [
            (0.06, areas[0], 0, 1),
            (0.1, areas[1], 1, 2),
            (0.03, areas[2], 2, OUTSIDE),
            (0.28, 2e-6, 0, OUTSIDE),
        ],
        0.6,
    )
    water = np.array(starts) * boxes.room_m3
    found = moments(
        boxes, chain, list(water), lambda time: 0.3 * outside, lambda now: now.time_s > 10.0, longest=2.0
    )
    for now in found:
        assert abs(float(np.sum(now.water_m3 - water)) + now.left_m3) < 1e-16
        assert np.all(now.water_m3 >= 0.0)
        assert np.all(now.water_m3 <= boxes.room_m3)
