"""Free room by the API: the job's answer is the study's, places are ready to be written, keep-outs are drawn."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import space
from tests.support.workbench import ended, words


def found(laptop: TestClient, **ask: str) -> Any:
    job = ended(laptop, laptop.post("/api/boats/wren/space", json=ask))
    assert job["state"] == "done", job
    answer = laptop.get(f"/api/jobs/{job['job']}/space")
    assert answer.status_code == 200, answer.text
    return answer.json()


def edit(laptop: TestClient, what: str, *ops: dict[str, Any]) -> Any:
    base = laptop.get("/api/boats/wren").json()["revision"]
    answer = laptop.post("/api/boats/wren/edits", json={"base": base, "what": what, "ops": list(ops)})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_answer_is_the_studys(laptop: TestClient, shelf: Path) -> None:
    answer = found(laptop, cell="6 mm", clearance="3 mm")
    result = space.run(open_boat(shelf / "wren").vessel, cell_m=0.006, clearance_m=0.003)
    figures = {line["label"]: line["figure"]["value"] for line in answer["lines"]}
    assert figures["Free below the waterline"] == result.free_below_m3
    assert figures["Floods above the waterline"] == result.floods_above_m3
    assert [one["name"] for one in answer["places"]] == [one.name for one in result.places]
    assert [tuple(one["low_m"]) for one in answer["rails"]] == [one.low_m for one in result.rails]
    assert answer["stations"][0]["ends"].replace("\xa0", " ") == "855 to 900 mm"
    assert (answer["cell"].replace("\xa0", " "), answer["clearance"].replace("\xa0", " ")) == ("6 mm", "3 mm")
    # The curve's areas by the trapezium-free sum over equal layers are the volumes.
    curve = answer["curve"]
    assert sum(curve["free_below_m2"]) * 0.006 == pytest.approx(result.free_below_m3, rel=1e-9)
    # Six faces at least, whole triangles, and every index within.
    for surface in (answer["below"], answer["above"]):
        assert len(surface["indices"]) >= 36
        assert max(surface["indices"]) < len(surface["positions"]) / 3


def test_a_place_is_taken_over_in_one_step_and_undone(laptop: TestClient, shelf: Path) -> None:
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    rail = found(laptop)["rails"][0]
    state = edit(
        laptop, f"Take over {rail['name']}", {"op": "add row", "table": "place", "values": rail["row"]}
    )
    assert state["errors"] == []
    assert state["values"]["place"] == [rail["row"]]
    after = found(laptop)
    assert rail["name"] not in [one["name"] for one in after["rails"]]
    undone = laptop.post("/api/boats/wren/undo", json={"base": state["revision"]})
    assert undone.status_code == 200
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before


def test_a_keep_out_is_written_drawn_and_respected(laptop: TestClient) -> None:
    free = {line["label"]: line["figure"]["value"] for line in found(laptop)["lines"]}
    box = {"name": "hand", "low": ["20 mm", "-20 mm", "20 mm"], "high": ["120 mm", "20 mm", "60 mm"]}
    state = edit(laptop, "Keep out: hand", {"op": "add row", "table": "keep_out", "values": box})
    assert state["errors"] == []
    (body,) = [
        one for one in laptop.get("/api/boats/wren/scene").json()["bodies"] if one["kind"] == "keep_out"
    ]
    # From the bow at 900 mm: 120 mm aft of it is 780 mm.
    assert (body["key"], body["name"], body["movable"]) == ("keep_out[1]", "hand", False)
    assert body["low_m"] == pytest.approx([0.78, -0.02, 0.02])
    assert body["high_m"] == pytest.approx([0.88, 0.02, 0.06])
    less = {line["label"]: line["figure"]["value"] for line in found(laptop)["lines"]}
    assert less["Free below the waterline"] < free["Free below the waterline"] - 0.5 * 0.1 * 0.04 * 0.04
    edit(laptop, "Remove keep-out hand", {"op": "drop", "path": ["keep_out", 0]})
    assert found(laptop)["lines"][0]["figure"]["value"] == free["Free below the waterline"]


def test_lengths_that_are_none_are_all_told_at_once(laptop: TestClient) -> None:
    answer = laptop.post("/api/boats/wren/space", json={"cell": "3", "clearance": "wide"})
    assert answer.status_code == 422
    assert [entry["key"] for entry in answer.json()["advice"]] == ["cell", "clearance"]


def test_a_cell_too_small_fails_the_job_with_advice(laptop: TestClient) -> None:
    job = ended(laptop, laptop.post("/api/boats/wren/space", json={"cell": "0.02 mm"}))
    assert job["state"] == "failed"
    assert "too small" in words(job)
    assert "mm" in job["advice"][0]["allowed"]


def test_a_search_can_be_cancelled(laptop: TestClient) -> None:
    job = laptop.post("/api/boats/wren/space", json={"cell": "1.3 mm"}).json()
    assert laptop.delete(f"/api/jobs/{job['job']}").json()["state"] in ("cancelled", "done")
