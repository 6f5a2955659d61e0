"""What-ifs: the same as the boat file with that edit, to the last figure."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.storage.folder import open_text
from dabchick.studies import loading
from dabchick.studies.afloat import run
from dabchick.studies.what_if import PartChange, with_changes, with_contents
from tests.support.sample_boat import TEXT, write_boat
from tests.support.vessels import small_vessel

CYLINDER, BATTERY, SERVO, LEAD, TANK = "part[1]", "part[2]", "part[3]", "part[4]", "tank[1]"


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory):
    folder = write_boat(tmp_path_factory.mktemp("boat") / "box", WITH_WALLS)
    first = open_text(WITH_WALLS, folder / "boat.toml", WITH_WALLS.encode())

    def after(old: str, new: str) -> Vessel:
        assert WITH_WALLS.count(old) == 1
        text = WITH_WALLS.replace(old, new)
        return open_text(text, folder / "boat.toml", text.encode(), first).vessel

    return first.vessel, after


WITH_WALLS = TEXT.replace(
    'water_end = "stern"', 'water_end = "stern"\nwalls = { mass = "90 g", thickness = "3 mm" }'
)


def _figures(vessel: Vessel, share: float) -> list[float]:
    """Everything that tells how she lies, spreads too."""
    lie = run(vessel, share).lie
    figures = [lie.draught_bow_m, lie.draught_stern_m, lie.heel_deg, lie.trim_deg, lie.lift_kg, lie.bg_m]
    return [value for figure in figures for value in (figure.value, figure.spread)] + list(lie.cg_m)


@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        # 20 mm towards the bow, from which the builder measures: 20 mm less
        (PartChange(BATTERY, (0.020, 0.0, 0.0)), '["200 mm", 0, "30 mm"]', '["180 mm", 0, "30 mm"]'),
        (
            PartChange(SERVO, (0.0, -0.004, 0.010)),
            '["540 mm", "-12 mm", "60 mm"]',
            '["540 mm", "-16 mm", "70 mm"]',
        ),
        (PartChange(TANK, (-0.010, 0.0, -0.002)), '["400 mm", 0, "52 mm"]', '["410 mm", 0, "50 mm"]'),
        # catalogue: 5 % of the new mass
        (PartChange(SERVO, mass_kg=0.300), '"19 g", known = "catalogue"', '"300 g", known = "catalogue"'),
        # the builder's own spread of 1 g stays
        (PartChange(BATTERY, mass_kg=0.350), '"310 g", known', '"350 g", known'),
        (PartChange(LEAD, mass_kg=0.230), 'mass = "200 g"', 'mass = "230 g"'),
        (PartChange(TANK, mass_kg=0.120), 'mass = "90 g"', 'mass = "120 g"'),
    ],
)
@pytest.mark.parametrize("share", [0.0, 0.6])
def test_a_what_if_equals_the_edited_file(
    opened, change: PartChange, old: str, new: str, share: float
) -> None:
    base, after = opened
    tried = with_changes(base, [change])
    assert _figures(tried, share) == pytest.approx(_figures(after(old, new), share), rel=1e-7, abs=1e-9)
    assert _figures(tried, share) != pytest.approx(_figures(base, share), rel=1e-7, abs=1e-9)


def test_a_shift_takes_body_room_and_volume_centre_along(opened) -> None:
    base, _ = opened
    shift = (0.011, -0.002, 0.003)
    tried = with_changes(base, [PartChange(CYLINDER, shift)])
    before, after = (next(item for item in v.items if item.key == CYLINDER) for v in (base, tried))
    for name in ("centre_m", "volume_centre_m"):
        assert np.subtract(getattr(after, name), getattr(before, name)) == pytest.approx(shift, abs=1e-15)
    for name in ("solid", "envelope"):
        assert getattr(after, name).centre - getattr(before, name).centre == pytest.approx(shift, abs=1e-12)
    untouched = [item for item in tried.items if item.key != CYLINDER]
    assert untouched == [item for item in base.items if item.key != CYLINDER]


def test_a_tank_takes_its_walls_along(opened) -> None:
    base, _ = opened
    tried = with_changes(base, [PartChange(TANK, (0.01, 0.0, 0.0))])
    walls = [next(item for item in v.items if item.key == f"{TANK}.walls") for v in (base, tried)]
    assert walls[1].centre_m[0] - walls[0].centre_m[0] == pytest.approx(0.01, abs=1e-15)
    assert tried.tanks[0].solid.centre[0] - base.tanks[0].solid.centre[0] == pytest.approx(0.01, abs=1e-12)


def test_the_cylinder_carries_what_is_in_it_and_nothing_else_does(opened) -> None:
    base, _ = opened
    assert with_contents(base, CYLINDER) == (CYLINDER, BATTERY, TANK)
    assert with_contents(base, BATTERY) == (BATTERY,)
    assert with_contents(base, TANK) == (TANK,)


def test_a_dry_part_in_a_dry_part_carries_its_contents_too() -> None:
    vessel = small_vessel()
    keyed = tuple(replace(item, key=f"part[{row}]") for row, item in enumerate(vessel.items))
    inner = tuple(
        replace(item, kind="dry", inside="cylinder")
        if item.name == "motor"
        else replace(item, inside="motor")
        if item.name == "electronics"
        else item
        for item in keyed
    )
    names = {item.key: item.name for item in inner}
    carried = [names.get(key, key) for key in with_contents(replace(vessel, items=inner), "part[1]")]
    assert sorted(carried) == ["", "battery", "cylinder", "electronics", "motor", "piston drive"]


@settings(max_examples=25, deadline=None)
@given(
    shift=st.tuples(*(st.floats(-0.05, 0.05) for _ in range(3))),
    mass=st.floats(0.01, 2.0),
    share=st.floats(0.0, 1.0),
)
def test_there_and_back_is_where_she_was(shift, mass, share) -> None:
    vessel = BACK
    there = with_changes(vessel, [PartChange("part[4]", shift, mass)])
    own = vessel.items[4].mass_kg
    back = with_changes(there, [PartChange("part[4]", (-shift[0], -shift[1], -shift[2]), own)])
    one, other = (loading.load(entry, share).balance for entry in (vessel, back))
    assert other.mass == pytest.approx(one.mass, rel=1e-12)
    assert other.moment == pytest.approx(one.moment, abs=1e-12)


_SMALL = small_vessel()
BACK = replace(
    _SMALL, items=tuple(replace(item, key=f"part[{row}]") for row, item in enumerate(_SMALL.items))
)


def test_another_mass_lays_out_no_body_anew(opened) -> None:
    base, _ = opened
    before = loading.load(base).balance.forest
    assert loading.load(with_changes(base, [PartChange(BATTERY, mass_kg=0.4)])).balance.forest is before
    shifted = loading.load(with_changes(base, [PartChange(SERVO, (0.01, 0.0, 0.0))])).balance.forest
    assert shifted is not before


def test_everything_that_cannot_be_is_told_at_once(opened) -> None:
    base, _ = opened
    changes = [
        PartChange("part[9]", (0.01, 0.0, 0.0)),
        PartChange("hull.skin", (0.01, 0.0, 0.0)),
        PartChange(f"{TANK}.walls", (0.01, 0.0, 0.0)),
        PartChange(BATTERY, mass_kg=-0.1),
        PartChange(SERVO, (float("nan"), 0.0, 0.0)),
    ]
    with pytest.raises(BoatError) as caught:
        with_changes(base, changes)
    assert sorted(entry.key for entry in caught.value.advice) == sorted(change.key for change in changes)
    assert all(entry.todo for entry in caught.value.advice)


def test_a_tank_without_walls_cannot_be_weighed() -> None:
    vessel = small_vessel()
    bare = replace(vessel, tanks=(replace(vessel.tanks[0], key=TANK),))
    with pytest.raises(BoatError, match="no walls"):
        with_changes(bare, [PartChange(TANK, mass_kg=0.1)])


def test_the_skin_can_weigh_otherwise(opened) -> None:
    base, _ = opened
    tried = with_changes(base, [PartChange("hull.skin", mass_kg=1.0)])
    assert next(item.mass_kg for item in tried.items if item.kind == "skin") == 1.0
