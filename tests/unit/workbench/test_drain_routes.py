"""Water that lags over HTTP: the study's own figures as long work, openings written and taken back, spaces as rows."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import drain
from tests.support.workbench import ended, words

DRAIN = "/api/boats/wren/drain"


def found(laptop: TestClient, **ask: Any) -> Any:
    job = ended(laptop, laptop.post(DRAIN, json=ask))
    assert job["state"] == "done", words(job)
    answer = laptop.get(f"/api/jobs/{job['job']}/drain")
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_figures_are_those_of_the_study(laptop: TestClient, shelf: Path) -> None:
    shown = found(laptop, blow="8 s", fill="16 s", cd=0.6)
    result = drain.run(
        open_boat(shelf / "wren").vessel, blow_s=8.0, fill_s=16.0, discharge=0.6, help_wanted=False
    )
    assert shown["least"]["value"] == pytest.approx(result.up.least_gm_m, rel=1e-9)
    curve = shown["up"]["curve"]
    assert curve["gm_m"] == pytest.approx([one.gm_m for one in result.up.moments], abs=1e-7)
    assert len(curve["time_s"]) == len(curve["over_m"][0]) == len(result.up.moments)
    assert (curve["ballast_s"], shown["down"]["curve"]["ballast_s"]) == (8.0, 16.0)
    assert (shown["spaces"], shown["limit_m"], shown["cures"]) == (["hull"], None, [])
    assert len(shown["times"]) == 2
    assert all(len(row) == len(shown["times_heads"]) for row in shown["times"])
    assert all(len(row) == len(shown["up"]["heads"]) for row in shown["up"]["moments"])


def test_what_cannot_be_asked_is_refused_all_at_once(laptop: TestClient) -> None:
    refused = laptop.post(DRAIN, json={"blow": "soon", "limit": "2 g"})
    assert refused.status_code == 422
    assert [one["key"] for one in refused.json()["advice"]] == ["blow", "limit"]
    assert laptop.post("/api/boats/nobody/drain", json={}).status_code == 404


def test_openings_that_keep_the_limit_are_written_and_taken_back(laptop: TestClient, shelf: Path) -> None:
    file = shelf / "wren" / "boat.toml"
    before = file.read_text("utf-8")
    plain = drain.run(open_boat(shelf / "wren").vessel, blow_s=10.0, help_wanted=False)
    limit = 0.5 * (plain.up.least_gm_m + plain.up.least_drained_gm_m)
    shown = found(laptop, blow="10 s", limit=f"{limit * 1e3:.6f} mm")
    (cure,) = shown["cures"]
    assert len(cure["openings"]) == 7
    rows = tomllib.loads(before)["hull"]["openings"]
    ops = [
        {"op": "put", "path": hole["path"], "value": hole["area"], "was": rows[hole["path"][2]]["area"]}
        for hole in cure["openings"]
    ]
    base = laptop.get("/api/boats/wren").json()["revision"]
    made = laptop.post("/api/boats/wren/edits", json={"base": base, "what": "Openings", "ops": ops})
    assert made.status_code == 200, made.text
    again = drain.run(open_boat(shelf / "wren").vessel, blow_s=10.0, help_wanted=False)
    # the search takes coarser steps, of a thousandth of the room
    assert again.up.least_gm_m >= limit - 2e-6
    undone = laptop.post("/api/boats/wren/undo", json={"base": made.json()["revision"]})
    assert undone.status_code == 200, undone.text
    assert file.read_text("utf-8") == before


def test_a_space_is_a_row_like_any_other(laptop: TestClient, shelf: Path) -> None:
    base = laptop.get("/api/boats/wren").json()["revision"]
    casing = {
        "name": "casing",
        "low": ["0 mm", "-20 mm", "90 mm"],
        "high": ["900 mm", "20 mm", "120 mm"],
        "openings": [{"at": ["420 mm", 0, "90 mm"], "area": "80 mm^2"}],
    }
    edit = {
        "base": base,
        "what": "Casing",
        "ops": [{"op": "add row", "table": "space", "values": casing}],
    }
    made = laptop.post("/api/boats/wren/edits", json=edit)
    assert made.status_code == 200, made.text
    assert made.json()["errors"] == []
    assert tomllib.loads((shelf / "wren" / "boat.toml").read_text("utf-8"))["space"] == [casing]
    assert [space.name for space in open_boat(shelf / "wren").vessel.spaces] == ["casing"]


def test_the_work_can_be_stopped(laptop: TestClient) -> None:
    job = laptop.post(DRAIN, json={}).json()["job"]
    stopped = laptop.delete(f"/api/jobs/{job}").json()
    assert stopped["state"] in ("cancelled", "done")
    assert laptop.get(f"/api/jobs/{job}/drain").status_code in (200, 409)
