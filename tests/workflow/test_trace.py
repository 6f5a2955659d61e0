"""From a traced plan to a boat: the command, the files it writes, and the boat that has the trace as her hull."""

import json
from pathlib import Path

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.trace import TraceDoc
from dabchick.physics.surface import faults
from dabchick.storage.folder import open_boat
from dabchick.storage.mesh_file import read_mesh
from dabchick.storage.station_table import read_stations
from dabchick.storage.trace_file import read_trace, trace_text
from dabchick.studies import hull, trace
from dabchick.studies.result import as_json
from tests.support.command import dabchick
from tests.support.sample_trace import sample_trace, section_view

Capsys = pytest.CaptureFixture[str]

BOAT = """\
dabchick = 1
name = "Traced"
measured_from = { x = "bow", z = "keel" }

[hull]
trace = "traced.toml"
skin = { thickness = "1.5 mm", material = "GRP" }
waterline = "60 mm"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "traced.toml").write_text(trace_text(TraceDoc.model_validate(sample_trace())), "utf-8")
    (tmp_path / "boat.toml").write_text(BOAT, "utf-8")
    return tmp_path


def test_command_says_the_figures_with_their_bands(folder: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "trace", folder / "traced.toml")
    assert answer.code == 0
    result = trace.run(read_trace(folder / "traced.toml"))
    for words in (
        f"{result.volume_m3.value * 1e6:.1f} ml +/- {2e6 * result.volume_m3.spread:.1f} ml",
        f"{result.lcb_m.value * 1e3:.1f} mm +/- {2e3 * result.lcb_m.spread:.1f} mm",
        "sail: volume",
        "each section is an ellipse between upper and lower edge",
        "The picture plan.png is not there",
        "The bands hold the noise of tracing alone",
    ):
        assert words in answer.words, words


def test_json_is_the_studys_own_result_without_meshes(folder: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "trace", folder / "traced.toml", "--json")
    result = trace.run(read_trace(folder / "traced.toml"), {}, name="traced")
    assert answer.json == json.loads(json.dumps(as_json(result.without_meshes())))
    assert answer.json["hull"] is None
    assert len(answer.json["stations"]) == len(result.stations)


def test_station_table_and_mesh_hold_the_same_hull(folder: Path, capsys: Capsys) -> None:
    table, mesh = folder / "out.csv", folder / "out.stl"
    answer = dabchick(capsys, "trace", folder / "traced.toml", "--stations", table, "--mesh", mesh)
    assert answer.code == 0
    result = trace.run(read_trace(folder / "traced.toml"), bands=False)
    stations = read_stations(table)
    report = faults(stations.vertices, stations.faces)
    assert report.sound
    # The table keeps a tenth of a micrometre.
    assert report.volume == pytest.approx(result.volume_m3.value, rel=1e-5)
    shells = read_mesh(mesh, "mm", separate_shells=True)
    both = faults(shells.vertices, shells.faces)
    assert both.clean
    assert len(both.bodies) == 2
    assert both.volume == pytest.approx(result.volume_m3.value + result.bodies[0].volume_m3.value, rel=1e-5)


def test_boat_has_the_trace_as_her_hull(folder: Path) -> None:
    """Length over all 600 mm and the sail as a shell of the hull: top at its traced 122 mm over the view's zero."""
    boat = open_boat(folder)
    figures = hull.run(boat.vessel)
    result = trace.run(read_trace(folder / "traced.toml"), bands=False)
    assert figures.length_m == pytest.approx(0.6, rel=1e-6)
    assert figures.form_volume_m3 == pytest.approx(
        result.volume_m3.value + result.bodies[0].volume_m3.value, rel=1e-9
    )
    assert figures.height_m == pytest.approx(0.122 + 0.0, abs=1e-3)
    assert any(text.startswith("traced.toml: each section is an ellipse") for text in boat.vessel.assumptions)


def test_hull_kept_ready_follows_the_content_of_the_trace(folder: Path) -> None:
    """Traced again half as broad, under the same name: half the volume of hull, by the half-breadths alone."""
    before = hull.run(open_boat(folder).vessel)
    plan = sample_trace()
    for view in plan["view"]:
        view["curve"] = [curve for curve in view["curve"] if not curve.get("body")]
    plan["body"] = []
    volumes = []
    for share in (1.0, 0.5):
        for point in plan["view"][1]["curve"][0]["points"]:
            point[1] = 900.0 - share * (900.0 - point[1])
        (folder / "traced.toml").write_text(trace_text(TraceDoc.model_validate(plan)), "utf-8")
        volumes.append(hull.run(open_boat(folder).vessel).form_volume_m3)
    assert before.form_volume_m3 > volumes[0]
    assert volumes[1] == pytest.approx(0.5 * volumes[0], rel=2e-3)


