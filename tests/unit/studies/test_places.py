"""Places for lead and foam: apart, above or below the waterline, alike on both sides, spoken plainly."""

from dataclasses import replace
from itertools import combinations

import manifold3d
import numpy as np
import pytest

from dabchick.model.vessel import Datum, Place, Rail, Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.studies.places import FEWEST, LEAST_EDGE_M, LEAST_HEIGHT_M, MOST, find_places
from tests.support.fitting_boats import (
    HEIGHT_M,
    LENGTH_M,
    WATERLINE_M,
    WIDTH_M,
    WISHES,
    box_hull,
    fat_spindle,
    item,
    mirrored,
    skinned,
    tank,
    vessel,
)


def spindle_boat() -> Vessel:
    hull = fat_spindle()
    inner, skin = skinned(hull, 0.002)
    cylinder = shapes.cylinder(0.42, 0.09).moved((0.5, 0.0, 0.075))
    servo = shapes.box(0.04, 0.02, 0.04).moved((0.2, 0.03, 0.07))
    return vessel(
        hull,
        [skin, item("cylinder", "dry", cylinder, 2.0), item("servo", "solid", servo, 0.05)],
        [tank("aft", shapes.sphere(0.04).moved((0.22, -0.025, 0.08)))],
        inside=inner,
    )


@pytest.fixture(scope="module")
def spindle() -> Vessel:
    return spindle_boat()


@pytest.fixture(scope="module")
def places(spindle: Vessel) -> tuple[Place, ...]:
    return find_places(spindle)


def size(place: Place) -> np.ndarray:
    return np.subtract(place.high_m, place.low_m)


def overlap(first: Place, second: Place) -> float:
    """Shared volume of two boxes [m3]."""
    edges = np.minimum(first.high_m, second.high_m) - np.maximum(first.low_m, second.low_m)
    return float(np.prod(np.maximum(edges, 0.0)))


def corners(place: Place) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return tuple(np.round(place.low_m, 9)), tuple(np.round(place.high_m, 9))


def test_there_are_enough_places_and_not_too_many(places: tuple[Place, ...]) -> None:
    assert FEWEST <= len(places) <= MOST
    assert {place.holds for place in places} >= {"lead", "foam"}


def test_the_same_boat_gives_the_same_places(spindle: Vessel, places: tuple[Place, ...]) -> None:
    assert find_places(spindle) == places


def test_no_two_places_share_room(places: tuple[Place, ...]) -> None:
    assert all(overlap(first, second) < 1e-15 for first, second in combinations(places, 2))


def test_names_are_unique(places: tuple[Place, ...]) -> None:
    assert len({place.name for place in places}) == len(places)


def test_edges_can_be_cut_and_blocks_are_large_enough(places: tuple[Place, ...]) -> None:
    for place in places:
        assert np.all(size(place) >= np.array([LEAST_EDGE_M, LEAST_EDGE_M, LEAST_HEIGHT_M]) - 1e-9), (
            place.name
        )
        if place.holds != "lead":
            assert np.prod(size(place)) >= WISHES.foam_least_volume_m3 - 1e-15


def test_no_place_crosses_the_waterline_and_foam_is_on_both_sides_of_it(places: tuple[Place, ...]) -> None:
    for place in places:
        assert place.high_m[2] <= WATERLINE_M + 1e-12 or place.low_m[2] >= WATERLINE_M - 1e-12, place.name
    foam = [place for place in places if place.holds == "foam"]
    assert any(place.low_m[2] >= WATERLINE_M - 1e-12 for place in foam)
    assert any(place.high_m[2] <= WATERLINE_M + 1e-12 for place in foam)


def test_lead_lies_low_and_reaches_both_ends(places: tuple[Place, ...]) -> None:
    lead = [place for place in places if place.holds != "foam"]
    assert all(place.high_m[2] < WATERLINE_M for place in lead)
    middles = [(place.low_m[0] + place.high_m[0]) / 2 for place in lead]
    # The end compartments of the round hull are the outer tenths of her length.
    assert min(middles) < 0.1
    assert max(middles) > 0.9


