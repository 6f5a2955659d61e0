"""The published SUBOFF form at 1.0 m through the whole main job, by the commands in its README."""

import importlib.util
import re
import shutil
from pathlib import Path

import pytest

from tests.support.command import Answer, dabchick

EXAMPLE = Path(__file__).parents[2] / "examples" / "suboff"
STRAIGHT_ON = ("--seconds", "60")


@pytest.fixture(scope="module")
def suboff(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the example with its hull built afresh."""
    folder = tmp_path_factory.mktemp("example") / "suboff"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("*.stl", "*.csv", ".history"))
    spec = importlib.util.spec_from_file_location("build_hull", EXAMPLE / "build_hull.py")
    assert spec is not None
    assert spec.loader is not None
    build = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(build)
    mesh, _ = build.write(folder)
    assert int.from_bytes(mesh.read_bytes()[80:84], "little") >= 50_000
    return folder


def test_the_whole_job(suboff: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Sheet lead, so the answer is exact: 0.1 mm at both marks, 0.02 deg, 0.1 g in the saved file."""

    def done(*arguments: object) -> Answer:
        answer = dabchick(capsys, arguments[0], suboff, *arguments[1:], "--json")
        assert answer.code == 0, answer.out
        return answer

    assert done("check").json["error_count"] == 0
    weights = done("weights").json
    tank = done("tank").json
    assert tank["present_m3"] == pytest.approx(tank["volume_m3"]["value"], rel=0.1)
    found = done("trim", "--apply", *STRAIGHT_ON).json
    assert found["feasible"]
    assert 0.0 < found["added_lead_kg"] < 0.05 * weights["mass_kg"]["value"]

    surfaced = done("afloat").json["lie"]
    for mark in ("draught_bow_m", "draught_stern_m"):
        assert surfaced[mark]["value"] == pytest.approx(0.092, abs=1e-4)
    dived = done("afloat", "--dived").json["under"]
    assert dived["lift_kg"]["value"] == pytest.approx(0.012, abs=1e-4)
    assert dived["bg_m"]["value"] >= 0.005 - 1e-4
    for lie in (surfaced, dived):
        assert abs(lie["trim_deg"]["value"]) < 0.02
        assert abs(lie["heel_deg"]["value"]) < 0.02
        assert lie["stable"]

    written = done("sheet", "--out", tmp_path).json["written"]
    assert sorted(Path(path).suffix for path in written) == [".csv", ".pdf", ".svg"]


def test_her_readme_names_commands_that_exist(capsys: pytest.CaptureFixture[str]) -> None:
    lines = re.findall(
        r"^dabchick (\w+) examples/suboff", (EXAMPLE / "README.md").read_text("utf-8"), re.MULTILINE
    )
    assert {"check", "weights", "afloat", "tank", "trim", "sheet"} <= set(lines)
    for name in set(lines):
        assert dabchick(capsys, name, "--help").code == 0
