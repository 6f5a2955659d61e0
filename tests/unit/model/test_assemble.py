"""The vessel put together: closed forms for a box hull, what is assumed, and any datum the same boat."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.assemble import vessel
from dabchick.model.boat import Boat
from dabchick.model.hull_surface import HullSurface
from dabchick.model.vessel import Datum, Item, Vector, Vessel
from dabchick.physics import shapes, water
from dabchick.physics.skin import skin

LENGTH, WIDTH, HEIGHT = 0.6, 0.1, 0.12
AXIS, WATERLINE = 0.052, 0.07


def box_hull(shift: Vector = (0.0, 0.0, 0.0), solid_walled: bool = False) -> HullSurface:
    ((vertices, faces, _),) = shapes.box(LENGTH, WIDTH, HEIGHT).moved(shift).meshes()
    return HullSurface(vertices, faces, "box", solid_walled)


def content(**changes: Any) -> dict[str, Any]:
    table = {
        "dabchick": 1,
        "name": "Box",
        "measured_from": {"x": "stern", "z": "keel"},
        "hull": {
            "mesh": "box.stl",
            "unit": "mm",
            "skin": {"thickness": "2 mm", "spread": "0.2 mm", "density": "1450 kg/m^3"},
            "waterline": "70 mm",
        },
    }
    return {**table, **changes}


def built(**changes: Any) -> Vessel:
    return vessel(Boat.model_validate(content(**changes)), box_hull((3.0, 0.0, -5.0)))


def part(**keys: Any) -> dict[str, Any]:
    return {"name": "thing", "kind": "solid", "at": ["200 mm", 0, "50 mm"], **keys}


def only(**keys: Any) -> Item:
    return built(part=[part(**keys)]).items[-1]


def test_hull_stands_in_the_house_frame() -> None:
    boat = built()
    assert boat.low_m == pytest.approx((0.0, -WIDTH / 2, 0.0))
    assert boat.high_m == pytest.approx((LENGTH, WIDTH / 2, HEIGHT))
    assert boat.length_m == pytest.approx(LENGTH)
    assert boat.hull.volume == pytest.approx(LENGTH * WIDTH * HEIGHT, rel=1e-12)
    assert boat.hull_inside.volume == pytest.approx(0.596 * 0.096 * 0.116, rel=1e-9)
    assert (boat.mark_bow_m, boat.mark_stern_m) == pytest.approx((0.54, 0.06))


def test_skin_by_closed_form() -> None:
    """Box less a box; spread from 0.2 of 2 mm thickness and the builder's own density (2 %)."""
    item = built().items[0]
    volume = LENGTH * WIDTH * HEIGHT - 0.596 * 0.096 * 0.116
    assert item.kind == "skin"
    assert item.volume_m3 == pytest.approx(volume, rel=1e-9)
    assert item.mass_kg == pytest.approx(1450.0 * volume, rel=1e-9)
    assert item.mass_spread_kg / item.mass_kg == pytest.approx(math.hypot(0.1, 0.02), rel=1e-9)
    assert item.volume_spread_m3 / volume == pytest.approx(0.1, rel=1e-9)
    assert item.centre_m == pytest.approx((0.3, 0.0, 0.06))
    assert item.known == "computed"
    outer, inner = 1450.0 * LENGTH * WIDTH * HEIGHT, 1450.0 * 0.596 * 0.096 * 0.116
    roll = outer * (WIDTH**2 + HEIGHT**2) / 12 - inner * (0.096**2 + 0.116**2) / 12
    assert item.inertia_kg_m2[0, 0] == pytest.approx(roll, rel=1e-9)


