"""Files of hand measures: read in any unit, every mistake told at once with its place, and the hull that comes out."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from dabchick.model.advice import Advice, BoatError
from dabchick.model.measures import measures_of
from dabchick.storage.measures_file import (
    cells_of,
    form_of,
    measures_in,
    measures_text,
    read_measured_hull,
    read_measures,
    stations_text,
)
from dabchick.storage.station_table import read_stations
from tests.support.measured import as_csv, series58, taken

HEAD = "unit, mm\nmeasured from, bow\ngirth, whole\nstation_x, beam, height, keel, girth\n"
ROWS = (
    "0, 0, 0, 45,\n"
    "40, 60, 62, 14, 192\n"
    "150, 80, 82, 4, 255\n"
    "300, 80, 82, 4, 255\n"
    "420, 50, 52, 19, 160\n"
    "500, 0, 0, 45,\n"
)


def told(text: str) -> tuple[Advice, ...]:
    with pytest.raises(BoatError) as caught:
        measures_in(text, "bench.csv")
    for entry in caught.value.advice:
        assert entry.what
        assert entry.todo
    return caught.value.advice


def test_measures_come_out_in_metres_with_their_lines() -> None:
    hand = measures_in(HEAD + ROWS, "bench.csv")
    assert (hand.stations[1].x_m, hand.stations[1].beam_m, hand.stations[1].girth_m) == pytest.approx(
        (0.04, 0.06, 0.192)
    )
    assert hand.stations[0].girth_m is None
    assert hand.stations[1].where == "bench.csv:6"
    assert hand.calliper_m is None
    # From the bow: the last row is the aftermost station.
    assert measures_of(hand).x == pytest.approx([-0.5, -0.42, -0.3, -0.15, -0.04, 0.0])


def test_units_stand_in_the_head_in_the_heading_or_behind_the_number() -> None:
    inch = measures_in(
        "measured from, bow\ngirth, half\nx (in), beam [in], height in in, keel (mm), girth (cm)\n"
        "0, 0, 0, 45,\n1 5/8, 2 3/8 in, 60 mm, 14, 9.6\n6, 3, 3.2, 4, 12.7\n"
        "12, 3, 3.2, 4, 12.7\n17, 2, 2, 19, 8\n20, 0, 0, 45,\n",
        "bench.csv",
    )
    one = inch.stations[1]
    # By hand: 1 5/8 in = 41.275 mm, 2 3/8 in = 60.325 mm; half a girth of 9.6 cm makes 192 mm all round.
    assert (one.x_m, one.beam_m, one.height_m) == pytest.approx((0.041275, 0.060325, 0.06))
    assert measures_of(inch).girth[-2] == pytest.approx(0.192)
    assert inch.units == "inch"


def test_semicolons_let_decimal_commas_in() -> None:
    text = (HEAD + ROWS).replace(",", ";").replace("62;", "61,5;")
    assert measures_in(text, "bench.csv").stations[1].height_m == pytest.approx(0.0615)


@pytest.mark.parametrize(
    ("text", "words", "key"),
    [
        ("", "no measures", ""),
        (HEAD, "0 stations", ""),
        ("unit, mm\n", "no header", ""),
        (HEAD.replace("mm", "furlong") + ROWS, "unit of length", "unit"),
        (HEAD.replace("unit, mm\n", "") + ROWS, "no unit", "station[1].keel"),
        (HEAD.replace("bow", "middle") + ROWS, "not known", "measured from"),
        (HEAD.replace("measured from, bow\n", "") + ROWS, "measured from", "measured from"),
        (HEAD.replace("girth, whole\n", "") + ROWS, "what the tape went round", "girth"),
        (HEAD.replace("keel", "colour") + ROWS, "column is not known", ""),
        (HEAD.replace("height", "beam") + ROWS, "two columns", ""),
        (HEAD.replace(", height", "") + ROWS.replace(", 62", ""), "no column for height", ""),
        (HEAD + ROWS.replace("62", "nan"), "nan", "station[2].height"),
        (HEAD + ROWS.replace("62", "tall"), "tall", "station[2].height"),
        (HEAD + ROWS.replace("62", "62 g"), "is a mass", "station[2].height"),
        (HEAD + ROWS.replace(" 62,", ","), "height of this station is missing", "station[2].height"),
        (HEAD + ROWS.replace("150, 80", "150, 0"), "between the ends", "station[3].beam"),
        (HEAD + ROWS.replace("150, 80", "150, -80"), "below 0", "station[3].beam"),
        (HEAD + ROWS.replace("300, 80", "150, 80"), "stands twice", "station[4].x"),
        (HEAD + ROWS.replace("300, 80", "100, 80"), "out of order", "station[4].x"),
        (HEAD + ROWS.replace("192", "160"), "diamond", "station[2].girth"),
        (HEAD + ROWS.replace("192", "270"), "box", "station[2].girth"),
        (HEAD + ROWS.replace("192", "192, 7"), "6 cells", "station[2]"),
        (HEAD + "\n".join(ROWS.split("\n")[:4]), "4 stations", ""),
        ("calliper, 0 mm\n" + HEAD + ROWS, "spread of the calliper", "calliper"),
        ("bow, blunt\n" + HEAD + ROWS, "not known", "bow"),
        ("bow, radius 60 mm\n" + HEAD + ROWS, "reaches past", "bow"),
        ("bow, round\nbow, round\n" + HEAD + ROWS, "set twice", "bow"),
        (HEAD.replace("mm", "m") + ROWS, "would be 500 m long", "unit"),
    ],
)  # fmt: skip
def test_mistakes_are_told_with_their_place(text: str, words: str, key: str) -> None:
    advice = told(text)
    hits = [entry for entry in advice if words in f"{entry.what} {entry.given} {entry.todo}"]
    assert hits, advice
    assert key in {entry.key for entry in hits}


def test_a_girth_taken_another_way_is_guessed_and_the_range_is_told() -> None:
    # 96 mm is half of a girth that would do; diamond 2 sqrt(60^2 + 62^2) = 172.6, box 2 (60 + 62) = 244 mm.
    (half,) = told(HEAD + ROWS.replace("192", "96"))
    assert "girth, half" in half.todo
    assert half.allowed == "172.6 mm (diamond) to 244.0 mm (box)"
    (whole,) = [
        entry for entry in told(HEAD.replace("whole", "half shell") + ROWS) if entry.key == "station[2].girth"
    ]
    assert "girth, whole" in whole.todo


def test_all_mistakes_are_told_at_once() -> None:
    keys = {entry.key for entry in told(HEAD + ROWS.replace("62", "tall").replace("255", "long"))}
    assert keys == {"station[2].height", "station[3].girth", "station[4].girth"}


def test_files_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "picture.csv").write_bytes(b"\xff\xfe\x00")
    for name, words in (("none.csv", "no such file"), (".", "folder"), ("picture.csv", "not plain text")):
        with pytest.raises(BoatError, match=words):
            read_measures(tmp_path / name)


def test_hull_is_closed_and_its_station_table_is_the_same_hull(tmp_path: Path) -> None:
    file = tmp_path / "bench.csv"
    file.write_text(as_csv(taken(series58, 3)), encoding="utf-8")
    hull = read_measured_hull(file)
    mesh = trimesh.Trimesh(hull.vertices, hull.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert hull.vertices[:, 0].min() == pytest.approx(0.0, abs=1e-12)
    hand = read_measures(file)
    table = tmp_path / "stations.csv"
    table.write_text(stations_text(form_of(hand), hand), encoding="utf-8")
    again = read_stations(table)
    other = trimesh.Trimesh(again.vertices, again.faces, process=False)
    assert other.is_watertight
    # Written to a thousandth of a millimetre.
    assert other.volume == pytest.approx(mesh.volume, rel=1e-5)
    assert np.ptp(again.vertices, axis=0) == pytest.approx(np.ptp(hull.vertices, axis=0), abs=2e-6)


@pytest.mark.parametrize("end", ["flat", "edge", "tip"])
def test_every_kind_of_end_closes(end: str, tmp_path: Path) -> None:
    """A transom, a stem that is an upright edge, and a point, each at the stern."""
    stern = {"flat": "500, 24, 30, 30, 90", "edge": "500, 0, 40, 20,", "tip": "500, 0, 0, 45,"}[end]
    file = tmp_path / "bench.csv"
    file.write_text(HEAD + ROWS.replace("500, 0, 0, 45,", stern), encoding="utf-8")
    hull = read_measured_hull(file)
    mesh = trimesh.Trimesh(hull.vertices, hull.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume > 0.0
    assert any("ends flat" in text for text in hull.assumptions) == (end == "flat")


def test_inches_and_millimetres_are_one_hull(tmp_path: Path) -> None:
    volumes = []
    for unit in ("mm", "in"):
        file = tmp_path / f"{unit}.csv"
        file.write_text(as_csv(taken(series58, 6), unit), encoding="utf-8")
        hull = read_measured_hull(file)
        volumes.append(trimesh.Trimesh(hull.vertices, hull.faces, process=False).volume)
    # Cells of 0.0001 in against 0.0001 mm.
    assert volumes[1] == pytest.approx(volumes[0], rel=1e-4)


def test_what_is_typed_survives_the_file() -> None:
    settings = {"unit": "mm", "measured from": "bow", "girth": "whole", "bow": "radius 3 mm", "tape": ""}
    rows = [["0", "0", "0", "45", ""], ["1 1/2 in", "60", "62,5", "14", "=192"]]
    cells = cells_of(
        measures_text(settings, ("station_x", "beam", "height", "keel", "girth"), rows), "bench.csv"
    )
    assert cells.settings == {key: value for key, value in settings.items() if value}
    assert [list(row) for row in cells.rows] == rows
