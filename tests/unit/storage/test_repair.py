"""Mending on request: meshes broken on purpose come back whole, every change is told, the old file stays."""

from pathlib import Path

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.physics.surface import faults
from dabchick.storage.mesh_file import read_mesh
from dabchick.storage.repair import RepairReport, repair, repair_hull
from tests.support import broken
from tests.support.broken import Mesh, box, egg, inside_out, moved, together, without, write_stl

WHOLE_CM3 = broken.volume(egg()) / 1000.0


def mended(folder: Path, mesh: Mesh, **options: bool) -> RepairReport:
    """Mend, and hold the new file to everything that `read_mesh` asks."""
    path = write_stl(folder / "hull.stl", mesh)
    before = path.read_bytes()
    report = repair(path, "mm", folder / "out.stl", **options)
    assert path.read_bytes() == before
    hull = read_mesh(folder / "out.stl", "mm", **options)
    found = faults(hull.vertices, hull.faces)
    assert found.clean
    assert report.after.volume_cm3 == pytest.approx(found.volume * 1e6, rel=1e-9)
    return report


def refused(folder: Path, mesh: Mesh) -> str:
    path = write_stl(folder / "hull.stl", mesh)
    with pytest.raises(BoatError) as caught:
        repair(path, "mm", folder / "out.stl")
    assert not (folder / "out.stl").exists()
    return str(caught.value)


def test_sound_mesh_keeps_its_surface(tmp_path: Path) -> None:
    report = mended(tmp_path, egg())
    assert "Nothing had to be mended" in report.changes[0]
    assert report.before == report.after
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3, rel=1e-6)


def test_small_holes_are_filled_and_told_with_place_and_size(tmp_path: Path) -> None:
    mesh = egg(n_axial=120, n_around=64)
    middles = mesh[0][mesh[1]].mean(axis=1)
    near = np.argsort(np.linalg.norm(middles - [300.0, 50.0, 0.0], axis=1))[:6]
    report = mended(tmp_path, without(mesh, *near))
    (hole,) = report.holes
    assert hole.centre_mm == pytest.approx((300.0, 50.0, 0.0), abs=6.0)
    assert 0.0 < hole.width_mm < 18.0
    assert report.before.open_edges > 0
    assert report.after.open_edges == 0
    # A chord across a hole of 6 small faces takes away next to nothing.
    assert report.after.volume_cm3 == pytest.approx(broken.volume(mesh) / 1000.0, rel=1e-4)


def test_flat_opening_of_any_size_is_capped_flat(tmp_path: Path) -> None:
    mesh = egg()
    aft = np.flatnonzero(mesh[0][mesh[1]][:, :, 0].max(axis=1) < 200.0)
    report = mended(tmp_path, without(mesh, *aft))
    (hole,) = report.holes
    assert hole.flat
    assert hole.width_mm > 60.0
    cut = hole.centre_mm[0]
    # Half of a spheroid and a slice of it, by the integral of its sections: pi r^2 (x - x^3 / (3 a^2)).
    part = (300.0 - cut) / 300.0
    exact = np.pi * 50.0**2 * 300.0 * (2.0 / 3.0 + part - part**3 / 3.0) / 1000.0
    assert report.after.volume_cm3 == pytest.approx(exact, rel=0.02)


def test_open_end_of_a_wall_becomes_a_ring_and_not_a_disc(tmp_path: Path) -> None:
    outer, inner = box((0, -40, -40), (400, 80, 80)), inside_out(box((0, -37, -37), (397, 74, 74)))
    ends = [without(outer, 0, 1), without(inner, 0, 1)]
    report = mended(tmp_path, together(*ends))
    # Closed form: the box less the room inside, which stays open at x = 0.
    assert report.after.volume_cm3 == pytest.approx((400 * 80 * 80 - 397 * 74 * 74) / 1000.0, rel=1e-6)
    assert report.after.shells == 1


def test_large_curved_hole_is_left_and_nothing_is_written(tmp_path: Path) -> None:
    vertices, faces = egg(n_axial=48)
    middles = vertices[faces].mean(axis=1)
    gone = np.flatnonzero((np.abs(middles[:, 0] - 300.0) < 60.0) & (middles[:, 2] > 20.0))
    text = refused(tmp_path, without((vertices, faces), *gone))
    assert "nothing was written" in text
    assert "too large to guess its form" in text


def test_turned_faces_are_turned_back(tmp_path: Path) -> None:
    vertices, faces = egg()
    faces = faces.copy()
    faces[40:60] = faces[40:60, ::-1]
    report = mended(tmp_path, (vertices, faces))
    assert any("Turned 20 triangles" in change for change in report.changes)
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3, rel=1e-6)


def test_inside_out_is_turned(tmp_path: Path) -> None:
    report = mended(tmp_path, inside_out(egg()))
    assert report.before.volume_cm3 == pytest.approx(-WHOLE_CM3, rel=1e-6)
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3, rel=1e-6)


def test_wall_inside_out_keeps_its_cavity(tmp_path: Path) -> None:
    inner = moved(egg(594.0, 94.0), (3.0, 0.0, 0.0))
    report = mended(tmp_path, together(inside_out(egg()), inner))
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3 - broken.volume(inner) / 1000.0, rel=1e-5)
    assert read_mesh(tmp_path / "out.stl", "mm").solid_walled


def test_doubled_hull_is_one_again(tmp_path: Path) -> None:
    report = mended(tmp_path, together(egg(), egg()))
    assert any(
        f"Took out {len(egg()[1])} triangles that copied another" in change for change in report.changes
    )
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3, rel=1e-6)


