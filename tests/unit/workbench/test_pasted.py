"""Cells from a spreadsheet as ops: what they would do, in words, with every fault at its line."""

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.model.boat import Part
from dabchick.storage.parts_csv import parts_csv
from dabchick.workbench.ops import carry_out
from dabchick.workbench.pasted import pasted
from dabchick.workbench.shapes.weights import Pasted, PastedOut
from tests.support.sample_boat import TEXT

BOX = tomllib.loads(TEXT)
EMPTY = TEXT[: TEXT.index("# Everything dry")] + TEXT[TEXT.index("[trim]") :]


def paste(text: str, content: Any = BOX, **more: Any) -> PastedOut:
    return pasted(content, Pasted(text=text, **more), 7)


def parts_after(out: PastedOut, text: str = TEXT) -> list[dict[str, Any]]:
    return tomllib.loads(carry_out(text, out.ops, None)).get("part", [])


def told(out: PastedOut) -> str:
    return " | ".join(f"{entry.where}: {entry.what} {entry.todo}" for entry in out.advice)


def test_new_parts_with_headings() -> None:
    out = paste(
        "Name\tType\tWeight (g)\tknown\tx [mm]\ty\tz (mm)\tPrice\r\n"
        "mast\tsolid\t12,5\tWeighed\t200\t0\t90\t4 EUR\r\n"
    )
    assert out.what == "Paste 1 part"
    assert parts_after(out)[-1] == {
        "name": "mast",
        "kind": "solid",
        "at": ["200 mm", 0, "90 mm"],
        "mass": {"value": "12.5 g", "known": "weighed"},
    }
    words = " ".join(out.lines)
    assert "New: mast" in words
    assert "Price" in words
    assert "mass in g" in words
    assert "1,5 as 1.5" in words
    assert "line 2, shape: Nothing says how much water" in told(out)


def test_numbers_without_a_unit_are_not_guessed() -> None:
    text = "name,kind,mass,inside\nfuse,inside,12,cylinder\n"
    out = paste(text)
    assert "line 2, mass: The mass 12 has no unit." in told(out)
    assert told(out).count("no unit") == 1
    assert parts_after(out)[-1]["mass"] == "12"
    said = paste(text, usual_units=True)
    assert "no unit" not in told(said)
    assert parts_after(said)[-1]["mass"] == "12 g"
    assert "Numbers without a unit were taken for g under mass." in said.lines
    inches = paste(text, {**BOX, "units": "inch"}, usual_units=True)
    assert parts_after(inches)[-1]["mass"] == "12 oz"


def test_two_readings_are_told_with_their_line() -> None:
    out = paste("name;mass\nfuse;1,500 kg\n")
    assert 'line 2, mass: "1,500 kg" may be 1.500 kg or 1500 kg.' in told(out)
    assert parts_after(out)[-1]["mass"] == "1,500 kg"


def test_cells_onto_cells() -> None:
    """Rows of the list: the skin, four parts, the tank. The battery is row 2; its mass has a table already."""
    out = paste("300 g\tmeasured\n20 g\t\n", row=2, column="mass")
    assert out.revision == 7
    assert out.what == "Paste 4 cells"
    assert out.lines[:2] == ["battery: mass from 310 g to 300 g", "battery: known from weighed to measured"]
    after = parts_after(out)
    assert after[1]["mass"] == {"value": "300 g", "known": "measured", "spread": "1 g"}
    assert after[2]["mass"] == {"value": "20 g"}
    assert after[0] == BOX["part"][0]


def test_cells_go_down_the_rows_as_the_page_shows_them() -> None:
    """Sorted otherwise: keel lead (4), then the skin (0)."""
    out = paste("210 g\n650 g", row=4, column="mass", order=[4, 0])
    content = tomllib.loads(carry_out(TEXT, out.ops, None))
    assert content["part"][3]["mass"] == "210 g"
    assert content["hull"]["skin"]["mass"] == "650 g"
    with pytest.raises(BoatError, match="other rows"):
        paste("1 g", row=4, column="mass", order=[0, 99])


def test_more_cells_than_rows_make_new_parts() -> None:
    out = paste("main tank\nfin\n", row=5, column="name")
    content = tomllib.loads(carry_out(TEXT, out.ops, None))
    assert content["tank"][0]["name"] == "main tank"
    assert content["part"][4] == {"name": "fin"}
    assert 'line 2, kind: The key "kind" of "fin" is missing.' in told(out)