def test_skin_is_the_one_that_physics_makes() -> None:
    """The material shares its surfaces with the two forms; it is `skin` all the same, wetted area too."""
    ((vertices, faces, _),) = shapes.box(LENGTH, WIDTH, HEIGHT).meshes()
    for outside in (False, True):
        hull = content()["hull"]
        boat = built(hull={**hull, "skin": {**hull["skin"], "outside": outside}})
        made = skin(vertices, faces, 0.002, outside)
        solid = boat.items[0].solid
        assert solid is not None
        assert solid.volume == pytest.approx(made.volume, rel=1e-12)
        assert solid.area == pytest.approx(made.area, rel=1e-12)
        assert solid.inertia() == pytest.approx(made.inertia(), rel=1e-9)


def test_skin_outside_makes_the_hull_larger() -> None:
    hull = content()["hull"]
    boat = built(hull={**hull, "skin": {**hull["skin"], "outside": True}})
    assert boat.length_m == pytest.approx(LENGTH + 0.004)
    assert boat.low_m[2] == pytest.approx(0.0, abs=1e-12)
    assert boat.hull_inside.volume == pytest.approx(LENGTH * WIDTH * HEIGHT, rel=1e-9)


def test_weighed_skin_is_taken_as_weighed() -> None:
    hull = content()["hull"]
    skin = {"thickness": "2 mm", "mass": {"value": "700 g", "known": "weighed"}}
    item = built(hull={**hull, "skin": skin}).items[0]
    assert (item.mass_kg, item.known) == (pytest.approx(0.7), "weighed")
    assert item.mass_spread_kg == pytest.approx(0.0014)


def test_skin_without_mass_or_material_is_unweighed() -> None:
    hull = content()["hull"]
    boat = built(hull={**hull, "skin": {"thickness": "2 mm"}})
    assert boat.unweighed == ("skin",)
    assert not boat.items
    assert boat.advice[0].key == "hull.skin"
    assert boat.advice[0].severity == "warning"


def test_solid_walled_mesh_with_a_cavity() -> None:
    outer, inner = box_hull(), shapes.box(0.59, 0.09, 0.11).meshes()[0]
    surface = HullSurface(
        np.vstack([outer.vertices, inner[0]]),
        np.vstack([outer.faces, inner[1][:, ::-1] + len(outer.vertices)]),
        "print",
        True,
    )
    hull = {
        "mesh": "p.stl",
        "unit": "mm",
        "solid_walled": True,
        "skin": {"material": "PLA"},
        "waterline": "70 mm",
    }
    boat = vessel(Boat.model_validate(content(hull=hull)), surface)
    material = LENGTH * WIDTH * HEIGHT - 0.59 * 0.09 * 0.11
    assert boat.items[0].volume_m3 == pytest.approx(material, rel=1e-9)
    assert boat.items[0].mass_kg == pytest.approx(1240.0 * material, rel=1e-9)
    assert boat.hull.volume == pytest.approx(LENGTH * WIDTH * HEIGHT, rel=1e-9)
    assert boat.hull_inside.volume == pytest.approx(0.59 * 0.09 * 0.11, rel=1e-9)


def test_box_part_weighs_displaces_and_turns_like_a_box() -> None:
    item = only(
        shape={"box": {"size": ["60 mm", "30 mm", "20 mm"]}},
        mass={"value": "100 g", "known": "catalogue", "spread": "3 g"},
    )
    assert item.volume_m3 == pytest.approx(36e-6, rel=1e-12)
    assert item.centre_m == item.volume_centre_m == pytest.approx((0.2, 0.0, 0.05))
    assert (item.mass_kg, item.mass_spread_kg) == pytest.approx((0.1, 0.003))
    assert item.inertia_kg_m2[2, 2] == pytest.approx(0.1 * (0.06**2 + 0.03**2) / 12, rel=1e-12)
    assert item.centre_spread_m == (0.001, 0.001, 0.001)
    assert item.key == "part[1]"


def test_own_centre_of_mass_leaves_the_volume_where_it_is() -> None:
    item = only(
        shape={"box": {"size": ["60 mm", "30 mm", "20 mm"]}}, mass="1 g", centre=["210 mm", "1 mm", "48 mm"]
    )
    assert item.centre_m == pytest.approx((0.21, 0.001, 0.048))
    assert item.volume_centre_m == pytest.approx((0.2, 0.0, 0.05))


