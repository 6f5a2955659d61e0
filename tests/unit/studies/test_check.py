"""Check: every finding says where, what was given, what is allowed and what to do; a sound boat has none."""

import json
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import Advice
from dabchick.model.vessel import Datum, Item, Rail, Tank, Vessel
from dabchick.physics import shapes
from dabchick.physics.skin import skin
from dabchick.physics.solid import Solid
from dabchick.studies import check
from dabchick.studies.result import as_json
from tests.support.fitting_boats import HEIGHT_M, LENGTH_M, WISHES, box_hull, item, skinned, tank, vessel

SKIN_M = 0.002


def boat(
    parts: Sequence[Item] = (),
    tanks: Sequence[Tank] = (),
    *,
    cylinder_kg: float = 2.3,
    datum: Datum | None = None,
) -> Vessel:
    """A box hull with a 2 mm skin, holes below and above, and a dry cylinder of 600 x 90 mm."""
    hull = box_hull()
    inner, cover = skinned(hull, SKIN_M)
    dry = item("cylinder", "dry", shapes.cylinder(0.6, 0.09).moved((0.5, 0.0, 0.075)), cylinder_kg)
    holes = (((0.5, 0.0, 0.0), 1e-4), ((0.5, 0.0, HEIGHT_M), 1e-4))
    return vessel(hull, [cover, dry, *parts], tanks, inside=inner, openings=holes, datum=datum)


def one(findings: Sequence[Advice], text: str) -> Advice:
    """The only finding with this text, complete in every field."""
    found = [entry for entry in findings if text in entry.what]
    assert len(found) == 1, [str(entry) for entry in findings]
    entry = found[0]
    assert entry.todo
    assert entry.allowed
    assert entry.given or "mass" in entry.what
    return entry


def test_a_sound_boat_has_no_findings() -> None:
    battery = item(
        "battery", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.5, 0.0, 0.06)), 0.3, inside="cylinder"
    )
    main = tank("main", shapes.cylinder(0.12, 0.08).moved((0.7, 0.0, 0.075)), "cylinder")
    result = check.run(boat([battery], [main]))
    assert [str(entry) for entry in result.findings] == []
    assert result.clashes == ()
    assert (result.error_count, result.warning_count) == (0, 0)


def test_parts_that_touch_are_no_clash() -> None:
    # A block on the inner face of the skin, another on top of it, a ring round the cylinder in contact.
    block = item("block", "solid", shapes.box(0.05, 0.04, 0.02).moved((0.1, 0.0, 0.012)))
    upper = item("upper", "solid", shapes.box(0.05, 0.04, 0.02).moved((0.1, 0.0, 0.032)))
    ring = item("ring", "solid", shapes.tube(0.01, 0.11, 0.09).moved((0.4, 0.0, 0.075)))
    result = check.run(boat([block, upper, ring]))
    assert [str(entry) for entry in result.findings] == []


def test_two_parts_in_one_place_say_how_much_and_where() -> None:
    # Closed form: two boxes share 10 x 20 x 20 mm = 4 ml, its middle 45 mm beyond the first one's.
    first = item("first", "solid", shapes.box(0.1, 0.02, 0.02).moved((0.1, 0.0, 0.02)))
    second = item("second", "solid", shapes.box(0.1, 0.02, 0.02).moved((0.19, 0.0, 0.02)))
    result = check.run(boat([first, second]))
    (clash,) = result.clashes
    assert (clash.a, clash.b) == ("first", "second")
    assert clash.volume_m3 == pytest.approx(4e-6, rel=1e-9)
    assert clash.centre_m == pytest.approx((0.145, 0.0, 0.02), abs=1e-9)
    entry = one(result.findings, "in one place")
    assert entry.severity == "warning"
    assert "4.0 ml" in entry.given
    assert "x 145.0 mm from the stern" in entry.where
    assert "z 20.0 mm from the keel" in entry.where


