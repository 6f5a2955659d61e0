"""From tape and calliper to a boat that floats, and from a full-size boat to a scale, by command."""

import json
from pathlib import Path
from typing import Any

import pytest
import trimesh

from dabchick.cli.demo import copy_boat
from dabchick.storage.folder import open_boat
from dabchick.storage.measures_file import read_measures
from dabchick.studies import measures, scale
from dabchick.studies.result import as_json
from tests.support.command import dabchick
from tests.support.measured import as_csv, series58, taken

Capsys = pytest.CaptureFixture[str]
COASTAL = ("--length", "62 m", "--beam", "6.2 m", "--draught", "4.3 m", "--displacement", "620 t")


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    file = tmp_path / "bench.csv"
    file.write_text(as_csv(taken(series58, 5)), encoding="utf-8")
    return file


def test_measures_become_a_table_a_mesh_and_a_boats_hull(bench: Path, tmp_path: Path, capsys: Capsys) -> None:
    table, mesh = tmp_path / "stations.csv", tmp_path / "hull.stl"
    answer = dabchick(capsys, "measures", bench, "--stations", table, "--mesh", mesh)
    assert answer.code == 0, answer.words
    assert "nineteen times in twenty" in answer.words
    assert "0.5 mm of spread in the stations' places" in answer.words
    drawn = trimesh.load(mesh)
    assert drawn.is_watertight
    volume = measures.run(read_measures(bench)).volume_m3.value
    # STL in mm; the mesh against the sections' integral.
    assert drawn.volume * 1e-9 == pytest.approx(volume, rel=5e-4)
    hulls = {}
    for key in ("measures", "stations"):
        folder = tmp_path / key
        copy_boat(folder)
        text = (folder / "boat.toml").read_text("utf-8")
        source = bench if key == "measures" else table
        (folder / source.name).write_bytes(source.read_bytes())
        text = text.replace('stations = "wren-stations.csv"', f'{key} = "{source.name}"')
        (folder / "boat.toml").write_text(text, encoding="utf-8")
        hulls[key] = open_boat(folder).vessel
    assert hulls["measures"].hull.volume == pytest.approx(hulls["stations"].hull.volume, rel=1e-5)
    assert any("bench.csv: Hand measures at 11 stations" in text for text in hulls["measures"].assumptions)
    answer = dabchick(capsys, "check", tmp_path / "measures")
    assert answer.code in (0, 1)


def test_a_slip_is_a_finding(tmp_path: Path, capsys: Capsys) -> None:
    file = tmp_path / "bench.csv"
    file.write_text(as_csv(taken(series58, 5, girth={6: 0.02})), encoding="utf-8")
    answer = dabchick(capsys, "measures", file)
    assert answer.code == 1
    assert "The girth at station 7 (580.0 mm from the bow) is out of line." in answer.words
    assert "! girth" in answer.out
    found = dabchick(capsys, "measures", file, "--json")
    assert found.code == 1
    assert found.json["slips"][0]["station"] == 6


def test_command_and_python_give_the_same_digits(bench: Path, capsys: Capsys) -> None:
    whole = as_json(measures.run(read_measures(bench)))
    del whole["form"]
    assert dabchick(capsys, "measures", bench, "--json").json == json.loads(json.dumps(whole))
    full = scale.FullSize(62.0, 6.2, 4.3, 620e3)
    wanted = json.loads(json.dumps(as_json(scale.run(full, (48.0, 60.0)))))
    assert dabchick(capsys, "scale", *COASTAL, "--scales", "48,60", "--json").json == wanted


def test_nothing_is_written_over_and_mistakes_say_where(bench: Path, tmp_path: Path, capsys: Capsys) -> None:
    there = tmp_path / "there.csv"
    there.write_text("mine", encoding="utf-8")
    answer = dabchick(capsys, "measures", bench, "--stations", there, "--mesh", tmp_path / "hull.obj")
    assert answer.code == 2
    assert "already" in answer.words
    assert ".stl" in answer.words
    assert there.read_text("utf-8") == "mine"
    bench.write_text(bench.read_text("utf-8").replace("girth, whole\n", ""), encoding="utf-8")
    answer = dabchick(capsys, "measures", bench)
    assert answer.code == 2
    assert "girth, half shell" in answer.words
    answer = dabchick(capsys, "measures", tmp_path / "none.csv", "--json")
    assert answer.json["errors"][0]["what"] == "There is no such file."


def test_a_boat_whose_measures_are_wrong_says_file_and_line(
    bench: Path, tmp_path: Path, capsys: Capsys
) -> None:
    folder = tmp_path / "wren"
    copy_boat(folder)
    file = folder / "boat.toml"
    file.write_text(
        file.read_text("utf-8").replace('stations = "wren-stations.csv"', 'measures = "bench.csv"'),
        encoding="utf-8",
    )
    (folder / "bench.csv").write_text(bench.read_text("utf-8").replace("whole", "half"), encoding="utf-8")
    answer = dabchick(capsys, "check", folder)
    assert answer.code == 2
    assert "bench.csv:8" in answer.words
    assert "girth, whole" in answer.words


@pytest.mark.parametrize("inch", [False, True])
def test_scale_prints_a_table_with_its_rules_of_thumb(inch: bool, capsys: Capsys) -> None:
    answer = dabchick(capsys, "scale", *COASTAL, "--speed", "16 kn", *(["--inch"] if inch else []))
    assert answer.code == 0
    # 62 m at 1:60 by hand: 1033.3 mm, 40.682 in.
    assert ("40.682 in" if inch else "1033.3 mm") in answer.words
    for words in (
        "1:24",
        "!! two or more",
        "common practice, no source",
        "Too heavy for one person",
        "1.06 m/s (2.1 kn)",
    ):
        assert words in answer.words
    # Nothing is cut to fit eighty columns.
    assert all(len(line) <= 80 for line in answer.out.splitlines())


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--scales", "48,big"), "not a number"),
        (("--speed", "16 g"), "a speed is wanted"),
        (("--dived", "600 t"), "Dived she displaces less"),
        (("--displacement", "2600 t"), "box of her length"),
    ],
)
def test_scale_says_what_is_wrong(more: tuple[str, str], words: str, capsys: Capsys) -> None:
    answer = dabchick(capsys, "scale", *COASTAL, *more)
    assert answer.code == 2
    assert words in answer.words


NUMBERS_WITHOUT_UNIT = {
    "exponent", "measured_exponent", "spreads", "station", "scale", "froude_number", "fullness",
}  # fmt: skip


@pytest.mark.parametrize("name", ["measures", "scale"])
def test_every_number_in_json_says_its_unit(name: str, bench: Path, capsys: Capsys) -> None:
    given: tuple[Any, ...] = (bench,) if name == "measures" else COASTAL
    numbers = set(_numbers(dabchick(capsys, name, *given, "--json").json, ""))
    assert len(numbers) > 6
    units = ("_m", "_m2", "_m3", "_kg", "_m_s")
    assert {key for key in numbers if not key.endswith(units)} <= NUMBERS_WITHOUT_UNIT


def _numbers(value: Any, key: str) -> Any:
    if isinstance(value, dict):
        for name, entry in value.items():
            yield from _numbers(entry, key if name in ("value", "spread") else name)
    elif isinstance(value, list):
        for entry in value:
            yield from _numbers(entry, key)
    elif isinstance(value, int | float):
        yield key
