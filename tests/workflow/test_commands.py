"""The commands as a builder meets them: answers, exit codes, JSON, mistakes, what they leave on the disk."""

import json
import re
import shutil
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
import typer.main

from dabchick.cli.app import COMMANDS, app
from tests.support.command import SOON, as_process, dabchick

Capsys = pytest.CaptureFixture[str]


def spoil(folder: Path, *changes: tuple[str, str]) -> str:
    """Replace texts in the boat file, each of which must stand there once; returns the new text."""
    file = folder / "boat.toml"
    text = file.read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return text


# --- Help.


@pytest.mark.parametrize("name", [module.NAME for module in COMMANDS])
def test_every_command_has_help_with_an_example_that_names_it(capsys: Capsys, name: str) -> None:
    answer = dabchick(capsys, name, "--help")
    assert answer.code == 0
    assert f"Example: dabchick {name}" in answer.words
    if name != "serve":  # it answers in the browser
        assert "--json" in answer.out
    command = typer.main.get_command(app).commands[name]  # type: ignore[attr-defined]
    for entry in command.params:
        assert entry.help, f"{name} {entry.name}"


def test_without_a_command_it_shows_the_commands_and_says_that_something_was_missing(capsys: Capsys) -> None:
    answer = dabchick(capsys)
    assert answer.code == 2
    for module in COMMANDS:
        assert module.NAME in answer.out


# --- Exit codes and mistakes.


def test_wrong_use_is_told_in_one_line_with_the_page_to_read(capsys: Capsys) -> None:
    answer = dabchick(capsys, "afloat", "--fil", "0.5")
    assert (answer.code, answer.out) == (2, "")
    assert "--fill" in answer.err
    assert "dabchick afloat --help" in answer.words


def test_wrong_values_on_the_command_line_are_all_told_at_once(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "afloat", wren, "--temperature", "12", "--salinity", "3 kg", "--json")
    assert answer.code == 2
    told = answer.json["errors"]
    assert {entry["where"] for entry in told} == {"command line --temperature", "command line --salinity"}
    assert all(entry["todo"] for entry in told)
    several = dabchick(capsys, "afloat", wren, "--fill", "half", "--fill", "main=lots", "--json")
    assert [entry["given"] for entry in several.json["errors"]] == ["half", "main=lots"]


@pytest.mark.parametrize(("fill", "word"), [("stern=0.5", "no tank named 'stern'"), ("main=1.5", "150%|1.5")])
def test_a_fill_that_cannot_be_is_refused(wren: Path, capsys: Capsys, fill: str, word: str) -> None:
    answer = dabchick(capsys, "afloat", wren, "--fill", fill)
    assert answer.code == 2
    assert re.search(word, answer.words)
    assert "main" in answer.words


def test_no_boat_there(tmp_path: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "afloat", tmp_path / "nowhere")
    assert answer.code == 2
    assert "does not exist" in answer.words
    assert "dabchick new" in answer.words


def test_a_bad_boat_gives_all_its_mistakes_at_once_and_stays_as_it_was(wren: Path, capsys: Capsys) -> None:
    text = spoil(
        wren,
        ('waterline = "82 mm"', 'waterline = "82"'),
        ('value = "506 g"', 'value = "-506 g"'),
        ('system = "piston"', 'system = "pistol"'),
        ("least_bg = ", "least_gb = "),
    )
    for command in (("trim", "--apply"), ("afloat",), ("sheet",)):
        answer = dabchick(capsys, command[0], wren, *command[1:])
        assert (answer.code, answer.out) == (2, "")
        for word in ("waterline", "-506 g", "pistol", "least_bg"):
            assert word in answer.words, word
        # a long path is folded wherever the terminal ends, in the middle of a number too
        for line in re.findall(r"boat\.toml:(\d+)", re.sub(r"\n\s*", "", answer.err)):
            assert any(
                word in text.splitlines()[int(line) - 1]
                for word in ("waterline", "-506", "pistol", "least_gb")
            )
    assert "Traceback" not in answer.err
    assert (wren / "boat.toml").read_text("utf-8") == text
    assert sorted(path.name for path in wren.iterdir()) == ["boat.toml", "wren-stations.csv"]


def test_a_boat_that_sinks_is_a_finding(wren: Path, capsys: Capsys) -> None:
    spoil(wren, ('value = "506 g"', 'value = "1506 g"'))
    answer = dabchick(capsys, "afloat", wren)
    assert answer.code == 1
    assert "Wren sinks" in answer.out


def test_a_part_in_the_wrong_place_is_a_finding(wren: Path, capsys: Capsys) -> None:
    spoil(wren, ('at = ["614 mm", 0, "36 mm"]', 'at = ["714 mm", 0, "36 mm"]'))
    answer = dabchick(capsys, "check", wren, "--json")
    assert answer.code == 1
    assert any(
        "drive motor" in entry["what"] and entry["severity"] == "error" for entry in answer.json["findings"]
    )


