"""Two independent routes to one hull: our reading against trimesh's, our lofting against the form's own
equations.
"""

import importlib.util
from pathlib import Path
from types import ModuleType

import manifold3d
import numpy as np
import pytest
import trimesh

from dabchick.physics.loft import Section, lofted, revolved
from dabchick.physics.surface import faults
from dabchick.storage.mesh_file import read_mesh
from dabchick.storage.repair import repair
from dabchick.storage.station_table import read_stations
from tests.support.broken import box, egg, moved, together, write_stl
from tests.support.forms import (
    SUBOFF_LENGTH_FT,
    SUBOFF_LENGTH_M,
    series58_mesh,
    suboff_mesh,
    suboff_radius,
    wigley_half_breadth,
    wigley_mesh,
)

SUBOFF_VOLUME_M3 = 0.6992108413  # computed by quadrature of the published equations to 10 digits
SUBOFF_WETTED_M2 = 5.988264212  # likewise; an independent integration gives 5.9882642123


def script() -> ModuleType:
    path = Path(__file__).parents[2] / "examples" / "suboff" / "build_hull.py"
    spec = importlib.util.spec_from_file_location("build_hull", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def as_trimesh(vertices: np.ndarray, faces: np.ndarray) -> trimesh.Trimesh:
    return trimesh.Trimesh(vertices, faces, process=False)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "3mf"])
def test_files_written_by_trimesh_read_as_trimesh_reads_them(tmp_path: Path, kind: str) -> None:
    theirs = as_trimesh(*egg())
    path = tmp_path / f"hull.{kind.removesuffix('_ascii')}"
    data = theirs.export(file_type=kind)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    hull = read_mesh(path, "mm")
    again = trimesh.load_mesh(path)
    assert len(hull.faces) == len(again.faces)
    assert faults(hull.vertices, hull.faces).volume == pytest.approx(again.volume * 1e-9, rel=1e-9)
    assert as_trimesh(hull.vertices, hull.faces).is_watertight


@pytest.mark.parametrize(
    "mesh",
    [suboff_mesh(1.0, 120, 64), series58_mesh(1.0, 0.14, 120, 64), wigley_mesh(1.0, 0.1, 0.0625, 60, 30)],
)
def test_verdict_and_figures_agree_with_trimesh_and_manifold(mesh: tuple[np.ndarray, np.ndarray]) -> None:
    report, theirs = faults(*mesh), as_trimesh(*mesh)
    assert report.sound
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert report.volume == pytest.approx(theirs.volume, rel=1e-10)
    assert report.area == pytest.approx(theirs.area, rel=1e-12)
    body = manifold3d.Manifold(manifold3d.Mesh64(mesh[0], mesh[1].astype(np.uint64)))
    assert body.status() == manifold3d.Error.NoError
    assert report.volume == pytest.approx(body.volume(), rel=1e-10)


def test_suboff_support_mesh_converges_to_the_published_volume_and_surface() -> None:
    volumes, areas = [], []
    for n in (1, 2, 4):
        report = faults(*suboff_mesh(SUBOFF_LENGTH_M, 100 * n, 64 * n), seek_crossings=False)
        volumes.append(report.volume / SUBOFF_VOLUME_M3 - 1.0)
        areas.append(report.area / SUBOFF_WETTED_M2 - 1.0)
    for errors in (volumes, areas):
        assert abs(errors[2]) < 2e-4
        # Corners on the form: the error is of second order, so each doubling leaves a quarter.
        assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.2)
        assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.2)


def test_suboff_from_stations_converges_to_the_published_volume() -> None:
    errors = []
    for count in (10, 20, 40):
        part = np.linspace(0.0, 1.0, count + 1)
        x = np.unique(
            np.concatenate(
                [
                    3.333333 * part**2,
                    [10.645833],
                    10.645833 + 3.333333 * part,
                    13.979167 + 0.3125 * np.sin(1.5708 * part),
                ]
            )
        )
        x[-1] = SUBOFF_LENGTH_FT
        loft = revolved(
            (SUBOFF_LENGTH_FT - x)[::-1] * 0.3048, suboff_radius(x)[::-1] * 0.3048, axial=480, around=96
        )
        errors.append(
            abs(faults(loft.vertices, loft.faces, seek_crossings=False).volume / SUBOFF_VOLUME_M3 - 1.0)
        )
    assert errors[0] < 1e-3
    assert errors[-1] < 2e-5