def test_crossing_bodies_are_united_with_the_volume_of_both_less_the_overlap(tmp_path: Path) -> None:
    one, other = box((0, 0, 0), (400, 80, 80)), box((150, 20, 40), (90, 40, 100))
    report = mended(tmp_path, together(one, other))
    assert report.before.shells == 2
    assert report.after.shells == 1
    # Closed form: the overlap is 90 x 40 x 40.
    assert report.after.volume_cm3 == pytest.approx((400 * 6400 + 90 * 4000 - 90 * 1600) / 1000.0, rel=1e-6)


def test_bodies_face_to_face_on_shared_edges_are_parted_and_united(tmp_path: Path) -> None:
    # The faces where they meet are cut along different diagonals, so that they share edges and not triangles.
    one, other = box((0, 0, 0), (200, 50, 50)), box((200, 0, 0), (200, 50, 50))
    assert other[1][:2].tolist() == [[0, 1, 3], [0, 3, 2]]
    other[1][:2] = [[0, 1, 2], [1, 3, 2]]
    report = mended(tmp_path, together(one, other))
    assert any("more than two faces" in change for change in report.changes)
    assert report.after.volume_cm3 == pytest.approx(1000.0, rel=1e-6)


def test_rims_that_nearly_meet_are_joined(tmp_path: Path) -> None:
    vertices, faces = egg()
    corners = vertices[faces].reshape(-1, 3)
    random = np.random.default_rng(3)
    shaken = corners + random.uniform(-0.001, 0.001, corners.shape)
    report = mended(tmp_path, (shaken, np.arange(len(shaken)).reshape(-1, 3)))
    assert any("less than 0.01 mm away" in change for change in report.changes)
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3, rel=1e-4)


def test_triangles_without_area_go_and_leave_the_surface_closed(tmp_path: Path) -> None:
    vertices, faces = box((0.0, -50.0, 0.0), (400.0, 100.0, 80.0))
    # One side of an edge is split at its middle, the other is not: a triangle without area fills the slit.
    a, b, c = faces[0]
    middle = len(vertices)
    vertices = np.concatenate([vertices, [(vertices[a] + vertices[b]) / 2.0]])
    slit = np.array([[a, middle, c], [middle, b, c], [a, b, middle]])
    bad = (vertices, np.concatenate([faces[1:], slit]))
    assert faults(*bad).degenerate_count == 1
    assert faults(*bad).open_edges == 0
    report = mended(tmp_path, bad)
    assert any("without area" in change for change in report.changes)
    assert report.after.volume_cm3 == pytest.approx(3200.0, rel=1e-6)


def test_endless_corners_are_taken_out_and_the_holes_filled(tmp_path: Path) -> None:
    vertices, faces = egg(n_axial=120, n_around=64)
    corners = vertices[faces].reshape(-1, 3)
    corners[3 * 5000] = np.nan
    report = mended(tmp_path, (corners, np.arange(len(corners)).reshape(-1, 3)))
    assert any("no numbers" in change for change in report.changes)
    assert len(report.holes) == 1


def test_inner_shell_that_could_be_either_is_left_to_the_builder(tmp_path: Path) -> None:
    text = refused(tmp_path, together(egg(), moved(egg(500.0, 80.0), (50.0, 0.0, 0.0))))
    assert "counts twice" in text or "count twice" in text
    assert "give it as a part" in text


def test_separate_bodies_stay_separate_when_allowed(tmp_path: Path) -> None:
    mesh = together(egg(), inside_out(box((550, -2, 120), (40, 4, 60))))
    assert "2 separate bodies" in refused(tmp_path, mesh)
    report = mended(tmp_path, mesh, separate_shells=True)
    assert report.after.shells == 2
    assert report.after.volume_cm3 == pytest.approx(WHOLE_CM3 + 9.6, rel=1e-6)


@pytest.mark.parametrize("suffix", [".ply", ".obj", ".3mf"])
def test_other_forms_are_written_too(tmp_path: Path, suffix: str) -> None:
    path = write_stl(tmp_path / "hull.stl", inside_out(egg()))
    repair(path, "mm", tmp_path / f"out{suffix}")
    hull = read_mesh(tmp_path / f"out{suffix}", "mm")
    assert faults(hull.vertices, hull.faces).volume * 1e6 == pytest.approx(WHOLE_CM3, rel=1e-6)


def test_existing_files_are_never_overwritten(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "hull.stl", egg())
    (tmp_path / "sub").mkdir()
    with pytest.raises(BoatError, match="overwrite the old one"):
        repair(path, "mm", tmp_path / "sub" / ".." / "hull.stl")
    (tmp_path / "mine.stl").write_text("mine")
    with pytest.raises(BoatError, match="a file of this name already"):
        repair(path, "mm", tmp_path / "mine.stl")
    assert (tmp_path / "mine.stl").read_text() == "mine"
    with pytest.raises(BoatError, match="no such folder"):
        repair(path, "mm", tmp_path / "none" / "out.stl")
    with pytest.raises(BoatError, match="not a mesh that can be read"):
        repair(path, "mm", tmp_path / "out.txt")


def test_hull_of_a_boat_file_is_found_even_when_the_rest_is_wrong(tmp_path: Path) -> None:
    write_stl(tmp_path / "wren.stl", inside_out(egg()))
    boat = tmp_path / "boat.toml"
    boat.write_text('nonsense = true\n[hull]\nmesh = "wren.stl"\nunit = "mm"\n')
    report = repair_hull(boat, tmp_path / "out.stl")
    assert report.source == "wren.stl"
    assert (tmp_path / "out.stl").exists()
    boat.write_text('[hull]\nstations = "wren.csv"\n')
    with pytest.raises(BoatError, match="nothing to mend"):
        repair_hull(boat, tmp_path / "again.stl")
    boat.write_text("[hull")
    with pytest.raises(BoatError, match="cannot be read"):
        repair_hull(boat, tmp_path / "again.stl")