def test_a_column_that_a_row_does_not_have_is_said() -> None:
    out = paste("yes", row=5, column="outside")
    assert out.ops == []
    assert "main has no outside: yes is left out." in out.lines


def test_rows_by_name_change_the_parts_that_there_are() -> None:
    out = paste("name,mass\nservo,21 g\nfuse,2 g\n", by_name=True)
    after = parts_after(out)
    assert after[2]["mass"] == {"value": "21 g", "known": "catalogue"}
    assert after[4] == {"name": "fuse", "mass": "2 g"}
    assert out.what == "Paste 1 part and 1 cell"


def test_the_same_list_by_name_changes_nothing() -> None:
    out = paste(parts_csv(BOX), by_name=True)
    assert (out.ops, out.lines[0]) == ([], "Nothing would change.")


def test_a_name_that_is_taken_and_a_holder_that_is_not_there() -> None:
    out = paste("name,kind,inside,x,y,z\nservo,inside,box,1 mm,0,1 mm\n")
    assert 'line 2, name: The name "servo" is taken already' in told(out)
    assert 'line 2, inside: There is no part called "box"' in told(out)


def test_a_heading_measured_from_elsewhere_is_left_out() -> None:
    out = paste("name,x from stern\nfin,20 mm\n")
    assert 'line 1: "x from stern" is measured from the stern, this boat from the bow.' in told(out)
    assert parts_after(out)[-1] == {"name": "fin"}


def test_nothing_and_far_too_much_are_refused() -> None:
    for text, words in (
        ("  \n\t\n", "nothing to paste"),
        ("a\n" * 5001, "too much"),
        ('"' + "a" * 200_000, "no end"),
    ):
        with pytest.raises(BoatError, match=words):
            paste(text)


WORDS = (
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1, max_size=10)
    .map(str.strip)
    .filter(bool)
)
LENGTH = st.builds(
    "{:g} {}".format, st.floats(-900, 900).map(lambda value: round(value, 2)), st.sampled_from(["mm", "in"])
)
MASS = st.builds(
    "{:g} {}".format,
    st.floats(0.1, 900).map(lambda value: round(value, 1)),
    st.sampled_from(["g", "oz", "kg"]),
)
STATED = st.one_of(
    MASS,
    st.fixed_dictionaries(
        {"value": MASS},
        optional={"known": st.sampled_from(["weighed", "guess", "drawing"]), "spread": MASS},
    ),
)
PART = st.fixed_dictionaries(
    {
        "name": WORDS,
        "kind": st.sampled_from(["dry", "solid", "inside", "lead", "foam"]),
        "at": st.tuples(LENGTH, st.one_of(st.just(0), LENGTH), LENGTH).map(list),
    },
    optional={
        "mass": STATED,
        "inside": WORDS,
        "material": st.sampled_from(["GRP", "lead", "brass"]),
        "outside": st.booleans(),
        "note": WORDS,
        "density": st.just("1200 kg/m^3"),
        "volume": st.fixed_dictionaries(
            {"value": st.just("12 ml")}, optional={"known": st.just("measured"), "spread": st.just("1 ml")}
        ),
        "shape": st.just({"box": {"size": ["70 mm", "35 mm", "30 mm"]}}),
        "rail": st.just({"direction": "x", "from": "180 mm", "to": "260 mm"}),
        "turn": st.just(["5 deg", 0, 0]),
        "placed": st.just({"known": "drawing", "spread": "2 mm"}),
        "from": st.just("trim"),
    },
)


@settings(max_examples=60, deadline=None)
@given(st.lists(PART, min_size=1, max_size=5))
def test_what_is_exported_comes_back_as_the_same_parts(parts: list[dict[str, Any]]) -> None:
    """As typed tables, for a bare mass and one in a table with its value alone say the same."""
    content = tomllib.loads(EMPTY) | {"part": parts}
    out = paste(parts_csv(content), tomllib.loads(EMPTY))
    back = parts_after(out, EMPTY)
    assert [Part.model_validate(part) for part in back] == [Part.model_validate(part) for part in parts]