def test_a_sliver_under_a_hundredth_of_a_millilitre_is_contact() -> None:
    # 10 x 10 mm by 0.09 mm is 0.009 ml; by 0.11 mm 0.011 ml.
    def clashes(depth_m: float) -> int:
        first = item("first", "solid", shapes.box(0.1, 0.01, 0.01).moved((0.1, 0.0, 0.02)))
        second = item("second", "solid", shapes.box(0.1, 0.01, 0.01).moved((0.2 - depth_m, 0.0, 0.02)))
        return len(check.run(boat([first, second])).clashes)

    assert clashes(0.09e-3) == 0
    assert clashes(0.11e-3) == 1


def test_places_are_spoken_from_the_builders_own_datum() -> None:
    first = item("first", "solid", shapes.box(0.1, 0.02, 0.02).moved((0.1, 0.0, 0.02)))
    second = item("second", "solid", shapes.box(0.1, 0.02, 0.02).moved((0.19, 0.0, 0.02)))
    datum = Datum("bow", "waterline", LENGTH_M, 0.09)
    entry = one(check.run(boat([first, second], datum=datum)).findings, "in one place")
    assert "x 855.0 mm from the bow" in entry.where
    assert "z -70.0 mm from the waterline" in entry.where
    inches = replace(boat([first, second], datum=datum), units="inch")
    entry = one(check.run(inches).findings, "in one place")
    assert "x 33.661 in from the bow" in entry.where
    assert "in^3" in entry.given


@pytest.mark.parametrize(("kind", "severity"), [("dry", "error"), ("foam", "error"), ("solid", "warning")])
def test_a_part_outside_the_hull_says_how_much_of_it(kind: str, severity: str) -> None:
    # 20 mm of 100 mm stand out at the bow, and 2 mm of it in the skin: 20 x 30 x 30 mm are outside.
    part = item("nose", kind, shapes.box(0.1, 0.03, 0.03).moved((0.97, 0.0, 0.05)), 0.01)  # type: ignore[arg-type]
    entry = one(check.run(boat([part])).findings, "outside the hull")
    assert entry.severity == severity
    assert "partly" in entry.what
    assert "18.0 ml outside (20% of it)" in entry.given
    assert "x 1010.0 mm" in entry.where
    assert entry.key == "part[nose]"


def test_a_part_far_from_the_hull_is_an_error() -> None:
    part = item("rudder", "solid", shapes.box(0.01, 0.01, 0.01).moved((-0.2, 0.0, 0.05)), 0.01)
    entry = one(check.run(boat([part])).findings, "away from the hull")
    assert entry.severity == "error"
    assert "195.0 mm away" in entry.what
    point = item("shackle", "solid", None, 0.01, at=(0.5, 0.4, 0.05))
    assert (
        one(check.run(boat([replace(point, volume_m3=1e-6)])).findings, "away from the hull").severity
        == "error"
    )


def test_a_part_said_to_belong_outside_may_stand_there_but_not_far_off() -> None:
    # A mast that stands on the deck and reaches 250 mm above it, then one that hovers 350 mm over it.
    mast = item("mast", "solid", shapes.box(0.005, 0.005, 0.25).moved((0.5, 0.0, HEIGHT_M + 0.125)), 0.01)
    assert one(check.run(boat([mast])).findings, "wholly outside").severity == "warning"
    assert check.run(boat([replace(mast, outside=True)])).findings == ()
    hovering = item("mast", "solid", shapes.box(0.005, 0.005, 0.25).moved((0.5, 0.0, HEIGHT_M + 0.475)), 0.01)
    entry = one(check.run(boat([replace(hovering, outside=True)])).findings, "away from the hull")
    assert (entry.severity, entry.allowed) == ("error", "up to 300.0 mm off the hull")


def test_a_part_in_the_skin_says_how_deep() -> None:
    # 1 mm into the bottom over 50 x 40 mm: 2 ml.
    block = item("block", "solid", shapes.box(0.05, 0.04, 0.02).moved((0.1, 0.0, 0.011)))
    entry = one(check.run(boat([block])).findings, "into the skin")
    assert entry.severity == "warning"
    assert entry.given == "2.0 ml"


