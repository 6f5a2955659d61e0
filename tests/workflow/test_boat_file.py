"""A boat's folder from opening to saving: every mistake with its line, nothing lost whatever fails."""

import errno
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import Advice, BoatError
from dabchick.storage import history
from dabchick.storage.edit import set_value
from dabchick.storage.folder import open_boat, save
from tests.support.sample_boat import TEXT, write_boat, write_box_stl, write_hollow_box_stl

LEAD_MASS = ("part", 3, "mass")


def mistakes(folder: Path) -> tuple[Advice, ...]:
    with pytest.raises(BoatError) as caught:
        open_boat(folder)
    return caught.value.advice


def line(text: str, words: str) -> int:
    return text[: text.index(words)].count("\n") + 1


def test_opens(tmp_path: Path) -> None:
    """Figures of the sample by hand: places from the bow of 600 mm, masses as written."""
    boat = open_boat(write_boat(tmp_path / "box"))
    vessel = boat.vessel
    assert [item.name for item in vessel.items] == ["skin", "cylinder", "battery", "servo", "keel lead"]
    assert vessel.items[2].centre_m == pytest.approx((0.4, 0.0, 0.03))
    assert sum(item.mass_kg for item in vessel.items[1:]) == pytest.approx(0.612 + 0.31 + 0.019 + 0.2)
    assert vessel.advice == ()
    assert vessel.wishes.lead_pieces_kg == pytest.approx((0.005, 0.01, 0.02))
    assert open_boat(boat.file).boat == boat.boat


def test_save_without_a_change_touches_nothing(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box")
    before = (folder / "boat.toml").stat().st_mtime_ns
    assert not save(open_boat(folder))
    assert (folder / "boat.toml").read_bytes() == TEXT.encode()
    assert (folder / "boat.toml").stat().st_mtime_ns == before
    assert not (folder / ".history").exists()


@pytest.mark.parametrize(
    "text",
    [TEXT, TEXT.replace("\n", "\r\n"), "\ufeff" + TEXT, TEXT.rstrip("\n"), TEXT + "\n\n  # end\n"],
    ids=["plain", "dos", "byte mark", "no last line end", "blank end"],
)
def test_change_and_change_back_is_the_same_to_the_byte(tmp_path: Path, text: str) -> None:
    folder = write_boat(tmp_path / "box", text)
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, "201 g")
    assert save(boat)
    assert (folder / "boat.toml").read_bytes() == text.replace('"200 g"', '"201 g"').encode()
    again = open_boat(folder)
    set_value(again, LEAD_MASS, "200 g")
    assert save(again)
    assert (folder / "boat.toml").read_bytes() == text.encode()


@settings(max_examples=15, deadline=None)
@given(st.floats(1.0, 900.0), st.lists(st.sampled_from(["", "# note", "  # indented", "\t"]), max_size=5))
def test_comments_and_order_survive_any_edit(
    tmp_path_factory: pytest.TempPathFactory, grams: float, noise: list[str]
) -> None:
    text = TEXT.replace("[[tank]]", "\n".join([*noise, "[[tank]]"]))
    folder = write_boat(tmp_path_factory.mktemp("boat") / "box", text)
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, f"{grams:.3f} g")
    save(boat)
    written = (folder / "boat.toml").read_text("utf-8")
    assert written == text.replace('"200 g"', f'"{grams:.3f} g"')
    assert open_boat(folder).vessel.items[-1].mass_kg == pytest.approx(grams / 1000.0, abs=1e-6)


