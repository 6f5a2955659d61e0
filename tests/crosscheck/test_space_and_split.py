"""Free room and halves by other routes: points asked of trimesh, and solids trimmed by manifold3d."""

from collections.abc import Callable

import manifold3d
import numpy as np
import pytest
import trimesh

from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.halves import halves
from dabchick.studies.room import SEGMENTS, room_of, water_room
from tests.support.fitting_boats import fat_spindle, item, skinned, vessel

CELL_M = 0.03


def boat() -> Vessel:
    """A round hull with a cylinder, a servo and a turned bar in it."""
    hull = fat_spindle(rings=20, sides=24)
    inner, skin = skinned(hull, 0.002)
    turn = np.array([[0.8, -0.6, 0.0], [0.6, 0.8, 0.0], [0.0, 0.0, 1.0]])
    bar = shapes.box(0.16, 0.02, 0.015).moved((0.2, 0.0, 0.0513), turn)
    return vessel(
        hull,
        [
            skin,
            item("cylinder", "dry", shapes.cylinder(0.4, 0.08).moved((0.5, 0.0, 0.075)), 2.0),
            item("bar", "solid", bar, 0.1),
        ],
        inside=inner,
        waterline_m=0.08,
    )


def as_trimesh(solid: object) -> trimesh.Trimesh:
    (vertices, faces, _), *_ = solid.meshes(SEGMENTS)  # type: ignore[attr-defined]
    return trimesh.Trimesh(vertices, faces, process=False)


def test_cells_that_flood_are_those_whose_middle_trimesh_finds_in_the_hull_and_in_no_part() -> None:
    ship = boat()
    room = room_of(ship, CELL_M)
    cells = room.cells
    middles = np.stack(
        np.meshgrid(*(cells.centres(axis) for axis in range(3)), indexing="ij"), axis=-1
    ).reshape(-1, 3)
    wanted = as_trimesh(ship.hull_inside).contains(middles)
    for thing in ship.items[1:]:
        wanted &= ~as_trimesh(thing.envelope).contains(middles)
    assert water_room(ship, cells).ravel().tolist() == wanted.tolist()
    assert 100 < wanted.sum() < len(wanted)


def test_free_cells_keep_their_distance_by_trimeshs_own_measure() -> None:
    """Points all over the free cells, corners included: in the hull, in no part, the clearance off every face."""
    ship = boat()
    clearance = 0.004
    room = room_of(ship, CELL_M, clearance)
    first = np.argwhere(room.free)
    assert len(first) > 10
    cells = room.cells
    low = np.array([[cells.side(axis, int(row[axis])) for axis in range(3)] for row in first])
    shares = np.array([[x, y, z] for x in (0.0, 0.5, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
    points = (low[:, None, :] + shares[None] * np.array(cells.size_m)).reshape(-1, 3)
    hull = as_trimesh(ship.hull_inside)
    assert hull.contains(points).all()
    assert trimesh.proximity.closest_point(hull, points)[1].min() >= clearance - 1e-9
    for thing in ship.items[1:]:
        body = as_trimesh(thing.envelope)
        assert not body.contains(points).any()
        assert trimesh.proximity.closest_point(body, points)[1].min() >= clearance - 1e-9


MIDDLE = np.array([0.1, 0.0, 0.1])
Shape = Callable[[], tuple[np.ndarray, np.ndarray]]


def ball() -> tuple[np.ndarray, np.ndarray]:
    mesh = trimesh.creation.icosphere(subdivisions=3, radius=0.1)
    return mesh.vertices + MIDDLE, np.array(mesh.faces, dtype=np.int64)


def ring() -> tuple[np.ndarray, np.ndarray]:
    """With a hole, and hollow seen from the side."""
    mesh = trimesh.creation.torus(0.08, 0.02)
    turned = np.array(mesh.vertices)[:, [0, 2, 1]] * [1.0, -1.0, 1.0]
    return turned + MIDDLE, np.array(mesh.faces, dtype=np.int64)


@pytest.mark.parametrize("shape", [ball, ring])
def test_halves_are_those_of_manifold(shape: Shape) -> None:
    """The region above a stepped, sloping line as a prism, and the boolean of both."""
    vertices, faces = shape()
    line = np.array([[0.03, 0.08], [0.09, 0.12], [0.09, 0.05], [0.15, 0.11]])
    outline = [*line.tolist(), [0.15, 1.0], [0.03, 1.0]]
    # Drawn in (x, z) and pulled along y: manifold pulls along its z, so (x, y, z) -> (x, -z, y) comes first.
    prism = manifold3d.Manifold.extrude(manifold3d.CrossSection([np.array(outline)]), 2.0).transform(
        np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 1.0], [0.0, 1.0, 0.0, 0.0]])
    )
    body = manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.ascontiguousarray(vertices), tri_verts=faces.astype(np.uint64))
    )
    assert body.status() == manifold3d.Error.NoError
    found = halves(vertices, faces, line)
    assert found.above.volume == pytest.approx((body ^ prism).volume(), rel=1e-7)
    assert found.below.volume == pytest.approx((body - prism).volume(), rel=1e-7)
    mesh = (body ^ prism).to_mesh64()
    cut = trimesh.Trimesh(np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts), process=False)
    assert found.above.moment / found.above.volume == pytest.approx(cut.center_mass, abs=1e-8)
