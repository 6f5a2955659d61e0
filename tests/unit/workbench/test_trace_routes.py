"""Tracing a plan: hostile and huge pictures end as advice, nothing traced is lost, and the figures are the plan's."""

import io
import struct
import tomllib
import zlib
from collections.abc import Iterator
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from dabchick.storage.plan_picture import MOST_PIXELS, SHOWN_SIDE, picture_size
from dabchick.workbench.site import Site
from tests.support.broken import egg, stl_bytes
from tests.support.plan_sheet import Sheet, traced
from tests.support.workbench import ended, served, settings, words

WREN = "/api/boats/wren"
SHEET = Sheet()


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A workbench for what touches no boat."""
    shelf = tmp_path_factory.mktemp("shelf")
    with served(Site(settings(shelf), shelf)) as client:
        yield client


def brought(laptop: TestClient, name: str, content: bytes) -> Any:
    return laptop.post(
        "/api/uploads",
        params={"name": name, "purpose": "plan"},
        content=content,
        headers={"content-type": "application/octet-stream"},
    )


def looked(laptop: TestClient, name: str, content: bytes, page: int = 1) -> Any:
    """What is found in a plan, or the job that failed at it."""
    taken = brought(laptop, name, content)
    assert taken.status_code == 200, taken.text
    return looked_again(laptop, taken.json()["upload"], page)


def looked_again(laptop: TestClient, upload: str, page: int = 1) -> Any:
    job = ended(laptop, laptop.post(f"/api/uploads/{upload}/plan", json={"page": page}))
    return job if job["state"] == "failed" else laptop.get(f"/api/jobs/{job['job']}/plan").json()


def encoded(picture: Image.Image, kind: str, **how: Any) -> bytes:
    content = io.BytesIO()
    picture.save(content, kind, **how)
    return content.getvalue()


def png_of_size(width: int, height: int) -> bytes:
    """A PNG that says it is this large and holds next to nothing."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    )


def kept(laptop: TestClient, trace: Any, base: str | None = None) -> Any:
    base = laptop.get(f"{WREN}/trace").json()["base"] if base is None else base
    return laptop.post(f"{WREN}/trace", json={"base": base, "trace": trace})


def with_plan(laptop: TestClient, shelf: Path) -> Any:
    """The demo boat with one view on the sheet, which lies in her folder."""
    (shelf / "wren" / "plan.png").write_bytes(PLAN)
    base = laptop.get(f"{WREN}/trace").json()["base"]
    return laptop.post(f"{WREN}/trace/views", json={"base": base, "kind": "side", "picture": "plan.png"})


PLAN = encoded(SHEET.picture(), "PNG")

# Pictures


@pytest.mark.parametrize(
    ("width", "height"),
    [(60_000, 60_000), (20_000, 10_000), (2**31 - 1, 2**31 - 1)],
    ids=["bomb", "200 million", "largest"],
)
def test_a_picture_too_large_is_refused_by_its_header_with_a_way_out(
    plain: TestClient, width: int, height: int
) -> None:
    seen = looked(plain, "plan.png", png_of_size(width, height))
    assert seen["state"] == "failed"
    told = words(seen)
    assert f"{width} × {height}" in told
    assert f"up to {MOST_PIXELS / 1e6:.0f} million pixels" in told
    assert "Scan the sheet more coarsely" in told


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("plan.png", PLAN[:9000], "damaged or not whole"),
        ("plan.jpg", encoded(SHEET.picture(), "JPEG")[:9000], "damaged or not whole"),
        ("plan.png", png_of_size(600, 400), "damaged or not whole"),
        ("plan.png", b"\x89PNG\r\n\x1a\n" + b"\0" * 60, "damaged or not whole"),
        ("plan.pdf", b"%PDF-1.7\nnothing more", "damaged or not whole"),
        ("plan.png", encoded(Image.new("L", (20, 900)), "PNG"), "too small to trace on"),
    ],
)
def test_pictures_that_are_not_whole_or_of_no_use_are_told(
    plain: TestClient, name: str, content: bytes, said: str
) -> None:
    seen = looked(plain, name, content)
    assert seen["state"] == "failed"
    assert said in words(seen)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("plan.png", stl_bytes(egg())),
        ("plan.png", encoded(SHEET.picture(), "GIF")),
        ("plan.jpg", PLAN),
        ("plan.pdf", b"PK\x03\x04 a spreadsheet"),
        ("plan.svg", b"<svg/>"),
        ("hull.stl", stl_bytes(egg())),
    ],
)
def test_other_files_are_no_plans(plain: TestClient, name: str, content: bytes) -> None:
    answer = brought(plain, name, content)
    assert answer.status_code == 415
    assert ".png" in words(answer)


