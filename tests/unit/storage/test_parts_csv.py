"""The part list as CSV: what is exported comes back the same, and numbers are read in one way or not at all."""

import csv
import io
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.storage.part_columns import BY_NAME, ColumnName, TableName, after, changed, written
from dabchick.storage.parts_csv import headings, parts_csv, usual_unit
from dabchick.storage.sheet_text import TwoReadingsError, guarded, lines_of, plain_number, unguarded
from tests.support.sample_boat import TEXT

BOX = tomllib.loads(TEXT)


def test_the_sample_boat_as_csv() -> None:
    """Four parts; the axes say what they are measured from; keys without a column of the list stand behind."""
    rows = list(csv.DictReader(io.StringIO(parts_csv(BOX))))
    assert [row["name"] for row in rows] == ["cylinder", "battery", "servo", "keel lead"]
    battery = rows[1]
    assert (battery["mass"], battery["known"], battery["spread"]) == ("310 g", "weighed", "1 g")
    assert (battery["x from bow"], battery["y to port"], battery["z from keel"]) == ("200 mm", "0", "30 mm")
    assert battery["shape"] == '{ box = { size = ["70 mm", "35 mm", "30 mm"] } }'
    assert (rows[2]["volume"], rows[2]["volume known"]) == ("9 ml", "measured")
    assert (rows[2]["y to port"], rows[3]["mass"], rows[3]["known"]) == ("-12 mm", "200 g", "")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1,5", "1.5"),
        ("1,5 g", "1.5 g"),
        ("0,500 kg", "0.500 kg"),
        ("-12,75 mm", "-12.75 mm"),
        ("−12 mm", "-12 mm"),
        ("1.234,5 g", "1234.5 g"),
        ("1,234.5 g", "1234.5 g"),
        ("1,234,567 g", "1234567 g"),
        ("1.234.567 g", "1234567 g"),
        ("1.500 kg", "1.500 kg"),
        ("3/16 in", "3/16 in"),
        ("about 5, or 6", "about 5, or 6"),
        ("12\u00a0g", "12 g"),
    ],
)
def test_numbers_that_can_be_read_in_one_way_only(text: str, number: str) -> None:
    assert plain_number(text) == number


def test_numbers_that_can_be_read_in_two_ways_are_not_guessed() -> None:
    """1,500 is one and a half here and fifteen hundred there; so is 1.500 in a sheet with decimal commas."""
    with pytest.raises(TwoReadingsError, match=r"1\.500 kg or 1500 kg"):
        plain_number("1,500 kg")
    with pytest.raises(TwoReadingsError, match=r"1\.500 or 1500"):
        plain_number("1.500", decimal_commas=True)


@given(
    whole=st.integers(0, 999),
    decimals=st.text("0123456789", min_size=1, max_size=6),
    unit=st.sampled_from(["", " g", " mm", "kg"]),
)
def test_a_decimal_comma_is_a_decimal_point_or_is_not_taken(whole: int, decimals: str, unit: str) -> None:
    """Whatever comes back as a number is the number meant."""
    text = f"{whole},{decimals}{unit}"
    if whole and len(decimals) == 3:
        with pytest.raises(TwoReadingsError) as fault:
            plain_number(text)
        read, other = fault.value.readings
        assert float(other.removesuffix(unit)) == float(f"{whole}{decimals}")
    else:
        read = plain_number(text)
    assert float(read.removesuffix(unit)) == float(f"{whole}.{decimals}")


@given(st.text())
def test_no_text_becomes_a_formula_and_none_is_lost(text: str) -> None:
    safe = guarded(text)
    assert safe[:1] not in ("=", "+", "-", "@", "\t", "\r")
    assert unguarded(safe) == text


def test_cells_are_parted_by_tabs_semicolons_or_commas() -> None:
    """The line is that of the text, also behind a cell of two lines; blank rows count as lines and are left out."""
    assert [(line.line, line.cells) for line in lines_of('a\tb, c\r\n\r\n"d\ne"\tf\r\ng\th')] == [
        (1, ("a", "b, c")),
        (3, ("d\ne", "f")),
        (5, ("g", "h")),
    ]
    assert lines_of("a;1,5\nb;2")[0].cells == ("a", "1,5")
    assert lines_of('"a;b",1\n')[0].cells == ("a;b", "1")
    assert lines_of("name,mass\ncaps; both,1 g\n")[1].cells == ("caps; both", "1 g")
    assert lines_of("1,5;2,5\n3,5;4,5")[1].cells == ("3,5", "4,5")
    assert lines_of("servo, fore\n", commas=False)[0].cells == ("servo, fore",)


