"""The shelf over HTTP: its list, and boats as zip files, which may be hostile."""

import io
import stat
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from dabchick.storage import boat_zip
from dabchick.storage.folder import open_boat
from dabchick.workbench import errors, routes_shelf, shelf
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.settings import Settings
from dabchick.workbench.shelf import Shelf
from tests.support.sample_boat import TEXT, write_boat


@pytest.fixture(scope="module")
def jobs() -> Iterator[Jobs]:
    running = Jobs()
    yield running
    running.close()


@pytest.fixture
def page(tmp_path: Path, jobs: Jobs) -> TestClient:
    write_boat(tmp_path / "box")
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_shelf.router(Shelf(tmp_path), jobs, Settings(tmp_path, first_boat="box")))
    return TestClient(app)


def zipped(files: Mapping[str, str | bytes]) -> bytes:
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return found.getvalue()


def folders(tmp_path: Path) -> list[str]:
    return sorted(entry.name for entry in tmp_path.iterdir())


def test_list(page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelf, "LIST_S", 60.0)
    write_boat(
        tmp_path / "faulty",
        TEXT.replace('waterline = "70 mm"', 'waterline = "70 stones"').replace('"Box"', '"Crate"'),
    )
    (tmp_path / "torn").mkdir()
    (tmp_path / "torn" / "boat.toml").write_text("name = ")
    (tmp_path / ".hidden").mkdir()
    (tmp_path / ".hidden" / "boat.toml").write_text(TEXT)
    (tmp_path / "no boat").mkdir()
    told = page.get("/api/boats").json()
    assert (told["folder"], told["first"], told["lan"]) == (tmp_path.name, "box", False)
    assert [(boat["boat"], boat["name"], boat["errors"], boat["about"]) for boat in told["boats"]] == [
        ("box", "Box", 0, "600.0 mm long, 4 parts, 1 tank"),
        ("faulty", "Crate", 1, "4 parts, 1 tank"),
        ("torn", "torn", 1, "Her file cannot be read as it is."),
    ]
    assert not (tmp_path / "box" / ".history").exists()
    assert page.get("/api/boats").json() == told


def test_long_list_is_told_from_the_files_alone(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "LIST_S", 0.0)
    write_boat(tmp_path / "faulty", TEXT.replace('waterline = "70 mm"', 'waterline = "70 stones"'))
    boats = page.get("/api/boats").json()["boats"]
    assert [(boat["about"], boat["errors"]) for boat in boats] == [
        ("4 parts, 1 tank", 0),
        ("4 parts, 1 tank", 1),
    ]


def test_out_and_in_again(page: TestClient, tmp_path: Path) -> None:
    (tmp_path / "box" / ".history").mkdir()
    (tmp_path / "box" / ".history" / "journal").write_text("old")
    (tmp_path / "box" / "pictures").mkdir()
    (tmp_path / "box" / "pictures" / "plan.png").write_bytes(b"plan")
    (tmp_path / "secret").write_text("secret")
    (tmp_path / "box" / "link").symlink_to(tmp_path / "secret")
    packed = page.get("/api/boats/box/zip")
    assert "box.zip" in packed.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(packed.content)) as archive:
        assert sorted(archive.namelist()) == ["box/boat.toml", "box/hull.stl", "box/pictures/plan.png"]
    assert page.post("/api/boats/zip", content=packed.content).json() == {"boat": "box-2"}
    assert (tmp_path / "box-2" / "pictures" / "plan.png").read_bytes() == b"plan"
    assert open_boat(tmp_path / "box-2").text == TEXT
    assert [boat["boat"] for boat in page.get("/api/boats").json()["boats"]] == ["box", "box-2"]


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("Wren of the Sea", "wren-of-the-sea"),
        ("../../etc", "etc"),
        ("Ünder", "under"),
        ("NUL", "nul-boat"),
        ("舟", "boat"),
        ("BOX", "box-2"),
    ],
)
def test_folder_is_named_after_the_boat(page: TestClient, tmp_path: Path, name: str, folder: str) -> None:
    packed = zipped({"boat.toml": TEXT.replace('"Box"', f'"{name}"'), "__MACOSX/x": "", ".DS_Store": ""})
    assert page.post("/api/boats/zip", content=packed).json() == {"boat": folder}
    assert folders(tmp_path / folder) == ["boat.toml"]


