"""Prints by other routes: trimesh's volumes, manifold3d's gaps, a ray tried against every face, and turned piles."""

from itertools import pairwise
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dabchick.model.prints_ask import PrintsAsk
from dabchick.physics.closest import nearest, tree_over
from dabchick.physics.surface import faults
from dabchick.physics.thickness import rays_and_balls, thickness
from dabchick.storage.join import join
from dabchick.storage.piece_file import PieceFile
from dabchick.studies.prints import run
from tests.support.broken import Mesh, egg, moved, write_stl
from tests.support.meshes import star, torus
from tests.support.prints import arrays, hollow_ball, tube_files


def egg_shell() -> trimesh.Trimesh:
    """A hull with walls: a spheroid of 600 x 100 mm less one 3 mm smaller all round, cut open on deck."""
    outer, inner = (trimesh.Trimesh(*egg(*size), process=True) for size in ((600.0, 100.0), (594.0, 94.0)))
    middle = outer.bounds.mean(axis=0)
    inner.apply_translation(middle - inner.bounds.mean(axis=0))
    hatch = trimesh.creation.box([100.0, 40.0, 60.0])
    hatch.apply_translation(middle + np.array([0.0, 0.0, 50.0]))
    return trimesh.boolean.difference([outer, inner, hatch], engine="manifold")


def slices(whole: trimesh.Trimesh, *cuts: float) -> list[trimesh.Trimesh]:
    low, high = whole.bounds
    edges = [low[0] - 1.0, *cuts, high[0] + 1.0]
    found = []
    for start, end in pairwise(edges):
        slab = trimesh.creation.box([end - start, 400.0, 400.0])
        slab.apply_translation([0.5 * (start + end), 0.0, 0.5 * (low[2] + high[2])])
        found.append(trimesh.boolean.intersection([whole, slab], engine="manifold"))
    return found


def test_a_hull_sliced_by_trimesh_is_whole_again(tmp_path: Path) -> None:
    whole = egg_shell()
    low, high = whole.bounds
    parts = slices(whole, low[0] + 0.31 * (high - low)[0], low[0] + 0.72 * (high - low)[0])
    files = []
    for k, part in enumerate(parts):
        part.export(tmp_path / f"{k}.stl")
        files.append(PieceFile(tmp_path / f"{k}.stl"))
    pile = join(files).pile
    again = trimesh.Trimesh(pile.vertices_m * 1000.0, pile.faces, process=False)
    assert again.is_watertight
    assert again.volume == pytest.approx(whole.volume, rel=1e-5)
    assert again.area == pytest.approx(whole.area, rel=1e-4)
    result = run(pile)
    assert result.finding.kind == "walls"
    # 3 mm across the middle of the boat; towards the ends the walls of the two spheroids lie nearer to one another.
    assert result.wall.high_m == pytest.approx(0.003, rel=0.01)


@pytest.mark.parametrize("by", [(700.0, 12.0, 5.0), (310.0, 140.0, 30.0), (-20.0, 10.0, 160.0)])
def test_gaps_are_those_of_manifold3d(by: tuple[float, float, float]) -> None:
    one = egg()
    other = moved(arrays(trimesh.creation.torus(60.0, 20.0, major_sections=24, minor_sections=10)), by)
    solids = [
        manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(v), f.astype(np.uint64)))
        for v, f in (one, other)
    ]
    theirs = solids[0].min_gap(solids[1], 2000.0)
    ours = nearest(*one, tree_over(*other))
    assert ours is not None
    assert ours.distance == pytest.approx(theirs, rel=1e-5)
    assert np.linalg.norm(np.subtract(ours.first, ours.second)) == pytest.approx(ours.distance, rel=1e-9)


def ray_by_brute_force(mesh: Mesh, start: np.ndarray, along: np.ndarray) -> float:
    """Every face in turn that is met from within, by the determinants of Moller and Trumbore (1997), from memory."""
    a, b, c = mesh[0][mesh[1]].transpose(1, 0, 2)
    edge, other = b - a, c - a
    across = np.cross(along, other)
    size = np.einsum("mi,mi->m", edge, across)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.einsum("mi,mi->m", start - a, across) / size
        turned = np.cross(start - a, edge)
        v = turned @ along / size
        way = np.einsum("mi,mi->m", other, turned) / size
    met = (u >= -1e-12) & (v >= -1e-12) & (u + v <= 1.0 + 1e-12) & (way > 1e-7)
    met &= np.einsum("mi,i->m", np.cross(edge, other), along) > 0.0
    return float(way[met].min())