def test_a_plan_is_no_hull_and_a_hull_no_plan(plain: TestClient) -> None:
    plan = brought(plain, "plan.png", PLAN).json()["upload"]
    for way in ("look", "repair"):
        answer = plain.post(f"/api/uploads/{plan}/{way}", json={"unit": "mm"})
        assert answer.status_code == 422
        assert "Trace a plan" in words(answer)
    mesh = plain.post(
        "/api/uploads",
        params={"name": "hull.stl"},
        content=stl_bytes(egg()),
        headers={"content-type": "model/stl"},
    ).json()["upload"]
    assert "no picture of a plan" in words(plain.post(f"/api/uploads/{mesh}/plan", json={}))


def test_a_photo_is_seen_as_the_camera_was_held(plain: TestClient) -> None:
    # EXIF orientation 6: the picture's first row is its right side (CIPA DC-008, table of the tag Orientation).
    held = Image.Exif()
    held[0x0112] = 6
    photo = Image.new("RGB", (600, 400), "white")
    photo.paste((255, 0, 0), (0, 0, 300, 200))
    seen = looked(plain, "photo.jpg", encoded(photo, "JPEG", exif=held))
    assert (seen["width"], seen["height"]) == (400, 600)
    shown = Image.open(io.BytesIO(plain.get(f"/api/uploads/{seen['upload']}/plan.jpg").content))
    assert shown.size == (400, 600)
    # The upper left quarter as stored is the upper right one as seen.
    red, white = shown.getpixel((300, 100)), shown.getpixel((100, 100))
    assert isinstance(red, tuple)
    assert isinstance(white, tuple)
    assert red[1] < 60 < 200 < white[1]