def test_volume_without_shape_is_a_cube_and_is_said() -> None:
    boat = built(
        part=[part(mass={"value": "19 g", "known": "weighed"}, volume={"value": "8 ml", "known": "measured"})]
    )
    item = boat.items[-1]
    assert item.solid is not None
    low, high = item.solid.bounds()
    assert high - low == pytest.approx([0.02] * 3)
    assert item.volume_spread_m3 == pytest.approx(0.5e-6)
    assert item.envelope is None
    assert any("thing" in text and "cube" in text for text in boat.assumptions)


def test_measured_volume_beats_the_shape() -> None:
    item = only(
        shape={"box": {"size": ["40 mm", "20 mm", "20 mm"]}},
        mass={"value": "19 g", "known": "weighed"},
        volume={"value": "12 ml", "known": "measured"},
    )
    assert item.volume_m3 == pytest.approx(12e-6)
    assert item.solid is not None
    assert item.solid.volume == pytest.approx(12e-6, rel=1e-12)
    assert item.envelope is not None
    assert item.envelope.volume == pytest.approx(16e-6, rel=1e-12)


def test_mass_from_shape_and_material() -> None:
    """10 ml of brass at 8500 kg/m3 (range 8400 to 8700, so 75 kg/m3 spread), volume spread 5 %."""
    boat = built(part=[part(shape={"box": {"size": ["10 mm", "10 mm", "100 mm"]}}, material="brass")])
    item = boat.items[-1]
    assert (item.mass_kg, item.known) == (pytest.approx(0.085), "computed")
    assert item.mass_spread_kg == pytest.approx(0.085 * math.hypot(0.5 / 10.0, 75.0 / 8500.0))
    assert any("thing: not weighed" in text for text in boat.assumptions)


def test_lead_of_a_weight_displaces_by_its_density() -> None:
    item = only(kind="lead", mass={"value": "227 g", "known": "weighed"})
    assert item.volume_m3 == pytest.approx(0.227 / 11350.0)


@pytest.mark.parametrize("kind", ["inside", "lead"])
def test_what_is_inside_only_weighs(kind: str) -> None:
    holder = part(
        name="tube", kind="dry", mass="500 g", shape={"cylinder": {"length": "300 mm", "diameter": "80 mm"}}
    )
    inner = part(kind=kind, inside="tube", mass="100 g", shape={"box": {"size": ["10 mm"] * 3}})
    item = built(part=[holder, inner]).items[-1]
    assert item.solid is None
    assert (item.volume_m3, item.volume_spread_m3) == (0.0, 0.0)
    assert item.envelope is not None
    assert item.inside == "tube"


def test_plain_mass_is_a_listed_guess() -> None:
    boat = built(part=[part(kind="lead", mass="200 g")])
    assert boat.items[-1].known == "guess"
    assert boat.items[-1].mass_spread_kg == pytest.approx(0.05)
    assert any("thing" in text and "guess" in text for text in boat.assumptions)


def test_part_without_mass_is_left_out_and_named() -> None:
    boat = built(
        part=[part(shape={"box": {"size": ["10 mm"] * 3}}), part(name="other", kind="lead", mass="1 g")]
    )
    assert boat.unweighed == ("thing",)
    assert [item.name for item in boat.items] == ["skin", "other"]
    assert [entry.key for entry in boat.advice] == ["part[1]"]


def test_without_trim_leaves_its_parts_out_and_keeps_the_keys() -> None:
    rows = [
        part(name="old", kind="lead", mass="1 g", **{"from": "trim"}),
        part(name="keel", kind="lead", mass="2 g"),
    ]
    boat = Boat.model_validate(content(part=rows))
    assert [item.name for item in vessel(boat, box_hull()).items] == ["skin", "old", "keel"]
    bare = vessel(boat, box_hull(), without_trim=True)
    assert [(item.name, item.key) for item in bare.items] == [("skin", "hull.skin"), ("keel", "part[2]")]