@pytest.mark.parametrize("mesh", [torus(), star(), hollow_ball(0.8, 1.0, 2)], ids=["torus", "star", "shell"])
def test_rays_meet_what_every_face_tried_in_turn_says(mesh: Mesh) -> None:
    read = thickness(*mesh, most_samples=4000)
    rng = np.random.default_rng(11)
    normals = trimesh.Trimesh(*mesh, process=False).face_normals
    for k in rng.choice(len(read.points), 60, replace=False):
        expected = ray_by_brute_force(mesh, read.points[k], -normals[read.faces[k]])
        assert read.rays[k] == pytest.approx(expected, rel=1e-7)


def test_balls_touch_and_hold_no_surface_but_the_bend_they_lie_in() -> None:
    vertices, faces = torus()
    whole = trimesh.Trimesh(vertices, faces, process=False)
    rng = np.random.default_rng(5)
    which = rng.choice(len(faces), 200, replace=False)
    points, inward = whole.triangles_center[which], -whole.face_normals[which]
    _, diameters = rays_and_balls(vertices, faces, points, inward)
    middles = points + 0.5 * diameters[:, None] * inward
    nearest_points, away, _ = trimesh.proximity.closest_point(whole, middles)
    # trimesh's nearest surface is never nearer than the ball reaches, but for the facets of the bend itself, whose
    # direction from the middle lies within 60 degrees of the touching point.
    seen = np.einsum("ki,ki->k", nearest_points - middles, -inward) / np.maximum(away, 1e-12)
    free = seen <= 0.5
    assert (away[free] >= 0.5 * diameters[free] * (1.0 - 1e-5)).all()
    # A tube of 14 flats about a circle of radius 0.3: no ball is larger than the tube, and one that touches a flat
    # beside its middle is smaller than the one in the tube's middle by no more than half a flat's width.
    flat = 0.3 * np.sin(np.pi / 14)
    assert diameters.max() <= 0.6
    assert diameters.min() >= 2.0 * (0.3 * np.cos(np.pi / 14) - flat)


angle = st.floats(-180.0, 180.0).map(lambda value: round(value, 2))
offset = st.floats(-3.0, 3.0).map(lambda value: round(value, 3))


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(turn=st.tuples(angle, angle, angle), shift=st.tuples(offset, offset, offset))
def test_turning_and_shifting_the_whole_pile_changes_nothing(tmp_path: Path, turn, shift) -> None:
    files = tube_files(tmp_path)
    plain = run(join([PieceFile(path) for path in files]).pile, PrintsAsk(walled=True), most_samples=4000)
    placed = [PieceFile(path, turn_deg=turn, shift_m=shift) for path in files]
    result = run(join(placed, judge_size=False).pile, PrintsAsk(walled=True), most_samples=4000)
    # Single precision, 3e-8 of up to 5 m on walls of 3 mm, and pieces pressed together by up to 3e-8 of the whole.
    assert result.volume_m3 == pytest.approx(plain.volume_m3, rel=1e-5)
    assert result.area_m2 == pytest.approx(plain.area_m2, rel=1e-5)
    assert result.wall.median_m == pytest.approx(plain.wall.median_m, rel=1e-3)
    assert result.finding.kind == plain.finding.kind
    assert [joint.gap_m for joint in result.joints] == pytest.approx([0.0], abs=1e-6)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(factor=st.floats(0.2, 8.0))
def test_a_known_length_scales_volume_by_the_cube(tmp_path: Path, factor: float) -> None:
    pile = join([PieceFile(write_stl(tmp_path / "egg.stl", egg()))]).pile
    length = float(np.ptp(pile.vertices_m[:, 0]))
    result = run(pile, PrintsAsk(length_m=factor * length, walled=False), most_samples=500)
    assert result.volume_m3 == pytest.approx(faults(pile.vertices_m, pile.faces).volume * factor**3, rel=1e-9)
