"""Print files joined: volumes in closed form, gaps and overlaps with their places, and every bad pile named."""

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from dabchick.model.advice import BoatError
from dabchick.physics.surface import faults
from dabchick.storage.join import Joined, join, write_joined
from dabchick.storage.mesh_file import read_mesh
from dabchick.storage.piece_file import MOST_PIECES, PieceFile, rotation
from tests.support.broken import Mesh, box, inside_out, moved, stl_bytes, without, write_stl
from tests.support.prints import tube, tube_files, tube_volume


def volume(joined: Joined) -> float:
    """In cubic millimetres."""
    return faults(joined.pile.vertices_m, joined.pile.faces).volume * 1e9


def pieces(folder: Path, *meshes: Mesh) -> list[PieceFile]:
    return [PieceFile(write_stl(folder / f"{k}.stl", mesh)) for k, mesh in enumerate(meshes, 1)]


def refused(*files: PieceFile, **how: object) -> str:
    with pytest.raises(BoatError) as mistake:
        join(files, **how)  # type: ignore[arg-type]
    assert all(entry.todo for entry in mistake.value.advice)
    return str(mistake.value)


def test_two_halves_are_the_whole(tmp_path: Path) -> None:
    joined = join([PieceFile(path) for path in tube_files(tmp_path)])
    report = faults(joined.pile.vertices_m, joined.pile.faces)
    assert report.sound
    # Single precision of the files: 3e-8 of 50 mm on a wall of 3 mm.
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=2e-6)
    # The joint faces are gone: what is left is both walls and the two rims.
    flat = 2.0 * np.sin(np.pi / 64) * 64 * (47.0 + 50.0) * 300.0
    assert report.area * 1e6 == pytest.approx(flat + 2.0 * tube_volume(1.0), rel=1e-6)
    (joint,) = joined.pile.joints
    assert (joint.gap_m, joint.overlap_m3) == (pytest.approx(0.0, abs=1e-8), 0.0)
    assert joint.at_m[0] == pytest.approx(0.180)
    assert joint.contact_m2 * 1e6 == pytest.approx(tube_volume(1.0), rel=1e-5)  # the whole ring
    assert joined.pile.advice == ()


def test_each_piece_has_its_own_unit(tmp_path: Path) -> None:
    aft, bow = tube_files(tmp_path)
    vertices, faces = tube(180.0, 300.0)
    write_stl(bow, (vertices / 25.4, faces))
    joined = join([PieceFile(aft), PieceFile(bow, "in")])
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    assert [piece.unit for piece in joined.pile.pieces] == ["mm", "in"]


def test_shift_and_turn_bring_a_piece_to_its_place(tmp_path: Path) -> None:
    aft = write_stl(tmp_path / "aft.stl", tube(0.0, 180.0))
    vertices, faces = tube(0.0, 120.0)
    # Drawn standing up, its joint face at z = 0: z becomes x by a quarter turn about y.
    standing = vertices[:, [2, 1, 0]] * [-1.0, 1.0, 1.0]
    bow = write_stl(tmp_path / "bow.stl", (standing, faces))
    joined = join([PieceFile(aft), PieceFile(bow, turn_deg=(0.0, 90.0, 0.0), shift_m=(0.18, 0.0, 0.0))])
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    assert joined.pile.pieces[1].low_m[0] == pytest.approx(0.180)


def test_turns_go_about_x_then_y_then_z() -> None:
    # By hand: x to y about z by a quarter; z to x about y.
    np.testing.assert_array_equal(rotation((0.0, 0.0, 90.0)) @ [1.0, 0.0, 0.0], [0.0, 1.0, 0.0])
    np.testing.assert_array_equal(rotation((0.0, 90.0, 0.0)) @ [0.0, 0.0, 1.0], [1.0, 0.0, 0.0])
    np.testing.assert_array_equal(rotation((90.0, 0.0, 90.0)) @ [0.0, 1.0, 0.0], [0.0, 0.0, 1.0])
    assert np.linalg.det(rotation((10.0, 20.0, 30.0))) == pytest.approx(1.0)


def test_stacking_puts_joint_face_on_joint_face(tmp_path: Path) -> None:
    files = pieces(
        tmp_path, tube(0.0, 100.0), moved(tube(7.0, 87.0), (500.0, 30.0, -12.0)), tube(-50.0, 70.0)
    )
    joined = join(files, stack=True)
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    assert [piece.low_m[0] for piece in joined.pile.pieces] == pytest.approx([0.0, 0.100, 0.180])
    # The middles of the joint faces lie on each other, whatever the files said.
    assert joined.pile.pieces[1].moved_m == pytest.approx((-0.407, -0.030, 0.012))
    assert any("stacked" in text for text in joined.pile.assumptions)


