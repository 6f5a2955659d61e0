"""Tank levels: closed forms, edges, and the truths that hold for any tank."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from dabchick.physics import shapes
from dabchick.physics.cut import cut, forest
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from tests.unit.physics.test_cut_truths import cases, makers, rotations

PI = np.pi
UP = np.array([0.0, 0.0, 1.0])
SHARES = [1e-12, 1e-9, 1e-4, 0.1, 0.5, 0.9, 1.0 - 1e-6, 1.0 - 1e-12]


@pytest.mark.parametrize("share", SHARES)
def test_box_upright(share: float) -> None:
    tree, _ = forest([shapes.box(0.3, 0.1, 0.05).moved((0.4, 0.0, 0.03))])
    d, part = level(tree, UP, share * 0.0015)
    assert_allclose(d, 0.005 + 0.05 * share, rtol=1e-14)
    assert_allclose(part.volume, share * 0.0015, rtol=1e-13, atol=1e-18)
    assert_allclose(part.waterplane_area, 0.03, rtol=1e-13)


@pytest.mark.parametrize("share", SHARES[2:])
def test_sphere(share: float) -> None:
    tree, _ = forest([shapes.sphere(2.0)])
    volume = share * 4.0 / 3.0 * PI
    d, part = level(tree, np.array([0.6, 0.0, 0.8]), volume)
    height = 1.0 + d
    assert_allclose(PI * height**2 * (3.0 - height) / 3.0, volume, rtol=1e-11)
    assert_allclose(part.volume, volume, rtol=1e-13)


@pytest.mark.parametrize("share", [1e-9, 0.01, 0.3, 0.7, 0.99])
def test_cube_standing_on_a_corner(share: float) -> None:
    tree, _ = forest([shapes.box(1.0, 1.0, 1.0)])
    normal = np.ones(3) / np.sqrt(3.0)
    d, _ = level(tree, normal, share)
    low = min(share, 1.0 - share)
    if low < 1.0 / 6.0:
        # a corner: V = leg^3/6, height of the corner = leg/sqrt 3
        height = (6.0 * low) ** (1.0 / 3.0) / np.sqrt(3.0)
        expected = -np.sqrt(3.0) / 2.0 + height if share < 0.5 else np.sqrt(3.0) / 2.0 - height
        assert_allclose(d, expected, rtol=1e-12)
    else:
        assert_allclose(cut(tree, normal, d).volume, share, rtol=1e-13)


@pytest.mark.parametrize("solid", [shapes.box(1, 2, 3), shapes.cylinder(1, 0.5), shapes.cone(1.0, 0.4)])
def test_empty_full_and_over_full(solid: Solid) -> None:
    tree, _ = forest([solid])
    normal = np.array([0.36, 0.48, 0.8])
    vertices = solid.meshes(2000)[0][0] @ normal
    for volume in (0.0, -1.0):
        d, part = level(tree, normal, volume)
        assert_allclose(d, vertices.min(), atol=2e-6)
        assert (part.volume, part.waterplane_area, part.wetted_area) == (0.0, 0.0, 0.0)
    for volume in (solid.volume * (1.0 + 1e-12), 2.0 * solid.volume):
        d, part = level(tree, normal, volume)
        assert_allclose(d, vertices.max(), atol=2e-6)
        assert_allclose(part.volume, solid.volume, rtol=1e-13)
        assert part.waterplane_area == 0.0
        assert not part.waterplane_second.any()
        assert_allclose(part.wetted_area, solid.area, rtol=1e-13)
    d, part = level(tree, normal, solid.volume)
    assert_allclose(part.volume, solid.volume, rtol=1e-13)


def test_area_that_jumps_at_a_step() -> None:
    """A wide tank with a narrow neck: levels on both sides of the step and on it."""
    profile = [
        (-2.0, 0.0),
        (2.0, 0.0),
        (2.0, 1.0),
        (0.1, 1.0),
        (0.1, 3.0),
        (-0.1, 3.0),
        (-0.1, 1.0),
        (-2.0, 1.0),
    ]
    tree, _ = forest([shapes.prism(profile, 1.0)])
    for volume, height in ((3.9, 0.975), (4.0, 1.0), (4.1, 1.5), (4.0 + 1e-9, 1.0 + 5e-9), (4.399, 2.995)):
        d, part = level(tree, UP, volume)
        assert_allclose(d, height, rtol=1e-13)
        assert_allclose(part.volume, volume, rtol=1e-14)


def test_two_rooms_far_apart_fill_as_one() -> None:
    """Between the rooms the volume stands still while the level is free: any level there will do."""
    rooms = shapes.box(1, 1, 1) + shapes.box(1, 1, 1).moved((0.0, 0.0, 10.0))
    tree, _ = forest([rooms])
    for volume, low, high in ((0.5, 0.0, 0.0), (1.0, 0.5, 9.5), (1.5, 10.0, 10.0)):
        d, part = level(tree, UP, volume)
        assert low - 1e-12 <= d <= high + 1e-12
        assert_allclose(part.volume, volume, rtol=1e-14)


def test_room_round_a_rod() -> None:
    tank = shapes.box(1.0, 0.4, 0.4) - shapes.cylinder(1.0, 0.2)
    tree, _ = forest([tank])
    d, part = level(tree, UP, 0.5 * tank.volume)
    assert_allclose(d, 0.0, atol=1e-14)
    assert_allclose(part.waterplane_area, 1.0 * (0.4 - 0.2), rtol=1e-13)


@settings(max_examples=150, deadline=None)
@given(cases())
def test_the_level_of_a_volume_gives_the_plane_back(case: tuple[Solid, np.ndarray, float]) -> None:
    solid, normal, offset = case
    tree, _ = forest([solid])
    part = cut(tree, normal, offset)
    d, again = level(tree, normal, part.volume)
    capacity = solid.volume
    assert abs(again.volume - part.volume) <= 1e-14 * capacity
    # the level is as sure as the volume allows: dV = A dd; between two rooms, where A is 0, any level will do
    between = [cut(tree, normal, offset + share * (d - offset)).waterplane_area for share in (0.0, 0.5, 1.0)]
    if min(between) > 1e-6 and 1e-9 * capacity < part.volume < (1.0 - 1e-9) * capacity:
        assert abs(d - offset) <= 1e-13 * capacity / min(between) + 1e-13


@settings(max_examples=100, deadline=None)
@given(st.one_of(makers), rotations(), st.lists(st.floats(0.0, 1.0), min_size=2, max_size=6))
def test_the_level_never_falls_as_the_volume_grows(
    solid: Solid, rotation: np.ndarray, shares: list[float]
) -> None:
    tree, _ = forest([solid])
    normal = rotation[2] / np.linalg.norm(rotation[2])
    levels = [level(tree, normal, share * solid.volume)[0] for share in sorted(shares)]
    low, high = solid.bounds()
    assert (np.diff(levels) >= -1e-14 * np.linalg.norm(high - low)).all()


@pytest.mark.parametrize(
    ("normal", "volume", "advice"),
    [
        ((0.0, 0.0, 1.0), float("nan"), "finite volume"),
        ((0.0, 0.0, 1.0), float("inf"), "finite volume"),
        ((0.0, 0.0, float("nan")), 0.1, "unit vector"),
        ((0.0, 0.0, 0.0), 0.1, "unit vector"),
    ],
)
def test_mistakes_get_advice(normal: tuple[float, float, float], volume: float, advice: str) -> None:
    tree, _ = forest([shapes.box(1, 1, 1)])
    with pytest.raises(ValueError, match=advice):
        level(tree, normal, volume)
    with pytest.raises(ValueError, match="forest holds 1"):
        level(tree, UP, 0.1, 1, 1)
