"""Fit by two routes: booleans against closed forms and counted points; found places against booleans."""

from collections.abc import Callable
from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from dabchick.model.vessel import Place, Vessel
from dabchick.physics import shapes
from dabchick.physics.free_space import Cells, cells_over
from dabchick.physics.solid import Solid
from dabchick.studies.places import find_places
from dabchick.studies.room import free_room, hull_grid, occupy, water_room
from dabchick.studies.shared_room import Body, UnusableMeshError, shared
from tests.support.angle import turns_round
from tests.support.fitting_boats import WISHES, box_hull, fat_spindle, item, skinned, tank, vessel


def turn(about_x: float, about_z: float) -> np.ndarray:
    cx, sx, cz, sz = np.cos(about_x), np.sin(about_x), np.cos(about_z), np.sin(about_z)
    return np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])


def test_two_boxes_share_a_box() -> None:
    # Closed form: overlap 10 x 20 x 5 mm.
    first = shapes.box(0.1, 0.06, 0.04)
    second = shapes.box(0.05, 0.04, 0.03).moved((0.065, 0.03, 0.03))
    both = shared(first, second)
    assert both.volume_m3 == pytest.approx(0.010 * 0.020 * 0.005, rel=1e-9)
    assert both.centre_m == pytest.approx((0.045, 0.02, 0.0175), abs=1e-12)
    # Twice the volume over the surface.
    assert both.thickness_m == pytest.approx(2e-6 / (2 * (200e-6 + 50e-6 + 100e-6)), rel=1e-9)


@pytest.mark.parametrize("apart", [0.02, 0.04, 0.055])
def test_two_spheres_share_a_lens(apart: float) -> None:
    # Closed form: two caps, each pi h^2 (3 R - h) / 3 with h = R - apart / 2.
    radius = 0.03
    height = radius - apart / 2
    lens = 2 * np.pi * height**2 * (3 * radius - height) / 3
    both = shared(shapes.sphere(2 * radius), shapes.sphere(2 * radius).moved((apart, 0.0, 0.0)))
    # The spheres are polyhedra that stand inside the true ones by up to R (1 - cos(pi/240)) each.
    missing = 2 * np.pi * radius * height * 2 * radius * (1 - np.cos(np.pi / 240)) * 2
    assert lens - missing <= both.volume_m3 <= lens
    assert both.centre_m == pytest.approx((apart / 2, 0.0, 0.0), abs=1e-6)


def test_spheres_that_do_not_meet_share_nothing() -> None:
    both = shared(shapes.sphere(0.06), shapes.sphere(0.06).moved((0.0601, 0.0, 0.0)))
    assert both.volume_m3 == 0.0
    assert not both.counts


Inside = Callable[[np.ndarray], np.ndarray]


def across(points: np.ndarray) -> np.ndarray:
    return np.hypot(points[:, 1], points[:, 2])


def in_cylinder(points: np.ndarray) -> np.ndarray:
    return (np.abs(points[:, 0]) < 0.05) & (across(points) < 0.025)


def in_box(points: np.ndarray) -> np.ndarray:
    return np.all(np.abs(points) < [0.03, 0.025, 0.02], axis=1)


def in_tube(points: np.ndarray) -> np.ndarray:
    return (np.abs(points[:, 0]) < 0.06) & (across(points) < 0.03) & (across(points) > 0.025)


def in_cone(points: np.ndarray) -> np.ndarray:
    return (np.abs(points[:, 0]) < 0.04) & (across(points) < 0.025 - 0.020 * (points[:, 0] + 0.04) / 0.08)


def in_capsule(points: np.ndarray) -> np.ndarray:
    return np.hypot(np.maximum(np.abs(points[:, 0]) - 0.03, 0.0), across(points)) < 0.02


def in_spheroid(points: np.ndarray) -> np.ndarray:
    return np.hypot(points[:, 0] / 0.045, across(points) / 0.025) < 1.0


@pytest.mark.parametrize(
    ("first", "in_first", "second", "in_second", "shift", "rotation"),
    [
        (
            *(shapes.cylinder(0.1, 0.05), in_cylinder, shapes.box(0.06, 0.05, 0.04), in_box),
            *((0.02, 0.02, 0.01), turn(0.7, -0.4)),
        ),
        (
            *(shapes.tube(0.12, 0.06, 0.05), in_tube, shapes.cone(0.08, 0.05, 0.01), in_cone),
            *((0.03, 0.015, 0.0), turn(1.0, 1.1)),
        ),
        (
            *(shapes.capsule(0.1, 0.04), in_capsule, shapes.spheroid(0.09, 0.05), in_spheroid),
            *((0.01, 0.025, 0.004), turn(0.2, 0.8)),
        ),
    ],
)
def test_shared_room_is_what_counting_points_finds(
    first: Solid,
    in_first: Inside,
    second: Solid,
    in_second: Inside,
    shift: tuple[float, float, float],
    rotation: np.ndarray,
) -> None:
    # Independent route: points of a lattice counted by the inequalities of the true round bodies.
    moved = second.moved(shift, rotation)
    low, high = first.bounds()
    axes = [
        np.linspace(start, stop, 161)[:-1] + (stop - start) / 320
        for start, stop in zip(low, high, strict=True)
    ]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    inside = in_first(points) & in_second((points - shift) @ rotation)
    both = shared(first, moved)
    assert both.volume_m3 == pytest.approx(inside.mean() * np.prod(high - low), rel=5e-3)
    assert both.centre_m == pytest.approx(points[inside].mean(axis=0), abs=1e-4)
    assert shared(moved, first).volume_m3 == pytest.approx(both.volume_m3, rel=1e-9)


