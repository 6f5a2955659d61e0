"""Files brought in: what is taken, what is refused, and that hostile ones end as advice in a process of their own."""

import io
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from dabchick.storage.mesh_look import look_at
from dabchick.workbench import uploads as uploads_module
from dabchick.workbench.site import Site
from dabchick.workbench.uploads import Uploads, safe_name
from tests.support import broken
from tests.support.broken import egg, inside_out, stl_bytes, together, without
from tests.support.workbench import ended, served, settings, upload, words
from tests.unit.storage.test_mesh_file import three_mf

STATIONS = (
    b"unit, mm\nmeasured from, bow\nstation_x, diameter\n0, 0\n20, 41\n90, 80\n400, 80\n520, 40\n600, 12\n"
)


@pytest.fixture(scope="module")
def laptop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    shelf = tmp_path_factory.mktemp("shelf")
    with served(Site(settings(shelf), shelf)) as client:
        yield client


def looked(laptop: TestClient, name: str, content: bytes, **how: Any) -> Any:
    taken = upload(laptop, name, content)
    assert taken.status_code == 200, taken.text
    job = ended(laptop, laptop.post(f"/api/uploads/{taken.json()['upload']}/look", json=how))
    if job["state"] == "failed":
        return job
    return laptop.get(f"/api/jobs/{job['job']}/look").json()


def test_a_mesh_without_a_unit_shows_how_large_she_would_be_in_each(laptop: TestClient) -> None:
    seen = looked(laptop, "hull.stl", stl_bytes(egg(600.0, 100.0)))
    assert seen["triangles"] == len(egg()[1])
    assert (seen["bodies"], seen["sound"], seen["size"], seen["longest"]) == (1, True, "", "x")
    assert {choice["unit"]: choice["likely"] for choice in seen["units"]} == {
        "mm": True,
        "cm": False,
        "m": False,
        "in": False,
        "ft": False,
    }
    assert seen["units"][0]["size"] == "600.0 × 100.0 × 100.0 mm (23.62 × 3.94 × 3.94 in)"
    # drawn in the likely unit, in metres
    assert max(seen["preview"]["positions"]) == pytest.approx(0.6)
    assert max(seen["preview"]["indices"]) == len(seen["preview"]["positions"]) // 3 - 1


def test_a_mesh_with_a_unit_has_a_size_and_a_volume(laptop: TestClient) -> None:
    seen = looked(laptop, "hull.stl", stl_bytes(egg(24.0, 4.0)), unit="in")
    assert seen["size"] == "609.6 × 101.6 × 101.6 mm (24.00 × 4.00 × 4.00 in)"
    litres = broken.volume(egg(24.0, 4.0)) * 0.0254**3 * 1e3
    assert seen["volume"] == f"{litres:.3f} l"
    wrong = looked(laptop, "hull.stl", stl_bytes(egg(24.0, 4.0)), unit="mm")
    assert not wrong["sound"]
    assert "Did you mean" in words(wrong)


def test_faults_come_with_places_and_a_way_out_that_is_on_the_page(laptop: TestClient) -> None:
    seen = looked(laptop, "hull.stl", stl_bytes(without(egg(), 3)), unit="mm")
    assert not seen["sound"]
    assert "open" in words(seen)
    assert "dabchick check" not in words(seen)
    (place,) = seen["fault_points_m"]
    assert all(abs(value) <= 0.6 for value in place)


def test_a_repair_is_a_new_file_with_before_and_after(laptop: TestClient) -> None:
    old = upload(laptop, "hull.stl", stl_bytes(without(egg(), 3))).json()
    job = ended(laptop, laptop.post(f"/api/uploads/{old['upload']}/repair", json={"unit": "mm"}))
    mended = laptop.get(f"/api/jobs/{job['job']}/repair").json()
    assert mended["upload"] not in ("", old["upload"])
    assert not mended["before"]["sound"]
    assert mended["after"]["sound"]
    assert mended["after"]["triangles"] == mended["before"]["triangles"] + 1
    assert any("Capped" in line for line in mended["changes"])
    again = ended(laptop, laptop.post(f"/api/uploads/{mended['upload']}/look", json={"unit": "mm"}))
    assert laptop.get(f"/api/jobs/{again['job']}/look").json()["sound"]
    assert laptop.get(f"/api/jobs/{job['job']}/look").status_code == 404, (
        "this job's answer is of another kind"
    )