def test_wigley_from_offsets_lies_near_the_mesh_on_the_form() -> None:
    length, beam, draught, freeboard = 1.0, 0.1, 0.0625, 0.03
    heights = np.append(np.linspace(0.0, draught, 13), draught + freeboard)
    stations = [
        Section(x, heights, wigley_half_breadth(np.full(14, x), heights, length, beam, draught))
        for x in np.linspace(-0.5, 0.5, 25)
    ]
    loft = lofted(stations)
    mine = faults(loft.vertices, loft.faces, seek_crossings=False)
    theirs = faults(*wigley_mesh(length, beam, draught, 400, 200, freeboard), seek_crossings=False)
    assert mine.volume == pytest.approx(theirs.volume, rel=1e-4)
    assert mine.area == pytest.approx(theirs.area, rel=1e-3)
    assert mine.high[2] == pytest.approx(theirs.high[2], rel=1e-12)


def test_example_builds_its_hull_and_its_committed_table_is_up_to_date(tmp_path: Path) -> None:
    build = script()
    mesh, table = build.write(tmp_path)
    committed = Path(build.__file__).parent / "suboff-stations.csv"
    assert table.read_text(encoding="utf-8") == committed.read_text(encoding="utf-8")
    hull = read_mesh(mesh, "mm")
    assert len(hull.faces) > 50_000
    assert np.ptp(hull.vertices[:, 0]) == pytest.approx(1.0, rel=1e-6)
    exact = SUBOFF_VOLUME_M3 / SUBOFF_LENGTH_M**3
    # 128 corners in a circle hold sin(2 pi / 128) / (2 pi / 128) of it: 4.0e-4 less.
    assert faults(hull.vertices, hull.faces).volume == pytest.approx(exact, rel=6e-4)
    stations = read_stations(table)
    assert faults(stations.vertices, stations.faces).volume == pytest.approx(exact, rel=2e-4)
    # Bow forward in both: the fuller end lies at the greater x.
    for surface in (hull, stations):
        x = surface.vertices[:, 0] - surface.vertices[:, 0].min()
        radius = np.hypot(surface.vertices[:, 1], surface.vertices[:, 2])
        assert radius[x > 0.95].max() > 2.0 * radius[x < 0.05].max()


def test_example_and_test_support_agree_on_the_form() -> None:
    build = script()
    x = np.linspace(0.0, SUBOFF_LENGTH_FT, 500)
    assert np.array([build.radius_ft(value) for value in x]) == pytest.approx(suboff_radius(x), abs=1e-12)


def inside_by_rays(points: np.ndarray, vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Points inside a closed mesh: an odd number of faces lies ahead along +x."""
    a, b, c = vertices[faces].transpose(1, 0, 2)
    across = (b[:, 1] - a[:, 1]) * (c[:, 2] - a[:, 2]) - (b[:, 2] - a[:, 2]) * (c[:, 1] - a[:, 1])
    kept = across != 0.0
    a, b, c, across = a[kept], b[kept], c[kept], across[kept]
    inside = np.empty(len(points), bool)
    for k, (x, y, z) in enumerate(points):
        u = ((y - a[:, 1]) * (c[:, 2] - a[:, 2]) - (z - a[:, 2]) * (c[:, 1] - a[:, 1])) / across
        v = ((b[:, 1] - a[:, 1]) * (z - a[:, 2]) - (b[:, 2] - a[:, 2]) * (y - a[:, 1])) / across
        hit = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
        ahead = a[hit, 0] + u[hit] * (b[hit, 0] - a[hit, 0]) + v[hit] * (c[hit, 0] - a[hit, 0]) > x
        inside[k] = ahead.sum() % 2 == 1
    return inside


def test_union_by_repair_holds_the_points_that_either_body_holds(tmp_path: Path) -> None:
    hull, sail = egg(600.0, 100.0, 48, 48), box((260.0, -12.0, 20.0), (110.0, 24.0, 70.0))
    tilted = moved((sail[0] @ np.array([[1, 0, 0.02], [0, 1, 0.01], [0, 0, 1]]).T, sail[1]), (0.3, 0.2, 0.1))
    path = write_stl(tmp_path / "hull.stl", together(hull, tilted))
    report = repair(path, "mm", tmp_path / "out.stl")
    mended = read_mesh(tmp_path / "out.stl", "mm")
    random = np.random.default_rng(11)
    points = np.array([240.0, -55.0, -55.0]) + np.array([160.0, 110.0, 160.0]) * random.random((3000, 3))
    inside = inside_by_rays(points, *hull) | inside_by_rays(points, *tilted)
    ours = inside_by_rays(points, mended.vertices * 1000.0, mended.faces)
    assert report.after.shells == 1
    assert 500 < inside.sum() < 2500
    # The new file rounds to single precision; next to no point lies that near to the surface.
    assert (inside != ours).sum() <= 1
