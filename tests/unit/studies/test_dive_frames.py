"""The dive as frames: each is a rest that a search of its own finds, and going over is never drawn as gliding."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import UPRIGHT, find, heel_and_trim_deg
from dabchick.studies import dive_frames, stability
from dabchick.studies.dive_frames import DiveFrames, Frame
from dabchick.studies.dive_path import together
from dabchick.studies.loading import load
from tests.support.tender_boat import tender_vessel
from tests.support.vessels import small_vessel


@pytest.fixture(scope="module")
def plain() -> tuple[Vessel, DiveFrames]:
    vessel = small_vessel()
    return vessel, dive_frames.run(vessel, together(vessel), frames=21)


@pytest.fixture(scope="module")
def tender() -> tuple[Vessel, DiveFrames]:
    vessel = tender_vessel()
    return vessel, dive_frames.run(vessel, together(vessel), frames=21)


def heel(frame: Frame) -> float:
    return heel_and_trim_deg(np.array(frame.normal))[0]


def test_first_and_last_frame_are_empty_and_full(plain: tuple[Vessel, DiveFrames]) -> None:
    _, dive = plain
    assert [len(dive.down), len(dive.up)] == [21, 21]
    assert [dive.down[0].fills, dive.down[-1].fills] == [{"main": 0.0}, {"main": 1.0}]
    assert [dive.up[0].fills, dive.up[-1].fills] == [{"main": 1.0}, {"main": 0.0}]
    assert [frame.progress for frame in dive.down] == pytest.approx(np.linspace(0.0, 1.0, 21), abs=0.0)


def test_each_frame_is_where_a_search_from_upright_comes_to_rest(plain: tuple[Vessel, DiveFrames]) -> None:
    """This boat has one way to rest near upright at every fill, so the way there does not matter."""
    vessel, dive = plain
    for frame in (*dive.down, *dive.up):
        found = find(load(vessel, frame.fills).balance, UPRIGHT)
        assert math.dist(found.normal, frame.normal) < 1e-8
        assert found.offset_m == pytest.approx(frame.offset_m, abs=1e-9)
    assert not any(frame.went_over or frame.under for frame in (*dive.down, *dive.up))


def test_the_tank_water_is_what_the_fill_says(plain: tuple[Vessel, DiveFrames]) -> None:
    """Volume of a closed mesh by the divergence theorem; the drawn tank has 96 sides, 0.07 % short of round."""
    vessel, dive = plain
    for frame in dive.down:
        (water,) = frame.waters
        assert water.volume_m3 == pytest.approx(frame.fills["main"] * vessel.tanks[0].capacity_m3, rel=1e-12)
        corners = water.vertices[water.faces]
        drawn = (
            float(np.sum(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])))) / 6
        )
        assert drawn == pytest.approx(water.volume_m3, rel=1e-3, abs=1e-12)


def test_where_she_goes_over_is_marked_with_both_sides_at_one_fill(tender: tuple[Vessel, DiveFrames]) -> None:
    _, dive = tender
    (place,) = [index for index, frame in enumerate(dive.down) if frame.went_over]
    before, after = dive.down[place - 1], dive.down[place]
    assert len(dive.down) == 21 + 2
    assert 0.0 <= after.progress - before.progress <= dive_frames.NARROW
    assert heel(before) < -20.0
    assert heel(after) > 20.0
    # All other frames follow one another closely; and coming up she stays on the side to which she went over.
    others = [
        abs(heel(b) - heel(a)) for a, b in zip(dive.down, dive.down[1:], strict=False) if not b.went_over
    ]
    assert max(others) < 15.0
    assert not any(frame.went_over for frame in dive.up)
    assert heel(dive.up[-1]) > 20.0


def test_frames_on_the_two_sides_are_rests_of_their_own(tender: tuple[Vessel, DiveFrames]) -> None:
    """Just before, a search from the old side stays there; just after it the old side holds her no more."""
    vessel, dive = tender
    place = next(index for index, frame in enumerate(dive.down) if frame.went_over)
    before, after = dive.down[place - 1], dive.down[place]
    stays = find(load(vessel, before.fills).balance, np.array(dive.down[place - 2].normal))
    leaves = find(load(vessel, after.fills).balance, np.array(before.normal))
    assert heel_and_trim_deg(stays.normal)[0] == pytest.approx(heel(before), abs=0.1)
    assert heel_and_trim_deg(leaves.normal)[0] == pytest.approx(heel(after), abs=0.1)


def test_a_finer_row_of_frames_finds_the_same_place(tender: tuple[Vessel, DiveFrames]) -> None:
    vessel, dive = tender
    fine = dive_frames.run(vessel, together(vessel), frames=57)
    places = [[f.progress for f in row.down if f.went_over] for row in (dive, fine)]
    assert places[0] == pytest.approx(places[1], abs=3 * dive_frames.NARROW)


def test_a_boat_that_sinks_is_drawn_wholly_under() -> None:
    vessel = small_vessel()
    # 3 kg of lead more than her shell can carry, at her own centre of buoyancy to keep her upright
    heavy = next(item for item in vessel.items if item.name == "battery")
    items = tuple(
        replace(item, mass_kg=item.mass_kg + 3.0) if item is heavy else item for item in vessel.items
    )
    dive = dive_frames.run(replace(vessel, items=items), together(vessel), frames=3)
    assert all(frame.under and math.isnan(frame.offset_m) for frame in (*dive.down, *dive.up))


def test_a_count_that_is_none_is_refused() -> None:
    vessel = small_vessel()
    with pytest.raises(ValueError, match="2 to 1001"):
        dive_frames.run(vessel, together(vessel), frames=1)


def test_with_the_study_she_passes_through_its_stages(tender: tuple[Vessel, DiveFrames]) -> None:
    vessel, _ = tender
    path = together(vessel)
    study = stability.run(vessel, path, stages=11)
    dive = dive_frames.run(vessel, path, frames=21, study=study)
    for stages, frames in ((study.down, dive.down), (study.up, dive.up)):
        drawn = {round(frame.progress, 9): frame for frame in frames}
        for stage in stages:
            assert math.dist(stage.lie.normal, drawn[round(stage.progress, 9)].normal) < 1e-7