def test_wishes_that_cannot_be_kept_are_a_finding_and_nothing_is_written(wren: Path, capsys: Capsys) -> None:
    """60 g of foam room is not there: she has been loaded with half a kilogram too much."""
    text = spoil(wren, ('value = "138 g"', 'value = "538 g"'))
    answer = dabchick(capsys, "trim", wren, "--apply", *SOON)
    assert answer.code == 1
    assert answer.out.startswith("Not all wishes can be kept.")
    assert "Nothing was written" in answer.out
    assert (wren / "boat.toml").read_text("utf-8") == text


def test_a_fault_in_dabchick_itself_is_owned_without_a_traceback(
    wren: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by the way")

    monkeypatch.setattr("dabchick.studies.weights.run", broken)
    answer = dabchick(capsys, "weights", wren)
    assert (answer.code, answer.out) == (3, "")
    assert "Dabchick itself failed here, not your boat: ZeroDivisionError: by the way" in answer.words
    assert "Traceback" not in answer.err
    monkeypatch.setenv("DABCHICK_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        dabchick(capsys, "weights", wren)


def test_stopped_in_the_middle_nothing_is_changed(
    wren: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {path.name: path.read_bytes() for path in wren.iterdir()}

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("dabchick.studies.trim.lay", stopped)
    answer = dabchick(capsys, "trim", wren, "--apply", *SOON)
    assert (answer.code, answer.out) == (130, "")
    assert "Your files are as they were" in answer.words
    assert {path.name: path.read_bytes() for path in wren.iterdir()} == before


def test_ctrl_c_in_a_running_process_leaves_everything_as_it_was(wren: Path) -> None:
    """A true signal, sent while the search for lead runs; the search here waits so that it cannot be over before."""
    before = {path.name: path.read_bytes() for path in wren.iterdir()}
    waiting = (
        "import sys, time, dabchick.studies.trim as trim\n"
        "def wait(*_, **__):\n"
        "    print('searching', file=sys.stderr, flush=True)\n"
        "    time.sleep(300)\n"
        "trim.find_places = wait\n"
        "from dabchick.cli.main import main\n"
        f"sys.argv = ['dabchick', 'trim', {str(wren)!r}, '--apply']\n"
        "main()\n"
    )
    with subprocess.Popen([sys.executable, "-c", waiting], stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        assert process.stderr.readline() == "searching\n"
        process.send_signal(signal.SIGINT)
        said = process.stderr.read()
    assert process.returncode == 130
    assert "Your files are as they were" in " ".join(said.split())
    assert "Traceback" not in said
    assert {path.name: path.read_bytes() for path in wren.iterdir()} == before


def test_a_sheet_that_cannot_be_written_is_told(wren: Path, capsys: Capsys) -> None:
    (wren / "taken").write_text("a file, not a folder")
    answer = dabchick(capsys, "sheet", wren, "--out", wren / "taken")
    assert answer.code == 2
    assert "taken" in answer.err.replace("\n", "")
    assert "Traceback" not in answer.err


# --- trim --apply.


RAIL = 'rail = { direction = "x", from = "265 mm", to = "274 mm" } # it may slide this far on its rail\n'


def test_apply_twice_is_apply_once_and_comments_survive(wren: Path, capsys: Capsys) -> None:
    """To the last letter, nothing being movable: the lead and foam of the first time are not in the way."""
    spoil(wren, (RAIL, ""))
    before = (wren / "boat.toml").read_text("utf-8")
    assert dabchick(capsys, "trim", wren, "--apply", *SOON).code == 0
    once = (wren / "boat.toml").read_text("utf-8")
    assert 'from = "trim"' in once
    for line in before.splitlines():
        if line.lstrip().startswith("#"):
            assert line in once.splitlines()
    again = dabchick(capsys, "trim", wren, "--apply", *SOON)
    assert again.code == 0
    assert (wren / "boat.toml").read_text("utf-8") == once
    surfaced = dabchick(capsys, "afloat", wren, "--json").json["lie"]
    assert surfaced["draught_bow_m"]["value"] == pytest.approx(0.082, abs=0.001)


def test_with_a_movable_battery_nothing_piles_up_and_she_stays_right(wren: Path, capsys: Capsys) -> None:
    """Once the battery has moved, another answer may be as good; never is there more than one answer in the file."""
    for _ in range(2):
        found = dabchick(capsys, "trim", wren, "--apply", "--json", *SOON)
        assert found.code == 0
        text = (wren / "boat.toml").read_text("utf-8")
        assert text.count('from = "trim"') == len(found.json["pieces"])
        lie = dabchick(capsys, "afloat", wren, "--json").json["lie"]
        for mark in ("draught_bow_m", "draught_stern_m"):
            assert lie[mark]["value"] == pytest.approx(0.082, abs=0.001)


def test_apply_keeps_the_version_before(wren: Path, capsys: Capsys) -> None:
    before = (wren / "boat.toml").read_bytes()
    assert dabchick(capsys, "trim", wren, "--apply", *SOON).code == 0
    assert before in [kept.read_bytes() for kept in (wren / ".history").iterdir()]


# --- new, schema, and other small journeys.


def test_a_new_boat_opens_at_once_and_is_never_written_over(tmp_path: Path, capsys: Capsys) -> None:
    folder = tmp_path / "petrel"
    answer = dabchick(capsys, "new", folder)
    assert answer.code == 0
    assert 'name = "Petrel"' in (folder / "boat.toml").read_text("utf-8")
    assert (folder / "boat.toml").read_text("utf-8").count("#") > 15
    assert dabchick(capsys, "check", folder).code == 0
    afloat_answer = dabchick(capsys, "afloat", folder)
    assert afloat_answer.code == 0
    assert "Petrel floats" in afloat_answer.out
    again = dabchick(capsys, "new", folder)
    assert again.code == 2
    assert "is there already" in again.words


def test_the_schema_takes_the_demo_boat(wren: Path, tmp_path: Path, capsys: Capsys) -> None:
    """An independent route to "the file is right": the jsonschema library instead of pydantic."""
    on_screen = dabchick(capsys, "schema").json
    out = tmp_path / "boat.schema.json"
    assert dabchick(capsys, "schema", "--out", out).code == 0
    assert json.loads(out.read_text("utf-8")) == on_screen
    content = tomllib.loads((wren / "boat.toml").read_text("utf-8"))
    jsonschema.validate(content, on_screen)
    content["hull"]["waterlin"] = "82 mm"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(content, on_screen)


def test_mending_a_mesh_is_a_step_of_its_own(wren: Path, tmp_path: Path, capsys: Capsys) -> None:
    """A 40 mm box with one face missing; closed again it has 64 ml."""
    corners = [(x, y, z) for x in (0, 400) for y in (-20, 20) for z in (0, 40)]
    faces = [
        (0, 1, 3),
        (0, 3, 2),
        (0, 4, 5),
        (0, 5, 1),
        (2, 3, 7),
        (2, 7, 6),
        (0, 2, 6),
        (0, 6, 4),
        (4, 6, 7),
        (4, 7, 5),
        (1, 5, 7),
    ]
    text = "solid open\n" + "".join(
        "facet normal 0 0 0\nouter loop\n"
        + "".join("vertex {} {} {}\n".format(*corners[corner]) for corner in face)
        + "endloop\nendfacet\n"
        for face in faces
    )
    (wren / "open.stl").write_text(text + "endsolid open\n")
    spoil(
        wren,
        (
            'stations = "wren-stations.csv" # half-breadths, taken off the drawing',
            'mesh = "open.stl"\nunit = "mm"',
        ),
    )
    refused = dabchick(capsys, "afloat", wren)
    assert refused.code == 2
    assert "--repair" in refused.words
    out = tmp_path / "mended.stl"
    mended = dabchick(capsys, "check", wren, "--repair", out, "--json")
    assert mended.code == 0, mended.err
    assert mended.json["after"]["volume_cm3"] == pytest.approx(640.0, rel=1e-6)
    assert mended.json["changes"]
    assert (wren / "open.stl").read_text() == text + "endsolid open\n"


# --- As a process of its own.


def test_as_a_process_the_answer_is_narrow_plain_and_the_same(wren: Path) -> None:
    plain = as_process("afloat", wren)
    assert plain.code == 0
    assert "\x1b[" not in plain.out
    assert max(len(line) for line in plain.out.splitlines()) <= 80
    assert plain.out.startswith("Wren floats")
    assert " ± " in plain.out
    no_colour = as_process("afloat", wren, NO_COLOR="1", FORCE_COLOR="1")
    assert not re.search(r"\x1b\[[0-9;]*3[0-7]m", no_colour.out)


def test_inside_the_folder_no_boat_needs_to_be_named(wren: Path) -> None:
    assert as_process("weights", folder=wren).code == 0


def test_in_inches_everything_is_shown_in_inches_and_nothing_physical_moves(
    wren: Path, tmp_path: Path, capsys: Capsys
) -> None:
    metric = dabchick(capsys, "afloat", wren, "--json").json
    other = tmp_path / "inch"
    shutil.copytree(wren, other)
    spoil(other, ('units = "metric"', 'units = "inch"'))
    assert dabchick(capsys, "afloat", other, "--json").json["lie"] == metric["lie"]
    shown = dabchick(capsys, "afloat", other).out
    assert " in" in shown
    assert " mm" not in shown
    assert " g\n" not in shown