def test_save_keeps_history(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box")
    boat = open_boat(folder)
    for grams in (201, 202, 203):
        set_value(boat, LEAD_MASS, f"{grams} g")
        assert save(boat)
    kept = [copy.read_text("utf-8") for copy in history.versions(folder / "boat.toml")]
    assert kept == [TEXT.replace('"200 g"', f'"{grams} g"') for grams in (200, 201, 202)]


def test_all_mistakes_at_once_with_their_lines(tmp_path: Path) -> None:
    text = (
        TEXT.replace('{ value = "19 g", known = "catalogue" }', '{ value = "19 mm", known = "catalogue" }')
        .replace('waterline = "70 mm"', 'waterline = "700 mm"')
        .replace('name = "servo"', 'name = "battery"\nweigth = "3 g"')
        .replace('inside = "cylinder"\nwater_end', 'inside = "tube"\nwater_end')
        .replace('"540 mm", "-12 mm"', '540, "-12 mm"')
    )
    folder = write_boat(tmp_path / "box", text)
    found = {(entry.key, entry.where) for entry in mistakes(folder)}
    file = folder / "boat.toml"
    assert found == {
        ("part[3].mass.value", f"{file}:{line(text, '19 mm')}"),
        ("hull.waterline", f"{file}:{line(text, '700 mm')}"),
        ("part[3].weigth", f"{file}:{line(text, 'weigth')}"),
        ("part[3].name", f"{file}:{line(text, 'weigth') - 1}"),
        ("part[3].at[1]", f"{file}:{line(text, '540, ')}"),
        ("tank[1].inside", f"{file}:{line(text, 'water_end') - 1}"),
    }


@pytest.mark.parametrize(
    ("text", "words", "at_line"),
    [
        (TEXT.replace('name = "Box"', 'name = "Box'), "not closed", 3),
        (TEXT.replace("dabchick = 1", "dabchick = 7"), "Update Dabchick", 2),
        (TEXT.replace("dabchick = 1", "dabchick = 0"), "no format 0", 2),
        (TEXT.replace('mesh = "hull.stl"', 'mesh = "hul.stl"'), "hull.stl", line(TEXT, "mesh =")),
        (
            TEXT.replace('mesh = "hull.stl"', 'mesh = "../hull.stl"'),
            "outside the boat's folder",
            line(TEXT, "mesh ="),
        ),
        (TEXT.replace('unit = "mm"', 'unit = "m"'), '"mm"', line(TEXT, "unit =")),
    ],
)
def test_one_mistake(tmp_path: Path, text: str, words: str, at_line: int) -> None:
    folder = write_boat(tmp_path / "box", text)
    write_box_stl(tmp_path / "hull.stl")
    (advice,) = mistakes(folder)
    assert words in str(advice)
    assert advice.where == f"{folder / 'boat.toml'}:{at_line}"


def test_hull_with_bow_the_other_way_and_standing_up(tmp_path: Path) -> None:
    """The same box drawn 600 mm high along z with its bow up: turned, it is the sample's hull."""
    text = TEXT.replace('unit = "mm"', 'unit = "mm"\nbow = "+z"\nup = "+x"')
    folder = write_boat(tmp_path / "box", text, size=(120.0, 100.0, 600.0))
    assert open_boat(folder).vessel.high_m == pytest.approx((0.6, 0.05, 0.12), abs=1e-6)


def test_part_from_a_mesh_file(tmp_path: Path) -> None:
    text = TEXT.replace(
        'shape = { box = { size = ["70 mm", "35 mm", "30 mm"] } }',
        'shape = { mesh = { file = "pack.stl", unit = "mm" } }',
    )
    folder = write_boat(tmp_path / "box", text)
    (advice,) = mistakes(folder)
    assert advice.key == "part[2].shape.mesh.file"
    write_box_stl(folder / "pack.stl", (70.0, 35.0, 30.0))
    battery = open_boat(folder).vessel.items[2]
    assert battery.envelope is not None
    assert battery.envelope.volume == pytest.approx(73.5e-6, rel=1e-6)
    assert battery.centre_m == pytest.approx((0.4, 0.0, 0.03), abs=1e-7)


def test_print_taken_for_a_hull_form(tmp_path: Path) -> None:
    """A box of 1 mm walls is the material itself; with solid_walled it opens and weighs by its own volume."""
    text = TEXT.replace("waterline", "solid_walled = true\nwaterline", 1).replace(
        'thickness = "2 mm", spread = "0.2 mm", ', ""
    )
    folder = write_boat(tmp_path / "box")
    write_hollow_box_stl(folder / "hull.stl", wall=1.0)
    (advice,) = mistakes(folder)
    assert advice.key == "hull.mesh"
    assert "solid_walled = true" in advice.todo
    (folder / "boat.toml").write_text(text, "utf-8")
    skin = open_boat(folder).vessel.items[0]
    material = (600.0 * 100.0 * 120.0 - 598.0 * 98.0 * 118.0) * 1e-9
    assert skin.volume_m3 == pytest.approx(material, rel=1e-6)


def test_what_belongs_outside_is_not_warned_of(tmp_path: Path) -> None:
    text = TEXT.replace('"540 mm", "-12 mm"', '"-540 mm", "-12 mm"').replace(
        'name = "servo"', 'name = "servo"\noutside = true'
    )
    assert open_boat(write_boat(tmp_path / "box", text)).vessel.advice == ()


def test_skin_thicker_than_the_hull(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box", TEXT.replace('thickness = "2 mm"', 'thickness = "60 mm"'))
    (advice,) = mistakes(folder)
    assert advice.key == "hull.skin"


def test_warnings_have_their_lines(tmp_path: Path) -> None:
    text = TEXT.replace('mass = "200 g" ', "#").replace('"540 mm", "-12 mm"', '"-540 mm", "-12 mm"')
    folder = write_boat(tmp_path / "box", text)
    found = {(entry.key, entry.where, entry.severity) for entry in open_boat(folder).vessel.advice}
    file = folder / "boat.toml"
    assert found == {
        ("part[3].at", f"{file}:{line(text, '-540 mm')}", "warning"),
        ("part[4]", f"{file}:{line(text, 'keel lead') - 1}", "warning"),
    }


@pytest.mark.parametrize("missing", ["folder", "file"])
def test_nothing_there(tmp_path: Path, missing: str) -> None:
    folder = tmp_path / "box"
    if missing == "file":
        folder.mkdir()
    (advice,) = mistakes(folder)
    assert "dabchick new" in advice.todo


def test_not_text(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box")
    (folder / "boat.toml").write_bytes(b'dabchick = 1\nname = "\xe4"\n')
    (advice,) = mistakes(folder)
    assert advice.where.endswith("boat.toml:2")
    assert "UTF-8" in advice.what


def test_wrong_text_is_not_saved(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box")
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, "200 mm")
    with pytest.raises(BoatError) as caught:
        save(boat)
    assert caught.value.advice[0].key == "part[4].mass"
    assert (folder / "boat.toml").read_bytes() == TEXT.encode()


def test_file_changed_by_another_program_is_left_alone(tmp_path: Path) -> None:
    folder = write_boat(tmp_path / "box")
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, "201 g")
    (folder / "boat.toml").write_bytes(TEXT.encode() + b"# mine\n")
    with pytest.raises(BoatError, match="another program"):
        save(boat)
    assert (folder / "boat.toml").read_bytes().endswith(b"# mine\n")


@pytest.mark.parametrize("call", ["replace", "fsync"])
def test_failed_save_loses_nothing_and_can_be_done_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    folder = write_boat(tmp_path / "box")
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, "201 g")

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, call, full)
    with pytest.raises(BoatError, match="No space left"):
        save(boat)
    monkeypatch.undo()
    assert (folder / "boat.toml").read_bytes() == TEXT.encode()
    assert sorted(entry.name for entry in folder.iterdir() if not entry.is_dir()) == ["boat.toml", "hull.stl"]
    assert save(boat)
    assert b'"201 g"' in (folder / "boat.toml").read_bytes()


