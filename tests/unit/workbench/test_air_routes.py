"""Trapped air over HTTP: the study's own figures at once, vents as long work, and vents made and taken back."""

import tomllib
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import air
from tests.support.workbench import ended, words

AIR = "/api/boats/wren/air"


def test_the_figures_are_those_of_the_study(laptop: TestClient, shelf: Path) -> None:
    shown = laptop.get(AIR, params={"pitch": 15, "depth": "2 m"}).json()
    result = air.run(open_boat(shelf / "wren").vessel, pitch_deg=15.0, depth_m=2.0, rest=False)
    assert shown["volume"]["value"] == pytest.approx(result.volume_m3, rel=1e-12)
    assert [row["lift"]["value"] for row in shown["pockets"]] == pytest.approx(
        [pocket.lift_kg for pocket in result.pockets], rel=1e-12
    )
    assert "2 m of water" in shown["sentence"]
    largest = shown["pockets"][0]
    assert (largest["name"], largest["lift"]["text"].split()[1]) == ("A", "g")
    # the outline from the side holds the pocket's middle
    ring = largest["outlines"]["side"][0]
    x, _, z = largest["centre_m"]
    assert min(p[0] for p in ring) < x < max(p[0] for p in ring)
    assert min(p[1] for p in ring) < z < max(p[1] for p in ring)
    assert max(largest["mesh"]["indices"]) < len(largest["mesh"]["positions"]) // 3


def test_what_cannot_be_asked_is_refused_with_advice(laptop: TestClient) -> None:
    assert laptop.get(AIR, params={"pitch": 100}).status_code == 422
    refused = laptop.get(AIR, params={"depth": "2 kg"})
    assert (refused.status_code, refused.json()["advice"][0]["key"]) == (422, "depth")
    refused = laptop.post(f"{AIR}/vents", json={"leave": "a little"})
    assert (refused.status_code, refused.json()["advice"][0]["key"]) == (422, "leave")
    assert laptop.get("/api/boats/nobody/air").status_code == 404


def openings(shelf: Path) -> int:
    return len(tomllib.loads((shelf / "wren" / "boat.toml").read_text("utf-8"))["hull"]["openings"])


def test_vents_are_found_as_work_made_by_an_edit_and_taken_back(laptop: TestClient, shelf: Path) -> None:
    job = ended(laptop, laptop.post(f"{AIR}/vents", json={"leave": "1 ml"}))
    assert job["state"] == "done", words(job)
    found = laptop.get(f"/api/jobs/{job['job']}/vents").json()
    assert found["vents"]
    before = laptop.get(AIR, params={"pitch": 15}).json()["volume"]["value"]
    state = laptop.get("/api/boats/wren").json()
    count = openings(shelf)
    ops = [
        {
            "op": "put",
            "path": ["hull", "openings", count + row],
            "value": {"at": vent["at"], "area": vent["area"]},
            "was": None,
        }
        for row, vent in enumerate(found["vents"])
        if vent["row"] is None
    ]
    edit = {"base": state["revision"], "what": "Vents", "ops": ops}
    made = laptop.post("/api/boats/wren/edits", json=edit)
    assert made.status_code == 200, made.text
    assert openings(shelf) == count + len(ops)
    after = laptop.get(AIR, params={"pitch": 15}).json()["volume"]["value"]
    assert after <= 1e-6 < before
    undone = laptop.post("/api/boats/wren/undo", json={"base": made.json()["revision"]})
    assert undone.status_code == 200, undone.text
    assert laptop.get(AIR, params={"pitch": 15}).json()["volume"]["value"] == before


def test_work_on_vents_can_be_stopped(laptop: TestClient) -> None:
    job = laptop.post(f"{AIR}/vents", json={}).json()["job"]
    stopped = laptop.delete(f"/api/jobs/{job}").json()
    assert stopped["state"] in ("cancelled", "done")
    assert laptop.get(f"/api/jobs/{job}/vents").status_code in (200, 409)
