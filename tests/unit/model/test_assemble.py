"""The vessel put together: closed forms for a box hull, and what is assumed."""

import math

import numpy as np
import pytest

from dabchick.model.assemble import vessel
from dabchick.model.boat import Boat
from dabchick.model.hull_surface import HullSurface
from dabchick.physics import shapes
from dabchick.physics.skin import skin
from tests.support.boat_content import (
    HEIGHT,
    LENGTH,
    WIDTH,
    box_hull,
    built,
    content,
    only,
    part,
)


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
