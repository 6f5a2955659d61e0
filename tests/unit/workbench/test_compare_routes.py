"""Two steps side by side over HTTP: the study's own figures, and a step that reads no more."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.report.compare_words import rows
from dabchick.storage.folder import open_boat
from dabchick.studies import compare
from tests.support.workbench import ended, words

BOAT = "/api/boats/wren"


def put(laptop: TestClient, path: list[Any], value: Any) -> None:
    base = laptop.get(BOAT).json()["revision"]
    ops = [{"op": "put", "path": path, "value": value}]
    answer = laptop.post(f"{BOAT}/edits", json={"base": base, "what": "Try", "ops": ops})
    assert answer.status_code == 200, answer.text


def steps(laptop: TestClient) -> list[dict[str, Any]]:
    """Newest first."""
    found: list[dict[str, Any]] = laptop.get(f"{BOAT}/steps").json()["steps"]
    return found


def test_a_step_beside_now_has_the_figures_of_the_study(laptop: TestClient, shelf: Path) -> None:
    before = open_boat(shelf / "wren").vessel
    put(laptop, ["part", 3, "at"], ["272 mm", "2 mm", "25 mm"])
    put(laptop, ["part", 3, "mass"], "530 g")
    first = steps(laptop)[-1]["step"]
    job = ended(laptop, laptop.post(f"{BOAT}/steps/{first}/compare"))
    assert job["state"] == "done", words(job)
    shown = laptop.get(f"/api/jobs/{job['job']}/compare").json()
    result = compare.run(before, open_boat(shelf / "wren").vessel, ("one", "other"))
    assert [tuple(row.values()) for row in shown["rows"]] == [tuple(row) for row in rows(before, result)]
    by_key = {row["key"]: row for row in shown["rows"]}
    assert by_key["mass_kg"]["difference"].startswith("+")
    assert by_key["tank_m3"]["difference"] == "same"
    assert shown["other"]["title"] == "she now"
    # the view from the side is as long as she is, and the water lies at her draught
    loop = shown["one"]["outline"][0]
    assert max(x for x, _ in loop) - min(x for x, _ in loop) == pytest.approx(before.length_m, abs=2e-3)
    (x0, z0), (x1, z1) = shown["one"]["water_m"]
    height = z0 + (z1 - z0) * (before.mark_bow_m - x0) / (x1 - x0)
    assert height == pytest.approx(result.one.figures.draught_bow_m, abs=1e-6)


def test_a_step_that_reads_no_more_is_named(laptop: TestClient, shelf: Path) -> None:
    put(laptop, ["hull", "stations"], "gone.csv")
    put(laptop, ["hull", "stations"], "wren-stations.csv")
    broken = steps(laptop)[1]["step"]
    job = ended(laptop, laptop.post(f"{BOAT}/steps/{broken}/compare"))
    assert job["state"] == "failed"
    assert "cannot be read with the files" in words(job)
    assert "gone.csv" in words(job)
    assert str(shelf) not in words(job)


def test_a_step_that_is_none(laptop: TestClient) -> None:
    assert laptop.post(f"{BOAT}/steps/99999/compare").status_code in (404, 422)