def test_a_mirrored_boat_gives_mirrored_places(spindle: Vessel, places: tuple[Place, ...]) -> None:
    def over(place: Place) -> tuple[object, ...]:
        swapped = {"port": "starboard", "starboard": "port"}
        name = " ".join(swapped.get(word, word) for word in place.name.split())
        (x0, y0, z0), (x1, y1, z1) = place.low_m, place.high_m
        return (name, place.holds, x0, -y1, z0, x1, -y0, z1)

    there = {
        (place.name, place.holds, *place.low_m, *place.high_m) for place in find_places(mirrored(spindle))
    }
    assert there == {over(place) for place in places}


def test_a_boat_alike_on_both_sides_gets_pairs() -> None:
    boat = vessel(
        box_hull(), [item("cylinder", "dry", shapes.cylinder(0.6, 0.08).moved((0.5, 0.0, 0.075)), 3.0)]
    )
    found = find_places(boat)
    boxes = {corners(place) for place in found}
    for place in found:
        (x0, y0, z0), (x1, y1, z1) = corners(place)
        assert ((x0, -y1, z0), (x1, -y0, z1)) in boxes, place.name
        centred = y0 == -y1
        assert centred or place.name.split()[-1] in ("port", "starboard")
    assert any("port" in place.name for place in found)


def test_room_on_one_side_only_gives_places_there() -> None:
    # A block fills the port half from end to end.
    half = shapes.box(LENGTH_M, WIDTH_M / 2, HEIGHT_M).moved((LENGTH_M / 2, WIDTH_M / 4, HEIGHT_M / 2))
    found = find_places(vessel(box_hull(), [item("block", "solid", half)]))
    assert found
    assert all(place.high_m[1] <= 0.0 and place.name.endswith("starboard") for place in found)


def test_an_empty_box_hull_is_used_to_its_walls() -> None:
    # Closed form: with 2 mm of clearance and cells of 2 mm the boxes reach to 2 mm off the walls.
    found = find_places(vessel(box_hull()))
    assert min(place.low_m[2] for place in found) == pytest.approx(0.002)
    assert max(place.high_m[2] for place in found) == pytest.approx(HEIGHT_M - 0.002)
    assert max(place.high_m[1] for place in found) == pytest.approx(WIDTH_M / 2 - 0.002)
    # Along the length the cells are 4 mm long.
    assert min(place.low_m[0] for place in found) == pytest.approx(0.004)
    assert max(place.high_m[0] for place in found) == pytest.approx(LENGTH_M - 0.004)


def test_nothing_fits_in_a_full_hull() -> None:
    block = shapes.box(LENGTH_M, WIDTH_M, HEIGHT_M).moved((LENGTH_M / 2, 0.0, HEIGHT_M / 2))
    assert find_places(vessel(box_hull(), [item("block", "solid", block)])) == ()


def test_what_a_dry_part_holds_takes_no_room_outside_it() -> None:
    cylinder = item("cylinder", "dry", shapes.cylinder(0.6, 0.08).moved((0.5, 0.0, 0.075)), 3.0)
    long_rod = item("rod", "inside", shapes.cylinder(0.9, 0.01).moved((0.5, 0.0, 0.075)), inside="cylinder")
    piston = tank("main", shapes.cylinder(0.1, 0.07).moved((0.3, 0.0, 0.075)), "cylinder")
    assert find_places(vessel(box_hull(), [cylinder, long_rod], [piston])) == find_places(
        vessel(box_hull(), [cylinder])
    )


def test_the_builders_own_places_stay_free() -> None:
    own = Place("keel 100 mm", "lead", (0.3, -0.05, 0.01), (0.7, 0.05, 0.05))
    found = find_places(vessel(box_hull(), wishes=replace(WISHES, places=(own,))))
    assert found
    assert all(overlap(place, own) < 1e-15 for place in found)
    assert own.name not in {place.name for place in found}