@pytest.mark.parametrize("x_from", ["bow", "stern"])
def test_rail_spans_the_allowed_places(x_from: str) -> None:
    rows = [part(kind="lead", mass="1 g", rail={"direction": "x", "from": "150 mm", "to": "290 mm"})]
    item = built(measured_from={"x": x_from, "z": "keel"}, part=rows).items[-1]
    assert item.rail is not None
    ends = sorted(
        item.centre_m[0] + item.rail.direction[0] * way for way in (item.rail.low_m, item.rail.high_m)
    )
    wanted = sorted(value if x_from == "stern" else LENGTH - value for value in (0.15, 0.29))
    assert ends == pytest.approx(wanted)


def test_slanted_rail() -> None:
    item = only(
        kind="lead",
        mass="1 g",
        at=["200 mm", 0, "50 mm"],
        rail={"from": ["170 mm", 0, "10 mm"], "to": ["230 mm", 0, "90 mm"]},
    )
    assert item.rail is not None
    assert item.rail.direction == pytest.approx((0.6, 0.0, 0.8))
    assert (item.rail.low_m, item.rail.high_m) == pytest.approx((-0.05, 0.05))


def tank(**keys: Any) -> dict[str, Any]:
    return {
        "name": "main",
        "system": "vented pump",
        "shape": {"cylinder": {"length": "100 mm", "diameter": "40 mm"}},
        "at": ["400 mm", 0, "50 mm"],
        **keys,
    }


@pytest.mark.parametrize(
    ("keys", "direction"),
    [
        ({"water_end": "stern"}, (1.0, 0.0, 0.0)),
        ({"water_end": "bow"}, (-1.0, 0.0, 0.0)),
        ({}, (-1.0, 0.0, 0.0)),
        ({"at": ["200 mm", 0, "50 mm"]}, (1.0, 0.0, 0.0)),
        ({"water_end": "bow", "turn": [0, 0, "180 deg"]}, (-1.0, 0.0, 0.0)),
        (
            {
                "water_end": "bottom",
                "shape": {"cylinder": {"length": "50 mm", "diameter": "40 mm", "axis": "z"}},
            },
            (0.0, 0.0, 1.0),
        ),
    ],
)
@pytest.mark.parametrize("x_from", ["bow", "stern"])
def test_piston_draws_away_from_the_water(keys: dict[str, Any], direction: Vector, x_from: str) -> None:
    """Without water_end the water comes in at the nearer end of the boat; places here are from the stern."""
    table = tank(system="piston", **keys)
    if x_from == "bow":
        table["at"] = [f"{600 - int(table['at'][0].split()[0])} mm", *table["at"][1:]]
    boat = built(measured_from={"x": x_from, "z": "keel"}, tank=[table])
    assert boat.tanks[0].piston_direction == pytest.approx(direction, abs=1e-12)
    assert boat.tanks[0].bore_area_m2 == pytest.approx(math.pi * 0.02**2)
    assert any("water_end" in text for text in boat.assumptions) == ("water_end" not in keys)


def test_tank_walls_in_the_flooded_space_displace() -> None:
    """A closed cylinder of 2 mm wall round a room of 100 x 40 mm, in closed form."""
    boat = built(tank=[tank(walls={"thickness": "2 mm", "material": "acrylic"})])
    walls = boat.items[-1]
    volume = math.pi / 4.0 * (0.104 * 0.044**2 - 0.1 * 0.04**2)
    assert (walls.name, walls.kind) == ("main walls", "solid")
    assert walls.volume_m3 == pytest.approx(volume, rel=1e-9)
    assert walls.mass_kg == pytest.approx(1185.0 * volume, rel=1e-9)
    assert walls.solid is not None
    assert walls.solid.volume == pytest.approx(volume, rel=1e-9)