def test_stacked_pieces_whose_joint_faces_differ_are_named(tmp_path: Path) -> None:
    files = pieces(tmp_path, tube(0.0, 100.0), tube(0.0, 100.0, inner=40.0, outer=48.0))
    (advice,) = join(files, stack=True).pile.advice
    assert advice.severity == "warning"
    # The boxes round 64-sided outlines of radius 50 and 48.
    assert "100.0 x 100.0 against 96.0 x 96.0 mm" in advice.what


@pytest.mark.parametrize("gap", [0.02, 0.09])
def test_a_small_gap_is_closed_and_said(tmp_path: Path, gap: float) -> None:
    joined = join(pieces(tmp_path, tube(0.0, 180.0), tube(180.0 + gap, 300.0 + gap)))
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    assert joined.pile.joints[0].gap_m == pytest.approx(gap / 1000.0, abs=2e-8)
    assert any("2.stl was moved by (-0.0" in text for text in joined.pile.assumptions)
    assert joined.pile.pieces[1].moved_m[0] == pytest.approx(-gap / 1000.0, abs=1e-6)


def test_pieces_that_do_not_meet_are_named_with_the_gap_and_both_its_ends(tmp_path: Path) -> None:
    files = pieces(
        tmp_path,
        box((0, 0, 0), (100, 40, 40)),
        box((100, 0, 0), (100, 40, 40)),
        box((203, 44, 0), (60, 40, 40)),
    )
    told = refused(*files)
    # From the corner (200, 40) to (203, 44): 5 mm by Pythagoras.
    assert "3.stl does not meet the others: 5 mm lie between it and 2.stl" in told
    assert "(203.00, 44.00, " in told
    assert "to (200.00, 40.00, " in told
    assert "1.stl does not meet" not in told
    assert len(join(files, gap_m=0.0051).pile.joints) == 2


def test_overlapping_boxes_claim_the_room_that_is_reckoned_by_hand(tmp_path: Path) -> None:
    joined = join(pieces(tmp_path, box((0, 0, 0), (200, 40, 30)), box((180, 10, 5), (200, 40, 30))))
    # 20 x 30 x 25 mm is shared; the union is both less that.
    (joint,) = joined.pile.joints
    assert joint.overlap_m3 == pytest.approx(1.5e-5, rel=1e-9)
    assert volume(joined) == pytest.approx(2 * 200 * 40 * 30 - 15000.0, rel=1e-9)
    (advice,) = joined.pile.advice
    assert "15 cm3, 6.25 % of the smaller one" in advice.what
    assert advice.where == "between (180.00, 10.00, 5.00) and (200.00, 40.00, 30.00) mm"


def test_a_piece_that_lies_wholly_in_another_is_said(tmp_path: Path) -> None:
    joined = join(pieces(tmp_path, box((0, 0, 0), (200, 40, 30)), box((50, 10, 5), (20, 20, 20))))
    assert "2.stl lies wholly in it" in joined.pile.advice[0].what
    assert volume(joined) == pytest.approx(200 * 40 * 30, rel=1e-9)


def test_the_same_piece_twice(tmp_path: Path) -> None:
    aft, bow = tube_files(tmp_path)
    copy = tmp_path / "copy.stl"
    copy.write_bytes(aft.read_bytes())
    assert "The same piece is here twice: copy.stl" in refused(*map(PieceFile, (aft, copy, bow)))
    vertices, faces = tube(0.0, 180.0)
    write_stl(copy, (vertices, np.roll(faces, 1, axis=1)))  # the same, written otherwise
    assert "fills the very room of aft.stl" in refused(*map(PieceFile, (aft, copy, bow)))
    twice = [PieceFile(aft), PieceFile(aft, shift_m=(0.18, 0.0, 0.0))]
    assert volume(join(twice)) == pytest.approx(tube_volume(360.0), rel=1e-5)


def test_an_open_piece_is_named_and_mended_only_when_asked(tmp_path: Path) -> None:
    aft = PieceFile(write_stl(tmp_path / "aft.stl", without(tube(0.0, 180.0), 5)))
    bow = PieceFile(write_stl(tmp_path / "bow.stl", tube(180.0, 300.0)))
    before = aft.path.read_bytes()
    told = refused(aft, bow)
    assert "aft.stl at (" in told
    assert "The surface is open: 3 edges" in told
    assert "--repair" in told
    joined = join([aft, bow], mend=True)
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    (report,) = joined.repairs
    assert (report.source, report.before.open_edges, report.after.open_edges) == ("aft.stl", 3, 0)
    assert report.after.triangles == report.before.triangles + 1
    assert [piece.mended for piece in joined.pile.pieces] == [True, False]
    assert aft.path.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["aft.stl", "bow.stl"]