def test_room_shared_and_room_outside_are_the_whole() -> None:
    first = Body(shapes.tube(0.12, 0.06, 0.05))
    second = Body(shapes.box(0.06, 0.05, 0.2).moved((0.05, 0.02, 0.0), turn(0.4, 0.3)))
    parts = first.shared_with(second).volume_m3 + first.outside(second).volume_m3
    assert parts == pytest.approx(first.all.volume_m3, rel=1e-9)


@pytest.mark.parametrize("steps", [0.0, 0.25, 0.5])
def test_a_cylinder_in_its_bore_is_contact(steps: float) -> None:
    # Both are polygons of 240 sides; turned by part of a side, their corners cross, which is no clash.
    bore = shapes.tube(0.2, 0.1, 0.09)
    vertices, faces, _ = shapes.cylinder(0.2, 0.09).meshes(240)[0]
    plug = shapes.mesh(vertices @ turn(2 * np.pi / 240 * steps, 0.0).T, faces)
    both = shared(bore, plug)
    assert not both.counts
    if steps == 0.5:
        # More than the least volume, but thinner than a polygon's error.
        assert both.volume_m3 > 1e-8
    assert shared(bore, shapes.cylinder(0.2, 0.0905)).counts


def test_an_open_surface_is_refused() -> None:
    vertices, faces, _ = shapes.box(0.1, 0.1, 0.1).meshes()[0]
    closed = shapes.mesh(vertices, faces)
    surface = closed.surfaces[0]
    opened = Solid((replace(surface, shape=type(surface.shape)(surface.shape.vertices, surface.faces[:-1])),))
    with pytest.raises(UnusableMeshError, match="not closed"):
        Body(opened)


def test_free_room_of_a_box_hull_with_a_cylinder_is_the_difference() -> None:
    # Closed form: 1000 x 120 x 150 mm less a cylinder of 600 x 90 mm.
    cylinder = item("cylinder", "dry", shapes.cylinder(0.6, 0.09).moved((0.5, 0.0, 0.075)), 3.0)
    boat = vessel(box_hull(), [cylinder])
    wanted = 1.0 * 0.12 * 0.15 - np.pi / 4 * 0.09**2 * 0.6
    cells = hull_grid(boat)
    assert water_room(boat, cells).sum() * cells.volume_m3 == pytest.approx(wanted, rel=2e-3)
    # Wholly free cells leave out those that the cylinder's face cuts: at most a layer of two cells' diagonal.
    free = free_room(boat, cells, 0.0).sum() * cells.volume_m3
    face = np.pi * 0.09 * 0.6 + 2 * np.pi / 4 * 0.09**2
    assert wanted - 2 * face * float(np.linalg.norm(cells.size_m)) < free < wanted


@pytest.mark.parametrize("clearance", [0.0, 0.003])
def test_free_cells_keep_their_clearance_from_every_corner(clearance: float) -> None:
    # Closed form: the distance of the cells' corners from the axis of the cylinder and from the hull's walls.
    cylinder = item("cylinder", "dry", shapes.cylinder(0.6, 0.09).moved((0.5, 0.0, 0.075)), 3.0)
    boat = vessel(box_hull(), [cylinder])
    cells = hull_grid(boat)
    indices = np.argwhere(free_room(boat, cells, clearance))
    low = np.array(cells.origin_m) + (np.array(cells.first) + indices) * np.array(cells.size_m)
    high = low + np.array(cells.size_m)
    nearest = np.clip(np.array([0.0, 0.0, 0.075]), low, high)
    radial = np.hypot(nearest[:, 1], nearest[:, 2] - 0.075)
    beside = (high[:, 0] > 0.2 - clearance) & (low[:, 0] < 0.8 + clearance)
    assert radial[beside].min() >= 0.045 + clearance - 1e-9
    walls = np.array([[0.0, -0.06, 0.0], [1.0, 0.06, 0.15]])
    assert np.all(low >= walls[0] + clearance - 1e-9)
    assert np.all(high <= walls[1] - clearance + 1e-9)


