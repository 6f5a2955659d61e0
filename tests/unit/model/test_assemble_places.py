"""Places for lead and foam: boxes, points and rails, and which of them holds what."""

from typing import Any

import numpy as np
import pytest

from tests.support.boat_content import built


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