def test_contents_that_stick_out_of_their_dry_part() -> None:
    battery = item(
        "battery", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.78, 0.0, 0.06)), 0.3, inside="cylinder"
    )
    entry = one(check.run(boat([battery])).findings, "does not lie wholly inside 'cylinder'")
    assert entry.severity == "error"
    # 30 mm of 100 mm stand out.
    assert "36.0 ml outside (30% of it)" in entry.given
    assert "x 200.0 mm to 800.0 mm" in entry.allowed


@pytest.mark.parametrize(("x", "count"), [(0.79, 0), (0.81, 1)])
def test_a_point_mass_is_judged_by_its_centre(x: float, count: int) -> None:
    receiver = item("receiver", "inside", None, 0.02, at=(x, 0.01, 0.08), inside="cylinder")
    findings = check.run(boat([receiver])).findings
    assert len([entry for entry in findings if "has its centre outside 'cylinder'" in entry.what]) == count


def test_contents_of_something_that_is_no_dry_part() -> None:
    receiver = item("receiver", "inside", None, 0.02, inside="box")
    entry = one(check.run(boat([receiver])).findings, "is no dry part")
    assert (entry.severity, entry.given, entry.allowed) == ("error", "box", "cylinder")


def test_a_tank_larger_than_what_holds_it() -> None:
    large = tank("main", shapes.cylinder(0.7, 0.1).moved((0.5, 0.0, 0.075)), "cylinder")
    findings = check.run(boat(tanks=[large])).findings
    entry = one(findings, "holds more water than 'cylinder' has room")
    assert entry.severity == "error"
    # Closed form: pi/4 x 100^2 x 700 mm in pi/4 x 90^2 x 600 mm.
    assert (entry.given, entry.allowed) == ("5497.8 ml", "less than 3817.0 ml")
    assert one(findings, "does not lie wholly inside 'cylinder'").severity == "error"


def test_a_tank_in_the_flooded_space_must_fit_there_too() -> None:
    out = tank("fore", shapes.cylinder(0.1, 0.05).moved((0.96, 0.0, 0.1)))
    assert one(check.run(boat(tanks=[out])).findings, "Tank 'fore' stands partly outside").severity == "error"
    # Closed form: its end stands 20 mm deep in the end of the cylinder on the same axis.
    end = tank("fore", shapes.cylinder(0.1, 0.04).moved((0.83, 0.0, 0.075)))
    (clash,) = check.run(boat(tanks=[end])).clashes
    assert clash.volume_m3 == pytest.approx(np.pi / 4 * 0.04**2 * 0.02, rel=2e-4)


def test_things_in_different_rooms_do_not_clash() -> None:
    battery = item(
        "battery", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.5, 0.0, 0.06)), 0.3, inside="cylinder"
    )
    servo = item(
        "servo", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.55, 0.0, 0.06)), 0.3, inside="cylinder"
    )
    assert check.run(boat([battery])).clashes == ()
    (clash,) = check.run(boat([battery, servo])).clashes
    assert (clash.a, clash.b) == ("battery", "servo")
    assert clash.volume_m3 == pytest.approx(0.05 * 0.04 * 0.03, rel=1e-9)


def test_a_movable_part_is_tried_at_both_ends_of_its_way() -> None:
    battery = item(
        "battery", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.5, 0.0, 0.06)), 0.3, inside="cylinder"
    )
    servo = item(
        "servo", "inside", shapes.box(0.1, 0.04, 0.03).moved((0.3, 0.0, 0.06)), 0.1, inside="cylinder"
    )
    clear = replace(battery, rail=Rail((1.0, 0.0, 0.0), -0.1, 0.25))
    assert check.run(boat([clear, servo])).findings == ()
    into = replace(battery, rail=Rail((1.0, 0.0, 0.0), -0.12, 0.25))
    entry = one(check.run(boat([into, servo])).findings, "runs into part 'servo'")
    # 20 mm too far: 20 x 40 x 30 mm.
    assert "24.0 ml when moved by -120.0 mm" in entry.given
    out = replace(battery, rail=Rail((1.0, 0.0, 0.0), -0.1, 0.26))
    entry = one(check.run(boat([out, servo])).findings, "comes out of 'cylinder'")
    assert "12.0 ml when moved by 260.0 mm" in entry.given