def test_a_repair_needs_a_mesh_and_its_unit(laptop: TestClient) -> None:
    mesh = upload(laptop, "hull.stl", stl_bytes(egg())).json()["upload"]
    assert "unit" in words(laptop.post(f"/api/uploads/{mesh}/repair", json={}))
    table = upload(laptop, "hull.csv", STATIONS).json()["upload"]
    assert "spreadsheet" in words(laptop.post(f"/api/uploads/{table}/repair", json={"unit": "mm"}))


def test_a_station_table_is_looked_at_too(laptop: TestClient) -> None:
    seen = looked(laptop, "hull.csv", STATIONS)
    assert (seen["kind"], seen["sound"], seen["units"]) == ("stations", True, [])
    assert seen["size"].startswith("600.0 × ")
    assert any("stern ends flat" in line for line in seen["assumptions"])
    wrong = looked(laptop, "hull.csv", STATIONS.replace(b"80\n", b"eighty\n"))
    assert wrong["state"] == "failed"
    assert "hull.csv:6, column 2" in words(wrong)


def test_a_wall_and_separate_bodies_are_told(laptop: TestClient) -> None:
    cavity = inside_out(broken.moved(egg(590.0, 96.0), (5.0, 0.0, 0.0)))
    seen = looked(laptop, "hull.stl", stl_bytes(together(egg(), cavity)), unit="mm")
    assert seen["solid_walled"]
    apart = stl_bytes(together(egg(), broken.moved(egg(60.0, 10.0), (0.0, 0.0, 200.0))))
    seen = looked(laptop, "hull.stl", apart, unit="mm")
    assert (seen["bodies"], seen["sound"]) == (2, False)
    assert "Separate bodies" in words(seen)
    assert looked(laptop, "hull.stl", apart, unit="mm", separate_shells=True)["sound"]


@pytest.mark.parametrize(
    "name", ["hull.exe", "hull", "hull.stl.html", "hull.svg", ".stl", "hull.zip", "hull.STL\u0000.png"]
)
def test_files_of_other_kinds_are_refused_by_name(laptop: TestClient, name: str) -> None:
    answer = upload(laptop, name, b"solid x")
    assert answer.status_code == 415
    assert ".stl" in words(answer)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("hull.stl", b"%PDF-1.7 and so on"),
        ("hull.stl", b"\x89PNG\r\n\x1a\n"),
        ("hull.obj", b"MZ\x90\0"),
        ("hull.csv", b"PK\x03\x04 a spreadsheet"),
        ("hull.csv", b"unit,\0mm"),
        ("hull.ply", b"solid hull"),
        ("hull.3mf", b"<model/>"),
        ("hull.stl", b"\x7fELF"),
    ],
)
def test_files_that_are_something_else_in_truth_are_refused(
    laptop: TestClient, name: str, content: bytes
) -> None:
    answer = upload(laptop, name, content)
    assert answer.status_code == 415
    assert "in truth" in words(answer)


def test_an_empty_file_is_refused(laptop: TestClient) -> None:
    assert upload(laptop, "hull.stl", b"").status_code == 422


def test_a_file_over_the_limit_is_refused_by_its_stated_length_and_by_its_real_one(
    laptop: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads_module, "MOST_BYTES", 1000)
    stated = upload(laptop, "hull.stl", b"x" * 1001)
    assert stated.status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(11):
            yield b"y" * 100

    streamed = laptop.post(
        "/api/uploads", params={"name": "hull.stl"}, content=pieces(), headers={"content-type": "model/stl"}
    )
    assert streamed.status_code == 413
    assert "too large" in words(streamed)