def test_tank_walls_of_a_box_made_from_an_outline() -> None:
    """A prism cannot simply grow; its walls are the skin of its faces, here 1 mm round 100 x 40 x 40 mm."""
    outline = [["-20 mm", "-20 mm"], ["20 mm", "-20 mm"], ["20 mm", "20 mm"], ["-20 mm", "20 mm"]]
    boat = built(
        tank=[
            tank(
                shape={"prism": {"outline": outline, "length": "100 mm"}},
                walls={"thickness": "1 mm", "material": "ABS"},
            )
        ]
    )
    assert boat.items[-1].volume_m3 == pytest.approx(0.102 * 0.042**2 - 0.1 * 0.04**2, rel=1e-9)


def test_tank_walls_in_a_dry_part_only_weigh() -> None:
    holder = part(
        name="tube", kind="dry", mass="500 g", shape={"cylinder": {"length": "300 mm", "diameter": "80 mm"}}
    )
    walls = {"mass": {"value": "80 g", "known": "weighed"}}
    boat = built(part=[holder], tank=[tank(inside="tube", walls=walls)])
    assert boat.items[-1].kind == "inside"
    assert boat.items[-1].solid is None
    assert boat.tanks[0].inside == "tube"


def test_bare_tank_in_the_flooded_space_is_mentioned() -> None:
    assert any("no walls" in text for text in built(tank=[tank()]).assumptions)
    assert not any("no walls" in text for text in built(tank=[tank(system="bag")]).assumptions)


@pytest.mark.parametrize(
    ("table", "density", "said"),
    [
        ({}, water.density_kg_m3(15.0, 0.2), ["15.0 degC", "0.20 g/kg"]),
        ({"kind": "sea"}, water.density_kg_m3(15.0, 35.0), ["15.0 degC", "35.00 g/kg"]),
        ({"temperature": "8 degC", "salinity": "12 g/kg"}, water.density_kg_m3(8.0, 12.0), []),
        ({"density": "1012 kg/m^3", "temperature": "8 degC"}, 1012.0, ["35.00 g/kg"]),
    ],
)
def test_water(table: dict[str, Any], density: float, said: list[str]) -> None:
    boat = built(water=table)
    assert boat.water_density_kg_m3 == pytest.approx(density, rel=1e-12)
    assert boat.water_density_spread_kg_m3 > 0.0
    told = " ".join(text for text in boat.assumptions if text.startswith("water:"))
    assert all(words in told for words in said)
    assert bool(told) == bool(said)


def test_water_spread_follows_temperature_and_salt() -> None:
    """1 degC and 2 % of 35 g/kg, by differences of the density itself."""
    boat = built(water={"temperature": "20 degC", "salinity": "35 g/kg"})
    by_temperature = (water.density_kg_m3(20.5, 35.0) - water.density_kg_m3(19.5, 35.0)) * 1.0
    by_salt = (water.density_kg_m3(20.0, 35.1) - water.density_kg_m3(20.0, 34.9)) / 0.2 * 0.7
    assert boat.water_density_spread_kg_m3 == pytest.approx(math.hypot(by_temperature, by_salt), rel=1e-3)


def place(name: str, holds: str, **keys: Any) -> dict[str, Any]:
    return {"name": name, "for": holds, "low": ["9 cm", "1 cm", 0], "high": ["5 cm", "-1 cm", "1 cm"], **keys}


def test_places_in_any_corner_order() -> None:
    wishes = built(place=[place("keel", "lead", most="300 g")]).wishes
    assert wishes.places[0].low_m == pytest.approx((0.05, -0.01, 0.0))
    assert wishes.places[0].high_m == pytest.approx((0.09, 0.01, 0.01))
    assert wishes.places[0].most_kg == pytest.approx(0.3)


