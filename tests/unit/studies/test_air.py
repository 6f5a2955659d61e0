"""The air study on an invented box of a boat, whose pockets and turns can be worked by hand, and its bad input."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Item, Vessel
from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.storage.folder import open_boat
from dabchick.studies import afloat, air
from dabchick.studies.air_lie import air_at, lay_with_air
from dabchick.studies.flooded_space import flooded_space
from dabchick.studies.loading import load
from tests.support.sample_boat import TEXT, write_boat
from tests.support.vessels import small_vessel

LENGTH, WIDTH, HEIGHT = 0.596, 0.096, 0.116
"""Inside the box's 2 mm skin, from x 2 mm, y -48 mm, z 2 mm."""
LID = 0.118
OPENINGS = 'openings = [ { at = ["150 mm", 0, "2 mm"], area = "60 mm^2" } ]'


def box(tmp_path: Path, openings: str) -> Vessel:
    write_boat(tmp_path / "box", TEXT.replace(OPENINGS, f"openings = [ {openings} ]" if openings else ""))
    return open_boat(tmp_path / "box").vessel


def hole(x_mm: float, y_mm: float, z_mm: float, area: str = "0.0001 mm^2") -> str:
    """From the bow, as the box's ruler has it."""
    return f'{{ at = ["{x_mm} mm", "{y_mm} mm", "{z_mm} mm"], area = "{area}" }}'


SIDE = hole(300, 50, 105)
KEEL = hole(300, 0, 1)


def test_a_hole_in_the_side_keeps_what_is_above_it(tmp_path: Path) -> None:
    """Level: the lid at 118 mm less the hole's upper edge, 105 mm and its radius, over all of the inside.

    Nothing of the gear stands so high.
    """
    result = air.run(box(tmp_path, f"{KEEL}, {SIDE}"))
    edge = 0.105 + math.sqrt(1e-10 / math.pi)
    volume = LENGTH * WIDTH * (LID - edge)
    # the mesh is read in single precision
    assert result.volume_m3 == pytest.approx(volume, rel=1e-5)
    assert result.lift_kg == pytest.approx(result.water_density_kg_m3 * volume, rel=1e-5)
    (pocket,) = result.pockets
    assert (pocket.opening, pocket.by_passage, pocket.volume_spread_m3) == (2, False, 0.0)
    assert pocket.water_m == pytest.approx(0.105, abs=1e-5)
    assert result.centre_m == pytest.approx((0.3, 0.0, 0.5 * (LID + 0.105)), abs=1e-4)


def test_the_turn_to_first_order_is_moment_over_mass_times_bg(tmp_path: Path) -> None:
    """tan = rho V (x - xG) / (M BG), with mass, G and BG as `afloat` finds them dived."""
    vessel = box(tmp_path, f"{KEEL}, {SIDE}")
    result = air.run(vessel, pitch_deg=2.0)
    dry = afloat.run(vessel, 1.0).under
    arm = result.centre_m[0] - dry.cg_m[0]
    expected = math.atan(result.lift_kg * arm / (dry.mass_kg.value * dry.bg_m.value))
    assert result.pitch_effect_deg == pytest.approx(math.degrees(expected), rel=1e-9)
    assert result.pitch_effect_deg > 0.0  # the air lies under the raised bow


def test_at_rest_air_and_attitude_agree_and_no_moment_is_left(tmp_path: Path) -> None:
    """An independent proof: the air found anew at the attitude, and weight, buoyancy and air in balance about it."""
    vents = ", ".join(hole(x, y, 119) for x in (60, 300, 540) for y in (-40, 40))
    vessel = box(tmp_path, f"{KEEL}, {vents}")
    space, loading = flooded_space(vessel), load(vessel, 1.0)
    found = lay_with_air(vessel, space, loading, "dived", hanging=True)
    assert found.settled
    up = up_vector(found.lie.heel_deg.value, found.lie.trim_deg.value)
    again = air_at(vessel, space, up, np.inf, loading.balance.density)
    assert again.volume_m3 == pytest.approx(found.air.volume_m3, rel=1e-3, abs=1e-9)
    balance = loading.balance
    lifted = balance.density * found.air.volume_m3
    left = balance.mass - lifted
    moment = balance.moment - lifted * found.air.centre_m - left * balance.buoyant_centre
    # what is left of the moment is along up: nothing turns her
    assert np.linalg.norm(np.cross(moment, up)) <= 2e-5 * balance.mass * vessel.length_m
    assert found.lie.lift_kg.value == pytest.approx(
        balance.density * balance.buoyant_volume - loading.mass_kg + lifted, rel=1e-9
    )


def test_afloat_counts_the_air_only_when_asked(tmp_path: Path) -> None:
    """A pocket shut in over a hole low in the side lifts her: with it she floats higher, by what it displaces."""
    vessel = box(tmp_path, f"{KEEL}, {hole(300, 50, 40)}")
    plain, lifted = afloat.run(vessel), afloat.run(vessel, air=True)
    assert plain.air == ()
    assert afloat.NO_AIR in plain.assumptions
    assert afloat.WITH_AIR in lifted.assumptions
    assert lifted.air
    assert lifted.lie.draught_bow_m.value < plain.lie.draught_bow_m.value
    # at rest weight is what is displaced, air included
    assert lifted.lie.displaced_m3 * lifted.water_density_kg_m3 == pytest.approx(
        lifted.lie.mass_kg.value, rel=1e-5
    )


