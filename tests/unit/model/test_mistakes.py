"""What must fit together: each mistake alone gives its advice, at its key; the sample itself has none."""

import copy
import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from dabchick.model.advice import Advice
from dabchick.model.hull_surface import HullSurface
from dabchick.model.misfits import misfits
from dabchick.model.mistakes import mistakes
from dabchick.model.reading import read
from dabchick.physics import shapes
from tests.support.sample_boat import HULL_SIZE_MM, TEXT

Change = Callable[[dict[str, Any]], object]
CYLINDER, BATTERY, SERVO, LEAD = range(4)


def hull_box(scale: float = 1.0) -> HullSurface:
    ((vertices, faces, _),) = shapes.box(*(scale * side / 1000.0 for side in HULL_SIZE_MM)).meshes()
    return HullSurface(vertices, faces, "hull.stl")


def told(change: Change, scale: float = 1.0) -> tuple[list[Advice], list[Advice]]:
    content = copy.deepcopy(tomllib.loads(TEXT))
    change(content)
    draft, advice = read(content)
    errors, warnings = misfits(draft, hull_box(scale), {})
    return [*advice, *mistakes(draft), *errors], warnings


def part(row: int, **keys: Any) -> Change:
    return lambda content: content["part"][row].update(keys)


def tank(**keys: Any) -> Change:
    return lambda content: content["tank"][0].update(keys)


def table(name: str, **keys: Any) -> Change:
    return lambda content: content[name].update(keys)


def without(*path: Any) -> Change:
    def change(content: Any) -> None:
        for step in path[:-1]:
            content = content[step]
        del content[path[-1]]

    return change


def test_sample_is_right() -> None:
    assert told(lambda content: None) == ([], [])


BOX = {"box": {"size": ["10 mm", "10 mm", "10 mm"]}}
MISTAKES: list[tuple[Change, str, str]] = [
    # one value
    (part(LEAD, mass=200), "part[4].mass", "has no unit"),
    (part(LEAD, mass="-200 g"), "part[4].mass", "below zero"),
    (part(LEAD, mass="0 g"), "part[4].mass", "is zero"),
    (part(LEAD, mass=float("nan")), "part[4].mass", "not a number"),
    (part(LEAD, mass={"value": "200 mm"}), "part[4].mass.value", "is a length"),
    (part(LEAD, mass={"known": "weighed"}), "part[4].mass.value", "missing"),
    (part(LEAD, mass={"value": "1 g", "knwon": "guess"}), "part[4].mass.knwon", '"known"'),
    (part(LEAD, at=["1 mm", 0]), "part[4].at", "too short"),
    (part(LEAD, at="1 mm"), "part[4].at", "A list"),
    (part(LEAD, kind="ballast"), "part[4].kind", "not one of the words"),
    (part(LEAD, material="fibreglas"), "part[4].material", "fibreglass"),
    (part(LEAD, name=" "), "part[4].name", "empty"),
    (part(LEAD, weight="3 g"), "part[4].weight", '"mass"'),
    (without("part", LEAD, "name"), "part[4].name", "missing"),
    (without("part", LEAD, "at"), "part[4].at", 'of "keel lead" is missing'),
    (without("dabchick"), "dabchick", "missing"),
    (without("measured_from"), "measured_from", "missing"),
    (without("hull"), "hull", "missing"),
    (table("trim", clearence="3 mm"), "trim.clearence", '"clearance"'),
    (table("water", temperature="80 degC"), "water.temperature", "temperature"),
    (table("water", salinity="80 g/kg"), "water.salinity", "salt"),
    (table("water", density="2 kg/m^3", salinity="1 g/kg"), "water.density", "not the density"),
    (lambda content: content.update(scale=-60), "scale", "scale"),
    (lambda content: content.update(units="imperial"), "units", "words"),
    # names and references
    (part(SERVO, name="battery"), "part[3].name", "taken already, by part[2]"),
    (tank(name="battery"), "tank[1].name", "taken already"),
    (part(BATTERY, inside="cylindr"), "part[2].inside", 'no part called "cylindr"'),
    (part(BATTERY, inside="servo"), "part[2].inside", "not a dry part"),
    (tank(inside="servo"), "tank[1].inside", "not a dry part"),
    (without("part", BATTERY, "inside"), "part[2].inside", "inside of what"),
    (part(SERVO, inside="cylinder"), "part[3].kind", "stands inside a dry part"),
    (lambda content: content["trim"]["lead"].update(places=["keel"]), "trim.lead.places[1]", "no [[place]]"),
    # one thing or the other
    (table("hull", stations="a.csv"), "hull.mesh", "two forms"),
    (table("hull", measures="a.csv"), "hull.measures", "two forms: mesh, measures"),
    (table("hull", stations="a.csv", measures="b.csv"), "hull.mesh", "three forms"),
    (without("hull", "mesh"), "hull.stations", "no form"),
    (without("hull", "unit"), "hull.unit", "which unit"),
    (table("hull", bow="+z"), "hull.bow", "same axis"),
    (table("hull", solid_walled=True), "hull.skin.thickness", "material itself"),
    (without("hull", "skin", "thickness"), "hull.skin.thickness", "how thick"),
    (lambda content: content["hull"]["skin"].update(density="1 g/cc"), "hull.skin.density", "both"),
    (table("hull", marks={"bow": "50 mm", "stern": "50 mm"}), "hull.marks", "same place"),
    (table("measured_from", z="axis"), "measured_from.axis_height", "how high"),
    (table("measured_from", axis_height="5 mm"), "measured_from.axis_height", "measured from the keel"),
    (table("water", kind="sea"), "water.kind", "both"),
    (table("water", density="999 kg/m^3"), "water.density", "follows from"),
    (without("part", SERVO, "volume"), "part[3].shape", "how much water"),
    (without("part", CYLINDER, "shape"), "part[1].shape", "how much water"),
    (
        part(CYLINDER, shape={"tube": {"length": "40 cm", "outer": "9 cm", "inner": "1 mm"}}),
        "part[1].shape",
        "open at both ends",
    ),
    (tank(shape=BOX), "tank[1].shape", "A piston runs in a cylinder"),
    (tank(system="vented pump"), "tank[1].water_end", "goes with a piston"),
    (tank(water_end="top"), "tank[1].water_end", "lies along x"),
    (tank(walls={"thickness": "1 mm", "volume": "3 ml"}), "tank[1].walls.volume", "both"),
    (part(BATTERY, rail={"from": "1 mm", "to": "2 mm"}), "part[2].rail", "ends of the rail"),
    (
        part(BATTERY, rail={"direction": "x", "from": "1 mm", "to": "2 mm"}),
        "part[2].rail",
        "off its rail",
    ),
    (
        part(BATTERY, rail={"from": ["0 mm", 0, "30 mm"], "to": ["300 mm", 0, "40 mm"]}),
        "part[2].rail",
        "off its rail",
    ),
    (part(BATTERY, rail={"direction": "x", "from": "1 mm", "to": "1 mm"}), "part[2].rail", "no length"),
    (lambda content: content["place"][0].pop("high"), "place[1]", "not one box, point or rail"),
    (lambda content: content["place"][0].update(at=[0, 0, 0]), "place[1]", "not one box, point or rail"),
    (
        lambda content: content["place"][0].update(high=["200 mm", "20 mm", "3 mm"]),
        "place[1].high",
        "no extent along z",
    ),
    (lambda content: content["trim"]["lead"].update(sheet=True), "trim.lead.sheet", "both sheet"),
    (lambda content: content["trim"]["lead"].update(pieces=["5 g", "5 g"]), "trim.lead.pieces", "twice"),
    # sizes
    (table("hull", waterline="120 mm"), "hull.waterline", "above the hull"),
    (table("hull", waterline="-1 mm"), "hull.waterline", "below zero"),
    (table("hull", marks={"bow": "50 mm", "stern": "650 mm"}), "hull.marks.stern", "not stand on the hull"),
    (table("hull", marks={"bow": "550 mm", "stern": "50 mm"}), "hull.marks", "aft of"),
    (
        tank(shape={"cylinder": {"length": "600 mm", "diameter": "70 mm"}}),
        "tank[1].shape",
        "larger than",
    ),
    (tank(at=["460 mm", 0, "52 mm"]), "tank[1].at", "sticks 15.0 mm out"),
    (
        tank(
            system="bag",
            water_end=None,
            shape={"prism": {"outline": [[0, 0], ["1 mm", 0]], "length": "1 mm"}},
        ),
        "tank[1].shape",
        "at least 3 points",
    ),
]


