"""The hull's page: figures, check, and a new file in the old one's place without losing anything."""

from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from tests.support import broken
from tests.support.broken import egg, inside_out, stl_bytes, together, without
from tests.support.workbench import ended, upload, words

TABLE = (
    b"unit, mm\nmeasured from, bow\nstation_x, diameter\n0, 0\n20, 60\n90, 104\n700, 104\n820, 60\n900, 12\n"
)


def state(laptop: TestClient) -> Any:
    return laptop.get("/api/boats/wren").json()


def take(laptop: TestClient, name: str, content: bytes, **how: Any) -> Any:
    file = upload(laptop, name, content).json()["upload"]
    base = how.pop("base", None)
    base = state(laptop)["revision"] if base is None else base
    return laptop.post("/api/boats/wren/hull", json={"upload": file, "base": base, **how})


def test_the_hull_in_figures(laptop: TestClient, shelf: Path) -> None:
    hull = laptop.get("/api/boats/wren/hull").json()
    vessel = open_boat(shelf / "wren").vessel
    figures = {line["label"]: line["figure"] for line in hull["lines"]}
    assert hull["file"] == "wren-stations.csv"
    assert figures["Length"]["value"] == pytest.approx(vessel.length_m) == pytest.approx(0.9)
    assert figures["Mass of the skin"]["text"].split() == ["652.0", "g"]  # as weighed, in the boat file
    assert figures["Volume of the form"]["value"] == pytest.approx(vessel.hull.volume)
    # a skin's material is about its area by its thickness of 1.8 mm
    about = figures["Area of the form"]["value"] * 0.0018
    assert figures["Volume of the skin's material"]["value"] == pytest.approx(about, rel=0.05)


def test_check_says_what_the_command_says(laptop: TestClient, shelf: Path) -> None:
    from dabchick.studies import check

    job = ended(laptop, laptop.post("/api/boats/wren/check"))
    assert job["state"] == "done", job
    told = laptop.get(f"/api/jobs/{job['job']}/check").json()
    result = check.run(open_boat(shelf / "wren").vessel)
    assert [entry["what"] for entry in told["advice"]][: len(result.findings)] == [
        entry.what for entry in result.findings
    ]
    assert told["assumptions"] == list(result.assumptions)


def test_a_mesh_takes_the_place_of_the_table_and_undo_brings_it_back(laptop: TestClient, shelf: Path) -> None:
    before = (shelf / "wren" / "boat.toml").read_text("utf-8")
    answer = take(laptop, "my hull.stl", stl_bytes(egg(900.0, 104.0)), unit="mm")
    assert answer.status_code == 200, answer.text
    hull = answer.json()["values"]["hull"]
    assert (hull["mesh"], hull["unit"]) == ("my hull.stl", "mm")
    assert not set(hull) & {"stations", "bow", "up", "solid_walled", "separate_shells"}
    assert (shelf / "wren" / "wren-stations.csv").is_file()
    undone = laptop.post("/api/boats/wren/undo", json={"base": answer.json()["revision"]})
    assert undone.json()["values"]["hull"]["stations"] == "wren-stations.csv"
    assert (shelf / "wren" / "boat.toml").read_text("utf-8") == before
    again = laptop.post("/api/boats/wren/redo", json={"base": undone.json()["revision"]})
    assert again.json()["values"]["hull"]["mesh"] == "my hull.stl"


def test_a_table_takes_the_place_of_a_mesh_with_all_its_keys(laptop: TestClient) -> None:
    turned = egg(900.0, 104.0)
    turned = turned[0][:, [1, 0, 2]] * [1.0, -1.0, 1.0], turned[1]  # its bow along -y
    answer = take(laptop, "hull.stl", stl_bytes(turned), unit="mm", bow="-y")
    assert answer.json()["values"]["hull"]["bow"] == "-y"
    assert not answer.json()["errors"]
    answer = take(laptop, "table.csv", TABLE)
    assert answer.status_code == 200, answer.text
    hull = answer.json()["values"]["hull"]
    assert hull["stations"] == "table.csv"
    assert not set(hull) & {"mesh", "unit", "bow"}


def test_a_mesh_that_is_all_wall_takes_the_thickness_out(laptop: TestClient) -> None:
    cavity = inside_out(broken.moved(egg(896.0, 100.0), (2.0, 0.0, 0.0)))
    wall = stl_bytes(together(egg(900.0, 104.0), cavity))
    refused = take(laptop, "wall.stl", wall, unit="mm")
    assert refused.status_code == 422
    assert "all wall" in words(refused)
    answer = take(laptop, "wall.stl", wall, unit="mm", solid_walled=True)
    hull = answer.json()["values"]["hull"]
    assert hull["solid_walled"] is True
    assert not set(hull["skin"]) & {"thickness", "spread"}
    assert hull["skin"]["material"] == "GRP"


def test_two_files_of_one_name_stand_side_by_side_and_the_same_one_once(
    laptop: TestClient, shelf: Path
) -> None:
    for length, name in ((900.0, "hull.stl"), (910.0, "hull-2.stl"), (900.0, "hull.stl")):
        answer = take(laptop, "hull.stl", stl_bytes(egg(length, 104.0)), unit="mm")
        assert answer.json()["values"]["hull"]["mesh"] == name
    assert len(list((shelf / "wren").glob("*.stl"))) == 2


def test_a_stale_page_changes_nothing_and_leaves_no_file(laptop: TestClient, shelf: Path) -> None:
    before = sorted(entry.name for entry in (shelf / "wren").iterdir())
    old = state(laptop)["revision"] - 1
    answer = take(laptop, "hull.stl", stl_bytes(egg(900.0, 104.0)), unit="mm", base=old)
    assert answer.status_code == 409
    assert words(answer)
    assert sorted(entry.name for entry in (shelf / "wren").iterdir() if entry.name != ".history") == [
        name for name in before if name != ".history"
    ]


@pytest.mark.parametrize(
    ("name", "content", "how", "says"),
    [
        ("hull.stl", stl_bytes(without(egg(), 3)), {"unit": "mm"}, "open"),
        ("hull.stl", stl_bytes(egg()), {}, "unit"),
        ("hull.stl", stl_bytes(egg()), {"unit": "m"}, "600 m"),
        ("hull.stl", stl_bytes(egg()), {"unit": "mm", "bow": "+z"}, "same axis"),
        ("hull.csv", TABLE.replace(b"60", b"sixty"), {}, "not a number"),
    ],
)
def test_a_file_that_is_no_hull_is_refused_with_advice(
    laptop: TestClient, shelf: Path, name: str, content: bytes, how: dict[str, str], says: str
) -> None:
    before = (shelf / "wren" / "boat.toml").read_bytes()
    answer = take(laptop, name, content, **how)
    assert answer.status_code == 422
    assert says in words(answer)
    assert (shelf / "wren" / "boat.toml").read_bytes() == before
    assert not (shelf / "wren" / name).exists()


def test_no_such_boat_and_no_such_file(laptop: TestClient) -> None:
    for boat in ("heron", "..", ".history", "%2e%2e%2fwren"):
        assert laptop.get(f"/api/boats/{boat}/hull").status_code == 404
    missing = laptop.post("/api/boats/wren/hull", json={"upload": "x", "base": 1})
    assert missing.status_code == 404