def test_mistakes_of_the_trace_come_with_its_own_lines_and_nothing_is_changed(
    folder: Path, capsys: Capsys
) -> None:
    plan = sample_trace()
    plan["view"][1]["scale"]["length"] = "485 mm"
    plan["view"].append(section_view("650 mm", 0.04, 0.0, 0.083))
    text = trace_text(TraceDoc.model_validate(plan))
    (folder / "traced.toml").write_text(text, "utf-8")
    with pytest.raises(BoatError) as caught:
        open_boat(folder)
    lines = text.splitlines()
    found = {entry.where.rsplit(":", 1)[0]: [] for entry in caught.value.advice}
    assert list(found) == ["traced.toml"]
    for entry, words in zip(caught.value.advice, ("485 mm", 'at = "650 mm"'), strict=True):
        assert words in lines[int(entry.where.rsplit(":", 1)[1]) - 1]
    answer = dabchick(capsys, "trace", folder / "traced.toml", "--stations", folder / "out.csv")
    assert answer.code == 2
    assert "600.0 mm from the side, 582.0 mm from above" in answer.words
    assert "outside the hull" in answer.words
    assert sorted(path.name for path in folder.iterdir()) == ["boat.toml", "traced.toml"]
    assert (folder / "traced.toml").read_text("utf-8") == text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('trace = "traced.toml"', 'trace = "traced.toml"\nstations = "a.csv"', "two forms: stations, trace"),
        (
            'trace = "traced.toml"',
            'trace = "traced.toml"\nunit = "mm"',
            '"unit" goes with a mesh; a trace says',
        ),
        ('"traced.toml"', '"other.toml"', "other.toml is not in the boat's folder"),
        ('"traced.toml"', '"../traced.toml"', "outside the boat's folder"),
        ("1.5 mm", "11 mm", 'leave nothing hollow in "sail"'),
    ],
)
def test_boat_says_what_does_not_go_with_a_trace(folder: Path, old: str, new: str, words: str) -> None:
    (folder / "boat.toml").write_text(BOAT.replace(old, new), "utf-8")
    with pytest.raises(BoatError, match=words.replace("..", r"\.\.")):
        open_boat(folder)


def test_body_kept_out_of_the_hull_is_said(folder: Path) -> None:
    plan = sample_trace()
    plan["body"][0]["part_of_hull"] = False
    (folder / "traced.toml").write_text(trace_text(TraceDoc.model_validate(plan)), "utf-8")
    (folder / "boat.toml").write_text(BOAT.replace("1.5 mm", "11 mm"), "utf-8")
    boat = open_boat(folder)
    assert (
        "traced.toml: sail is not part of the hull: the boat file has it as a part" in boat.vessel.assumptions
    )
    assert not any("sail: " in text for text in boat.vessel.assumptions)
    assert len(np.unique(boat.hull.faces)) == len(boat.hull.vertices)


def test_bodies_that_run_into_each_other_are_refused(folder: Path) -> None:
    """Two pairs of planes at one place, 5 mm apart in height and 20 mm thick."""
    plan = sample_trace()
    plan["body"].append({"name": "fin", "kind": "plane", "thickness": "20 mm", "height": "75 mm"})
    plan["body"].append({"name": "fin 2", "kind": "plane", "thickness": "20 mm", "height": "70 mm"})
    corners = [(0.2, 0.02), (0.2, 0.09), (0.25, 0.09), (0.25, 0.02)]
    for name in ("fin", "fin 2"):
        plan["view"][1]["curve"].append(
            {
                "role": "outline",
                "body": name,
                "points": [[150.0 + 2000.0 * x, 900.0 - 2000.0 * y] for x, y in corners],
                "corners": [0, 1, 2, 3],
            }
        )
    (folder / "traced.toml").write_text(trace_text(TraceDoc.model_validate(plan)), "utf-8")
    with pytest.raises(BoatError, match='"fin" and "fin 2" run into each other'):
        open_boat(folder)