def test_a_movable_part_keeps_its_whole_way_free() -> None:
    block = item("battery", "solid", shapes.box(0.05, WIDTH_M - 0.01, 0.03).moved((0.5, 0.0, 0.02)))
    movable = replace(block, rail=Rail((1.0, 0.0, 0.0), -0.2, 0.3))
    way = Place("way", "lead", (0.275, -0.05, 0.005), (0.825, 0.05, 0.035))
    assert any(overlap(place, way) > 1e-6 for place in find_places(vessel(box_hull(), [block])))
    assert not any(overlap(place, way) > 1e-15 for place in find_places(vessel(box_hull(), [movable])))


def test_a_thin_part_that_slides_up_leaves_no_gaps_on_its_way() -> None:
    # A plate 1 mm thick on an upright rail; the steps along the rail are longer than the cells are high.
    plate = item("plate", "solid", shapes.box(0.3, 0.1, 0.001).moved((0.5, 0.0, 0.03)))
    movable = replace(plate, rail=Rail((0.0, 0.0, 1.0), 0.0, 0.08))
    way = Place("way", "lead", (0.35, -0.05, 0.0295), (0.65, 0.05, 0.1105))
    assert not any(overlap(place, way) > 1e-15 for place in find_places(vessel(box_hull(), [movable])))


def tub() -> Solid:
    """A print 500 x 120 x 100 mm, open at the top, walls 5 mm: one shell that is its own material."""
    block = manifold3d.Manifold.cube((0.5, 0.12, 0.1)).translate((0.0, -0.06, 0.0))
    room = manifold3d.Manifold.cube((0.49, 0.11, 0.1)).translate((0.005, -0.055, 0.005))
    made = (block - room).to_mesh64()
    return shapes.mesh(made.vert_properties, np.array(made.tri_verts, dtype=np.int64))


def test_a_print_that_is_its_own_material_has_its_room_between_its_walls() -> None:
    body = tub()
    skin = item("skin", "skin", body, 0.6)
    found = find_places(vessel(body, [skin], inside=body.moved((0.0, 0.0, 0.0)), waterline_m=0.06))
    low = np.min([place.low_m for place in found], axis=0)
    high = np.max([place.high_m for place in found], axis=0)
    # The clearance is 2 mm, the cells 2 x 1 x 1 mm; upwards the room ends with the walls.
    assert np.all(low >= np.array([0.005, -0.055, 0.005]) + 0.002 - 1e-9)
    assert np.all(low <= np.array([0.005, -0.055, 0.005]) + 0.002 + 0.002 + 1e-9)
    assert np.all(high <= np.array([0.493, 0.053, 0.098]) + 1e-9)
    assert high[2] > 0.09


def test_foam_boxes_hold_at_least_one_sheet() -> None:
    found = find_places(vessel(box_hull(), wishes=replace(WISHES, foam_sheet_m=0.03)))
    foam = [place for place in found if place.holds != "lead"]
    assert foam
    assert all(size(place)[2] >= 0.03 - 1e-9 for place in foam)


@pytest.mark.parametrize("x_from", ["bow", "stern"])
def test_names_say_where_in_the_builders_own_coordinates(x_from: str) -> None:
    datum = Datum("bow", "keel", LENGTH_M, 0.0) if x_from == "bow" else Datum("stern", "keel", 0.0, 0.0)
    for place in find_places(vessel(box_hull(), datum=datum)):
        middle = (place.low_m[0] + place.high_m[0]) / 2
        wanted = LENGTH_M - middle if x_from == "bow" else middle
        spoken = next(word for word in place.name.split() if word.replace(".", "").isdigit())
        assert float(spoken) / 1000 == pytest.approx(wanted, abs=0.00051)
        assert " mm" in place.name


def test_names_are_in_inches_for_who_works_in_inches() -> None:
    for place in find_places(replace(vessel(box_hull()), units="inch")):
        middle = (place.low_m[0] + place.high_m[0]) / 2
        spoken = next(word for word in place.name.split() if word.replace(".", "").isdigit())
        assert float(spoken) * 0.0254 == pytest.approx(middle, abs=0.051 * 0.0254)
        assert " in" in place.name
