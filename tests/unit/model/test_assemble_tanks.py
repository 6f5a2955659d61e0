"""Tanks and their walls put together, and the water that they are to float in."""

import math
from typing import Any

import pytest

from dabchick.model.vessel import Vector
from dabchick.physics import water
from tests.support.boat_content import (
    built,
    part,
    tank,
)


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
