"""The tank over HTTP: the study's own figures, and proposals after which the study is content."""

from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import tank
from dabchick.studies.tank_proposals import standing
from dabchick.workbench import errors, routes_boat, routes_tank
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.shelf import Shelf
from tests.support.sample_boat import TEXT, write_boat

BOX = "/api/boats/box"
TANK = f"{BOX}/tank"
CYLINDER = 'shape = { cylinder = { length = "110 mm", diameter = "70 mm" } }'
MAIN = TEXT[TEXT.index("[[tank]]") : TEXT.index("# A servo")]


def paged(folder: Path, text: str = TEXT) -> TestClient:
    write_boat(folder / "box", text)
    shelf = Shelf(folder)
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_boat.router(shelf))
    app.include_router(routes_tank.router(shelf, Jobs()))
    return TestClient(app)


def apply(page: TestClient, number: int, title: str, base: int = 1, bore: str | None = None) -> Any:
    return page.post(f"{TANK}/apply", json={"base": base, "proposal": number, "title": title, "bore": bore})


def lines(entries: list[dict[str, Any]]) -> dict[str, float]:
    return {entry["label"]: entry["figure"]["value"] for entry in entries}


def test_the_figures_are_those_of_the_study(tmp_path: Path) -> None:
    page = paged(tmp_path)
    vessel = open_boat(tmp_path / "box").vessel
    result = tank.run(vessel)
    shown = page.get(TANK).json()
    needed, present = lines(shown["needed"]), lines(shown["present"])
    assert needed["Volume"] == result.volume_m3.value
    assert needed["Middle from the bow"] == vessel.datum.to_builder(result.centre_m)[0]
    assert needed["Length of water"] == result.length_m
    assert present["Volume"] == pytest.approx(0.11 * 0.07**2 * 0.785398, rel=1e-3)
    assert shown["verdict"] == "bad"
    longer = page.get(TANK, params={"bore": "2.5 in"}).json()
    assert lines(longer["needed"])["Length of water"] == tank.run(vessel, bore_m=0.0635).length_m
    refused = page.get(TANK, params={"bore": "64 g"})
    assert (refused.status_code, refused.json()["advice"][0]["key"]) == (422, "bore")
    assert page.get(TANK, params={"bore": "-2 mm"}).status_code == 422


BODIES = (
    CYLINDER,
    'shape = { box = { size = ["110 mm", "50 mm", "50 mm"] } }',
    'shape = { capsule = { length = "120 mm", diameter = "60 mm" } }',
    'shape = { sphere = { diameter = "60 mm" } }',
    'shape = { cone = { length = "110 mm", base = "60 mm", top = "40 mm" } }',
    'shape = { prism = { outline = [["-20 mm", "-20 mm"], ["20 mm", "-20 mm"], [0, "25 mm"]], length = "90 mm" } }',
    'shape = { extrusion = { outline = [[0, 0], ["90 mm", "20 mm"], ["90 mm", "-20 mm"]], height = "40 mm" } }',
)  # fmt: skip


@pytest.mark.parametrize("zeros", ['x = "bow", z = "keel"', 'x = "stern", z = "keel"'])
@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("inside", [True, False])
def test_after_the_first_proposal_the_study_is_content(
    tmp_path: Path, zeros: str, body: str, inside: bool
) -> None:
    """Every kind of body, within the cylinder or outside of it with walls that displace, whatever is measured from.

    Only one tank in a boat that it fits is asked for here: volume to 0.1 %, and the place to 0.1 mm.
    """
    text = MAIN.replace(CYLINDER, body)
    if body != CYLINDER:
        text = text.replace('"piston"', '"sealed pump"').replace('water_end = "stern"\n', "")
    if not inside:
        text = text.replace('inside = "cylinder"', 'walls = { thickness = "1 mm", material = "acrylic" }')
        text = text.replace('"52 mm"', '"100 mm"')
    boat = TEXT.replace(MAIN, text).replace('waterline = "70 mm"', 'waterline = "105 mm"')
    boat = boat.replace('x = "bow", z = "keel"', zeros)
    if "stern" in zeros:
        boat = boat.replace('marks = { bow = "50 mm", stern = "550 mm" }', "")
    page = paged(tmp_path, boat)
    shown = page.get(TANK).json()
    assert shown["proposals"], shown
    best = shown["proposals"][0]
    state = apply(page, 0, best["title"]).json()
    assert state["errors"] == []
    assert state["undo"] == best["title"]
    vessel = open_boat(tmp_path / "box").vessel
    after = tank.run(vessel)
    assert after.present_m3 == pytest.approx(after.volume_m3.value, rel=1e-3)
    assert after.present_centre_m[0] == pytest.approx(after.centre_m[0], abs=1e-4)
    assert standing(vessel, after) == "good"
    assert page.get(TANK).json()["proposals"] == []
    page.post(f"{BOX}/undo", json={"base": 2})
    assert page.get(f"{BOX}/text").json()["text"] == boat