def test_place_by_middle_and_size() -> None:
    table = {"name": "a", "at": ["10 cm", 0, "5 cm"], "size": ["4 cm", "2 cm", "2 cm"]}
    wishes = built(place=[table]).wishes
    assert wishes.places[0].low_m == pytest.approx((0.08, -0.01, 0.04))
    assert wishes.places[0].holds == "both"


def test_place_at_a_point_is_a_cube_of_its_lead() -> None:
    """By hand: 50 g of lead at 11 g/cc is 4.545 ml, a cube of 16.565 mm."""
    table = {"name": "hook", "at": ["10 cm", 0, "5 cm"], "most": "50 g"}
    (hook,) = built(place=[table], trim={"lead": {"density": "11 g/cc"}}).wishes.places
    assert np.subtract(hook.high_m, hook.low_m) == pytest.approx([0.016565] * 3, rel=1e-5)
    assert (hook.holds, hook.most_kg) == ("lead", pytest.approx(0.05))


def test_place_on_a_rail_is_a_row_of_spots() -> None:
    """By hand: 40 mm spots whose middles run from 60 to 140 mm stand at 60, 100 and 140 mm."""
    rail = {"from": ["6 cm", 0, "1 cm"], "to": ["14 cm", 0, "1 cm"]}
    table = {"name": "keel", "for": "lead", "rail": rail, "size": ["4 cm", "2 cm", "1 cm"]}
    wishes = built(place=[table], trim={"lead": {"places": ["keel"]}}).wishes
    assert [place.name for place in wishes.places] == ["keel 1", "keel 2", "keel 3"]
    assert [place.low_m[0] for place in wishes.places] == pytest.approx([0.04, 0.08, 0.12])
    assert all(place.high_m[2] == pytest.approx(0.015) for place in wishes.places)


@pytest.mark.parametrize(
    ("trim", "holds", "find"),
    [
        ({}, {"a": "lead", "b": "both"}, False),
        ({"lead": {"places": ["a"]}}, {"a": "lead", "b": "foam"}, False),
        ({"lead": {"places": ["a"]}, "foam": {"places": "auto"}}, {"a": "lead", "b": "foam"}, True),
        ({"lead": {"places": "auto"}}, {"a": "lead", "b": "both"}, True),
        ({"lead": {"places": ["b"]}, "foam": {"places": []}}, {"b": "lead"}, False),
    ],
)
def test_which_place_holds_what(trim: dict[str, Any], holds: dict[str, str], find: bool) -> None:
    wishes = built(place=[place("a", "lead"), place("b", "both")], trim=trim).wishes
    assert {room.name: room.holds for room in wishes.places} == holds
    assert wishes.find_places == find


def test_places_are_found_where_none_is_given() -> None:
    assert built().wishes.find_places
    assert built(place=[place("a", "lead")]).wishes.find_places


