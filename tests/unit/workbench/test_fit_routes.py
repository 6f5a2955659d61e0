"""Fit over HTTP: the studies' own figures in the builder's words, and asks that cannot be."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from dabchick.cli.demo import copy_boat
from dabchick.report.fit_words import cylinder_summary, fit_summary, slide_summary
from dabchick.storage.folder import open_boat
from dabchick.studies import fit, fit_cylinder, fit_slide
from dabchick.studies.fit_bodies import Turn
from dabchick.studies.fit_slide import Plane
from dabchick.workbench import errors, routes_fit, routes_jobs
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.shelf import Shelf
from tests.support.workbench import ended, words

FIT = "/api/boats/wren/fit"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shelf = tmp_path_factory.mktemp("shelf")
    copy_boat(shelf / "wren")
    return shelf


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[TestClient]:
    jobs = Jobs()
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_fit.router(Shelf(folder), jobs))
    app.include_router(routes_jobs.router(jobs))
    with TestClient(app) as client:
        yield client
    jobs.close()


def answer(page: TestClient, path: str, kind: str, ask: dict[str, Any]) -> Any:
    job = ended(page, page.post(path, json=ask))
    assert job["state"] == "done", job
    assert job["share"] == 1.0
    return page.get(f"/api/jobs/{job['job']}/{kind}").json()


def test_pairs_are_those_of_the_study(page: TestClient, folder: Path) -> None:
    vessel = open_boat(folder / "wren").vessel
    wanted = fit.run(vessel, clearance_m=0.001, wall_m=0.001, turns=[Turn("aft planes", "y", 20.0)])
    got = answer(
        page,
        FIT,
        "fit",
        {
            "clearance": "1 mm",
            "wall": "0.1 cm",
            "turns": [{"part": "aft planes", "axis": "y", "angle": "20 deg"}],
        },
    )
    assert got["sentence"] == fit_summary(vessel, wanted)
    assert got["verdict"] == "bad"
    assert [(one["first"], one["second"]) for one in got["pairs"]] == [
        (one.first, one.second) for one in wanted.pairs
    ]
    for one, other in zip(got["pairs"], wanted.pairs, strict=True):
        assert one["first_point_m"] == pytest.approx(other.first_point_m, abs=1e-12)
        assert one["amount"]["value"] == pytest.approx(other.overlap_m3 or other.clearance_m, abs=1e-12)
    # What may turn stands in the flooded space; what may slide in begins with the dry part.
    assert "rudder" in got["turning"]
    assert got["movable"][0] == "cylinder"
    assert "battery" not in got["movable"]


def test_the_way_in_is_that_of_the_study(page: TestClient, folder: Path) -> None:
    vessel = open_boat(folder / "wren").vessel
    # Her ruler lies at the bow, x = 900 mm: 150 mm from it is 750 mm.
    wanted = fit_slide.run(vessel, "cylinder", way="bow", plane=Plane((1.0, 0.0, 0.0), 0.75))
    got = answer(page, f"{FIT}/slide", "slide", {"part": "cylinder", "way": "bow", "opened": "150 mm"})
    assert got["sentence"] == slide_summary(vessel, wanted)
    assert got["opened_offset_m"] == pytest.approx(0.75)
    assert got["keys"][0] == "part[1]"
    assert [one["name"] for one in got["hindrances"]] == [
        "Hull" if one.key == "hull" else one.name for one in wanted.hindrances
    ]
    blocked = answer(page, f"{FIT}/slide", "slide", {"part": "cylinder"})
    assert blocked["verdict"] == "bad"
    # It stops where its widest comes into the opening: below the top of its way, above its place.
    assert 0.0 < blocked["stops_m"] < blocked["way_m"]


def test_the_cylinder_is_that_of_the_study(page: TestClient, folder: Path) -> None:
    vessel = open_boat(folder / "wren").vessel
    wanted = fit_cylinder.run(vessel, diameter_m=0.0508)
    got = answer(page, f"{FIT}/cylinder", "cylinder", {"diameter": "2 in"})
    assert got["sentence"] == cylinder_summary(vessel, wanted)
    lines = {one["label"]: one["figure"]["value"] for one in got["lines"]}
    assert lines["Length"] == pytest.approx(wanted.length_m)
    # Closed form: pi / 4 d^2 l.
    assert lines["Volume"] == pytest.approx(0.785398163 * 0.0508**2 * wanted.length_m, rel=1e-8)
    # The mesh is drawn where the cylinder stands.
    xs = got["mesh"]["positions"][::3]
    assert (min(xs), max(xs)) == pytest.approx((wanted.aft_m[0], wanted.fore_m[0]))


def test_asks_that_cannot_be_are_explained(page: TestClient) -> None:
    assert "clearance" in words(page.post(FIT, json={"clearance": "wide"}))
    assert "not a length of 0 or more" in words(failed(page, FIT, {"clearance": "-1 mm"}))
    assert "no part or tank 'keel'" in words(failed(page, f"{FIT}/slide", {"part": "keel"}))
    assert "Either the diameter or the length" in words(failed(page, f"{FIT}/cylinder", {}))
    assert "No cylinder" in words(failed(page, f"{FIT}/cylinder", {"diameter": "400 mm"}))
    assert page.post(f"{FIT}/slide", json={"part": "cylinder", "way": "sideways"}).status_code == 422
    assert page.post("/api/boats/nobody/fit", json={}).status_code == 404


def failed(page: TestClient, path: str, ask: dict[str, Any]) -> Any:
    job = ended(page, page.post(path, json=ask))
    assert job["state"] == "failed"
    return job