def test_cells_between_a_round_body_and_its_polygon_are_taken() -> None:
    # A cylinder of 1 m diameter bulges 0.27 mm out of a polygon of 96 sides, at the middle of each side.
    radius = 0.5
    out = np.array([np.cos(np.pi / 96), np.sin(np.pi / 96)])
    for depth, taken in ((0.5e-4, True), (2e-4, True), (-1e-3, False)):
        y, z = out * (radius - depth)
        cells = Cells((0.0, y, z), (1e-5, 1e-5, 1e-5), (0, 0, 0), (1, 1, 1))
        found = np.zeros(cells.shape, dtype=bool)
        occupy(shapes.cylinder(0.1, 2 * radius), cells, 0.0, found)
        assert bool(found[0, 0, 0]) is taken


def test_free_room_is_inside_the_hull_and_outside_the_parts_by_solid_angles(full_boat: Vessel) -> None:
    # Independent route: solid angles of the hull's inner face and of each part, from points in free cells.
    cells = cells_over(
        *full_boat.hull_inside.bounds(), np.array([0.012, 0.006, 0.006]), full_boat.waterline_m
    )
    rng = np.random.default_rng(5)
    indices = np.argwhere(free_room(full_boat, cells, 0.0))
    picked = indices[rng.integers(0, len(indices), 60)]
    points = np.array(cells.origin_m) + (np.array(cells.first) + picked + rng.random((60, 3))) * cells.size_m
    solids = [one.solid for one in full_boat.items if one.solid is not None] + [
        one.solid for one in full_boat.tanks
    ]
    for vertices, faces, _ in full_boat.hull_inside.meshes():
        np.testing.assert_allclose(turns_round(vertices, faces, points), 1.0, atol=1e-6)
    for solid in solids:
        depth = sum(
            weight * turns_round(vertices, faces, points) for vertices, faces, weight in solid.meshes()
        )
        np.testing.assert_allclose(depth, 0.0, atol=1e-6)


def bodies(boat: Vessel) -> list[Solid]:
    return [one.solid for one in (*boat.items, *boat.tanks) if one.solid is not None]


@pytest.fixture(scope="module")
def full_boat() -> Vessel:
    """Round hull with a skin, a dry cylinder, a lattice of small parts and a tank, without symmetry."""
    hull = fat_spindle(80, 64)
    inner, skin = skinned(hull, 0.002)
    parts = [
        skin,
        item("cylinder", "dry", shapes.capsule(0.42, 0.09).moved((0.48, 0.004, 0.075), turn(0.0, 0.01)), 2.0),
        item("servo", "solid", shapes.box(0.04, 0.02, 0.04).moved((0.2, 0.03, 0.07), turn(0.2, 0.3)), 0.05),
        item("frame", "solid", shapes.tube(0.01, 0.12, 0.1).moved((0.45, 0.0, 0.075)), 0.02),
        item("strut", "solid", shapes.cylinder(0.1, 0.008).moved((0.8, -0.02, 0.06), turn(0.5, 0.9)), 0.03),
    ]
    bag = tank("bag", shapes.spheroid(0.08, 0.05).moved((0.86, 0.01, 0.08)))
    return vessel(hull, parts, [bag], inside=inner, wishes=replace(WISHES, clearance_m=0.0015))


def as_manifold(place: Place) -> manifold3d.Manifold:
    return manifold3d.Manifold.cube(tuple(np.subtract(place.high_m, place.low_m))).translate(place.low_m)


def polyhedra(solid: Solid) -> list[tuple[manifold3d.Manifold, float]]:
    made = []
    for vertices, faces, weight in solid.meshes(192):
        mesh = manifold3d.Mesh64(vertices.astype(np.float64), faces.astype(np.uint64))
        made.append((manifold3d.Manifold(mesh), weight))
    return made


def test_places_are_empty_and_inside_by_booleans(full_boat: Vessel) -> None:
    places = find_places(full_boat)
    assert len(places) >= 20
    boxes = manifold3d.Manifold.batch_boolean([as_manifold(place) for place in places], manifold3d.OpType.Add)
    total = sum(float(np.prod(np.subtract(place.high_m, place.low_m))) for place in places)
    # They do not overlap each other: their union is as large as all of them.
    assert boxes.volume() == pytest.approx(total, rel=1e-9)
    for inner, _ in polyhedra(full_boat.hull_inside):
        assert (boxes - inner).volume() <= 1e-15
    solids = [one.solid for one in full_boat.items if one.solid is not None] + [
        one.solid for one in full_boat.tanks
    ]
    for solid in solids:
        # Material less holes: what the boxes share with the first must all lie in the second.
        share = sum(weight * (boxes ^ body).volume() for body, weight in polyhedra(solid))
        assert abs(share) <= 1e-15


def test_places_keep_their_clearance_by_booleans(full_boat: Vessel) -> None:
    # Each box grown by the clearance on every side is still empty.
    clearance = full_boat.wishes.clearance_m * (1 - 1e-6)
    cylinder, servo = (polyhedra(full_boat.items[row].solid)[0][0] for row in (1, 2))
    for place in find_places(full_boat):
        grown = replace(
            place,
            low_m=tuple(value - clearance for value in place.low_m),
            high_m=tuple(value + clearance for value in place.high_m),
        )
        for body in (cylinder, servo):
            assert (as_manifold(grown) ^ body).volume() <= 1e-15, place.name
