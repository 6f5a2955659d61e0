"""The page of hand measures: what it begins with, what it is told, and the hull that it makes."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.storage.measures_file import read_measures
from dabchick.studies.measures import run
from tests.support.measured import series58, taken
from tests.support.workbench import ended

ADDRESS = "/api/boats/wren/measures"


def table(**slips: dict[int, float]) -> dict[str, Any]:
    """Measures of an invented boat of 900 mm as a page sends them, in mm."""
    rows = []
    for one in taken(series58, 5, **slips).stations:
        values = (one.x_m, one.beam_m, one.height_m, one.keel_m, one.girth_m)
        rows.append(["" if value is None else f"{900.0 * value:.1f}" for value in values])
    return {
        "unit": "mm",
        "measured_from": "bow",
        "girth": "whole",
        "calliper": "0.3 mm",
        "tape": "1 mm",
        "rows": rows,
    }


def looked(laptop: TestClient, wish: dict[str, Any]) -> Any:
    """What the page is told in the end."""
    answer = laptop.post(ADDRESS, json=wish)
    assert answer.status_code == 200, answer.text
    look = answer.json()
    assert look["advice"] == []
    job = look["job"]["job"]
    response = laptop.get(f"/api/jobs/{job}")
    assert ended(laptop, response)["state"] == "done"
    return laptop.get(f"/api/jobs/{job}/measures").json()


def test_it_begins_with_places_along_the_present_hull(laptop: TestClient) -> None:
    start = laptop.get(ADDRESS).json()
    assert start["file"] == ""
    places = [row[0] for row in start["table"]["rows"]]
    assert (places[0], places[-1], len(places)) == ("0", "900", 11)
    assert start["table"]["measured_from"] == "bow"
    assert start["usual"]["tape"] == "1.0 mm"


def test_a_slip_is_told_at_its_row_with_the_value_in_line(laptop: TestClient) -> None:
    found = looked(laptop, table(height={4: -0.007}))
    (slip,) = found["slips"]
    assert (slip["row"], slip["measure"]) == (4, "height")
    assert slip["in_line"] in slip["sentence"]
    assert len(found["stations"]) == 11
    assert found["stations"][0]["outline"] == []
    # The drawing is the boat's own size.
    assert max(x for x, _ in found["side"]) == pytest.approx(0.9)
    assert min(z for _, z in found["side"]) == pytest.approx(0.0, abs=1e-6)


def test_what_cannot_be_is_told_at_its_cell_and_begins_no_work(laptop: TestClient) -> None:
    wish = table()
    wish["rows"][3][4] = "200"
    wish["rows"][5][1] = "wide"
    look = laptop.post(ADDRESS, json=wish).json()
    assert look["job"] is None
    assert [entry["key"] for entry in look["advice"]] == ["station[6].beam"]
    wish["rows"][5][1] = "128"
    (girth,) = laptop.post(ADDRESS, json=wish).json()["advice"]
    assert girth["key"] == "station[4].girth"
    assert "(diamond)" in girth["allowed"]
    assert girth["where"] == ""


def test_used_as_hull_it_is_her_hull_and_undo_gives_the_old_one_back(laptop: TestClient, shelf: Path) -> None:
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    revision = laptop.get("/api/boats/wren").json()["revision"]
    state = laptop.post(f"{ADDRESS}/use", json={"base": revision, "by": "test", "table": table()}).json()
    assert state["undo"] == "Take wren-measures.csv as the hull"
    hull = tomllib.loads((shelf / "wren" / "boat.toml").read_text("utf-8"))["hull"]
    assert hull["measures"] == "wren-measures.csv"
    assert "stations" not in hull
    assert hull["waterline"]
    found = run(read_measures(shelf / "wren" / "wren-measures.csv"))
    figures = {line["label"]: line["figure"] for line in laptop.get("/api/boats/wren/hull").json()["lines"]}
    assert laptop.get("/api/boats/wren/hull").json()["file"] == "wren-measures.csv"
    # The mesh against the sections' integral: two routes to one volume.
    assert figures["Volume of the form"]["value"] == pytest.approx(found.volume_m3.value, rel=5e-4)
    assert open_boat(shelf / "wren").vessel.length_m == pytest.approx(0.9, abs=1e-6)
    again = laptop.get(ADDRESS).json()
    assert again["file"] == "wren-measures.csv"
    assert again["table"]["rows"] == table()["rows"]
    laptop.post("/api/boats/wren/undo", json={"base": state["revision"], "by": "test"})
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before


def test_another_afternoon_does_not_overwrite_the_first(laptop: TestClient, shelf: Path) -> None:
    for wish in (table(), table(), table(girth={5: 0.001})):
        revision = laptop.get("/api/boats/wren").json()["revision"]
        assert (
            laptop.post(f"{ADDRESS}/use", json={"base": revision, "table": wish, "by": ""}).status_code == 200
        )
    names = sorted(file.name for file in (shelf / "wren").glob("*measures*"))
    assert names == ["wren-measures-2.csv", "wren-measures.csv"]


def test_refused_measures_leave_no_file(laptop: TestClient, shelf: Path) -> None:
    wish = table()
    wish["girth"] = ""
    revision = laptop.get("/api/boats/wren").json()["revision"]
    assert laptop.post(f"{ADDRESS}/use", json={"base": revision, "table": wish, "by": ""}).status_code == 422
    good = {"base": revision + 5, "table": table(), "by": ""}
    assert laptop.post(f"{ADDRESS}/use", json=good).status_code == 409
    assert list((shelf / "wren").glob("*measures*")) == []


def test_a_file_outside_the_folder_is_not_read(laptop: TestClient, shelf: Path) -> None:
    (shelf / "secret.csv").write_text("unit, mm\nstation_x, beam, height\n1, 2, 3\n", encoding="utf-8")
    file = shelf / "wren" / "boat.toml"
    text = file.read_text("utf-8").replace('stations = "wren-stations.csv"', 'measures = "../secret.csv"')
    file.write_text(text, encoding="utf-8")
    assert laptop.get(ADDRESS).json()["file"] == ""


def test_scale_table_answers_while_one_types(laptop: TestClient) -> None:
    full = {"length": "62 m", "beam": "6.2 m", "draught": "4.3 m", "displacement": "620 t"}
    found = laptop.get("/api/scale", params={**full, "scales": "48, 1:60"}).json()
    assert [row["scale"] for row in found["rows"]] == ["1:48", "1:60"]
    # 62 m / 60 and 4.3 m / 60 by hand.
    assert found["rows"][1]["sizes"]["length"] == "1033.333 mm"
    assert found["rows"][1]["sizes"]["waterline"] == "71.667 mm"
    assert found["rows"][0]["dived"] == "–"
    half = laptop.get("/api/scale", params={**full, "beam": "6.2", "speed": "16 g"}).json()
    assert half["rows"] == []
    assert [entry["key"] for entry in half["advice"]] == ["beam", "speed"]
    assert laptop.get("/api/scale", params={**full, "scales": "x"}).json()["advice"][0]["key"] == "scales"
