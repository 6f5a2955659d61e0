"""Spaces in the boat file: into the house frame, each mistake at its key, and through an edit and back."""

from typing import Any

import pytest

from dabchick.storage.difference import difference
from dabchick.storage.edit_text import add_row
from tests.support.boat_content import built
from tests.unit.model.test_mistakes import Change, told

CASING: dict[str, Any] = {"name": "casing", "at": ["60 mm", 0, "30 mm"], "size": ["20 mm", "10 mm", "4 mm"]}
SAIL: dict[str, Any] = {
    "name": "sail",
    "low": ["90 mm", "10 mm", "40 mm"],
    "high": ["30 mm", "-5 mm", "20 mm"],
    "openings": [
        {"at": ["40 mm", 0, "20 mm"], "area": "20 mm^2", "to": "casing"},
        {"at": ["80 mm", 0, "20 mm"], "area": "30 mm^2"},
    ],
}


def spaces(*tables: dict[str, Any]) -> Change:
    return lambda content: content.update(space=list(tables))


def test_boxes_and_openings_in_the_house_frame() -> None:
    vessel = built(space=[CASING, SAIL])
    assert [(one.name, one.key) for one in vessel.spaces] == [("casing", "space[1]"), ("sail", "space[2]")]
    assert vessel.spaces[0].low_m == pytest.approx((0.05, -0.005, 0.028))
    assert vessel.spaces[1].high_m == pytest.approx((0.09, 0.01, 0.04))
    assert [(one.space, one.other, one.key) for one in vessel.inner_openings] == [
        ("sail", "casing", "space[2].openings[1]"),
        ("sail", "", "space[2].openings[2]"),
    ]
    assert vessel.inner_openings[1].area_m2 == pytest.approx(30e-6)


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (spaces({"name": "half", "low": SAIL["low"]}), "space[1]", "is not one box"),
        (spaces(CASING, CASING), "space[2].name", "taken already"),
        (spaces(CASING | {"name": "Hull"}), "space[1].name", "lies in no space"),
        (spaces(SAIL), "space[1].openings[1].to", "no other space"),
        (spaces(SAIL | {"high": SAIL["low"], "openings": []}), "space[1].high", "along x and y and z"),
    ],
)
def test_spaces_that_cannot_be(change: Change, key: str, words: str) -> None:
    found, _ = told(change)
    assert [entry.key for entry in found] == [key]
    assert words in found[0].what


def test_a_space_beside_the_hull_is_told_but_taken() -> None:
    found, warnings = told(spaces(CASING | {"at": ["900 mm", 0, "30 mm"]}))
    assert found == []
    assert [entry.key for entry in warnings] == ["space[1]"]


def test_a_space_is_added_to_the_text_and_told_as_a_difference() -> None:
    before = 'dabchick = 1\nname = "Tern" # hers\n'
    after = add_row(before, "space", SAIL)
    assert after.startswith(before)
    assert "[[space]]" in after
    assert difference(before, after) == ['space "sail" added']
