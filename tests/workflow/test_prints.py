"""A builder with a pile of print files: from the first look to a boat whose hull they are."""

import re
from pathlib import Path

import numpy as np
import pytest
import trimesh

from dabchick.storage.folder import open_boat
from tests.support.broken import box, egg, write_stl
from tests.support.command import dabchick
from tests.support.prints import tube, tube_files, tube_volume

Capsys = pytest.CaptureFixture[str]


def test_pieces_become_the_hull_of_a_boat(tmp_path: Path, capsys: Capsys) -> None:
    # A spheroid with walls of 4 mm in two halves, as a builder exports them.
    outer, inner = (trimesh.Trimesh(*egg(*size)) for size in ((600.0, 100.0), (592.0, 92.0)))
    inner.apply_translation(outer.bounds.mean(axis=0) - inner.bounds.mean(axis=0))
    shell = trimesh.boolean.difference([outer, inner], engine="manifold")
    middle = shell.bounds.mean(axis=0)
    for name, side in (("aft", -1.0), ("bow", 1.0)):
        half = trimesh.creation.box([400.0, 400.0, 400.0])
        half.apply_translation(middle + np.array([200.0 * side, 0.0, 0.0]))
        trimesh.boolean.intersection([shell, half], engine="manifold").export(tmp_path / f"{name}.stl")
    out = tmp_path / "hull.stl"
    pieces = (tmp_path / "aft.stl", tmp_path / "bow.stl")
    first = dabchick(capsys, "prints", *pieces, "--unit", "mm")
    assert first.code == 1  # nothing is decided yet
    assert "an inner shell faces inward" in first.words
    assert "please confirm" in first.words
    arguments = ("--unit", "mm", "--walled", "--material", "PETG", "--infill", "100 %", "--water", "0 %")
    weighed = f"{shell.volume * 1e-9 * 1270.0 * 1000.0:.1f} g"
    answer = dabchick(capsys, "prints", *pieces, *arguments, "--weighed", weighed, "--mesh", out, "--json")
    assert answer.code == 0, answer.words
    told = answer.json
    assert told["volume_m3"] == pytest.approx(shell.volume * 1e-9, rel=1e-5)
    assert told["finding"]["confirmed"] is True
    assert told["map"] is None
    # 1270 kg/m3 is the table's own value for PETG, which the prints were weighed with here.
    assert told["mass"]["density_kg_m3"]["value"] == 1270.0
    assert told["mass"]["ratio_to_solid"] == pytest.approx(1.0, rel=1e-3)
    (tmp_path / "boat.toml").write_text(
        'dabchick = 1\nname = "Grebe"\nmeasured_from = { x = "stern", z = "keel" }\n[water]\n'
        '[hull]\nmesh = "hull.stl"\nunit = "mm"\nsolid_walled = true\n'
        f'waterline = "60 mm"\nskin = {{ mass = {{ value = "{weighed}", known = "weighed" }}, material = "PETG" }}\n',
        encoding="utf-8",
    )
    vessel = open_boat(tmp_path).vessel
    assert vessel.length_m == pytest.approx(0.6, rel=1e-4)
    assert vessel.items[0].volume_m3 == pytest.approx(shell.volume * 1e-9, rel=1e-5)


def test_the_answer_in_words(tmp_path: Path, capsys: Capsys) -> None:
    answer = dabchick(
        capsys, "prints", *tube_files(tmp_path), "--walled", "--material", "PLA", "--weighed", "100 g"
    )
    assert "2 pieces make one closed mesh of 300.0 mm" in answer.words
    assert "You say that it is the material itself." in answer.words
    assert "aft.stl and bow.stl meet on" in answer.words
    assert "no unit was given: the files are read in millimetres" in answer.words
    assert "infill is not given" in answer.words
    assert "absorbed water is not given" in answer.words
    assert "fine dust" in answer.words
    # 100 g over the volume in closed form.
    density = 0.1 / (tube_volume(300.0) * 1e-9)
    found = re.search(r"by a density of ([\d.]+)\s*kg/m³", answer.words)
    assert found
    assert float(found[1]) == pytest.approx(density, abs=0.1)
    inch = dabchick(capsys, "prints", *tube_files(tmp_path), "--surface", "--inch")
    assert "11.811 in" in inch.words
    assert inch.code == 1  # the figures say walls


