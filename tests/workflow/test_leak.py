"""A slow leak as a builder meets it at the command line."""

import math
from pathlib import Path

import pytest

from dabchick.model.advice import BoatError
from dabchick.studies.leak_ask import way_of
from dabchick.studies.leak_source import LeakWay
from tests.support.command import dabchick

Capsys = pytest.CaptureFixture[str]


def test_the_answer_in_words(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "leak", wren, "--drip", "3/min")
    assert answer.code == 0
    words = answer.words.replace("\xa0", " ")
    data = dabchick(capsys, "leak", wren, "--drip", "3/min", "--json").json
    [part] = data["parts"]
    reserve, hours = part["reserve_m3"] * 1e6, part["after_s"] / 3600.0
    # 3 drops of 0.05 ml a minute are 9 ml an hour
    assert hours == pytest.approx(reserve / 9.0, rel=1e-9)
    assert words.startswith(
        f"{reserve:.1f} ml of water in the cylinder and Wren no longer comes up; "
        f"at 3 drops a minute that is {hours:.0f} h."
    )
    for text in (
        "stands on end, bow down",
        "no longer comes up",
        "One water alarm does best at",
        "lithium cells",
        "Assumed:",
        "walls 3.0 mm thick, give or take 1.0 mm",
        "wiring: has no shape",
    ):
        assert text in words, text


def test_a_hole_that_the_air_stops_is_told(wren: Path, capsys: Capsys) -> None:
    answer = dabchick(capsys, "leak", wren, "--hole", "1mm", "--depth", "1m", "--wall", "2.5mm")
    words = answer.words.replace("\xa0", " ")
    assert "the air shut in stops the leak at" in words
    # computed in the reference table: 127.3 ml/min
    assert "Through a hole 1 mm wide, 1 m down: 127 ml/min at the start" in words
    gap = dabchick(capsys, "leak", wren, "--gap", "4mm x 0.05mm x 20mm").words.replace("\xa0", " ")
    assert "where the shaft touches" in gap


def test_a_limit_that_is_missed_is_exit_code_one(wren: Path, capsys: Capsys) -> None:
    fine = dabchick(capsys, "leak", wren, "--least", "100ml", "--least-time", "2h")
    short = dabchick(capsys, "leak", wren, "--least", "2 l")
    slow = dabchick(capsys, "leak", wren, "--drip", "1l/min", "--least-time", "20min")
    assert (fine.code, short.code, slow.code) == (0, 1, 1)
    assert "less than you ask for" in short.words


def test_inch_boats_read_inches(wren: Path, capsys: Capsys) -> None:
    file = wren / "boat.toml"
    file.write_text(file.read_text("utf-8").replace('units = "metric"', 'units = "inch"'), encoding="utf-8")
    words = dabchick(capsys, "leak", wren, "--hole", "1/32 in").words.replace("\xa0", " ")
    assert "in³ of water in the cylinder" in words
    assert "Through a hole 0.0312 in wide, 3.28 ft down" in words
    assert " mm" not in words


@pytest.mark.parametrize(
    ("option", "text", "key"),
    [
        ("--drip", "now and then", "drip"),
        ("--hole", "1 kg", "hole"),
        ("--hole", "1mm x 2mm x 3mm", "hole"),
        ("--gap", "4mm", "gap"),
        ("--part", "bow", "part"),
        ("--depth", "0 m", "depth"),
    ],
)
def test_what_cannot_be_read_is_told(wren: Path, capsys: Capsys, option: str, text: str, key: str) -> None:
    refused = dabchick(capsys, "leak", wren, option, text, "--json")
    assert refused.code == 2
    assert key in {entry["key"] for entry in refused.json["errors"]}


def test_a_time_that_is_none_is_told_at_its_option(wren: Path, capsys: Capsys) -> None:
    refused = dabchick(capsys, "leak", wren, "--least-time", "soon", "--json")
    assert refused.code == 2
    assert [entry["where"] for entry in refused.json["errors"]] == ["command line --least-time"]


@pytest.mark.parametrize(
    ("asked", "way"),
    [
        ({"drip": "3/min"}, LeakWay("drip", 3.0)),
        ({"drip": "3"}, LeakWay("drip", 3.0)),
        ({"drip": "12 drops per hour"}, LeakWay("drip", 0.2)),
        # 9 ml an hour at 0.05 ml a drop
        ({"drip": "9ml/h"}, LeakWay("drip", 3.0)),
        ({"hole": "1mm"}, LeakWay("hole", diameter_m=1e-3)),
        ({"hole": "0.2 mm x 10 mm"}, LeakWay("bore", diameter_m=2e-4, length_m=0.01)),
        ({"gap": "4mm x 0.05mm x 20mm"}, LeakWay("gap", diameter_m=4e-3, gap_m=5e-5, length_m=0.02)),
        ({}, LeakWay("drip", 3.0)),
    ],
)
def test_a_leak_is_read_as_it_is_typed(asked: dict[str, str], way: LeakWay) -> None:
    found = way_of(asked.get("drip"), asked.get("hole"), asked.get("gap"))
    assert found.kind == way.kind
    for name in ("drops_per_min", "diameter_m", "gap_m", "length_m"):
        assert math.isclose(getattr(found, name), getattr(way, name), rel_tol=1e-9), name


def test_two_leaks_at_once() -> None:
    with pytest.raises(BoatError) as fault:
        way_of("3/min", "1 mm", None)
    assert "one leak" in fault.value.advice[0].what
