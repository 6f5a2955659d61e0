"""The weight list over HTTP: cells as written with advice at them, sums as in the study, cells as typed."""

import csv
import io
import tomllib
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import weights
from dabchick.workbench import errors, routes_boat, routes_weights
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.shelf import Shelf
from tests.support.sample_boat import TEXT, write_boat

BOX = "/api/boats/box"
LIST = f"{BOX}/weights"


@pytest.fixture
def page(tmp_path: Path) -> TestClient:
    write_boat(tmp_path / "box")
    return paged(tmp_path)


def paged(folder: Path) -> TestClient:
    shelf = Shelf(folder)
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_boat.router(shelf))
    app.include_router(routes_weights.router(shelf, Jobs()))
    return TestClient(app)


def row(listed: dict[str, Any], key: str) -> dict[str, Any]:
    return next(entry for entry in listed["rows"] if entry["key"] == key)


def cell(page: TestClient, base: int, key: str, column: str, text: str, **more: Any) -> Any:
    table, _, at = key.rstrip("]").partition("[")
    asked = {"base": base, "table": table, "row": int(at or 1) - 1, "column": column, "text": text}
    return page.post(f"{LIST}/cell", json=asked | more)


def text_of(page: TestClient) -> dict[str, Any]:
    return tomllib.loads(page.get(f"{BOX}/text").json()["text"])


def test_rows_as_written(page: TestClient) -> None:
    """The skin, four parts, one tank; what is empty says what counts: 1 g is stated, 0.2 % of 612 g is 1.2 g."""
    listed = page.get(LIST).json()
    assert [entry["key"] for entry in listed["rows"]] == [
        "hull.skin", "part[1]", "part[2]", "part[3]", "part[4]", "tank[1]",
    ]  # fmt: skip
    cylinder, battery, lead = (row(listed, f"part[{number}]")["cells"] for number in (1, 2, 4))
    assert (battery["mass"]["text"], battery["mass"]["path"]) == ("310 g", ["part", 1, "mass", "value"])
    assert (battery["spread"]["text"], battery["x"]["path"]) == ("1 g", ["part", 1, "at", 0])
    assert (cylinder["spread"]["text"], cylinder["spread"]["assumed"]) == ("", "1.2\u00a0g, weighed")
    assert (lead["mass"]["path"], lead["known"]["assumed"]) == (["part", 3, "mass"], "guess")
    assert lead["material"]["assumed"].startswith("lead of 11")
    assert battery["volume"]["assumed"] == "inside cylinder: displaces nothing"
    assert row(listed, "tank[1]")["cells"]["kind"]["text"] == "piston"
    assert "outside" not in row(listed, "tank[1]")["cells"]
    assert row(listed, "tank[1]")["mass"]["text"] == "unknown"
    assert (listed["holders"], listed["axes"]) == (["cylinder"], ["from the bow", "to port", "over the keel"])


def test_totals_are_those_of_the_study(page: TestClient, tmp_path: Path) -> None:
    vessel = open_boat(tmp_path / "box").vessel
    result = weights.run(vessel)
    listed = page.get(LIST).json()
    assert listed["total"]["value"] == result.mass_kg.value
    along = vessel.datum.to_builder(
        (result.centre_x_m.value, result.centre_y_m.value, result.centre_z_m.value)
    )
    assert [figure["value"] for figure in listed["centre"]] == list(along)
    masses = {entry.name: entry.mass_kg.value for entry in result.rows}
    assert row(listed, "part[3]")["mass"]["value"] == masses["servo"]
    doubt = {entry.name: entry.share_of_doubt for entry in result.rows}
    assert row(listed, "part[4]")["matters"].startswith(f"{100.0 * doubt['keel lead']:.0f} % of the doubt")
    assert row(listed, "part[2]")["matters"] == ""
    assert listed["surfaced"]["state"] == "surfaced"
    assert listed["dived"]["state"] == "dived"


@pytest.mark.parametrize(
    ("column", "text", "path", "value"),
    [
        ("mass", "7 oz", ("mass", "value"), "7 oz"),
        ("known", "guess", ("mass", "known"), "guess"),
        ("spread", "", ("mass", "spread"), None),
        ("x", "8 in", ("at", 0), "8 in"),
        ("note", "2 cells", ("note",), "2 cells"),
        ("mass", "heavy", ("mass", "value"), "heavy"),
    ],
)
def test_a_cell_is_saved_as_typed(
    page: TestClient, column: str, text: str, path: tuple[Any, ...], value: Any
) -> None:
    """Nothing else changes, and undo brings the file back letter by letter."""
    state = cell(page, 1, "part[2]", column, text, row_name="battery").json()
    assert state["revision"] == 2
    assert state["undo"].startswith(f"{column.capitalize()} of battery: ")
    found = text_of(page)["part"][1]
    for step in path[:-1]:
        found = found[step]
    if value is None:
        assert path[-1] not in found
    else:
        assert found[path[-1]] == value
    page.post(f"{BOX}/undo", json={"base": 2})
    assert page.get(f"{BOX}/text").json()["text"] == TEXT


def test_a_bare_mass_becomes_a_table_when_it_is_said_how_it_is_known(page: TestClient) -> None:
    cell(page, 1, "part[4]", "known", "weighed")
    assert text_of(page)["part"][3]["mass"] == {"value": "200 g", "known": "weighed"}
    assert "# to be weighed" in page.get(f"{BOX}/text").json()["text"]