def test_all_bad_files_are_told_at_once(tmp_path: Path) -> None:
    nan = np.array(box((0, 0, 0), (50, 50, 50))[0])
    nan[2, 1] = np.nan
    bad = {
        "inside.stl": stl_bytes(inside_out(box((0, 0, 0), (50, 50, 50)))),
        "nan.stl": stl_bytes((nan, box((0, 0, 0), (1, 1, 1))[1])),
        "empty.stl": b"",
        "none.stl": b"nothing".ljust(80) + struct.pack("<I", 0),
        "short.stl": stl_bytes(tube(0.0, 50.0))[:-60],
        "words.obj": b"not a mesh at all\n",
    }
    for name, content in bad.items():
        (tmp_path / name).write_bytes(content)
    told = refused(*(PieceFile(tmp_path / name) for name in (*bad, "gone.stl")))
    for text in (
        "inside out",
        "coordinates that are no numbers",
        "empty.stl",
        "none.stl",
        "breaks off",
        "words.obj",
        "no such file",
    ):
        assert text in told, text


def test_a_piece_in_the_wrong_unit_is_asked_about(tmp_path: Path) -> None:
    aft, bow = tube_files(tmp_path)
    assert 'Did you mean unit = "mm" (180 mm)' in refused(PieceFile(aft, "ft"), PieceFile(bow, "ft"))
    # In one wrong unit of two, they no longer meet.
    assert "does not meet the others" in refused(PieceFile(aft), PieceFile(bow, "cm"))
    assert "unit of length is not known" in refused(PieceFile(aft, "furlong"))


def test_a_pile_of_no_likely_length_is_warned_of(tmp_path: Path) -> None:
    files = pieces(tmp_path, box((0, 0, 0), (20, 8, 8)), box((20, 0, 0), (20, 8, 8)))
    (advice,) = join(files).pile.advice
    assert (advice.severity, advice.where) == ("warning", "all pieces together")
    assert "40 mm long" in advice.what
    assert join(files, judge_size=False).pile.advice == ()


def test_no_pieces_and_hundreds_of_them(tmp_path: Path) -> None:
    assert "no pieces" in refused()
    one = write_stl(tmp_path / "one.stl", box((0, 0, 0), (10, 10, 10)))
    many = [PieceFile(one, shift_m=(0.01 * k, 0.0, 0.0)) for k in range(MOST_PIECES + 200)]
    assert f"up to {MOST_PIECES}" in refused(*many)
    joined = join(many[:MOST_PIECES])
    assert volume(joined) == pytest.approx(1000.0 * MOST_PIECES, rel=1e-6)
    assert len(joined.pile.joints) == MOST_PIECES - 1


def test_shifts_and_gaps_that_are_no_numbers(tmp_path: Path) -> None:
    aft, bow = tube_files(tmp_path)
    assert "no number" in refused(PieceFile(aft), PieceFile(bow, shift_m=(np.nan, 0.0, 0.0)))
    assert "below zero" in refused(PieceFile(aft), PieceFile(bow), gap_m=-0.001)


def test_pieces_that_meet_in_an_edge_only_are_no_hull(tmp_path: Path) -> None:
    files = pieces(tmp_path, box((0, 0, 0), (100, 40, 40)), box((100, 40, 0), (100, 40, 40)))
    assert "meets 1.stl in a point or along an edge only" in refused(*files)


def test_a_pile_far_from_zero_is_written_about_its_middle_and_loses_nothing(tmp_path: Path) -> None:
    far = (0.0, 40.0, -60.0)  # metres: single precision holds that to 4 micrometres only
    files = [PieceFile(path, shift_m=far) for path in tube_files(tmp_path)]
    joined = join(files)
    assert joined.pile.vertices_m.mean(axis=0)[1:] == pytest.approx(far[1:], abs=0.001)
    assert volume(joined) == pytest.approx(tube_volume(300.0), rel=1e-5)
    write_joined(joined.pile.vertices_m, joined.pile.faces, tmp_path / "joined.stl")
    again = trimesh.load_mesh(tmp_path / "joined.stl")
    assert np.abs(again.bounds).max() == pytest.approx(150.0)
    assert again.volume == pytest.approx(tube_volume(300.0), rel=1e-5)


def test_the_joined_mesh_is_read_again_as_a_hull(tmp_path: Path) -> None:
    joined = join([PieceFile(path) for path in tube_files(tmp_path)])
    out = tmp_path / "joined.stl"
    write_joined(joined.pile.vertices_m, joined.pile.faces, out)
    hull = read_mesh(out, "mm")
    assert hull.solid_walled
    assert trimesh.load_mesh(out).volume == pytest.approx(tube_volume(300.0), rel=1e-5)