@pytest.mark.parametrize(
    ("height", "side"),
    [(0.2, "above the highest"), (HEIGHT_M, "above the highest"), (0.0, "not above the lowest")],
)
def test_a_waterline_off_the_hull_is_an_error(height: float, side: str) -> None:
    entry = one(check.run(replace(boat(), waterline_m=height)).findings, "The waterline is")
    assert side in entry.what
    assert entry.severity == "error"
    assert entry.allowed == "between z 0.0 mm from the keel and z 150.0 mm from the keel"
    assert entry.key == "hull.waterline"


def test_a_waterline_that_is_no_number_is_found_and_nothing_breaks() -> None:
    entry = one(check.run(replace(boat(), waterline_m=math.nan)).findings, "The waterline is")
    assert entry.severity == "error"


def test_no_material_above_the_waterline_means_that_no_tank_can_work() -> None:
    low = item("keel", "dry", shapes.box(0.8, 0.1, 0.05).moved((0.5, 0.0, 0.03)), 3.0)
    bare = vessel(box_hull(), [low])
    entry = one(check.run(bare).findings, "No material stands above the waterline")
    assert entry.severity == "error"
    # 5 ml of material above it is less than the 10 ml that 10 g of lift need; 20 ml are enough.
    small = item("mast", "solid", shapes.box(0.01, 0.01, 0.05).moved((0.5, 0.0, 0.116)))
    entry = one(check.run(vessel(box_hull(), [low, small])).findings, "Only 5.0 ml of material")
    assert (entry.severity, entry.allowed) == ("warning", "more than 10.0 ml")
    large = item("mast", "solid", shapes.box(0.02, 0.02, 0.05).moved((0.5, 0.0, 0.116)))
    findings = check.run(vessel(box_hull(), [low, large])).findings
    assert not [entry for entry in findings if "above the waterline" in entry.what]


def test_parts_without_a_mass_are_named() -> None:
    entry = one(check.run(replace(boat(), unweighed=("servo", "sail"))).findings, "Without a mass")
    assert "'servo', 'sail'" in entry.what


@pytest.mark.parametrize(("mass", "severity"), [(-0.1, "error"), (math.nan, "error"), (0.0, "warning")])
def test_impossible_masses(mass: float, severity: str) -> None:
    part = item("servo", "solid", shapes.box(0.02, 0.02, 0.02).moved((0.1, 0.0, 0.05)), mass)
    entry = one(check.run(boat([part])).findings, "Part 'servo' has")
    assert entry.severity == severity
    assert entry.key == "part[servo].mass"


@pytest.mark.parametrize(
    ("density", "found"), [(9.0, True), (11.0, False), (21_000.0, False), (23_000.0, True)]
)
def test_a_solid_part_of_impossible_density(density: float, found: bool) -> None:
    volume = 0.02**3
    part = item("block", "solid", shapes.box(0.02, 0.02, 0.02).moved((0.1, 0.0, 0.05)), density * volume)
    findings = check.run(boat([part])).findings
    assert bool([entry for entry in findings if "would have a density" in entry.what]) is found
    if found:
        assert "10.0 kg/m^3 to 22000.0 kg/m^3" in one(findings, "would have a density").allowed


@pytest.mark.parametrize(
    ("change", "text", "severity"),
    [
        ({"lead_density_kg_m3": 900.0}, "Lead of 900.0 kg/m^3 cannot work", "error"),
        ({"lead_density_kg_m3": 2700.0}, "Lead of 2700.0 kg/m^3 is unusual", "warning"),
        ({"foam_density_kg_m3": 1100.0}, "Foam of 1100.0 kg/m^3 cannot work", "error"),
        ({"foam_density_kg_m3": 5.0}, "Foam of 5.0 kg/m^3 is unusual", "warning"),
    ],
)
def test_lead_and_foam_that_cannot_work(change: dict[str, float], text: str, severity: str) -> None:
    wishes = replace(WISHES, **change)  # type: ignore[arg-type]
    assert one(check.run(replace(boat(), wishes=wishes)).findings, text).severity == severity