def test_a_large_scan_is_kept_whole_and_shown_smaller(laptop: TestClient, shelf: Path) -> None:
    scan = encoded(Image.new("L", (6000, 4500), 250), "PNG")
    plan = looked(laptop, "large scan.png", scan)
    assert (plan["width"], plan["height"]) == (6000, 4500)
    assert "Kept whole; shown at 50 %" in plan["note"]
    base = laptop.get(f"{WREN}/trace").json()["base"]
    wish = {"base": base, "kind": "side", "upload": plan["upload"]}
    out = laptop.post(f"{WREN}/trace/views", json=wish).json()
    assert (shelf / "wren" / "large scan.png").read_bytes() == scan
    (told,) = out["pictures"]
    assert (told["name"], told["width"], told["height"]) == ("large scan.png", 6000, 4500)
    shown = laptop.get(f"{WREN}/trace/picture.jpg", params={"name": told["name"], "mark": told["mark"]})
    assert Image.open(io.BytesIO(shown.content)).size == (SHOWN_SIDE, SHOWN_SIDE * 3 // 4)
    assert "max-age" in shown.headers["cache-control"]


def test_pages_of_a_document(plain: TestClient) -> None:
    # At 72 dots per inch the second page has 800 x 500 points; drawn with 200 dots per inch it has 200/72 as many.
    first, second = Image.new("L", (400, 300), 255), Image.new("L", (800, 500), 255)
    document = encoded(first, "PDF", save_all=True, append_images=[second], resolution=72)
    taken = brought(plain, "plan.pdf", document).json()["upload"]
    seen = looked_again(plain, taken, 2)
    assert (seen["pages"], seen["page"], seen["name"]) == (2, 2, "plan-page-2.png")
    assert (seen["width"], seen["height"]) == pytest.approx((800 * 200 / 72, 500 * 200 / 72), abs=1.0)
    missing = looked_again(plain, taken, 3)
    assert missing["state"] == "failed"
    assert "no page 3" in words(missing)
    assert "1 to 2" in words(missing)


def test_pictures_of_every_depth_can_be_shown(tmp_path: Path) -> None:
    from dabchick.storage.plan_picture import shown_picture

    sheet = SHEET.picture()
    for mode, kind in (
        ("1", "PNG"),
        ("P", "PNG"),
        ("RGBA", "PNG"),
        ("LA", "PNG"),
        ("I;16", "PNG"),
        ("CMYK", "JPEG"),
    ):
        picture = (
            sheet.point(lambda value: value * 257, "I").convert(mode)
            if mode == "I;16"
            else sheet.convert(mode)
        )
        file = tmp_path / f"{mode.replace(';', '')}.{kind.lower()}"
        picture.save(file, kind)
        shown = Image.open(io.BytesIO(shown_picture(file).jpeg)).convert("L")
        assert shown.size == picture_size(file) == sheet.size
        # Paper stays paper and the filled half of the scale bar stays ink.
        assert mean(shown, (60, 680, 140, 720)) > 235, mode
        assert mean(shown, (920, 976, 1100, 984)) < 60, mode


def mean(picture: Image.Image, box: tuple[int, int, int, int]) -> float:
    """How bright a part of a grey picture is, 0 to 255."""
    part = picture.crop(box).tobytes()
    return sum(part) / len(part)


# The document


def test_a_view_brings_its_picture_and_its_usual_lines(laptop: TestClient, shelf: Path) -> None:
    plan = looked(laptop, "plan.png", PLAN)
    out = laptop.post(f"{WREN}/trace/views", json={"base": "", "kind": "side", "upload": plan["upload"]})
    assert out.status_code == 200, out.text
    told = out.json()
    assert (told["file"], told["used"]) == ("wren-trace.toml", False)
    (view,) = told["trace"]["view"]
    assert [curve["role"] for curve in view["curve"]] == ["upper", "lower"]
    assert (shelf / "wren" / "plan.png").read_bytes() == PLAN
    again = laptop.post(
        f"{WREN}/trace/views", json={"base": told["base"], "kind": "top", "picture": "plan.png"}
    )
    assert [view["picture"] for view in again.json()["trace"]["view"]] == ["plan.png", "plan.png"]
    assert [file.name for file in (shelf / "wren").glob("plan*")] == ["plan.png"]


def test_a_trace_is_written_as_typed_and_survives(laptop: TestClient, shelf: Path) -> None:
    with_plan(laptop, shelf)
    trace: Any = traced(SHEET, "plan.png")
    trace["view"][0]["scale"]["length"] = "11 13/16 in"
    trace["view"][1]["scale"].pop("length")
    trace["length"] = "0.9 m"
    out = kept(laptop, trace)
    assert out.status_code == 200, out.text
    content = tomllib.loads((shelf / "wren" / "wren-trace.toml").read_text("utf-8"))
    assert content["dabchick_trace"] == 1
    assert content["length"] == "0.9 m"
    assert content["view"][0]["scale"]["length"] == "11 13/16 in"
    assert content["view"][0]["curve"][0]["points"][10] == pytest.approx(SHEET.side.upper(21)[10], abs=1e-3)
    read = laptop.get(f"{WREN}/trace").json()
    assert read["base"] == out.json()["base"]
    assert read["trace"] == out.json()["trace"]
    assert list((shelf / "wren" / ".history").glob("wren-trace-*.toml"))


def test_an_older_page_is_refused_and_changes_nothing(laptop: TestClient, shelf: Path) -> None:
    base = with_plan(laptop, shelf).json()["base"]
    trace = traced(SHEET, "plan.png")
    assert kept(laptop, trace, base).status_code == 200
    there = (shelf / "wren" / "wren-trace.toml").read_bytes()
    late = kept(laptop, {"view": []}, base)
    assert late.status_code == 409
    assert "changed elsewhere" in words(late)
    assert (shelf / "wren" / "wren-trace.toml").read_bytes() == there
    # Nor does a picture stay behind that came with the refused step.
    plan = looked(laptop, "other.png", encoded(SHEET.picture().transpose(Image.Transpose.ROTATE_180), "PNG"))
    wish = {"base": base, "kind": "top", "upload": plan["upload"]}
    assert laptop.post(f"{WREN}/trace/views", json=wish).status_code == 409
    assert not (shelf / "wren" / "other.png").exists()


def test_a_length_without_a_unit_is_told_with_its_key(laptop: TestClient, shelf: Path) -> None:
    out = with_plan(laptop, shelf).json()
    there = (shelf / "wren" / "wren-trace.toml").read_bytes()
    trace: Any = traced(SHEET, "plan.png")
    trace["view"][1]["scale"] = {"from": [0, 0], "to": [90, 0], "length": "300"}
    answer = kept(laptop, trace, out["base"])
    assert answer.status_code == 422
    assert [entry["key"] for entry in answer.json()["advice"]] == ["view[2].scale.length"]
    assert (shelf / "wren" / "wren-trace.toml").read_bytes() == there


@pytest.mark.parametrize("name", ["../plan.png", "/etc/hostname", "none.png", "plan\0.png"])
def test_no_picture_is_read_from_outside(laptop: TestClient, shelf: Path, name: str) -> None:
    (shelf / "plan.png").write_bytes(PLAN)
    shown = laptop.get(f"{WREN}/trace/picture.jpg", params={"name": name})
    assert shown.status_code in (404, 422)
    assert "folder" in words(shown)
    taken = laptop.post(f"{WREN}/trace/views", json={"base": "", "kind": "side", "picture": name})
    assert taken.status_code in (404, 422)


def test_a_trace_that_an_editor_broke_says_where(laptop: TestClient, shelf: Path) -> None:
    (shelf / "wren" / "wren-trace.toml").write_text('dabchick_trace = 1\nlength = "900"\n', "utf-8")
    answer = laptop.get(f"{WREN}/trace")
    assert answer.status_code == 422
    assert "wren-trace.toml:2" in words(answer)


@pytest.mark.parametrize(
    ("named", "said"),
    [("../wren-trace.toml", "outside the boat's folder"), ("boat.toml", "The boat's own file")],
)
def test_a_trace_that_is_named_elsewhere_is_never_written(
    laptop: TestClient, shelf: Path, named: str, said: str
) -> None:
    file = shelf / "wren" / "boat.toml"
    text = file.read_text("utf-8").replace('stations = "wren-stations.csv"', f'trace = "{named}"')
    file.write_text(text, "utf-8")
    for answer in (laptop.get(f"{WREN}/trace"), kept(laptop, {"view": []}, "")):
        assert answer.status_code == 422
        assert said in words(answer)
    assert file.read_text("utf-8") == text
    assert not (shelf / "wren-trace.toml").exists()


# Curves and figures


def test_faired_curves_go_through_their_points_and_the_comb_shows_the_bend(plain: TestClient) -> None:
    # A circle of 100 pixels: curvature 1/100 everywhere, so every tooth has one length.
    circle = [(500 + 100 * cos(step * pi / 16), 500 - 100 * sin(step * pi / 16)) for step in range(17)]
    answer = plain.post("/api/trace/fair", json={"curves": [{"points": circle, "comb_scale": 1000.0}]})
    (drawn,) = answer.json()["curves"]
    line = [tuple(drawn["line"][at : at + 2]) for at in range(0, len(drawn["line"]), 2)]
    assert all(abs(((x - 500) ** 2 + (y - 500) ** 2) ** 0.5 - 100) < 0.1 for x, y in line)
    for point in circle:
        assert min((x - point[0]) ** 2 + (y - point[1]) ** 2 for x, y in line) < 0.1
    teeth = [drawn["comb"][at : at + 4] for at in range(0, len(drawn["comb"]), 4)]
    lengths = [((c - a) ** 2 + (d - b) ** 2) ** 0.5 for a, b, c, d in teeth]
    # scale by curvature: 1000 / 100
    assert lengths == pytest.approx([10.0] * len(lengths), rel=0.1)


@pytest.mark.parametrize(
    "points",
    [[], [[1, 1]], [[1, 1], [1, 1]], [[0, 0], [5, 5], [5, 5], [9, 1]]],
    ids=["none", "one", "same", "twice"],
)
def test_points_that_make_no_curve_draw_nothing(plain: TestClient, points: list[list[float]]) -> None:
    answer = plain.post("/api/trace/fair", json={"curves": [{"points": points, "corners": [3, 7]}]})
    assert answer.status_code == 200
    assert answer.json()["curves"] == [{"line": [], "comb": [], "comb_scale": 0.0}]


def worked_out(laptop: TestClient) -> Any:
    job = ended(laptop, laptop.post(f"{WREN}/trace/figures"))
    assert job["state"] == "done", job
    return laptop.get(f"/api/jobs/{job['job']}/trace").json()


def test_an_ellipsoid_comes_out_with_its_volume_and_its_bands(laptop: TestClient, shelf: Path) -> None:
    with_plan(laptop, shelf)
    kept(laptop, traced(SHEET, "plan.png", 33))
    found = worked_out(laptop)
    figures = {line["label"]: line["figure"] for line in found["lines"]}
    assert found["closes"]
    assert figures["Volume of the form"]["value"] == pytest.approx(SHEET.volume_m3, rel=0.005)
    assert figures["Length"]["value"] == pytest.approx(0.9, rel=1e-3)
    assert figures["Centre of the volume"]["value"] == pytest.approx(0.45, rel=1e-3)
    assert all(figures[name]["spread"] for name in ("Length", "Beam", "Height", "Volume of the form"))
    (hull,) = found["bodies"]
    assert max(hull["mesh"]["positions"]) == pytest.approx(0.9, rel=1e-3)


def test_what_is_missing_is_told_and_no_hull_is_made_up(laptop: TestClient, shelf: Path) -> None:
    with_plan(laptop, shelf)
    trace: Any = traced(SHEET, "plan.png")
    del trace["view"][0]["scale"]["length"]
    del trace["view"][1]
    kept(laptop, trace)
    found = worked_out(laptop)
    assert not found["closes"]
    keys = {entry["key"] for entry in found["advice"]}
    assert "view[1].scale" in keys
    assert any("has no length" in entry["what"] for entry in found["advice"])


# The hull


def test_a_trace_becomes_the_hull_and_undo_brings_the_old_one_back(laptop: TestClient, shelf: Path) -> None:
    file = shelf / "wren" / "boat.toml"
    before = file.read_text("utf-8")
    with_plan(laptop, shelf)
    kept(laptop, traced(SHEET, "plan.png", 33))
    revision = laptop.get(WREN).json()["revision"]
    answer = laptop.post(f"{WREN}/trace/use", json={"base": revision, "by": "laptop"})
    assert answer.status_code == 200, answer.text
    state = answer.json()
    assert state["values"]["hull"]["trace"] == "wren-trace.toml"
    assert "stations" not in state["values"]["hull"]
    assert state["undo"] == "Take wren-trace.toml as the hull"
    hull = laptop.get(f"{WREN}/hull").json()
    assert hull["file"] == "wren-trace.toml"
    figures = {line["label"]: line["figure"]["value"] for line in hull["lines"]}
    assert figures["Volume of the form"] == pytest.approx(SHEET.volume_m3, rel=0.005)
    assert laptop.get(f"{WREN}/trace").json()["used"]
    undone = laptop.post(f"{WREN}/undo", json={"base": state["revision"]}).json()
    assert undone["values"]["hull"]["stations"] == "wren-stations.csv"
    assert file.read_text("utf-8") == before
    # What was traced is still there.
    assert len(laptop.get(f"{WREN}/trace").json()["trace"]["view"]) == 2


def test_nothing_traced_is_no_hull(laptop: TestClient) -> None:
    revision = laptop.get(WREN).json()["revision"]
    for way, body in (("use", {"base": revision}), ("figures", None)):
        answer = laptop.post(f"{WREN}/trace/{way}", json=body)
        assert answer.status_code == 422
        assert "Nothing has been traced yet" in words(answer)
