"""The trim over HTTP: a job, its answer, written into the file and taken back, and on paper."""

import csv
import io
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

import dabchick
from dabchick.storage.folder import open_boat
from dabchick.studies import trim
from dabchick.workbench import errors, routes_boat, routes_jobs, routes_trim
from dabchick.workbench.downloads import file_name
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.shelf import Shelf

WREN = "/api/boats/wren"
ASK = {"gap": 0.5, "seconds": 60.0}
"""So wide a gap is soon proven, so that no search ends by the clock and each finds the same."""


@pytest.fixture(scope="module")
def jobs() -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory, jobs: Jobs) -> TestClient:
    shelf = tmp_path_factory.mktemp("shelf")
    demo = Path(dabchick.__file__).parent / "data" / "demo" / "wren"
    for name in ("wren", "other"):
        shutil.copytree(demo, shelf / name)
    return paged(shelf, jobs)


def paged(folder: Path, jobs: Jobs) -> TestClient:
    shelf = Shelf(folder)
    app = FastAPI()
    errors.install(app)
    for routes in (routes_boat.router(shelf), routes_jobs.router(jobs), routes_trim.router(shelf, jobs)):
        app.include_router(routes)
    page = TestClient(app)
    page.app_state["folder"] = str(folder)
    return page


def folder_of(page: TestClient) -> Path:
    return Path(page.app_state["folder"]) / "wren"


@pytest.fixture(scope="module")
def job(page: TestClient) -> str:
    """The demo boat's trim, solved once."""
    told = page.post(f"{WREN}/trim", json=ASK)
    assert told.status_code == 200, told.text
    name = str(told.json()["job"])
    while (now := page.get(f"/api/jobs/{name}").json())["state"] == "running":
        time.sleep(0.05)
    assert now["state"] == "done", now
    return name


def revision(page: TestClient) -> int:
    return int(page.get(WREN).json()["revision"])


def put(page: TestClient, path: list[str | int], value: Any) -> None:
    op = {"op": "put", "path": path, "value": value}
    answer = page.post(f"{WREN}/edits", json={"base": revision(page), "what": "Change", "ops": [op]})
    assert answer.status_code == 200, answer.text


def apply(page: TestClient, job: str, boat: str = WREN, base: int | None = None) -> Any:
    return page.post(
        f"{boat}/trim/apply", json={"base": revision(page) if base is None else base, "job": job}
    )


def test_the_answer_is_that_of_the_study(page: TestClient, job: str) -> None:
    """The same search in this process: same pieces, same lies, to the last digit."""
    vessel = open_boat(folder_of(page)).vessel
    result = trim.run(vessel, gap=0.5, seconds=60.0)
    shown = page.get(f"/api/jobs/{job}/trim").json()
    assert (shown["feasible"], shown["verdict"], shown["job"]) == (result.feasible, "good", job)
    assert [piece["mass"]["value"] for piece in shown["pieces"]] == [piece.mass_kg for piece in result.pieces]
    assert [tuple(piece["centre_m"]) for piece in shown["pieces"]] == [
        piece.centre_m for piece in result.pieces
    ]
    for at, state in enumerate(shown["states"]):
        assert state["after"]["lift"]["value"] == result.after[at].lift_kg.value
        assert state["before"]["mass"]["value"] == result.before[at].mass_kg.value
        assert state["name"] == state["after_glance"]["state"]
    totals = {line["label"]: line["figure"]["value"] for line in shown["totals"]}
    assert totals["Lead"] == result.added_lead_kg
    assert totals["Off in lift"] == result.lift_miss_kg
    assert "proved by a full balance in both states" in shown["gap"]


def test_every_piece_can_be_drawn_where_it_lies(page: TestClient, job: str) -> None:
    """A box's mesh about its centre encloses volume = mass over density; its outlines have its length."""
    for piece in page.get(f"/api/jobs/{job}/trim").json()["pieces"]:
        corners = [piece["mesh"]["positions"][at::3] for at in range(3)]
        sides = [max(axis) - min(axis) for axis in corners]
        assert sides[0] * sides[1] * sides[2] == pytest.approx(piece["volume"]["value"], rel=1e-3)
        for axis, middle in zip(corners, piece["centre_m"], strict=True):
            assert 0.5 * (max(axis) + min(axis)) == pytest.approx(middle, abs=2e-6)
        (ring,) = piece["outlines"]["side"]
        assert max(u for u, _ in ring) - min(u for u, _ in ring) == pytest.approx(sides[0], abs=5e-5)


@pytest.mark.parametrize(
    ("file", "kind", "name", "begin"),
    [
        ("sheet.pdf?paper=letter", "application/pdf", 'inline; filename="wren-trim-sheet.pdf"', b"%PDF-"),
        ("sheet.pdf?save=true", "application/pdf", 'attachment; filename="wren-trim-sheet.pdf"', b"%PDF-"),
        ("sheet.svg?paper=a4", "image/svg+xml", 'inline; filename="wren-trim-drawing.svg"', b"<?xml"),
        ("pieces.csv?", "text/csv; charset=utf-8", 'attachment; filename="wren-trim-pieces.csv"', b"number,"),
    ],
)
def test_papers(page: TestClient, job: str, file: str, kind: str, name: str, begin: bytes) -> None:
    answer = page.get(f"{WREN}/trim/{file}&job={job}")
    assert answer.headers["content-type"] == kind
    assert answer.headers["content-disposition"] == name
    assert answer.content.startswith(begin)


