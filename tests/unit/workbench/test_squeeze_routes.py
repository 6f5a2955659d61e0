"""Air and depth over HTTP: the study's own figures at once, and as long work with the air trapped in her."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import squeeze
from tests.support.gas_boat import write_gas_boat
from tests.support.workbench import ended, words

COOT = "/api/boats/coot/squeeze"


@pytest.fixture
def coot(shelf: Path) -> Path:
    return write_gas_boat(shelf / "coot")


def test_the_figures_are_those_of_the_study(laptop: TestClient, coot: Path) -> None:
    shown = laptop.post(COOT, json={"fills": {"main": 0.7}, "depth": "8 m", "blow": "20 ml"}).json()
    vessel = open_boat(coot).vessel
    result = squeeze.run(vessel, fills=[{"main": 0.7}], depths=squeeze.depths_to(8.0), blow_m3=2e-5)
    track = result.tracks[0]
    assert shown["verdict"] == "good"
    assert shown["fills"] == [{"name": "main", "share": 0.7, "soft": True}]
    figures = {line["label"]: line["figure"]["value"] for line in shown["figures"]}
    assert figures["Neutral depth"] == pytest.approx(track.neutral_depth_m, rel=1e-9)
    assert figures["Comes back from"] == pytest.approx(result.back_depth_m, rel=1e-9)
    assert figures["Lost just under"] == pytest.approx(track.loss_at_surface.kg_m, rel=1e-9)
    chart = shown["chart"]
    assert chart["lift"] == pytest.approx([row.lift_kg * 1e3 for row in track.rows], abs=1e-3)
    assert chart["closed"] == pytest.approx([track.lift_under_kg * 1e3] * len(track.rows), abs=1e-3)
    # she is neutral on the way, and with the blow comes back from all of it
    assert [(mark["kind"], mark["depth"]) for mark in chart["marks"]] == [
        ("neutral", pytest.approx(track.neutral_depth_m, abs=1e-4))
    ]
    assert len(shown["table"]["rows"][0]) == len(shown["table"]["headings"])
    assert shown["cautions"]


def test_without_a_fill_the_dived_lift_is_found_and_from_too_deep_it_says_so(
    laptop: TestClient, coot: Path
) -> None:
    shown = laptop.post(COOT, json={"depth": "5 m"}).json()
    assert shown["fills"][0]["share"] == pytest.approx(
        squeeze.run(open_boat(coot).vessel).tracks[0].fills["main"]
    )
    assert shown["verdict"] == "bad"
    assert any("does not come back" in entry["what"] for entry in shown["warnings"])


def test_a_boat_that_depth_does_nothing_to(laptop: TestClient) -> None:
    shown = laptop.post("/api/boats/wren/squeeze", json={}).json()
    assert "nothing that depth squeezes" in shown["sentence"]
    assert not shown["soft"]
    assert shown["blows"]["rows"] == shown["cautions"] == shown["chart"]["closed"] == []
    assert len(shown["table"]["rows"]) == 1


def test_trapped_air_is_counted_as_work(laptop: TestClient, shelf: Path) -> None:
    job = ended(laptop, laptop.post("/api/boats/wren/squeeze/air", json={"depth": "2 m"}))
    assert job["state"] == "done", words(job)
    shown = laptop.get(f"/api/jobs/{job['job']}/squeeze").json()
    result = squeeze.run(open_boat(shelf / "wren").vessel, depths=squeeze.depths_to(2.0), air=True)
    assert shown["soft"]
    assert shown["chart"]["lift"] == pytest.approx(
        [row.lift_kg * 1e3 for row in result.tracks[0].rows], abs=1e-2
    )


@pytest.mark.parametrize(
    ("ask", "key"),
    [({"depth": "2 kg"}, "depth"), ({"blow": "a breath"}, "blow"), ({"depth": "900 m"}, "depth"),
     ({"fills": {"aft": 0.5}}, "fill"), ({"fills": {"main": 2.0}}, "fill")],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused_with_advice(
    laptop: TestClient, coot: Path, ask: dict[str, object], key: str
) -> None:
    assert coot.is_dir()
    refused = laptop.post(COOT, json=ask)
    assert (refused.status_code, refused.json()["advice"][0]["key"]) == (422, key)