def test_a_known_length_and_a_mistaken_unit(tmp_path: Path, capsys: Capsys) -> None:
    pieces = tube_files(tmp_path)
    answer = dabchick(capsys, "prints", *pieces, "--walled", "--length", "300 in", "--json")
    assert answer.json["scale"]["unit_mistake"] == "in for mm"
    assert answer.code == 1
    between = ("--between", "0, 0, 50 mm", "150 mm, 0, 50 mm")
    out = tmp_path / "scaled.stl"
    right = dabchick(
        capsys, "prints", *pieces, "--walled", "--length", "150.6 mm", *between, "--mesh", out, "--json"
    )
    assert right.json["scale"]["factor"] == pytest.approx(1.004)
    assert trimesh.load_mesh(out).volume == pytest.approx(tube_volume(300.0) * 1.004**3, rel=1e-5)


def test_shifts_turns_and_units_go_to_the_piece_that_is_named(tmp_path: Path, capsys: Capsys) -> None:
    aft = write_stl(tmp_path / "aft.stl", tube(0.0, 180.0))
    vertices, faces = tube(0.0, 120.0)
    bow = write_stl(tmp_path / "bow.stl", (vertices / 25.4, faces))
    # Turned end for end about z it reaches from -120 mm to 0.
    named = ("--unit", "bow=in", "--turn", "bow.stl=0, 0, 180", "--shift", "2=300 mm, 0, 0")
    answer = dabchick(capsys, "prints", aft, bow, *named, "--walled", "--json")
    assert answer.json["volume_m3"] == pytest.approx(tube_volume(300.0) * 1e-9, rel=1e-5)
    assert [piece["unit"] for piece in answer.json["pieces"]] == ["mm", "in"]
    bad = dabchick(capsys, "prints", aft, bow, "--shift", "stern=1 mm, 0, 0", "--turn", "0, 0, 90", "--json")
    assert bad.code == 2
    assert [entry["where"] for entry in bad.json["errors"]] == ["command line --shift", "command line --turn"]
    unread = dabchick(
        capsys, "prints", aft, bow, "--shift", "1=3, 0", "--weighed", "4", "--infill", "x", "--json"
    )
    assert {entry["where"] for entry in unread.json["errors"]} == {
        "command line --shift",
        "command line --weighed",
        "command line --infill",
    }


def test_faulty_piles_are_told_with_exit_code_2_and_nothing_is_written(
    tmp_path: Path, capsys: Capsys
) -> None:
    aft, bow = tube_files(tmp_path)
    write_stl(bow, tube(190.0, 300.0))
    out = tmp_path / "out.stl"
    answer = dabchick(capsys, "prints", aft, bow, "--mesh", out, "--json")
    assert answer.code == 2
    assert answer.json["errors"][0]["given"] == "a gap of 10 mm"
    assert not out.exists()
    assert dabchick(capsys, "prints", aft, bow, "--stack", "--walled", "--mesh", out).code == 0
    again = dabchick(capsys, "prints", aft, bow, "--stack", "--walled", "--mesh", out)
    assert (again.code, "file of this name already" in again.words) == (2, True)
    assert dabchick(capsys, "prints").code == 2


def test_repair_is_a_step_of_its_own_with_a_report(tmp_path: Path, capsys: Capsys) -> None:
    vertices, faces = box((0.0, 0.0, 0.0), (200.0, 40.0, 30.0))
    open_box = write_stl(tmp_path / "open.stl", (vertices, np.delete(faces, 3, axis=0)))
    refused = dabchick(capsys, "prints", open_box, "--surface")
    assert refused.code == 2
    assert "same command with `--repair`" in refused.words
    mended = dabchick(capsys, "prints", open_box, "--surface", "--repair", "--json")
    (report,) = mended.json["repairs"]
    assert (report["before"]["open_edges"], report["after"]["open_edges"]) == (3, 0)
    assert report["after"]["volume_cm3"] == pytest.approx(240.0)
    assert "Before: 11 triangles" in dabchick(capsys, "prints", open_box, "--surface", "--repair").words
