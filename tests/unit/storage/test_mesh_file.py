"""Hull meshes from files: every form reads alike, and nothing unsound, unlikely or damaged passes."""

import io
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.physics.surface import faults
from dabchick.storage.mesh_file import read_mesh, read_triangles
from tests.support import broken
from tests.support.broken import Mesh, box, egg, inside_out, moved, stl_bytes, together, without, write_stl


def complaint(path: Path, unit: str = "mm", **options: bool) -> str:
    with pytest.raises(BoatError) as caught:
        read_mesh(path, unit, **options)
    return str(caught.value)


def three_mf(mesh: Mesh, unit: str) -> bytes:
    """A 3MF package written by hand from its public specification: a zip with one model part."""
    points = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in mesh[0].tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh[1].tolist())
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?><model unit="{unit}" xml:lang="en-US" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" '
        'type="model">'
        f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh></object></resources>"
        '<build><item objectid="1"/></build></model>'
    )
    relations = (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
        'Target="/3D/3dmodel.model" Id="rel0" '
        'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
        "</Relationships>"
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as package:
        package.writestr("3D/3dmodel.model", model)
        package.writestr("_rels/.rels", relations)
    return buffer.getvalue()


def test_all_forms_give_the_same_hull_in_metres(tmp_path: Path) -> None:
    mesh = egg()
    files = {
        "binary.stl": stl_bytes(mesh),
        "text.stl": broken.text_stl(mesh).encode(),
        "hull.obj": broken.obj_text(mesh).encode(),
        "hull.ply": broken.ply_text(mesh).encode(),
        "hull.3mf": three_mf(mesh, "millimeter"),
        "HULL.STL": stl_bytes(mesh),
    }
    expected = broken.volume(mesh) * 1e-9
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
        hull = read_mesh(tmp_path / name, "mm")
        assert len(hull.faces) == len(mesh[1])
        assert len(hull.vertices) == len(mesh[0])
        # Single precision for the binary STL, text of double precision for the others.
        assert faults(hull.vertices, hull.faces).volume == pytest.approx(expected, rel=1e-6)
        assert not hull.solid_walled
        assert hull.source == name


@pytest.mark.parametrize(
    ("unit", "metres"), [("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048)]
)
def test_each_unit_gives_its_own_size(tmp_path: Path, unit: str, metres: float) -> None:
    vertices, faces = egg(0.5 / metres, 0.1 / metres)
    hull = read_mesh(write_stl(tmp_path / "hull.stl", (vertices, faces)), unit)
    assert np.ptp(hull.vertices[:, 0]) == pytest.approx(0.5, rel=1e-6)


def test_equal_corners_are_joined_and_told_and_near_ones_are_not(tmp_path: Path) -> None:
    vertices, faces = egg()
    hull = read_mesh(write_stl(tmp_path / "hull.stl", (vertices, faces)), "mm")
    assert any(
        f"{3 * len(faces)} corners" in said and "nothing was moved" in said for said in hull.assumptions
    )
    apart = vertices[faces].reshape(-1, 3).astype(np.float32)
    apart[0] += np.float32(1e-4)
    loose = (apart.astype(float), np.arange(len(apart)).reshape(-1, 3))
    assert "open" in complaint(write_stl(tmp_path / "loose.stl", loose))


def test_minus_zero_is_zero(tmp_path: Path) -> None:
    vertices, faces = box((0.0, -50.0, 0.0), (400.0, 100.0, 80.0))
    corners = vertices[faces].reshape(-1, 3)
    corners[::2][corners[::2] == 0.0] = -0.0
    loose = (corners, np.arange(36).reshape(-1, 3))
    assert len(read_mesh(write_stl(tmp_path / "hull.stl", loose), "mm").vertices) == 8


@pytest.mark.parametrize(
    ("length", "unit", "says", "asks"),
    [
        (900.0, "m", "900 m long", 'unit = "mm" (900 mm)'),
        (0.9, "mm", "0.9 mm long", 'unit = "m" (900 mm)'),
        (36.0, "mm", "36 mm long", 'unit = "in" (914 mm)'),
        (1e6, "ft", "long", "scale the file"),
    ],
)
def test_unlikely_size_asks_for_the_unit_meant(
    tmp_path: Path, length: float, unit: str, says: str, asks: str
) -> None:
    text = complaint(write_stl(tmp_path / "hull.stl", egg(length, 0.15 * length)), unit)
    assert says in text
    assert asks in text


def test_part_may_be_small(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "servo.stl", box((0, 0, 0), (23, 12, 29)))
    assert "29 mm long" in complaint(path)
    assert np.ptp(read_mesh(path, "mm", part=True).vertices[:, 2]) == pytest.approx(0.029)


@pytest.mark.parametrize(
    ("unit", "hint"), [("", "no unit"), ("inch", 'Write "in"'), ("furlong", "mm, cm, m, in, ft")]
)
def test_unit_is_asked_for(tmp_path: Path, unit: str, hint: str) -> None:
    assert hint in complaint(write_stl(tmp_path / "hull.stl", egg()), unit)


def test_unit_stated_in_the_file_is_held_against_the_given_one(tmp_path: Path) -> None:
    (tmp_path / "hull.3mf").write_bytes(three_mf(egg(), "inch"))
    text = complaint(tmp_path / "hull.3mf", "mm")
    assert "its unit is inch" in text
    assert 'unit = "in"' in text


def test_files_that_hold_no_mesh_are_refused_with_advice(tmp_path: Path) -> None:
    whole = stl_bytes(egg())
    text = broken.text_stl(egg())
    cases = {
        "empty.stl": (b"", "empty"),
        "short.stl": (b"nonsense", "too short"),
        "cut.stl": (whole[:-20], "breaks off"),
        "long.stl": (whole + b"\0" * 7, "goes on for 7 bytes"),
        "none.stl": (b" " * 80 + struct.pack("<I", 0), "no triangles"),
        "many.stl": (b" " * 80 + struct.pack("<I", 4_000_000_000) + b"\0" * 100, "room for 2 only"),
        "prose.stl": (b"dear builder, " * 40, "damaged, or not an STL mesh"),
        "cuttext.stl": (text[: len(text) // 2].encode(), "breaks off"),
        "word.stl": (text.replace("vertex 0.0", "vertex zero", 1).encode(), "not three numbers"),
        "points.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no triangles"),
        "cut.ply": (broken.ply_text(egg())[:4000].encode(), "not a whole PLY"),
        "zip.3mf": (b"PK\x03\x04 not a zip", "not a whole 3MF"),
        "hull.step": (b"ISO-10303-21;", ".stl, .obj, .ply, .3mf"),
    }
    for name, (data, words) in cases.items():
        (tmp_path / name).write_bytes(data)
        said = complaint(tmp_path / name)
        assert words in said, (name, said)
        assert name in said


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "no such file" in complaint(tmp_path / "gone.stl")
    (tmp_path / "folder.stl").mkdir()
    assert "a folder, not a file" in complaint(tmp_path / "folder.stl")


def test_bad_line_of_a_text_stl_is_named(tmp_path: Path) -> None:
    lines = broken.text_stl(box((0, -50, 0), (400, 100, 80))).splitlines()
    lines[4] = "  vertex 0.0 1,5 2.0"
    (tmp_path / "hull.stl").write_text("\n".join(lines))
    assert "hull.stl:5" in complaint(tmp_path / "hull.stl")


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_coordinates_that_are_no_numbers_are_counted(tmp_path: Path, value: float) -> None:
    vertices, faces = egg()
    vertices = vertices.copy()
    vertices[7, 1] = value
    assert "1 corner of the mesh" in complaint(write_stl(tmp_path / "hull.stl", (vertices, faces)))


def test_hole_is_told_with_its_place_in_the_files_unit_and_in_mm(tmp_path: Path) -> None:
    vertices, faces = box((1.0, -2.0, 0.0), (16.0, 4.0, 4.0))
    text = complaint(write_stl(tmp_path / "hull.stl", without((vertices, faces), 0)), "in")
    assert "3 edges with a face on one side only" in text
    assert "(1, -2, 0) in = (25.4, -50.8, 0) mm" in text
    assert "dabchick check BOAT --repair OUT" in text


def test_every_kind_of_fault_is_told_at_once(tmp_path: Path) -> None:
    vertices, faces = egg()
    faces = faces.copy()
    faces[100] = faces[100, ::-1]
    bad = without((vertices, np.concatenate([faces, faces[50:51]])), 400)
    with pytest.raises(BoatError) as caught:
        read_mesh(write_stl(tmp_path / "hull.stl", bad), "m")
    whats = [entry.what for entry in caught.value.advice]
    for words in ("open", "more than two faces", "disagree", "a copy of another", "600 m long"):
        assert any(words in what for what in whats), words
    assert all(entry.todo for entry in caught.value.advice)


def test_inside_out_crossing_and_swallowed_shells_are_refused(tmp_path: Path) -> None:
    hull, sail = egg(), box((250, -10, 30), (80, 20, 60))
    inner = moved(egg(500.0, 80.0), (50.0, 0.0, 0.0))
    assert "nside out" in complaint(write_stl(tmp_path / "a.stl", inside_out(hull)))
    assert "runs through itself" in complaint(write_stl(tmp_path / "b.stl", together(hull, sail)))
    assert "count twice" in complaint(write_stl(tmp_path / "c.stl", together(hull, inner)))
    assert "more than two faces" in complaint(write_stl(tmp_path / "d.stl", together(hull, hull)))


def test_printed_wall_is_told_apart_from_an_outer_form(tmp_path: Path) -> None:
    hull, inner = egg(), moved(egg(594.0, 94.0), (3.0, 0.0, 0.0))
    walled = read_mesh(write_stl(tmp_path / "wall.stl", together(hull, inside_out(inner))), "mm")
    assert walled.solid_walled
    assert any("material itself" in said for said in walled.assumptions)
    report = faults(walled.vertices, walled.faces)
    assert report.volume == pytest.approx((broken.volume(hull) - broken.volume(inner)) * 1e-9, rel=1e-5)


def test_tube_open_at_both_ends_is_one_shell_and_all_wall(tmp_path: Path) -> None:
    # A square tube 400 long, 80 outside and 74 inside: outer and inner sides hang together at the ends.
    outer = np.array([[0, -40, -40], [0, 40, -40], [0, 40, 40], [0, -40, 40]], float)
    along = np.array([400.0, 0.0, 0.0])
    rings = [outer, outer + along, outer * 0.925, outer * 0.925 + along]
    faces = []
    for k in range(4):
        a, b = k, (k + 1) % 4
        for p, q, r, s in (
            (a, b, 4 + b, 4 + a),
            (8 + b, 8 + a, 12 + a, 12 + b),
            (b, a, 8 + a, 8 + b),
            (4 + a, 4 + b, 12 + b, 12 + a),
        ):
            faces += [[p, q, r], [p, r, s]]
    tube = (np.concatenate(rings), np.array(faces))
    assert broken.volume(tube) == pytest.approx(400.0 * (80.0**2 - 74.0**2))
    hull = read_mesh(write_stl(tmp_path / "tube.stl", tube), "mm")
    assert hull.solid_walled


def test_separate_fin_is_refused_until_it_is_allowed(tmp_path: Path) -> None:
    fin = box((550, -2, 120), (40, 4, 60))
    path = write_stl(tmp_path / "hull.stl", together(egg(), fin))
    text = complaint(path)
    assert "2 separate bodies" in text
    assert "separate_shells = true" in text
    hull = read_mesh(path, "mm", separate_shells=True)
    assert any("2 separate bodies" in said for said in hull.assumptions)
    touching = write_stl(tmp_path / "touching.stl", together(egg(), box((290, -2, 30), (40, 4, 60))))
    assert "runs through itself" in complaint(touching, separate_shells=True)


def test_binary_file_that_begins_like_text_is_read_as_binary(tmp_path: Path) -> None:
    data = stl_bytes(egg())
    (tmp_path / "hull.stl").write_bytes(b"solid facet hull".ljust(80) + data[80:])
    assert len(read_triangles(tmp_path / "hull.stl", "mm").faces) == len(egg()[1])
