"""Stability over HTTP: the study's own figures in the builder's units, its pictures, and ways of filling."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from dabchick.storage.folder import open_boat
from dabchick.studies import dive_frames, stability
from dabchick.studies.dive_path import at_rates, in_order, together
from dabchick.workbench.filling import path_of, rates_of
from dabchick.workbench.shapes.stability import StabilityAsk
from dabchick.workbench.stability_out import stability_out
from tests.support.tender_boat import tender_vessel
from tests.support.workbench import ended, words

STABILITY = "/api/boats/wren/stability"
MAIN = "[[tank]]\nname = "
SECOND = """[[tank]]
name = "stern"
system = "sealed pump"
shape = { box = { size = ["40 mm", "30 mm", "20 mm"] } }
at = ["740 mm", 0, "60 mm"]

"""


def followed(laptop: TestClient, **ask: Any) -> tuple[str, dict[str, Any]]:
    job = ended(laptop, laptop.post(STABILITY, json={"stages": 5, **ask}))
    assert job["state"] == "done", words(job)
    answer = laptop.get(f"/api/jobs/{job['job']}/stability")
    assert answer.status_code == 200, answer.text
    return job["job"], answer.json()


def test_the_figures_are_those_of_the_study_in_the_builders_units(laptop: TestClient, shelf: Path) -> None:
    _, shown = followed(laptop)
    vessel = open_boat(shelf / "wren").vessel
    result = stability.run(vessel, together(vessel), stages=5)
    draught, angle, gm = shown["panels"]
    assert (draught["unit"], angle["unit"], gm["unit"], shown["length_unit"]) == ("mm", "°", "mm", "mm")
    bow, stern = draught["lines"]
    # a millimetre is 1e-3 m; six digits are sent
    assert bow["down"] == pytest.approx([1e3 * s.lie.draught_bow_m.value for s in result.down], rel=1e-5)
    assert stern["up_spread"] == pytest.approx(
        [1e3 * s.lie.draught_stern_m.spread for s in result.up], rel=1e-5
    )
    assert gm["lines"][1]["down"] == pytest.approx([1e3 * s.lie.bg_m.value for s in result.down], rel=1e-5)
    assert angle["lines"][0]["up"] == pytest.approx([s.lie.trim_deg.value for s in result.up], rel=1e-5)
    assert [shown["down"], shown["up"]] == [[0.0, 0.25, 0.5, 0.75, 1.0], [1.0, 0.75, 0.5, 0.25, 0.0]]
    stages = [moment for moment in shown["moments"] if moment["arms"]]
    assert [moment["at"] for moment in stages] == [0.0, 0.25, 0.5, 0.75, 1.0, 1.0, 1.25, 1.5, 1.75, 2.0]
    for moment, stage in zip(stages, (*result.down, *result.up), strict=True):
        assert moment["lie"]["gm_transverse"]["value"] == pytest.approx(
            stage.lie.gm_transverse_m.value, rel=1e-9
        )
        assert moment["arms"]["arms"] == pytest.approx(
            [1e3 * arm for arm in stage.arms.arms_m], rel=1e-5, abs=1e-9
        )
    least = shown["moments"][shown["least"]]
    assert least["least"]
    assert least["lie"]["gm_transverse"]["value"] == pytest.approx(
        result.least.lie.gm_transverse_m.value, rel=1e-9
    )
    assert least["lie"]["gm_transverse"]["value"] <= min(
        moment["lie"]["gm_transverse"]["value"] for moment in stages
    )
    assert least["lie"]["gm_transverse"]["text"].split()[0] in shown["least_sentence"]


def test_the_dive_is_drawn_frame_by_frame_with_its_water(laptop: TestClient, shelf: Path) -> None:
    job, _ = followed(laptop)
    dive = laptop.get(f"/api/jobs/{job}/dive").json()
    content = laptop.get(f"/api/jobs/{job}/dive/waters").content
    vessel = open_boat(shelf / "wren").vessel
    made = dive_frames.run(vessel, together(vessel))
    frames = [*made.down, *made.up]
    assert len(dive["frames"]) == len(frames) == 2 * dive_frames.FRAMES
    assert [frame["at"] for frame in dive["frames"]] == sorted(frame["at"] for frame in dive["frames"])
    for shown, frame in zip(dive["frames"], frames, strict=True):
        pose = np.reshape(shown["pose"], (4, 4)).T
        # the pose turns the boat's own "up" into the world's, and puts the surface of the water at zero
        assert pose[:3, :3] @ np.array(frame.normal) == pytest.approx([0.0, 0.0, 1.0], abs=1e-6)
        assert pose[2, 3] == pytest.approx(-frame.offset_m, abs=1e-6)
        place, water = shown["waters"][0]["mesh"], frame.waters[0]
        if place is None:
            assert water.volume_m3 == 0.0
            continue
        start, end = place["offset"], place["offset"] + 12 * place["vertices"]
        corners = np.frombuffer(content[start:end], "<f4").reshape(-1, 3)
        assert corners == pytest.approx(water.vertices, abs=1e-6)
        indices = np.frombuffer(content[end : end + 12 * place["triangles"]], "<u4")
        assert indices.max() < place["vertices"]
    # what lies as before is sent once, so that the way up costs nothing here
    once = {frame["waters"][0]["mesh"]["offset"] for frame in dive["frames"] if frame["waters"][0]["mesh"]}
    assert len(once) == dive_frames.FRAMES - 1


def test_ways_of_filling(laptop: TestClient, shelf: Path) -> None:
    file = shelf / "wren" / "boat.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace(MAIN, SECOND + MAIN, 1), "utf-8")
    vessel = open_boat(shelf / "wren").vessel
    order = StabilityAsk(filling="order", order=["stern", "main"])
    assert path_of(vessel, order) == in_order(vessel, ["stern", "main"])
    rates = StabilityAsk(filling="rates", rates={"stern": "1 ml/s", "main": "0.6 l/min"})
    by_hand = at_rates(vessel, {"stern": 1e-6, "main": 1e-5})
    assert np.array(path_of(vessel, rates).shares) == pytest.approx(np.array(by_hand.shares), rel=1e-12)
    _, shown = followed(laptop, filling="order", order=["stern"], stages=3)
    assert shown["filling"] == "one tank after the other: stern, then main"
    half = next(moment for moment in shown["moments"] if moment["progress"] == 0.5)
    assert {fill["label"] for fill in half["fills"]} == {"stern", "main"}
    through = followed(laptop, filling="through", through=[{"main": 0.2}, {"main": 0.4}], stages=3)[1]
    assert [fill["figure"]["text"] for fill in through["moments"][0]["fills"]] == ["0 %", "20 %"]


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        ({"filling": "rates", "rates": {"main": "20 ml"}}, "a flow is wanted"),
        ({"filling": "rates", "rates": {"main": "20 kg/s"}}, "main"),
        ({"filling": "rates", "rates": {"main": "-2 ml/s"}}, "above zero"),
        ({"filling": "rates", "rates": {}}, "above zero"),
        ({"filling": "order", "order": ["nobody"]}, "no tank named"),
        ({"filling": "through", "through": [{"main": 0.5}]}, "two different fills"),
    ],
)
def test_what_cannot_be_followed_is_refused_with_advice(
    laptop: TestClient, ask: dict[str, Any], says: str
) -> None:
    refused = laptop.post(STABILITY, json=ask)
    assert refused.status_code == 422
    assert says in words(refused)


def test_a_boat_without_a_tank_is_told_so(laptop: TestClient, shelf: Path) -> None:
    file = shelf / "wren" / "boat.toml"
    text = file.read_text("utf-8")
    start = text.index("[[tank]]")
    file.write_text(text[:start] + text[text.index("# ---", start) :], "utf-8")
    assert "no tank" in words(laptop.post(STABILITY, json={}))


def test_counts_of_stages_have_ends_and_work_can_be_stopped(laptop: TestClient) -> None:
    assert laptop.post(STABILITY, json={"stages": 2}).status_code == 422
    assert laptop.post(STABILITY, json={"stages": 100000}).status_code == 422
    job = laptop.post(STABILITY, json={"stages": 201}).json()["job"]
    assert laptop.delete(f"/api/jobs/{job}").json()["state"] in ("cancelled", "done")
    assert laptop.get(f"/api/jobs/{job}/dive").status_code in (200, 409)


def test_rates_are_a_volume_in_a_time() -> None:
    # 1 l/min = 1e-3 m3 in 60 s; 1 fl oz is 1/128 of 231 cubic inches of 0.0254 m (NIST SP 811)
    found = rates_of({"main": "20 ml/s", "fore": "1.2 l / min", "aft": "2 fl oz/min", "none": " "})
    assert found == pytest.approx(
        {"main": 20e-6, "fore": 1.2e-3 / 60, "aft": 2 * 231 * 0.0254**3 / 128 / 60}, rel=1e-12
    )


def test_a_way_up_that_differs_is_told_place_by_place() -> None:
    """The tender boat goes over at about 57 %: below it she lies elsewhere coming up than going down."""
    vessel = tender_vessel()
    path = together(vessel)
    out = stability_out(vessel, stability.run(vessel, path, stages=11), StabilityAsk(), 1)
    heel = out.panels[1].lines[1]
    differs = dict(zip(out.up, heel.differs, strict=True))
    assert [at for at in sorted(differs) if differs[at]] == pytest.approx([0.1 * n for n in range(6)])
    # a draught at her marks is not drawn when she lies on her beam ends; here she leans 39 to 53 degrees
    assert all(value is not None for value in out.panels[0].lines[0].down)


def test_going_over_is_told_once_where_the_study_found_it() -> None:
    """The tender boat's rest ends and she goes over: two events of the study, one for the builder."""
    vessel = tender_vessel()
    result = stability.run(vessel, together(vessel), stages=5)
    (jump,) = [event for event in result.events if event.kind == "jump"]
    out = stability_out(vessel, result, StabilityAsk(), 1)
    (told,) = out.events
    assert (told.at, told.label) == (jump.progress, "goes over")
    assert "goes over" in told.sentence
    assert "goes over" in out.more
    # where the frames, on their own, find her to go over
    (over,) = [frame for frame in dive_frames.run(vessel, together(vessel)).down if frame.went_over]
    assert over.progress == pytest.approx(jump.progress, abs=3 * dive_frames.NARROW)