def bomb() -> bytes:
    """80 MB of blanks as a 3MF file of some 80 kB."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", b" " * 80_000_000)
    return buffer.getvalue()


def entities(encoding: str) -> bytes:
    """A 3MF file whose XML would grow without end."""
    rows = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    text = f'<?xml version="1.0"?><!DOCTYPE model [<!ENTITY a0 "lol">{rows}]><model>&a11;</model>'
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as package:
        package.writestr("3D/3dmodel.model", text.encode(encoding))
    return buffer.getvalue()


def huge_stl() -> bytes:
    """An STL file that says it holds four thousand million triangles."""
    return b"\0" * 80 + struct.pack("<I", 2**32 - 1) + b"\0" * 500


HOSTILE = {
    "a bomb": ("hull.3mf", bomb(), "unpack"),
    "entities": ("hull.3mf", entities("utf-8"), "entities"),
    "entities in UTF-16": ("hull.3mf", entities("utf-16"), "entities"),
    "half an archive": ("hull.3mf", three_mf(egg(), "millimeter")[:3000], "whole"),
    "no model": ("hull.3mf", b"PK\x03\x04" + b"\0" * 200, "whole"),
    "too many triangles said": ("hull.stl", huge_stl(), "triangles"),
    "broken off": ("hull.stl", stl_bytes(egg())[:-30], "breaks off"),
    "noise": ("hull.stl", np.random.default_rng(5).bytes(5000), "triangles"),
    "a million million points said": (
        "hull.ply",
        b"ply\nformat binary_little_endian 1.0\nelement vertex 999999999999\nproperty float x\nproperty float y\n"
        b"property float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n"
        + b"\0"
        * 100,
        "PLY",
    ),
    "faces without corners": ("hull.obj", b"v 0 0 0\nf 1 2 99999\n", "OBJ"),
    "no numbers": ("hull.obj", b"v nan nan inf\n" * 3 + b"f 1 2 3\n", "no numbers"),
    "an endless line": ("hull.csv", b"unit, mm\n" + b"1," * 200_000, ""),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_files_end_as_advice(laptop: TestClient, kind: str) -> None:
    name, content, says = HOSTILE[kind]
    answer = looked(laptop, name, content, unit="mm")
    assert says in words(answer)
    assert not answer.get("sound", False)
    assert laptop.get("/api/me").status_code == 200, "the server is as well as before"


def test_the_format_that_says_its_unit_is_read_in_it(laptop: TestClient) -> None:
    seen = looked(laptop, "hull.3mf", three_mf(egg(24.0, 4.0), "inch"))
    assert seen["size"].endswith("(24.00 × 4.00 × 4.00 in)")


def test_an_upload_that_is_not_there_is_advice(laptop: TestClient) -> None:
    for wrong in ("x", "..%2f..%2fetc%2fpasswd", "%00"):
        assert laptop.post(f"/api/uploads/{wrong}/look", json={}).status_code == 404


@given(st.text(max_size=120))
def test_no_name_leaves_its_folder(name: str) -> None:
    plain = safe_name(name)
    assert len(plain) <= 90
    assert not set(plain) & set('/\\\0<>:"|?*\n\r')
    assert plain not in ("..", ".")
    assert not plain.startswith(".")
    assert (Path("/shelf/x") / plain).resolve().parent in (Path("/shelf/x"), Path("/shelf"))


@pytest.mark.parametrize(
    ("given_name", "plain"),
    [
        ("../../etc/passwd.stl", "passwd.stl"),
        (r"C:\boats\My hull (2).STL", "My hull 2.STL"),
        ("con.stl", "con-file.stl"),
        (".hidden.stl", "hidden.stl"),
        ("Füße.stl", "Füße.stl"),
    ],
)
def test_names_stay_readable(given_name: str, plain: str) -> None:
    assert safe_name(given_name) == plain


def test_files_go_after_an_hour_and_at_the_end() -> None:
    now = [0.0]
    files = Uploads(clock=lambda: now[0])
    with files.begin("hull.stl") as arriving:
        arriving.take(stl_bytes(egg()))
        kept = arriving.done()
    now[0] = 3599.0
    assert files.get(kept.upload).file.is_file()
    now[0] = 3601.0
    with pytest.raises(Exception, match="not here any more"):
        files.get(kept.upload)
    assert not kept.file.exists()
    with files.begin("hull.stl") as arriving:
        arriving.take(stl_bytes(egg()))
        kept = arriving.done()
    with files.begin("other.stl") as arriving:
        arriving.take(b"half a file")
    assert len(list(files.folder().iterdir())) == 1, "what did not arrive whole leaves nothing"
    folder = files.folder()
    files.close()
    assert not folder.exists()


def test_a_look_moves_nothing(tmp_path: Path) -> None:
    file = broken.write_stl(tmp_path / "hull.stl", egg())
    before = file.read_bytes()
    look_at(file, "mm")
    assert file.read_bytes() == before
