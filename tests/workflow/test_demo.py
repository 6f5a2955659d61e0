"""`dabchick demo` from an empty folder to the trim sheet, and that its figures hold."""

import json
from pathlib import Path
from typing import Any

import pytest

from dabchick.cli.demo import copy_boat, demo_files, steps
from dabchick.storage.folder import open_boat
from dabchick.studies import afloat
from tests.support.command import Answer, as_process, dabchick


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Answer, Path]:
    out = tmp_path_factory.mktemp("demo") / "out"
    return as_process("demo", out, "--json"), out


@pytest.fixture(scope="module")
def results(told: tuple[Answer, Path]) -> dict[str, Any]:
    """The last result of each command."""
    return {step["command"].split()[1]: step["result"] for step in told[0].json["steps"]}


def test_it_runs_through_and_leaves_boat_and_sheet(told: tuple[Answer, Path]) -> None:
    answer, out = told
    assert answer.code == 0, answer.err
    assert [step["exit_code"] for step in answer.json["steps"]] == [0] * 9
    assert (out / "trim-sheet.pdf").read_bytes().startswith(b"%PDF-")
    assert "<svg" in (out / "trim-drawing.svg").read_text("utf-8")[:500]
    assert (out / "wren" / "boat.toml").is_file()


def test_nothing_has_to_be_put_right(results: dict[str, Any]) -> None:
    assert results["check"]["error_count"] == 0
    assert results["check"]["clashes"] == []


def test_the_trim_keeps_every_wish_with_little_lead(results: dict[str, Any]) -> None:
    """The wishes stand in the boat file: 82 mm, 12 g, BG 5 mm; right is 1 mm, 0.5 deg, 2 g."""
    trim = results["trim"]
    surfaced, dived = trim["after"]
    assert trim["feasible"]
    assert trim["applied"]
    assert trim["added_lead_kg"] < 0.05 * surfaced["mass_kg"]["value"]
    for mark in ("draught_bow_m", "draught_stern_m"):
        assert surfaced[mark]["value"] == pytest.approx(0.082, abs=0.001)
    for lie in (surfaced, dived):
        assert abs(lie["trim_deg"]["value"]) < 0.5
        assert abs(lie["heel_deg"]["value"]) < 0.5
        assert lie["stable"]
        assert lie["force_residual"] < 1e-6
        assert lie["moment_residual"] < 1e-8
    assert dived["lift_kg"]["value"] == pytest.approx(0.012, abs=0.002)
    assert dived["bg_m"]["value"] >= 0.005 - 1e-4


def test_the_saved_boat_lies_as_the_trim_promised(told: tuple[Answer, Path], results: dict[str, Any]) -> None:
    """The proof does not rest on the trim's own vessel: the file is read afresh, lengths to 0.001 mm."""
    _, out = told
    vessel = open_boat(out / "wren").vessel
    promised_surfaced, promised_dived = results["trim"]["after"]
    surfaced = afloat.run(vessel).lie
    dived = afloat.run(vessel, 1.0).under
    assert surfaced.draught_bow_m.value == pytest.approx(
        promised_surfaced["draught_bow_m"]["value"], abs=2e-5
    )
    assert surfaced.draught_stern_m.value == pytest.approx(
        promised_surfaced["draught_stern_m"]["value"], abs=2e-5
    )
    assert dived.trim_deg.value == pytest.approx(promised_dived["trim_deg"]["value"], abs=0.02)
    assert dived.lift_kg.value == pytest.approx(promised_dived["lift_kg"]["value"], abs=2e-5)


def test_the_tank_rule_holds_on_her(results: dict[str, Any]) -> None:
    """Closed form (section 4 of docs/method.md): dived she is heavier by the tank water alone."""
    surfaced, dived = results["trim"]["after"]
    vessel_tank = results["tank"]["present_m3"]
    density = results["afloat"]["water_density_kg_m3"]
    assert dived["mass_kg"]["value"] - surfaced["mass_kg"]["value"] == pytest.approx(
        density * vessel_tank, rel=1e-9
    )
    # Floating on the waterline and hanging with lift: what stands out of the water is the tank plus the lift.
    above = dived["displaced_m3"] - surfaced["displaced_m3"]
    assert above == pytest.approx(vessel_tank + dived["lift_kg"]["value"] / density, rel=1e-4)


def test_her_own_comments_survive_the_trim(told: tuple[Answer, Path]) -> None:
    _, out = told
    before = next(entry for entry in demo_files() if entry.name == "boat.toml").read_text("utf-8")
    after = (out / "wren" / "boat.toml").read_text("utf-8")
    comments = [line[line.index("#") :] for line in before.splitlines() if "#" in line]
    assert len(comments) > 30
    for comment in comments:
        assert comment in after


def test_the_story_is_told_in_commands_that_one_could_type(
    told: tuple[Answer, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    _, out = told
    wanted = [("dabchick", *step.arguments) for step in steps(out / "wren", out)]
    assert [step["command"] for step in told[0].json["steps"]] == [" ".join(words) for words in wanted]
    again = dabchick(capsys, *wanted[2][1:], "--json")
    assert again.code == 0
    assert json.loads(again.out)["boat"] == "Wren"


def test_a_changed_demo_boat_is_kept_when_it_is_copied_again(tmp_path: Path) -> None:
    folder = tmp_path / "wren"
    copy_boat(folder)
    file = folder / "boat.toml"
    mine = file.read_text("utf-8") + "# my own note\n"
    file.write_text(mine, encoding="utf-8")
    copy_boat(folder)
    assert "# my own note" not in file.read_text("utf-8")
    assert mine in [kept.read_text("utf-8") for kept in (folder / ".history").iterdir()]