def test_mass_against_displacement() -> None:
    # Closed form: a block of 800 x 100 x 100 mm, 8 l in all, 4.8 l of it under the waterline.
    def block(mass: float) -> Vessel:
        return vessel(
            box_hull(), [item("block", "dry", shapes.box(0.8, 0.1, 0.1).moved((0.5, 0.0, 0.08)), mass)]
        )

    heavy = one(check.run(block(8.5)).findings, "heavier than all she can displace")
    assert "500.0 g heavier" in heavy.what
    assert (heavy.given, heavy.allowed) == ("8500.0 g", "less than 8000.0 g")
    light = one(check.run(block(1.68)).findings, "times what she displaces at her waterline")
    assert "0.35 times" in light.what
    assert light.allowed == "about 4800.0 g"
    for mass in (2.0, 7.9):
        assert check.run(block(mass)).findings == ()


def test_guesses_are_named_with_their_share_the_least_certain_first() -> None:
    def part(name: str, mass: float, x: float) -> Item:
        return item(name, "inside", None, mass, at=(x, 0.0, 0.07), known="guess", inside="cylinder")

    plain = boat([part("receiver", 0.02, 0.4), part("battery", 0.4, 0.5)])
    total = sum(entry.mass_kg for entry in plain.items)
    entry = one(check.run(plain).findings, "of the mass is guessed")
    assert f"{0.42 / total:.0%} of the mass" in entry.what
    assert entry.what.index("battery") < entry.what.index("receiver")
    assert "Weigh 'battery' first" in entry.todo


def test_a_hull_without_openings_and_one_with_openings_off_the_skin() -> None:
    assert one(check.run(replace(boat(), openings=())).findings, "has no openings").severity == "warning"
    off = (((0.5, 0.0, 0.0), 1e-4), ((0.5, 0.0, HEIGHT_M), 1e-4), ((0.5, 0.0, 0.04), 1e-4))
    entry = one(check.run(replace(boat(), openings=off)).findings, "off the skin")
    # The inner face is 2 mm above the keel.
    assert "Opening 3 lies 38.0 mm" in entry.what
    assert entry.key == "hull.openings[3].at"
    shut = (((0.5, 0.0, 0.0), 0.0), ((0.5, 0.0, HEIGHT_M), 1e-4))
    assert one(check.run(replace(boat(), openings=shut)).findings, "has no area").severity == "error"


def test_air_above_the_highest_opening_is_measured() -> None:
    # By hand: highest hole at 130 mm, the cylinder's top at 120 mm; above it 996 x 116 x 18 mm are free.
    holes = (((0.5, 0.0, 0.0), 1e-4), ((0.5, 0.06, 0.13), 1e-4))
    entry = one(check.run(replace(boat(), openings=holes)).findings, "of air stays in")
    wanted = 0.996 * 0.116 * 0.018
    spoken = float(entry.what.split()[1])
    unit = entry.what.split()[2]
    assert spoken * (1e-3 if unit == "l" else 1e-6) == pytest.approx(wanted, rel=0.02)
    assert "z 130.0 mm" in entry.given


def paddle() -> Solid:
    """A body 400 x 100 mm with a blade 3 mm thick and 200 mm long astern of it, 100 mm high throughout."""
    half = [(0.0, 0.0015), (0.2, 0.0015), (0.2, 0.05), (0.6, 0.05)]
    return shapes.extruded([*half, *((x, -y) for x, y in half[::-1])], 0.1)


