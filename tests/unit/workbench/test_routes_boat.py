"""A boat over HTTP: state, edits, undo, history, and two pages at once."""

from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from dabchick.workbench import errors, routes_boat, routes_history
from dabchick.workbench.shelf import Shelf
from tests.support.sample_boat import TEXT, write_boat

BOX = "/api/boats/box"


@pytest.fixture
def page(tmp_path: Path) -> TestClient:
    write_boat(tmp_path / "box")
    shelf = Shelf(tmp_path)
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_boat.router(shelf))
    app.include_router(routes_history.router(shelf))
    return TestClient(app)


def put(path: list[str | int], value: Any, **more: Any) -> dict[str, Any]:
    return {"op": "put", "path": path, "value": value, **more}


def edit(page: TestClient, base: int, *ops: dict[str, Any], what: str = "Change") -> Any:
    return page.post(f"{BOX}/edits", json={"base": base, "what": what, "by": "tab", "ops": ops})


def test_state(page: TestClient) -> None:
    """The sample boat: 110 mm of bore 70 mm hold 423.3 ml; four parts, one of lead; one opening."""
    state = page.get(BOX).json()
    assert (state["name"], state["revision"], state["figures_revision"], state["errors"]) == ("Box", 1, 1, [])
    assert state["values"]["part"][1]["mass"] == {"value": "310 g", "known": "weighed", "spread": "1 g"}
    assert state["tanks"][0]["capacity_m3"] == pytest.approx(0.11 * 0.07**2 * 0.785398, rel=1e-3)
    assert state["count"] == {"parts": 4, "tanks": 1, "lead": 1, "foam": 0, "openings": 1, "unweighed": 0}
    assert (state["datum"]["x_from"], state["datum"]["x_sign"]) == ("bow", -1)
    assert state["datum"]["x_origin_m"] == pytest.approx(0.6)
    assert page.get(f"{BOX}/text").json() == {"revision": 1, "text": TEXT}


def test_edit_undo_redo(page: TestClient, tmp_path: Path) -> None:
    state = edit(page, 1, put(["part", 1, "mass", "value"], "320 g"), what="Weigh battery").json()
    assert (state["revision"], state["undo"], state["redo"]) == (2, "Weigh battery", None)
    state = page.post(f"{BOX}/undo", json={"base": 2}).json()
    assert (state["undo"], state["redo"]) == (None, "Weigh battery")
    assert (tmp_path / "box" / "boat.toml").read_text() == TEXT
    assert page.post(f"{BOX}/redo", json={"base": 3}).json()["values"]["part"][1]["mass"]["value"] == "320 g"


def test_all_ops_in_one_step(page: TestClient) -> None:
    """The battery goes 10 mm forward, which is 10 mm less from the bow; its height keeps its writing."""
    state = edit(
        page,
        1,
        {
            "op": "add row",
            "table": "part",
            "values": {"name": "lamp", "kind": "solid", "at": ["1 in", 0, "60 mm"]},
        },
        {"op": "copy row", "table": "part", "row": 1},
        {"op": "shift", "table": "part", "row": 1, "by_m": [0.01, 0.0, 0.0]},
        {"op": "drop", "path": ["part", 1, "rail"]},
        {"op": "move row", "table": "part", "row": 5, "to": 0},
    ).json()
    rows = state["values"]["part"]
    assert [row["name"] for row in rows] == ["lamp", "cylinder", "battery", "battery 2", "servo", "keel lead"]
    assert rows[2]["at"] == ["190 mm", 0, "30 mm"]
    assert ("rail" in rows[2], "rail" in rows[3]) == (False, True)
    assert state["revision"] == 2


def test_one_op_that_cannot_be_makes_none_of_them(page: TestClient) -> None:
    answer = edit(page, 1, put(["scale"], 60), {"op": "drop", "path": ["part", 9]})
    assert answer.status_code == 422
    assert answer.json()["advice"][0]["key"] == "part[10]"
    assert page.get(f"{BOX}/text").json()["text"] == TEXT