def content_after(folder: Path) -> tank.TankResult:
    return tank.run(open_boat(folder / "box").vessel)


def test_a_first_tank_of_a_bore(tmp_path: Path) -> None:
    """None is proposed without one: nothing says how thick it should be. It stands in the cylinder, which has room."""
    page = paged(tmp_path, TEXT.replace(MAIN, "").replace('"70 mm"\nmarks', '"105 mm"\nmarks'))
    shown = page.get(TANK).json()
    assert (shown["proposals"], shown["present"], shown["verdict"]) == ([], [], "bad")
    (only,) = page.get(TANK, params={"bore": "60 mm"}).json()["proposals"]
    state = apply(page, 0, only["title"], bore="60 mm").json()
    made = state["values"]["tank"][0]
    assert (made["name"], made["system"], made["inside"]) == ("main", "piston", "cylinder")
    assert made["shape"]["cylinder"]["diameter"] == "60 mm"
    after = content_after(tmp_path)
    assert after.present_m3 == pytest.approx(after.volume_m3.value, rel=1e-3)
    assert after.present_centre_m[0] == pytest.approx(after.centre_m[0], abs=1e-4)


def test_two_tanks_share_the_water_out(tmp_path: Path) -> None:
    """Fore at 200 mm and aft at 400 mm keep their places; 144 ml with its middle at 300 mm is half for each."""
    one = MAIN.replace('"400 mm", 0', '"200 mm", 0').replace('"110 mm"', '"30 mm"')
    two = one.replace('"main"', '"aft"').replace('"200 mm", 0', '"400 mm", 0')
    page = paged(tmp_path, TEXT.replace(MAIN, one + two).replace('"70 mm"\nmarks', '"105 mm"\nmarks'))
    (only,) = page.get(TANK).json()["proposals"]
    state = apply(page, 0, only["title"]).json()
    fore, aft = (float(entry["shape"]["cylinder"]["length"].split()[0]) for entry in state["values"]["tank"])
    after = content_after(tmp_path)
    assert fore == pytest.approx(aft, rel=2e-3)
    assert after.present_m3 == pytest.approx(after.volume_m3.value, rel=1e-3)
    assert after.present_centre_m[0] == pytest.approx(after.centre_m[0], abs=1e-4)
    assert [entry["at"][0] for entry in state["values"]["tank"]] == ["200 mm", "400 mm"]


def test_a_tank_that_cannot_stand_where_it_belongs(tmp_path: Path) -> None:
    """The cylinder moved aft ends before the place: as near as it can, or split; the halves are right together."""
    aft = TEXT.replace('at = ["300 mm", 0, "52 mm"]', 'at = ["390 mm", 0, "52 mm"]').replace(
        '{ cylinder = { length = "400 mm", diameter = "80 mm" } }',
        '{ cylinder = { length = "120 mm", diameter = "80 mm" } }',
    )
    aft = aft.replace('["200 mm", 0, "30 mm"]', '["390 mm", 0, "30 mm"]').replace(
        'rail = { direction = "x", from = "180 mm", to = "260 mm" }\n', ""
    )
    page = paged(tmp_path, aft.replace('"110 mm"', '"40 mm"').replace('"70 mm"\nmarks', '"105 mm"\nmarks'))
    shown = page.get(TANK).json()
    near, split = (
        next(number for number, entry in enumerate(shown["proposals"]) if word in entry["title"])
        for word in ("as near as it can", "Split")
    )
    off = next(
        entry for entry in shown["proposals"][near]["lines"] if entry["label"] == "Off its right place"
    )
    assert off["figure"]["value"] > 0.01
    state = apply(page, split, shown["proposals"][split]["title"]).json()
    assert [entry["name"] for entry in state["values"]["tank"]] == ["main", "main 2"]
    assert "inside" not in state["values"]["tank"][1]
    after = content_after(tmp_path)
    assert after.present_m3 == pytest.approx(after.volume_m3.value, rel=1e-3)
    assert after.present_centre_m[0] == pytest.approx(after.centre_m[0], abs=1e-4)


def test_nothing_is_written_but_what_was_shown(tmp_path: Path) -> None:
    page = paged(tmp_path)
    title = page.get(TANK).json()["proposals"][0]["title"]
    for answer in (apply(page, 0, "Another"), apply(page, 9, title), apply(page, 0, title, base=0)):
        assert answer.status_code == 409
        assert answer.json()["advice"][0]["todo"]
    bad = {"op": "put", "path": ["part", 1, "mass", "value"], "value": "heavy"}
    page.post(f"{BOX}/edits", json={"base": 1, "what": "Spoil", "ops": [bad]})
    refused = apply(page, 0, title, base=2)
    assert (refused.status_code, "faults" in refused.json()["advice"][0]["what"]) == (409, True)
    assert page.get(TANK).json()["proposals"][0]["title"] == title