def builder_content(datum: Datum, measured_from: dict[str, Any]) -> dict[str, Any]:
    """One boat, told from any datum."""

    def at(*point: float) -> list[str]:
        return [f"{1000.0 * value:.9f} mm" for value in datum.to_builder((point[0], point[1], point[2]))]

    sign = 1.0 if datum.x_from == "stern" else -1.0
    outline = [[f"{sign * x} mm", f"{y} mm"] for x, y in ((0, 0), (40, 0), (0, 30))]
    return content(
        measured_from=measured_from,
        hull={**content()["hull"], "marks": {"bow": at(0.55, 0, 0)[0], "stern": at(0.05, 0, 0)[0]}}
        | {"openings": [{"at": at(0.1, 0.01, 0.02), "area": "60 mm^2"}]},
        part=[
            part(
                name="tube",
                kind="dry",
                mass="600 g",
                at=at(0.3, 0.0, 0.052),
                shape={"cylinder": {"length": "300 mm", "diameter": "80 mm"}},
            ),
            part(
                name="wedge",
                mass="30 g",
                at=at(0.4, 0.02, 0.09),
                shape={"extrusion": {"outline": outline, "height": "10 mm"}},
            ),
            part(
                name="cone",
                mass="30 g",
                at=at(0.5, -0.01, 0.05),
                centre=at(0.51, -0.01, 0.05),
                turn=["10 deg", "20 deg", "-30 deg"],
                shape={"cone": {"length": "40 mm", "base": "20 mm"}},
                rail={"from": at(0.48, -0.01, 0.05), "to": at(0.53, -0.01, 0.05)},
            ),
        ],
        tank=[tank(system="piston", at=at(0.4, 0.0, 0.052), inside="tube")],
        place=[{"name": "keel", "low": at(0.1, -0.01, 0.0), "high": at(0.2, 0.01, 0.01)}],
    )


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["bow", "stern"]),
    st.sampled_from(["keel", "waterline", "axis"]),
    st.tuples(*[st.floats(-2.0, 2.0)] * 3).map(lambda shift: (shift[0], 0.0, shift[2])),
)
def test_datum_and_drawing_origin_change_nothing(x_from: Any, z_from: Any, shift: Vector) -> None:
    heights = {"keel": 0.0, "waterline": WATERLINE, "axis": AXIS}
    datum = Datum(x_from, z_from, LENGTH if x_from == "bow" else 0.0, heights[z_from])
    table: dict[str, Any] = {"x": x_from, "z": z_from}
    if z_from == "axis":
        table["axis_height"] = f"{AXIS} m"
    plain = Datum("stern", "keel", 0.0, 0.0)
    one = vessel(Boat.model_validate(builder_content(plain, {"x": "stern", "z": "keel"})), box_hull())
    two = vessel(Boat.model_validate(builder_content(datum, table)), box_hull(shift))
    assert (two.datum.x_origin_m, two.datum.z_origin_m) == pytest.approx((datum.x_origin_m, datum.z_origin_m))
    for a, b in zip(one.items, two.items, strict=True):
        assert b.mass_kg == pytest.approx(a.mass_kg, rel=1e-9)
        assert b.centre_m == pytest.approx(a.centre_m, abs=1e-9)
        assert b.volume_m3 == pytest.approx(a.volume_m3, rel=1e-9)
        assert b.volume_centre_m == pytest.approx(a.volume_centre_m, abs=1e-9)
        assert b.inertia_kg_m2 == pytest.approx(a.inertia_kg_m2, abs=1e-10)
        if a.rail is not None and b.rail is not None:
            spans = [sorted((r.direction[0] * r.low_m, r.direction[0] * r.high_m)) for r in (a.rail, b.rail)]
            assert spans[0] == pytest.approx(spans[1], abs=1e-9)
    assert two.tanks[0].centre_m == pytest.approx(one.tanks[0].centre_m, abs=1e-9)
    assert two.tanks[0].piston_direction == pytest.approx(one.tanks[0].piston_direction)
    assert (two.mark_bow_m, two.mark_stern_m) == pytest.approx((one.mark_bow_m, one.mark_stern_m))
    assert two.wishes.places[0].low_m == pytest.approx(one.wishes.places[0].low_m, abs=1e-9)
    assert two.openings[0][0] == pytest.approx(one.openings[0][0], abs=1e-9)
    assert two.waterline_m == one.waterline_m == pytest.approx(WATERLINE)


def test_inch_boat_is_the_same_boat() -> None:
    """The same box part in inches; only what is shown differs."""
    metric = only(shape={"box": {"size": ["50.8 mm", "25.4 mm", "12.7 mm"]}}, mass="3 oz")
    inch = built(units="inch", part=[part(shape={"box": {"size": ["2 in", "1 in", "1/2 in"]}}, mass="3 oz")])
    assert inch.items[-1].volume_m3 == pytest.approx(metric.volume_m3, rel=1e-12)
    assert any(" oz" in text for text in inch.assumptions)