@pytest.mark.parametrize("depth", [1.0, 10.0])
def test_depth_squeezes_the_air_by_boyle(tmp_path: Path, depth: float) -> None:
    """p0 / (p0 + rho g (depth + way from her top to the water in the pocket)), p0 101325 Pa, g 9.80665 m/s2."""
    vessel = box(tmp_path, f"{KEEL}, {SIDE}")
    free, under = air.run(vessel, rest=False), air.run(vessel, depth_m=depth, rest=False)
    left = under.volume_m3 / (LENGTH * WIDTH)
    level = 0.12 - (LID - left)
    pressure = 101325.0 + under.water_density_kg_m3 * 9.80665 * (depth + level)
    assert under.volume_m3 * pressure == pytest.approx(free.volume_m3 * 101325.0, rel=1e-4)
    assert {row.depth_m: row.volume_m3 for row in free.depths}[depth] == pytest.approx(
        under.volume_m3, rel=1e-9
    )
    assert any(air.COMES_HEAVIER in entry.what for entry in free.warnings)


def test_the_fewest_vents_of_a_box_are_one_at_each_end(tmp_path: Path) -> None:
    """Pitched 15 degrees either way the highest place is an end of the lid; two holes are needed, and two will do."""
    result = air.run(box(tmp_path, KEEL), rest=False, vents=True, leave_m3=2e-6)
    plan = result.vents
    assert plan is not None
    assert plan.within
    assert [vent.opening for vent in plan.vents] == [0, 0]
    stern, bow = sorted(vent.at_m[0] for vent in plan.vents)
    assert stern < 0.02
    assert bow > 0.58
    assert [vent.at_m[1:] for vent in plan.vents] == [pytest.approx((0.0, 0.12), abs=2e-3)] * 2
    for row in plan.attitudes:
        assert row.after_m3 <= 2e-6 < row.before_m3


def test_vents_proposed_do_what_was_said_once_they_are_made(tmp_path: Path) -> None:
    vessel = small_skinned(openings=(((0.45, 0.0, 0.0018), 6e-5),))
    plan = air.run(vessel, rest=False, vents=True).vents
    assert plan is not None
    made = replace(vessel, openings=(*vessel.openings, *((vent.at_m, vent.area_m2) for vent in plan.vents)))
    for row in plan.attitudes:
        left = air.run(made, pitch_deg=row.pitch_deg, rest=False).volume_m3
        assert left == pytest.approx(row.after_m3, abs=1e-7)


def small_skinned(**changes: object) -> Vessel:
    """The small vessel with an inner face as a skin of 1.8 mm leaves it: a smaller spheroid about its middle."""
    vessel = small_vessel()
    ((vertices, faces, _),) = vessel.hull.meshes()
    middle = np.array([0.45, 0.0, 0.055])
    inner = middle + (vertices - middle) * (1.0 - 0.0018 / np.array([0.45, 0.055, 0.055]))
    return replace(vessel, hull_inside=shapes.mesh(inner, faces), **changes)  # type: ignore[arg-type]


def test_without_openings_everything_stays_in_and_it_says_what_to_do() -> None:
    result = air.run(small_skinned(), rest=False)
    assert result.volume_m3 == pytest.approx(result.flooded_m3, rel=0.02)
    (found,) = [entry for entry in result.warnings if "all the air in her stays in" in entry.what]
    assert "vents" in found.todo
    assert [pocket.opening for pocket in result.pockets] == [0]


def test_air_that_carries_the_whole_boat_is_said_not_hidden(tmp_path: Path) -> None:
    result = air.run(box(tmp_path, KEEL))
    assert result.with_air is None
    assert any("carry the whole boat" in entry.what for entry in result.warnings)


def test_an_opening_off_the_skin_is_left_out_with_its_distance_and_the_nearest_point() -> None:
    """12 mm over the crown of a hull 110 mm high, 450 mm from the bow."""
    vessel = small_skinned(openings=(((0.45, 0.0, 0.122), 6e-5), ((0.45, 0.0, 0.0), 6e-5)))
    result = air.run(vessel, rest=False)
    (fault,) = [entry for entry in result.warnings if entry.key == "hull.openings[1].at"]
    assert "12.0 mm off the skin" in fault.what
    assert "z 110.0 mm from the keel" in fault.todo
    assert {pocket.opening for pocket in result.pockets} == {2}


def test_an_opening_without_area_lets_nothing_out() -> None:
    vessel = small_skinned(openings=(((0.45, 0.0, 0.11), 0.0), ((0.45, 0.0, 0.0), 6e-5)))
    result = air.run(vessel, rest=False)
    assert any(entry.key == "hull.openings[1].area" for entry in result.warnings)
    assert result.volume_m3 > 0.9 * result.flooded_m3


def test_a_solid_walled_hull_of_one_shell_has_no_inside() -> None:
    vessel = small_vessel()
    skin = next(item for item in vessel.items if item.kind == "skin")
    walled: Item = replace(skin, solid=vessel.hull)
    with pytest.raises(BoatError, match="solid-walled"):
        air.run(replace(vessel, items=(walled, *(item for item in vessel.items if item is not skin))))


@pytest.mark.parametrize(
    "asked", [{"pitch_deg": 95.0}, {"heel_deg": math.nan}, {"depth_m": -1.0}, {"leave_m3": -1e-6}]
)
def test_what_cannot_be_asked_is_refused(asked: dict[str, float]) -> None:
    with pytest.raises(BoatError, match="cannot be"):
        air.run(small_skinned(), **asked)  # type: ignore[arg-type]
