"""Differences in the builder's words."""

import pytest

from dabchick.storage.difference import difference
from dabchick.storage.edit_text import add_row, drop, move_row, put, remove_row
from tests.support.sample_boat import TEXT


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        (("part", 1, "mass", "value"), "320 g", "battery: mass 310 g → 320 g"),
        (("part", 3, "mass"), "7 oz", "keel lead: mass 200 g → 7 oz"),
        (("part", 1, "mass", "known"), "guess", "battery: mass known as weighed → guess"),
        (
            ("part", 1, "at"),
            ["210 mm", 0, "30 mm"],
            "battery: place (200 mm, 0, 30 mm) → (210 mm, 0, 30 mm)",
        ),
        (("hull", "waterline"), "84 mm", "hull: waterline 70 mm → 84 mm"),
        (("hull", "skin", "spread"), "0.3 mm", "hull: skin spread 0.2 mm → 0.3 mm"),
        (("units",), "inch", "units metric → inch"),
        (("scale",), 60, "scale 50 → 60"),
        (("trim", "lift_dived"), "10 g", "trim: lift dived 12 g → 10 g"),
        (("part", 0, "outside"), True, "cylinder: outside yes (new)"),
        (("tank", 0, "system"), "bag", "main: system piston → bag"),
        (("name",), "A longer box", 'name Box → "A longer box"'),
        (("hull", "openings", 1), {"at": [0, 0, 0], "area": "1 mm^2"}, "hull: openings: 1 added"),
        (("hull", "openings", 0, "area"), "1 mm^2", "hull: openings: 1 changed"),
        (("part", 0, "name"), "tube", 'part "cylinder" is called "tube" now'),
    ],
)
def test_one_value(path: tuple[str | int, ...], value: object, line: str) -> None:
    assert difference(TEXT, put(TEXT, path, value)) == [line]


def test_rows_are_told_by_their_names() -> None:
    after = add_row(TEXT, "part", {"name": "weight", "kind": "lead", "mass": {"value": "5 g"}}, 0)
    assert difference(TEXT, after) == ['part "weight" added, 5 g']
    assert difference(after, TEXT) == ['part "weight" taken out']
    assert difference(TEXT, remove_row(TEXT, "tank", 0)) == ['tank "main" taken out']
    assert difference(TEXT, move_row(TEXT, "part", 0, 2)) == ["the parts stand in another order"]
    assert difference(TEXT, put(after, ("part", 2, "mass", "value"), "1 g")) == [
        'part "weight" added, 5 g',
        "battery: mass 310 g → 1 g",
    ]


def test_renamed_and_changed() -> None:
    after = put(put(TEXT, ("part", 1, "name"), "cells"), ("part", 1, "mass", "value"), "300 g")
    assert difference(TEXT, after) == ['part "battery" is called "cells" now', "cells: mass 310 g → 300 g"]


def test_what_is_gone_is_said_with_what_it_was() -> None:
    assert difference(TEXT, drop(TEXT, ("water", "salinity"))) == ["water: salinity taken out (was 0.2 g/kg)"]
    assert difference(TEXT, put(TEXT, ("part", 3, "mass"), {"value": "200 g"})) == [
        "Only comments, blank lines or the way of writing differ."
    ]


def test_equal_and_only_comments() -> None:
    assert difference(TEXT, TEXT) == []
    assert difference(TEXT, f"# more\n{TEXT}") == ["Only comments, blank lines or the way of writing differ."]


def test_texts_with_a_fault_are_compared_by_lines() -> None:
    lines = difference(TEXT, TEXT.replace('name = "Box"', 'name = "Box'))
    assert lines[1:] == ['line 3 was: name = "Box"', 'line 3 is: name = "Box']


def test_rows_without_names_are_counted() -> None:
    one = '[[part]]\nkind = "lead"\n'
    assert difference(one, one + one) == ["part: 1 added"]
    assert difference(one, one.replace("lead", "foam")) == ["part: 1 changed"]
