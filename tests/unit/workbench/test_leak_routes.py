"""A leak over HTTP: the job's answer is the study's, in the builder's units, with pictures of the water as it lies."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import leak
from dabchick.studies.leak_source import LeakWay
from tests.support.workbench import ended

LEAK = "/api/boats/wren/leak"


def found(laptop: TestClient, **ask: Any) -> Any:
    job = ended(laptop, laptop.post(LEAK, json=ask))
    assert job["state"] == "done", job
    answer = laptop.get(f"/api/jobs/{job['job']}/leak")
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_answer_is_the_studys(laptop: TestClient, shelf: Path) -> None:
    shown = found(laptop, hole="1 mm", depth="1 m", wall="2.5 mm")
    result = leak.run(
        open_boat(shelf / "wren").vessel, leak=LeakWay("hole", diameter_m=1e-3), depth_m=1.0, wall_m=0.0025
    )
    part = result.chosen
    assert shown["reserve"]["value"] == pytest.approx(part.reserve_m3, rel=1e-12)
    assert shown["water"] == pytest.approx([stage.water_m3 * 1e6 for stage in result.stages], rel=1e-12)
    lift, trim, gm = shown["curves"]
    assert (lift["unit"], trim["unit"], gm["unit"]) == ("g", "°", "mm")
    assert lift["afloat"] == pytest.approx([s.afloat.lift_kg.value * 1e3 for s in result.stages], abs=1e-9)
    assert trim["dived"] == pytest.approx([s.dived.trim_deg.value for s in result.stages], abs=1e-6)
    # at the end she sinks: nothing to say of how she floats
    assert (trim["afloat"][-1], gm["afloat"][-1]) == (None, None)
    assert len(shown["marks"]) == len(part.events)
    assert (shown["part"], shown["parts"]) == ("cylinder", ["cylinder"])
    assert "lithium" in shown["caution"]


def test_the_water_is_drawn_level_within_the_part(laptop: TestClient) -> None:
    views = found(laptop)["views"]
    assert {view["state"] for view in views} == {"afloat", "dived"}
    assert views[0]["inside"] == []
    seen = 0
    for view in views:
        part = np.concatenate([np.array(ring) for ring in view["parts"]])
        for ring in view["inside"]:
            points = np.array(ring)
            assert np.all(points.min(axis=0) >= part.min(axis=0) - 0.002)
            assert np.all(points.max(axis=0) <= part.max(axis=0) + 0.002)
        if view["inside"]:
            seen += 1
            drawn = np.concatenate([np.array(ring) for ring in view["inside"]])
            top = drawn[drawn[:, 1] >= drawn[:, 1].max() - 0.002]
            # its upper edge is level, and as long as a free surface is, not a corner
            assert float(np.ptp(top[:, 0])) > 0.01
    assert seen > 10


def test_what_cannot_be_asked_is_refused_with_advice(laptop: TestClient) -> None:
    for ask, key in (
        ({"hole": "wide"}, "hole"),
        ({"drip": "3/min", "hole": "1 mm"}, "hole"),
        ({"depth": "2 kg"}, "depth"),
        ({"wall": "thick"}, "wall"),
    ):
        refused = laptop.post(LEAK, json=ask)
        assert (refused.status_code, refused.json()["advice"][0]["key"]) == (422, key)
    job = ended(laptop, laptop.post(LEAK, json={"part": "sail"}))
    assert (job["state"], job["advice"][0]["key"]) == ("failed", "part")
    assert laptop.post("/api/boats/nobody/leak", json={}).status_code == 404
