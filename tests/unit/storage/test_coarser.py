"""Fewer triangles for a picture: few enough, near the form, and facing as before."""

import numpy as np
import pytest
import trimesh

from dabchick.storage.coarser import coarser
from tests.support import broken
from tests.support.broken import Mesh, egg, inside_out, moved, together, without

LENGTH = 600.0


def fine() -> Mesh:
    return egg(LENGTH, 100.0, 120, 100)


def volume(mesh: Mesh) -> float:
    corners = mesh[0][mesh[1]]
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0)


@pytest.mark.parametrize(("most", "share"), [(14_000, 1.5e-4), (6_000, 1e-3), (1_000, 5e-3)])
def test_a_closed_mesh_stays_closed_and_near(most: int, share: float) -> None:
    """The first is what a hull on screen gets: 0.15 mm on a metre is less than a pixel.

    The other limits only guard against change; the nearest places are found by another library.
    """
    vertices, faces = fine()
    points, left = coarser(vertices, faces, most)
    assert most / 3 < len(left) <= most
    drawn = trimesh.Trimesh(points, left, process=False)
    assert drawn.is_watertight
    assert trimesh.proximity.closest_point(drawn, vertices)[1].max() <= share * LENGTH


def test_a_small_mesh_stays_as_it_is() -> None:
    vertices, faces = egg()
    drawn, left = coarser(vertices, faces, len(faces))
    assert drawn is vertices
    assert left is faces


@pytest.mark.parametrize(
    "mesh",
    [
        pytest.param(without(fine(), 0, 5000, 9000), id="open"),
        pytest.param(inside_out(fine()), id="inside out"),
        pytest.param(together(fine(), moved(fine(), (0.0, 0.0, 50.0))), id="two that cross"),
        pytest.param(together(fine(), fine()), id="twice in one place"),
    ],
)
def test_a_faulty_mesh_is_drawn_too_at_its_size_and_facing_as_before(mesh: Mesh) -> None:
    drawn = coarser(*mesh, 5000)
    assert 1000 < len(drawn[1]) <= 5000
    assert np.ptp(drawn[0][np.unique(drawn[1])], axis=0) == pytest.approx(np.ptp(mesh[0], axis=0), rel=0.02)
    if len(mesh[1]) < 2 * len(fine()[1]):
        assert volume(drawn) == pytest.approx(volume(mesh), rel=0.02)


def test_a_thin_fin_keeps_both_its_sides() -> None:
    fin = trimesh.creation.box((60.0, 1.2, 40.0)).subdivide().subdivide().subdivide()
    hull = together(fine(), moved((np.asarray(fin.vertices), np.asarray(fin.faces)), (500.0, 0.0, 80.0)))
    drawn = coarser(*hull, 14_000)
    parts = trimesh.Trimesh(*drawn, process=False).split()
    thin = min(parts, key=lambda part: np.ptp(part.vertices[:, 1]))
    assert thin.volume == pytest.approx(60.0 * 1.2 * 40.0, rel=0.01)
    assert volume(drawn) == pytest.approx(broken.volume(hull), rel=0.005)