def test_faulty_value_is_saved_with_advice_at_its_key(page: TestClient) -> None:
    state = edit(page, 1, put(["part", 1, "mass", "value"], "7 stones")).json()
    assert (state["revision"], state["figures_revision"]) == (2, 1)
    assert [entry["key"] for entry in state["errors"]] == ["part[2].mass.value"]
    assert state["errors"][0]["where"].startswith("boat.toml:")


def test_second_page_is_merged_where_nothing_is_lost(page: TestClient) -> None:
    """One page puts a part before the battery; the other, not knowing, weighs the battery."""
    edit(page, 1, {"op": "add row", "table": "part", "at": 0, "values": {"name": "lamp", "kind": "solid"}})
    answer = edit(
        page,
        1,
        put(["part", 1, "mass", "value"], "320 g", was="310 g", row_name="battery"),
        put(["scale"], 40, was=50),
    )
    rows = answer.json()["values"]["part"]
    assert [row["name"] for row in rows[:3]] == ["lamp", "cylinder", "battery"]
    assert rows[2]["mass"]["value"] == "320 g"
    assert answer.json()["values"]["scale"] == 40


@pytest.mark.parametrize(
    "late",
    [
        put(["part", 1, "mass", "value"], "330 g"),
        put(["part", 1, "mass", "value"], "330 g", was="310 g", row_name="battery"),
        put(["part", 1, "mass", "value"], "330 g", was="320 g"),
        put(["part", 1, "mass", "value"], "330 g", was="320 g", row_name="cells"),
        put(["part", 1, "mass", "value"], "330 g", was=None, row_name="battery"),
        {"op": "drop", "path": ["scale"]},
        {"op": "copy row", "table": "part", "row": 0},
    ],
)
def test_second_page_is_refused_where_something_would_be_lost(page: TestClient, late: dict[str, Any]) -> None:
    edit(page, 1, put(["part", 1, "mass", "value"], "320 g"))
    answer = edit(page, 1, late)
    assert answer.status_code == 409
    assert "changed elsewhere" in answer.json()["advice"][0]["what"]
    assert page.get(BOX).json()["values"]["part"][1]["mass"]["value"] == "320 g"
    assert page.post(f"{BOX}/undo", json={"base": 1}).status_code == 409


def test_history(page: TestClient) -> None:
    edit(page, 1, put(["hull", "waterline"], "72 mm"), what="Waterline")
    edit(page, 2, put(["scale"], 40), what="Scale")
    named = page.post(f"{BOX}/steps/2/name", json={"name": "first bath"}).json()
    assert [(step["what"], step["name"], step["here"]) for step in named["steps"]] == [
        ("Scale", "", True),
        ("Waterline", "first bath", False),
        ("As found", "", False),
    ]
    told = page.get(f"{BOX}/steps/1/difference").json()
    assert told["lines"] == ["scale 50 → 40", "hull: waterline 70 mm → 72 mm"]
    told = page.get(f"{BOX}/steps/1/difference?against=2").json()
    assert (told["lines"], told["before"]) == (["hull: waterline 70 mm → 72 mm"], TEXT)
    state = page.post(f"{BOX}/steps/2/restore", json={"base": 3}).json()
    assert (state["values"]["scale"], state["values"]["hull"]["waterline"]) == (50, "72 mm")
    assert page.post(f"{BOX}/undo", json={"base": 4}).json()["values"]["scale"] == 40
    assert page.get(f"{BOX}/steps/9/difference").status_code == 422


@pytest.mark.parametrize("boat", ["nobody", "..", "%2e%2e", "..%2fbox", ".history", "box%2f.history", "BOX"])
def test_only_names_on_the_shelf_are_boats(page: TestClient, boat: str) -> None:
    assert page.get(f"/api/boats/{boat}/text").status_code == 404


def test_values_that_json_does_not_know(page: TestClient, tmp_path: Path) -> None:
    (tmp_path / "box" / "boat.toml").write_text("a = nan\nb = -inf\nc = 2030-01-31\nd = [1.5, true]\n")
    state = page.get(BOX).json()
    assert state["values"] == {"a": "nan", "b": "-inf", "c": "2030-01-31", "d": [1.5, True]}
    assert (state["name"], state["figures_revision"]) == ("box", None)