def test_unwritable_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_boat(tmp_path / "box")
    boat = open_boat(folder)
    set_value(boat, LEAD_MASS, "201 g")

    def refused(*_given: object, **_named: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    folder.chmod(0o555)
    if os.geteuid() == 0:  # root may write anywhere, so the refusal is acted
        monkeypatch.setattr(tempfile, "mkstemp", refused)
    try:
        with pytest.raises(BoatError, match="Permission denied"):
            save(boat)
    finally:
        folder.chmod(0o755)
    assert (folder / "boat.toml").read_bytes() == TEXT.encode()


KILLED_SAVES = """
import os, signal, sys
from dabchick.storage.edit import set_value
from dabchick.storage.folder import open_boat, save

def deadly(name, left):
    real = getattr(os, name)
    def call(*given):
        left[0] -= 1
        if left[0] < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*given)
    return call

open_boat(sys.argv[1])
for calls, folder in enumerate(sys.argv[1:]):
    child = os.fork()
    if child == 0:
        boat = open_boat(folder)
        set_value(boat, ("part", 3, "mass"), "201 g")
        left = [calls]
        os.fsync, os.replace = deadly("fsync", left), deadly("replace", left)
        save(boat)
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


def test_killed_while_saving_leaves_a_boat_that_opens(tmp_path: Path) -> None:
    """SIGKILL at the first, second, ... flush or swap of a save: the boat is the old or the new, whole."""
    new = TEXT.replace('"200 g"', '"201 g"')
    folders = [write_boat(tmp_path / str(calls)) for calls in range(7)]
    done = subprocess.run(
        [sys.executable, "-c", KILLED_SAVES, *map(str, folders)], check=True, capture_output=True, text=True
    )
    seen = []
    for folder, code in zip(folders, done.stdout.split(), strict=True):
        content = (folder / "boat.toml").read_text("utf-8")
        assert content in (TEXT, new)
        seen.append((int(code), content == new))
        boat = open_boat(folder)
        set_value(boat, LEAD_MASS, "202 g")
        assert save(boat)
        assert not list(folder.glob(".dabchick-writing-*"))
    assert seen[0] == (-signal.SIGKILL, False)
    assert seen[-2] == (-signal.SIGKILL, True)
    assert seen[-1] == (0, True)