@pytest.mark.parametrize(
    ("change", "key", "words"), MISTAKES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_mistake_gives_one_advice_at_its_key(change: Change, key: str, words: str) -> None:
    errors, _ = told(change)
    assert [entry.key for entry in errors] == [key]
    assert words in f"{errors[0].what} {errors[0].todo}"
    assert errors[0].todo
    assert errors[0].severity == "error"


def test_all_at_once() -> None:
    """Mistakes in one table do not hide those in others, nor those that need other keys of the same table."""

    def change(content: dict[str, Any]) -> None:
        part(LEAD, mass="200 mm")(content)
        part(BATTERY, inside="nowhere", colour="red")(content)
        table("hull", waterline="150 mm", skin={"thickness": "2 mm", "material": "gold leaf"})(content)
        tank(at=["460 mm", 0, "52 mm"])(content)
        table("trim", lead={"places": ["nowhere"]})(content)

    errors, _ = told(change)
    assert {entry.key for entry in errors} == {
        "part[4].mass",
        "part[2].inside",
        "part[2].colour",
        "hull.waterline",
        "hull.skin.material",
        "tank[1].at",
        "trim.lead.places[1]",
    }


@pytest.mark.parametrize(("scale", "words"), [(1500.0, '"cm"'), (0.0015, "0.9 mm")])
def test_hull_of_no_likely_size(scale: float, words: str) -> None:
    """600 mm times 1500 is 900 m, times 0.0015 is 0.9 mm."""
    errors, _ = told(lambda content: content["hull"].update(unit="m"), scale)
    assert [entry.key for entry in errors] == ["hull.unit"]
    assert words in f"{errors[0].what} {errors[0].todo}"


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (part(SERVO, at=["-540 mm", 0, "60 mm"]), "part[3].at", "middle"),
        (part(CYLINDER, at=["190 mm", 0, "52 mm"]), "part[1].at", "reaches out"),
    ],
)
def test_outside_the_hull_is_a_warning_with_coordinates(change: Change, key: str, words: str) -> None:
    """Coordinates are the builder's: measured from the bow, the hull reaches from 0 to 600 mm."""
    errors, warnings = told(lambda content: (change(content), content["tank"].clear()))
    assert errors == []
    assert [(entry.key, entry.severity) for entry in warnings] == [(key, "warning")]
    assert words in warnings[0].what
    assert "x 0.0 mm to 600.0 mm" in warnings[0].allowed


def test_missing_mass_is_no_mistake() -> None:
    for row in (CYLINDER, BATTERY, SERVO, LEAD):
        assert told(without("part", row, "mass"))[0] == []