def test_a_spread_beyond_first_order_is_called_large() -> None:
    """Where the tender boat's rest ends nothing holds her, and a first-order spread grows without end."""
    vessel = tender_vessel()
    result = stability.run(vessel, together(vessel), stages=5)
    assert result.least.lie.heel_deg.spread > 90.0
    out = stability_out(vessel, result, StabilityAsk(), 1)
    assert out.moments[out.least].lie.heel.spread == "large"
    assert out.moments[0].lie.lift.spread.endswith("g")


@pytest.mark.parametrize(
    ("file", "begins"),
    [
        ("stability-sheet.pdf", b"%PDF-"),
        ("dive-diagram.svg", b"<?xml"),
        ("righting-arms.png", b"\x89PNG"),
        ("dive-strip.svg", b"<?xml"),
        ("stability-stages.csv", b""),
        ("stability-arms.csv", b""),
    ],
)
def test_sheet_drawings_and_tables_are_saved_under_the_boats_name(
    laptop: TestClient, file: str, begins: bytes
) -> None:
    job, _ = followed(laptop, stages=3)
    answer = laptop.get(f"/api/jobs/{job}/stability/{file}")
    assert answer.status_code == 200, answer.text
    assert answer.content.startswith(begins)
    assert len(answer.content) > 100
    assert f'filename="wren-{file}"' in answer.headers["content-disposition"]
    assert laptop.get(f"/api/jobs/{job}/stability/other.pdf").status_code == 422