def test_the_skin_and_a_tank_s_walls_have_cells_too(page: TestClient) -> None:
    assert cell(page, 1, "skin", "mass", "650 g").json()["errors"] == []
    assert cell(page, 2, "tank[1]", "mass", "120 g").json()["errors"] == []
    listed = page.get(LIST).json()
    assert row(listed, "hull.skin")["mass"]["value"] == pytest.approx(0.65)
    assert row(listed, "tank[1]")["mass"]["value"] == pytest.approx(0.12)


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        ("mass", "7", "has no unit"),
        ("mass", "-7 g", "below zero"),
        ("known", "hoped", "not one of the words"),
        ("z", "52 g", "is a mass, but a length"),
        ("inside", "box", "no part called"),
        ("name", "cylinder", "taken already"),
        ("kind", "heavy", "not one of the words"),
        ("material", "unobtainium", "not in the table"),
        ("volume", "wet", "is not a volume"),
        ("outside", "maybe", "cannot be read"),
        ("x", "9000 mm", "outside the box round the hull"),
    ],
)
def test_a_fault_is_marked_at_its_cell(page: TestClient, column: str, text: str, words: str) -> None:
    """With the advice of the boat file's check; the text stays as it was typed."""
    state = cell(page, 1, "part[2]", column, text).json()
    listed = page.get(LIST).json()
    found = row(listed, "part[2]")["cells"][column]
    assert found["text"] == text
    assert any(words in entry["what"] for entry in found["advice"]), found
    every = state["errors"] + state["warnings"]
    assert all(entry in every for entry in found["advice"])
    if state["errors"]:
        assert (listed["figures_revision"], listed["revision"]) == (1, 2)
        assert listed["total"]["value"] > 1.0


def test_a_part_without_a_mass_is_marked_and_left_out(page: TestClient) -> None:
    cell(page, 1, "part[3]", "mass", "")
    found = row(page.get(LIST).json(), "part[3]")
    assert found["mass"] == {"text": "unknown", "spread": "", "value": None}
    assert found["cells"]["mass"]["assumed"] == "not known: left out of every sum"
    assert "no mass yet" in found["cells"]["mass"]["advice"][0]["what"]


def test_an_older_page_may_still_type_where_nothing_changed(page: TestClient) -> None:
    """A row put in above moves the battery from 1 to 2; its cell is found by name, unless it says otherwise now."""
    moved = {"op": "move row", "table": "part", "row": 1, "to": 0}
    page.post(f"{BOX}/edits", json={"base": 1, "what": "Move", "ops": [moved]})
    old = {"row_name": "battery", "was": "310 g"}
    assert cell(page, 1, "part[2]", "mass", "300 g", **old).status_code == 200
    assert text_of(page)["part"][0]["mass"]["value"] == "300 g"
    late = cell(page, 1, "part[2]", "mass", "290 g", **old)
    assert late.status_code == 409
    assert late.json()["advice"][0]["todo"]
    assert text_of(page)["part"][0]["mass"]["value"] == "300 g"


def test_no_such_row_or_column(page: TestClient) -> None:
    gone = cell(page, 1, "part[9]", "mass", "1 g")
    assert (gone.status_code, gone.json()["advice"][0]["what"]) == (
        422, "There is no such row in the list any more.",
    )  # fmt: skip
    none = cell(page, 1, "tank[1]", "outside", "yes")
    assert (none.status_code, none.json()["advice"][0]["given"]) == (422, "yes")
    assert page.get(f"{BOX}/text").json()["revision"] == 1


def test_a_file_that_is_no_toml_shows_the_last_list(page: TestClient, tmp_path: Path) -> None:
    page.get(LIST)
    (tmp_path / "box/boat.toml").write_text(TEXT.replace('name = "battery"', "name = battery"))
    listed = page.get(LIST).json()
    assert row(listed, "part[2]")["cells"]["name"]["text"] == "battery"
    assert listed["advice"][0]["where"].startswith("boat.toml:")


def test_rows_that_are_no_tables_and_odd_values_break_nothing(tmp_path: Path) -> None:
    text = TEXT.replace('"540 mm", "-12 mm", "60 mm"', "nan, 1979-05-27, [1]").replace(
        "[[place]]", "[[places]]"
    )
    write_boat(tmp_path / "box", text)
    listed = paged(tmp_path).get(LIST).json()
    servo = row(listed, "part[3]")["cells"]
    assert (servo["x"]["text"], servo["y"]["text"], servo["z"]["text"]) == ("nan", "1979-05-27", "[1]")
    assert listed["total"] is None
    assert listed["surfaced"] is None
    assert all(servo[axis]["advice"] for axis in "xyz")


def test_csv_and_paste_by_way_of_an_edit(page: TestClient) -> None:
    answer = page.get(f"{BOX}/weights.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["content-disposition"] == 'attachment; filename="box-parts.csv"'
    assert len(list(csv.DictReader(io.StringIO(answer.text)))) == 4
    looked = page.post(
        f"{LIST}/pasted",
        json={"text": "name,kind,mass (g),inside,x (mm),y,z (mm)\nfuse,inside,2,cylinder,250,0,50\n"},
    ).json()
    assert (looked["advice"], looked["revision"], looked["what"]) == ([], 1, "Paste 1 part")
    assert page.get(BOX).json()["revision"] == 1
    state = page.post(
        f"{BOX}/edits", json={"base": looked["revision"], "what": looked["what"], "ops": looked["ops"]}
    ).json()
    assert (state["count"]["parts"], state["errors"]) == (5, [])
    assert page.post(f"{LIST}/pasted", json={"text": " "}).status_code == 422