def test_faulty_boat_comes_in_to_be_put_right(page: TestClient) -> None:
    assert page.post("/api/boats/zip", content=zipped({"boat.toml": "name = "})).json() == {"boat": "boat"}


def link() -> bytes:
    entry = zipfile.ZipInfo("hull.stl")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w") as archive:
        archive.writestr("boat.toml", TEXT)
        archive.writestr(entry, "/etc/passwd")
    return found.getvalue()


def torn() -> bytes:
    """One letter of the packed file is another."""
    whole = bytearray(zipped({"boat.toml": TEXT}))
    whole[200] ^= 0xFF
    return bytes(whole)


@pytest.mark.parametrize(
    ("packed", "words"),
    [
        (zipped({"boat.toml": TEXT, "../out.toml": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "/tmp/out": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "a/../../out": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "C:/out": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "a\\..\\out": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "a//b": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "a\x01": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "a /b": "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "/".join("abcdefgh"): "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "x" * 200: "x"}), "a place that no boat has"),
        (zipped({"boat.toml": TEXT, "BOAT.toml": "x"}), "two files of one name"),
        (zipped({"boat.toml": TEXT, "a": "x", "a/b": "x"}), "two files of one name"),
        (zipped({"hull.stl": "x"}), "no boat.toml"),
        (zipped({"a/boat.toml": TEXT, "b/boat.toml": TEXT}), "no boat.toml"),
        (zipped({"boat.toml": TEXT, "bomb.stl": b"\0" * 20_000_000}), "unpacks to far more"),
        (zipped({"boat.toml": TEXT} | {f"{number}.txt": "" for number in range(500)}), "too many files"),
        (link(), "holds a link"),
        (torn(), "not a whole zip file"),
        (b"no zip", "not a whole zip file"),
        (b"", "not a whole zip file"),
    ],
)
def test_what_is_no_boat_is_refused_and_leaves_nothing(
    page: TestClient, tmp_path: Path, packed: bytes, words: str
) -> None:
    before = folders(tmp_path)
    answer = page.post("/api/boats/zip", content=packed)
    assert answer.status_code == 422
    assert words in answer.json()["advice"][0]["what"]
    assert str(tmp_path) not in answer.text
    assert folders(tmp_path) == before


def test_size_is_counted_not_believed(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of 3 MB that says it has 10 bytes."""
    packed = bytearray(zipped({"boat.toml": TEXT, "hull.stl": bytes(range(256)) * 12_000}))
    said = (3_072_000).to_bytes(4, "little")
    assert packed.count(said) == 2
    lying = bytes(packed).replace(said, (10).to_bytes(4, "little"))
    monkeypatch.setattr(boat_zip, "MOST_BYTES", 1_000_000)
    assert page.post("/api/boats/zip", content=lying).status_code == 422
    assert page.post("/api/boats/zip", content=bytes(packed)).status_code == 422
    assert folders(tmp_path) == ["box"]


def test_too_much_is_cut_off(page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(routes_shelf, "MOST_ZIP", 1000)
    answer = page.post("/api/boats/zip", content=b"x" * 1001)
    assert answer.status_code == 413
    assert folders(tmp_path) == ["box"]


def test_a_boat_that_cannot_be_opened_within_the_limits_stays_outside(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Her meshes are read in a process of its own, which is ended when it takes too long or too much."""
    monkeypatch.setattr(routes_shelf, "LOOK_SECONDS", 0.001)
    answer = page.post("/api/boats/zip", content=zipped({"boat.toml": TEXT}))
    assert answer.status_code == 422
    assert "long" in answer.json()["advice"][0]["what"]
    assert folders(tmp_path) == ["box"]


def test_what_a_killed_server_was_unpacking_is_cleared(tmp_path: Path, jobs: Jobs) -> None:
    (tmp_path / ".dabchick-unpacking-abc").mkdir()
    routes_shelf.router(Shelf(tmp_path), jobs, Settings(tmp_path))
    assert folders(tmp_path) == []
