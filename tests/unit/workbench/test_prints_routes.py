"""Print files through the API: brought in, joined as a job, used as the hull in one step, and taken back."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.storage.new_boat import write_demo
from dabchick.workbench.site import Site
from tests.support.broken import inside_out, stl_bytes, without
from tests.support.prints import hollow_ball, tube, tube_volume
from tests.support.workbench import ended, served, settings, upload, words


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    write_demo(folder / "wren", "Wren", "metric")
    return folder


@pytest.fixture(scope="module")
def laptop(shelf: Path) -> Iterator[TestClient]:
    with served(Site(settings(shelf), shelf)) as client:
        yield client


def brought(laptop: TestClient, *meshes: Any) -> list[dict[str, str]]:
    return [
        {"upload": upload(laptop, f"{name}.stl", stl_bytes(mesh)).json()["upload"]}
        for name, mesh in zip(("aft", "bow", "fin"), meshes, strict=False)
    ]


def begun(laptop: TestClient, pieces: Any, **ask: Any) -> Any:
    return laptop.post("/api/boats/wren/prints", json={"pieces": pieces, **ask})


def joined(laptop: TestClient, pieces: Any, **ask: Any) -> Any:
    job = ended(laptop, begun(laptop, pieces, **ask))
    assert job["state"] == "done", job
    return laptop.get(f"/api/jobs/{job['job']}/prints").json()


def figure(told: Any, label: str) -> float:
    return next(line["figure"]["value"] for line in told["lines"] if line["label"] == label)


def test_two_pieces_are_joined_measured_and_used_and_undo_brings_the_old_hull_back(
    laptop: TestClient, shelf: Path
) -> None:
    pieces = brought(laptop, tube(0.0, 540.0), tube(540.0, 900.0))
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    told = joined(laptop, pieces, material="PLA", weighed="298 g", walled=True)
    assert figure(told, "Volume of the material") == pytest.approx(tube_volume(900.0) * 1e-9, rel=1e-5)
    assert figure(told, "Thickness, median") == pytest.approx(0.003, rel=0.01)
    assert (told["kind"], told["walled"], told["unit"], told["longest"]) == ("walls", True, "mm", "x")
    assert [(joint["first"], joint["second"]) for joint in told["joints"]] == [("aft.stl", "bow.stl")]
    assert told["joints"][0]["how"].startswith("touch, on 9.1")  # the ring's area in closed form
    assert len(told["band_of"]) == len(told["preview"]["indices"]) // 3
    assert set(told["band_of"]) == {band["number"] for band in told["bands"] if band["share"] > 0.0}
    assert told["skin"] == {"mass": "298 g", "known": "weighed", "spread": None, "material": "PLA filament"}
    assert any("infill is not given" in text for text in told["assumptions"])
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before

    revision = laptop.get("/api/boats/wren").json()["revision"]
    wish = {
        "upload": told["upload"],
        "unit": "mm",
        "solid_walled": True,
        "skin": told["skin"],
        "base": revision,
    }
    used = laptop.post("/api/boats/wren/hull", json=wish)
    assert used.status_code == 200, used.text
    hull = used.json()["values"]["hull"]
    assert (hull["mesh"], hull["unit"], hull["solid_walled"]) == ("aft-joined.stl", "mm", True)
    assert hull["skin"]["mass"] == {"value": "298 g", "known": "weighed"}
    assert hull["skin"]["material"] == "PLA filament"
    assert "thickness" not in hull["skin"]
    vessel = open_boat(shelf / "wren").vessel
    assert vessel.length_m == pytest.approx(0.9)
    figures = {
        line["label"]: line["figure"]["value"] for line in laptop.get("/api/boats/wren/hull").json()["lines"]
    }
    assert figures["Mass of the skin"] == pytest.approx(0.298)

    undone = laptop.post("/api/boats/wren/undo", json={"base": used.json()["revision"]})
    assert undone.status_code == 200
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before


def test_an_unweighed_print_gives_a_guess_with_its_spread(laptop: TestClient) -> None:
    told = joined(laptop, brought(laptop, tube(0.0, 300.0)), material="PLA", walled=True, infill="40 %")
    assert told["skin"]["known"] == "guess"
    # 1240 kg/m3 over 40 % of the tube, with the usual 1 % of water.
    kg = 1240.0 * tube_volume(300.0) * 1e-9 * 0.4 * 1.01
    assert told["skin"]["mass"] == f"{kg * 1000.0:.3f}".rstrip("0") + " g"
    assert told["skin"]["spread"].endswith(" g")


def test_an_outer_form_has_no_mass_to_hand_over(laptop: TestClient) -> None:
    told = joined(laptop, brought(laptop, hollow_ball(80.0, 100.0, 3)), walled=False)
    assert told["skin"] is None
    assert any(entry["key"] == "walled" for entry in told["warnings"])  # against the figures


def test_until_it_is_confirmed_the_page_is_asked_to_choose(laptop: TestClient) -> None:
    told = joined(laptop, brought(laptop, tube(0.0, 300.0)))
    assert told["walled"] is None
    (asked,) = (entry for entry in told["warnings"] if entry["key"] == "walled")
    assert "--walled" not in asked["todo"]


@pytest.mark.parametrize(
    ("meshes", "told"),
    [
        ((tube(0.0, 180.0), tube(181.0, 300.0)), "1 mm lie between it and aft.stl"),
        ((tube(0.0, 180.0), without(tube(180.0, 300.0), 2)), "The surface is open: 3 edges"),
        ((tube(0.0, 180.0), inside_out(tube(180.0, 300.0))), "inside out"),
        ((tube(0.0, 180.0), tube(0.0, 180.0)), "The same piece is here twice"),
    ],
)
def test_bad_piles_fail_with_advice(laptop: TestClient, meshes: Any, told: str) -> None:
    job = ended(laptop, begun(laptop, brought(laptop, *meshes)))
    assert job["state"] == "failed"
    assert told in str(job["advice"])


def test_what_is_typed_wrong_is_told_at_once_before_any_work(laptop: TestClient) -> None:
    pieces = brought(laptop, tube(0.0, 180.0))
    pieces[0] |= {"shift": "1, 2"}
    answer = begun(laptop, pieces, weighed="much", length="9", infill="half")
    assert answer.status_code == 422
    assert [entry["key"] for entry in answer.json()["advice"]] == ["shift", "length", "weighed", "infill"]


def test_tables_unknown_uploads_and_no_pieces_are_refused(laptop: TestClient, shelf: Path) -> None:
    table = upload(laptop, "stations.csv", (shelf / "wren" / "wren-stations.csv").read_bytes()).json()[
        "upload"
    ]
    assert "station table" in words(begun(laptop, [{"upload": table}]))
    assert begun(laptop, [{"upload": "nothing"}]).status_code == 404
    assert begun(laptop, []).status_code == 422
    assert begun(laptop, [{"upload": table}] * 61).status_code == 422
    assert laptop.post("/api/boats/nobody/prints", json={"pieces": [{"upload": table}]}).status_code == 404


def test_a_skin_that_cannot_be_written_is_refused_before_anything_is(laptop: TestClient, shelf: Path) -> None:
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    (piece,) = brought(laptop, tube(0.0, 300.0))
    revision = laptop.get("/api/boats/wren").json()["revision"]
    wish = {"upload": piece["upload"], "unit": "mm", "base": revision}
    for more, told in (
        ({"solid_walled": True, "skin": {"mass": "much", "known": "weighed"}}, "skin.mass"),
        ({"solid_walled": False, "skin": {"mass": "300 g", "known": "weighed"}}, "solid_walled"),
    ):
        answer = laptop.post("/api/boats/wren/hull", json=wish | more)
        assert answer.status_code == 422
        assert told in [entry["key"] for entry in answer.json()["advice"]]
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before


def test_a_piece_smaller_than_any_hull_is_looked_at_as_a_part(laptop: TestClient) -> None:
    (piece,) = brought(laptop, tube(0.0, 60.0))
    for part, sound in ((True, True), (False, False)):
        how = {"unit": "mm", "separate_shells": True, "part": part}
        job = ended(laptop, laptop.post(f"/api/uploads/{piece['upload']}/look", json=how))
        assert laptop.get(f"/api/jobs/{job['job']}/look").json()["sound"] is sound


def test_a_large_map_is_drawn_with_fewer_triangles_in_the_right_bands() -> None:
    from dabchick.studies.prints import WallMap
    from dabchick.workbench.prints_work import MOST_DRAWN, drawn

    vertices, faces = hollow_ball(0.08, 0.1, 5)
    middles = vertices[faces].mean(axis=1)
    bands = (middles[:, 0] > 0.0).astype(np.int64)
    seen_vertices, seen_faces, seen = drawn(WallMap(vertices, faces, np.ones(len(faces)), bands))
    assert len(faces) > MOST_DRAWN >= len(seen_faces)
    clear = np.abs(seen_vertices[seen_faces].mean(axis=1)[:, 0]) > 0.01
    assert (seen[clear] == (seen_vertices[seen_faces].mean(axis=1)[clear, 0] > 0.0)).all()