def test_paper_of_no_known_size_and_of_another_boat(page: TestClient, job: str) -> None:
    assert page.get(f"{WREN}/trim/sheet.pdf", params={"job": job, "paper": "napkin"}).status_code == 422
    assert page.get("/api/boats/other/trim/sheet.pdf", params={"job": job}).status_code == 404
    assert page.get(f"{WREN}/trim/pieces.csv", params={"job": "no such job"}).status_code == 404
    assert page.get(f"{WREN}/trim/sheet.svg").status_code == 404


def test_apply_undo_and_what_was_fitted(page: TestClient, job: str) -> None:
    """One step; the fitted trim proves what the job promised; undo gives back every letter."""
    before = page.get(f"{WREN}/text").json()["text"]
    promised = page.get(f"/api/jobs/{job}/trim").json()
    assert page.get(f"{WREN}/trim").status_code == 404
    state = apply(page, job).json()
    assert (state["undo"], state["errors"]) == ("Apply the trim", [])
    assert state["count"]["lead"] == sum(piece["material"] == "lead" for piece in promised["pieces"])
    fitted = page.get(f"{WREN}/trim").json()
    assert (fitted["feasible"], fitted["job"]) == (True, None)
    for promise, proof in zip(promised["states"], fitted["states"], strict=True):
        assert proof["after"]["lift"]["value"] == pytest.approx(promise["after"]["lift"]["value"], abs=1e-4)
        assert proof["after"]["trim"]["value"] == pytest.approx(promise["after"]["trim"]["value"], abs=0.05)
    rows = list(csv.DictReader(io.StringIO(page.get(f"{WREN}/trim/pieces.csv").text)))
    assert len(rows) == len(promised["pieces"])
    page.post(f"{WREN}/undo", json={"base": revision(page)})
    assert page.get(f"{WREN}/text").json()["text"] == before


def test_a_boat_that_has_changed_in_what_matters_is_not_written_to(page: TestClient, job: str) -> None:
    """A note, the name and the units do not matter, whatever the page has seen; a mass does, until it is taken back."""
    base = revision(page)
    put(page, ["note"], "sealed on Sunday")
    put(page, ["part", 0, "note"], "ours")
    assert apply(page, job, base=base).status_code == 200
    page.post(f"{WREN}/undo", json={"base": revision(page)})
    put(page, ["part", 0, "mass", "value"], "400 g")
    late = apply(page, job)
    assert (late.status_code, "has changed" in late.json()["advice"][0]["what"]) == (409, True)
    put(page, ["part", 0, "mass", "value"], "heavy")
    assert apply(page, job).status_code == 409
    assert page.post(f"{WREN}/trim", json=ASK).status_code == 409
    for _ in range(2):
        page.post(f"{WREN}/undo", json={"base": revision(page)})
    assert apply(page, job, boat="/api/boats/other").status_code == 409
    assert apply(page, job).status_code == 200
    assert apply(page, job, base=base).status_code == 409
    for _ in range(3):
        page.post(f"{WREN}/undo", json={"base": revision(page)})


def test_wishes_that_cannot_be_kept_are_not_written(page: TestClient) -> None:
    """A waterline 30 mm lower: her tank is far too small for that, and the answer says what stands in the way."""
    put(page, ["hull", "waterline"], "52 mm")
    job = page.post(f"{WREN}/trim", json={"gap": 0.5, "seconds": 1.0}).json()["job"]
    while page.get(f"/api/jobs/{job}").json()["state"] == "running":
        time.sleep(0.05)
    shown = page.get(f"/api/jobs/{job}/trim").json()
    assert (shown["feasible"], shown["verdict"]) == (False, "bad")
    assert shown["obstacles"]
    refused = apply(page, job)
    assert refused.status_code == 422
    assert [entry["what"] for entry in refused.json()["advice"]][1:] == [
        entry["text"] for entry in shown["obstacles"]
    ]
    page.post(f"{WREN}/undo", json={"base": revision(page)})


def test_a_cancelled_search_has_no_answer(page: TestClient) -> None:
    job = page.post(f"{WREN}/trim", json={"gap": 1e-6, "seconds": 100.0}).json()["job"]
    assert page.delete(f"/api/jobs/{job}").json()["state"] == "cancelled"
    assert page.get(f"/api/jobs/{job}/trim").status_code == 409
    assert page.post(f"{WREN}/trim", json={"gap": 0.0}).status_code == 422


@pytest.mark.parametrize(
    ("boat", "name"),
    [
        ("Wren", "wren-x.pdf"),
        ("../../etc/passwd", "etc-passwd-x.pdf"),
        ('a"; b\r\nSet-Cookie: c', "a-b-set-cookie-c-x.pdf"),
        ("Möwe № 2", "mowe-no-2-x.pdf"),
        ("海燕", "boat-x.pdf"),
        ("x" * 300, f"{'x' * 60}-x.pdf"),
    ],
)
def test_file_names_are_plain(boat: str, name: str) -> None:
    assert file_name(boat, "x.pdf") == name