def test_a_skin_thicker_than_half_the_hull_is_found() -> None:
    inner, cover = skinned(paddle(), 0.0014)
    sound = check.run(vessel(paddle(), [cover], inside=inner, waterline_m=0.05))
    assert not [entry for entry in sound.findings if "thicker" in entry.what]
    # Under a skin of 2 mm the inner faces of the blade have crossed by 1 mm.
    inner, cover = skinned(paddle(), 0.002)
    entry = one(
        check.run(vessel(paddle(), [cover], inside=inner, waterline_m=0.05)).findings,
        "thicker than half the hull",
    )
    assert entry.key == "hull.skin.thickness"
    station = float(entry.where.split()[1])
    assert 0.0 < station < 200.0


def test_a_print_that_is_its_own_material_is_checked_against_that_material() -> None:
    # A trough open at the top: one shell, so no face of it is the inner one.
    half = [(0.06, 0.0), (0.06, 0.1), (0.055, 0.1), (0.055, 0.005)]
    outline = [*half, *((-y, z) for y, z in half[::-1])]
    trough = shapes.prism(outline, 0.5).moved((0.25, 0.0, 0.0))
    body = item("skin", "skin", trough, 0.6)
    block = item("block", "dry", shapes.box(0.1, 0.05, 0.04).moved((0.25, 0.0, 0.025)), 0.1)
    holes = (((0.25, 0.0, 0.0), 1e-4),)
    fits = vessel(
        trough, [body, block], inside=trough.moved((0.0, 0.0, 0.0)), waterline_m=0.03, openings=holes
    )
    assert not [
        entry for entry in check.run(fits).findings if "outside" in entry.what or "skin" in entry.what
    ]
    sunk = item("block", "dry", shapes.box(0.1, 0.05, 0.04).moved((0.25, 0.0, 0.024)), 0.1)
    entry = one(check.run(replace(fits, items=(body, sunk))).findings, "into the skin")
    # 1 mm over 100 x 50 mm.
    assert entry.given == "5.0 ml"


def test_errors_come_first_and_the_result_is_plain_data() -> None:
    far = item("rudder", "solid", shapes.box(0.01, 0.01, 0.01).moved((-0.2, 0.0, 0.05)), 0.01)
    guess = item("receiver", "inside", None, 0.02, at=(0.5, 0.0, 0.07), known="guess", inside="cylinder")
    note = Advice(what="Noted.", todo="Nothing.", severity="warning")
    result = check.run(replace(boat([far, guess]), advice=(note,)))
    severities = [entry.severity for entry in result.findings]
    assert severities == sorted(severities)
    assert (result.error_count, result.warning_count) == (1, 1)
    assert result.warnings == (note,)
    assert json.loads(json.dumps(as_json(result)))["findings"][0]["severity"] == "error"


def test_a_body_that_cannot_be_used_is_named_and_the_rest_is_checked() -> None:
    whole = shapes.box(0.02, 0.02, 0.02).moved((0.1, 0.0, 0.05))
    surface = whole.surfaces[0]
    opened = replace(surface, shape=type(surface.shape)(surface.shape.vertices, surface.faces[:-1]))  # type: ignore[call-arg]
    part = replace(item("servo", "solid", whole), envelope=replace(whole, surfaces=(opened,)))
    far = item("rudder", "solid", shapes.box(0.01, 0.01, 0.01).moved((-0.2, 0.0, 0.05)), 0.01)
    findings = check.run(boat([part, far])).findings
    assert [entry.key for entry in findings if "could not be checked for fit" in entry.what] == [
        "part[servo]"
    ]
    assert one(findings, "away from the hull")


def test_a_skin_outside_the_given_form_is_no_different() -> None:
    # The same boat, her hull given by its inner face.
    hull = box_hull()
    inner_form, cover = skinned(hull, SKIN_M)
    vertices, faces, _ = inner_form.meshes()[0]
    over = replace(cover, solid=skin(vertices, faces, SKIN_M, outside=True))
    holes = (((0.5, 0.0, 0.0), 1e-4), ((0.5, 0.0, HEIGHT_M), 1e-4))
    dry = item("cylinder", "dry", shapes.cylinder(0.6, 0.09).moved((0.5, 0.0, 0.075)), 2.3)
    assert check.run(vessel(hull, [over, dry], inside=inner_form, openings=holes)).findings == ()