@pytest.mark.parametrize(
    ("text", "column", "unit"),
    [
        ("mass (g)", "mass", "g"),
        ("Weight [oz]", "mass", "oz"),
        ("x [mm]", "x", "mm"),
        ("x_mm", "x", "mm"),
        ("X from bow", "x", ""),
        ("from bow, mm", "x", "mm"),
        ("z over the keel (in)", "z", "in"),
        ("y to port (mm)", "y", "mm"),
        ("how known", "known", ""),
        ("± [g]", "spread", "g"),
        ("Remarks", "note", ""),
    ],
)
def test_headings_in_plain_words(text: str, column: str, unit: str) -> None:
    (heading,) = headings([text], BOX)
    assert heading.column is not None, heading
    assert (heading.column.name, heading.unit) == (column, unit)


def test_a_heading_from_another_zero_or_with_another_unit_is_not_taken() -> None:
    """The sample boat is measured from the bow, and no mass is in millimetres."""
    stern, wrong, strange = headings(["x from stern", "mass (mm)", "price"], BOX)
    assert "from the stern, this boat from the bow" in stern.fault
    assert "no unit that mass can have" in wrong.fault
    assert (strange.is_known, strange.fault) == (False, "")


@pytest.mark.parametrize(
    ("row", "column", "text", "wanted"),
    [
        ({"mass": "310 g"}, "known", "weighed", {"mass": {"value": "310 g", "known": "weighed"}}),
        ({"mass": "310 g"}, "mass", "7 oz", {"mass": "7 oz"}),
        ({"mass": {"value": "310 g", "known": "weighed"}}, "mass", "7 oz",
         {"mass": {"value": "7 oz", "known": "weighed"}}),
        ({"mass": {"value": "310 g", "known": "weighed"}}, "known", "", {"mass": {"value": "310 g"}}),
        ({"mass": {"value": "310 g", "known": "weighed"}}, "mass", "", {}),
        ({}, "mass", "heavy", {"mass": "heavy"}),
        ({}, "x", "12 mm", {"at": ["12 mm", "", ""]}),
        ({"at": ["1 mm", 0, "2 mm"]}, "y", "0", {"at": ["1 mm", 0, "2 mm"]}),
        ({"at": ["1 mm", 0, "2 mm"]}, "z", "", {"at": ["1 mm", 0, ""]}),
        ({"at": ["", "", "2 mm"]}, "z", "", {}),
        ({"at": "amidships"}, "x", "12 mm", {"at": ["12 mm", "", ""]}),
        ({}, "outside", "yes", {"outside": True}),
        ({"outside": True}, "outside", "maybe", {"outside": "maybe"}),
        ({"note": "old"}, "note", " ", {}),
    ],
)  # fmt: skip
def test_a_cell_is_written_in_the_form_that_stands_there(
    row: dict[str, Any], column: ColumnName, text: str, wanted: dict[str, Any]
) -> None:
    assert after(row, changed(row, "part", BY_NAME[column], text)) == wanted


def test_a_tank_s_mass_is_that_of_its_walls() -> None:
    tank: dict[str, Any] = {"name": "main"}
    made = after(tank, changed(tank, "tank", BY_NAME["spread"], "1 g"))
    assert made == {"name": "main", "walls": {"mass": {"spread": "1 g"}}}
    assert written(tank, "tank", BY_NAME["outside"]) is None


CELL = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12).map(str.strip)
TABLES: list[TableName] = ["part", "tank", "skin"]


@settings(max_examples=200)
@given(
    table=st.sampled_from(TABLES),
    column=st.sampled_from(sorted(BY_NAME)),
    texts=st.lists(CELL, min_size=1, max_size=4),
)
def test_what_is_typed_is_what_stands_there(table: TableName, column: ColumnName, texts: list[str]) -> None:
    """After any typing the cell reads as typed last; typing the same again changes nothing."""
    if table not in BY_NAME[column].places:
        return
    row: dict[str, Any] = {}
    for text in texts:
        row = after(row, changed(row, table, BY_NAME[column], text))
    found = written(row, table, BY_NAME[column])
    assert found is not None
    if BY_NAME[column].yes_or_no and texts[-1].lower() in ("y", "n", "true", "false", "yes", "no"):
        return
    assert found.text == texts[-1]
    assert changed(row, table, BY_NAME[column], texts[-1]) == ()


def test_bare_numbers_are_in_the_small_units_of_the_set() -> None:
    units = [usual_unit(BY_NAME[name], "inch") for name in ("x", "mass", "volume", "note")]
    assert units == ["in", "oz", "in^3", ""]
