"""Edits from text to text: the tables afterwards are those of the same edit on plain tables, and comments stay."""

import copy
import re
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.model.keys import Path
from dabchick.storage.edit_text import (
    add_row,
    add_rows,
    copy_row,
    drop,
    free_name,
    move_row,
    put,
    puts,
    remove_row,
    same,
)
from tests.support.sample_boat import TEXT

MIXED = '''\
# top comment
top = 1 # behind top
dotted.inner.value = true
"odd key" = 'literal # no comment'
empty = {}
listed = [
  1, # one
  2 # two
  ,
  # three is gone
  4,
]
flat = [ "a", "b" ]
tables = [ { a = 1, b.c = 2 }, # first
  { a = 3 } ]
none = []
text = """
[not.a.header]
"""

# --- a heading that stands by itself ---

# of the table
[table]
  key = "v]=#" # behind key
  mass = "7 oz"
[table.sub."odd.name"]
deep = 0x1F

[[part]]
name = "first"
mass = "7 oz"
  [part.volume]
  value = "1 ml" # by the bucket
  [[part.hole]]
  at = [1, 2]
  [[part.hole]]
  at = [3]

# --- tanks ---

# the only tank
[[tank]]
name = "main"
skin.thickness = "1 mm" # a dotted key
skin.known = "drawing"

[[part]] # second
name = "second"
from = "trim"
mass = { value = "2 g", known = "weighed" } # on the letter scales
# last words on the second

[only.headers.below]
x = 1
[[part]]
name = "third"
# end'''

TEXTS = [MIXED, MIXED.replace("\n", "\r\n"), TEXT, MIXED + "\n\n"]

scalars = st.one_of(
    st.text(max_size=6),
    st.integers(-(2**62), 2**62),
    st.booleans(),
    st.floats(allow_nan=False),
)
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["a", "mass", "b c", "ü", ""]), inner, max_size=3),
    ),
    max_leaves=6,
)


def paths(value: Any, here: Path = ()) -> list[Path]:
    found = [here]
    if isinstance(value, dict):
        found += [path for key, inner in value.items() for path in paths(inner, (*here, key))]
    elif isinstance(value, list):
        found += [path for row, inner in enumerate(value) for path in paths(inner, (*here, row))]
    return found


def at(content: Any, path: Path) -> Any:
    for step in path:
        content = content[step]
    return content


def edited(content: dict[str, Any], path: Path, value: Any) -> dict[str, Any]:
    """The same put on plain tables."""
    content = copy.deepcopy(content)
    here: Any = content
    for step in path[:-1]:
        here = here.setdefault(step, {}) if isinstance(here, dict) else here[step]
    if isinstance(here, list) and path[-1] == len(here):
        here.append(value)
    else:
        here[path[-1]] = value
    return content


def pruned(content: Any) -> Any:
    """Without tables that have nothing in them: a table without a header goes with its last key."""
    if isinstance(content, dict):
        inner = {key: pruned(entry) for key, entry in content.items()}
        return {key: entry for key, entry in inner.items() if entry not in ({}, [])}
    return [pruned(entry) for entry in content] if isinstance(content, list) else content


def comments(text: str) -> list[str]:
    """Comments of the mixed text outside of strings: those that start a line or stand behind a blank."""
    found = re.findall(r"(?:^|(?<=[ \t]))# [a-z-][^\n\r]*", text, re.MULTILINE)
    return sorted(entry for entry in found if not entry.endswith("'"))


@given(data=st.data())
@settings(max_examples=300, deadline=None)
def test_put_is_the_same_edit_on_plain_tables(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    content = tomllib.loads(text)
    tables = [path for path in paths(content) if isinstance(at(content, path), dict | list)]
    if data.draw(st.booleans()):
        path = data.draw(st.sampled_from([path for path in paths(content) if path]))
    else:
        parent = data.draw(st.sampled_from(tables))
        holder = at(content, parent)
        new = data.draw(st.lists(st.sampled_from(["new", "mass", "new key", "ä"]), min_size=1, max_size=3))
        path = (*parent, *new) if isinstance(holder, dict) else (*parent, len(holder))
        if isinstance(holder, dict) and not isinstance(holder.get(new[0], {}), dict):
            path = (*parent, new[0])
        if isinstance(holder, list) and (parent[-1] in ("part", "tank", "place", "hole")):
            path = (*path, "name")[:-1]
    value = data.draw(values)
    if (
        isinstance(path[-1], int)
        and path[-2] in ("part", "tank", "place", "hole")
        and not isinstance(value, dict)
    ):
        value = {"name": "row", "value": value}
    try:
        expected = edited(content, path, value)
    except (TypeError, AttributeError):
        return
    after = put(text, path, value)
    assert same(tomllib.loads(after), expected)
    assert after.count("\n") == after.count("\r\n") or "\r\n" not in text or "\n" in str(value)


@given(data=st.data())
@settings(max_examples=200, deadline=None)
def test_drop_is_the_same_edit_on_plain_tables(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    expected = tomllib.loads(text)
    path = data.draw(st.sampled_from([path for path in paths(expected) if path]))
    del at(expected, path[:-1])[path[-1]]
    assert same(pruned(tomllib.loads(drop(text, path))), pruned(expected))


@given(data=st.data())
@settings(max_examples=100, deadline=None)
def test_many_puts_are_one_after_the_other(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    content = tomllib.loads(text)
    leaves = [path for path in paths(content) if not isinstance(at(content, path), dict | list)]
    tables = [path for path in paths(content) if isinstance(at(content, path), dict)]
    path = st.one_of(
        st.sampled_from(leaves),
        st.tuples(st.sampled_from(tables), st.sampled_from(["n1", "n2", "n3"])).map(
            lambda pair: (*pair[0], pair[1])
        ),
    )
    changes = data.draw(st.lists(st.tuples(path, scalars), max_size=8))
    one_by_one = text
    for where, value in changes:
        one_by_one = put(one_by_one, where, value)
    assert same(tomllib.loads(puts(text, changes)), tomllib.loads(one_by_one))


@pytest.mark.parametrize("text", TEXTS)
def test_new_key_and_its_drop_leave_the_text(text: str) -> None:
    """Tables with a header and tables in braces; CRLF and LF."""
    content = tomllib.loads(text)
    for path in [path for path in paths(content) if path and isinstance(at(content, path), dict)]:
        if at(content, path) == {} or path[0] in ("dotted", "only") or path == ("table", "sub"):
            continue
        assert drop(put(text, (*path, "fresh"), "1 mm"), (*path, "fresh")).rstrip() == text.rstrip()


@pytest.mark.parametrize("text", TEXTS[:2])
def test_comments_survive_every_put(text: str) -> None:
    content = tomllib.loads(text)
    for path in paths(content):
        if path and not isinstance(at(content, path), dict | list):
            assert comments(put(text, path, "new")) == comments(text), path
        if path and isinstance(at(content, path), dict):
            assert comments(put(text, (*path, "fresh"), 1)) == comments(text), path


def test_put_takes_only_its_own_letters() -> None:
    assert put(TEXT, ("part", 1, "mass", "value"), "7 oz") == TEXT.replace('"310 g"', '"7 oz"')
    assert put(TEXT, ("hull", "marks", "middle"), 0) == TEXT.replace('"550 mm" }', '"550 mm", middle = 0 }')
    assert put(TEXT, ("water", "kind"), "sea") == TEXT.replace('"0.2 g/kg"\n', '"0.2 g/kg"\nkind = "sea"\n')


def test_missing_tables_are_made() -> None:
    assert put("name = 1\n", ("trim", "lead", "pieces"), ["5 g"]) == (
        'name = 1\n\n[trim]\nlead = { pieces = ["5 g"] }\n'
    )
    assert put("", ("name",), "x") == 'name = "x"\n'
    assert put("[hull]\na = 1\n", ("name",), "x") == 'name = "x"\n\n[hull]\na = 1\n'
    assert put("a = 1", ("b",), 2) == "a = 1\nb = 2"
    assert put("[hull.skin]\na = 1\n", ("hull", "b"), 2) == "[hull]\nb = 2\n\n[hull.skin]\na = 1\n"


def test_bare_mass_becomes_a_table_when_more_is_said_of_it() -> None:
    after = put(TEXT, ("part", 3, "mass", "known"), "weighed")
    assert 'mass = { value = "200 g", known = "weighed" }                   # to be weighed' in after
    with pytest.raises(BoatError, match="no table"):
        put(TEXT, ("part", 3, "name", "known"), "weighed")


def test_openings_keep_their_lines() -> None:
    text = "openings = [\n  # below\n  { at = [1] }, # one\n  { at = [2] },\n]\n"
    assert drop(text, ("openings", 0)) == "openings = [\n  # below\n  { at = [2] },\n]\n"
    longer = put(text, ("openings", 2), {"at": [3]})
    assert longer == text.replace("[2] },\n", "[2] },\n  { at = [3] },\n")
    assert put(text, ("openings",), [{"at": [1]}, {"at": [2]}, {"at": [3]}]) == longer


def test_rows_are_added_where_they_are_wanted() -> None:
    content = tomllib.loads(MIXED)
    row = {"name": "fourth", "mass": {"value": "1 g"}}
    for place in (0, 1, 2, 3, None):
        expected = copy.deepcopy(content)
        expected["part"].insert(3 if place is None else place, row)
        after = add_row(MIXED, "part", row, place)
        assert tomllib.loads(after) == expected
        assert comments(after) == comments(MIXED)
    assert add_row("a = 1\n", "part", {"name": "x"}) == 'a = 1\n\n[[part]]\nname = "x"\n'
    with pytest.raises(BoatError, match="no row 5"):
        add_row(MIXED, "part", row, 4)


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("row", [0, 1, 2])
@pytest.mark.parametrize("to", [0, 1, 2, 3])
def test_rows_are_moved_with_all_they_have(ending: str, row: int, to: int) -> None:
    text = MIXED.replace("\n", ending)
    expected = tomllib.loads(text)
    rows = expected["part"]
    moved = rows.pop(row)
    rows.insert(to - (to > row), moved)
    after = move_row(text, "part", row, to)
    assert tomllib.loads(after) == expected
    assert comments(after) == comments(text)
    assert after.count("\n") == after.count(ending)


@pytest.mark.parametrize("row", [0, 1, 2])
def test_copy_stands_behind_under_a_free_name(row: int) -> None:
    expected = tomllib.loads(MIXED)
    rows = expected["part"]
    twin = {key: value for key, value in rows[row].items() if key != "from"} | {
        "name": f"{rows[row]['name']} 2"
    }
    rows.insert(row + 1, copy.deepcopy(twin))
    assert tomllib.loads(copy_row(MIXED, "part", row)) == expected


def test_removal_takes_the_rows_own_comment_and_no_heading() -> None:
    after = remove_row(MIXED, "part", 0)
    assert "# --- tanks ---\n\n# the only tank\n[[tank]]" in after
    assert "# the only tank" not in remove_row(MIXED, "tank", 0)
    assert "# --- tanks ---" in remove_row(MIXED, "tank", 0)
    with pytest.raises(BoatError, match="no part in row 4"):
        remove_row(MIXED, "part", 3)


@pytest.mark.parametrize("text", [MIXED, "part = []\n", 'part = [{ name = "a" }]\n', ""])
def test_many_rows_are_one_after_the_other(text: str) -> None:
    rows = [{"name": "x", "mass": "1 g"}, {"name": "y"}, {"name": "z", "at": [0, 0, 0]}]
    one_by_one = text
    for row in rows:
        one_by_one = add_row(one_by_one, "part", row)
    assert add_rows(text, "part", rows) == one_by_one


def test_lists_of_rows_in_brackets() -> None:
    text = 'part = [{ name = "a" }, { name = "b" }]\n'
    assert (
        add_row(text, "part", {"name": "c"}, 1) == 'part = [{ name = "a" }, { name = "c" }, { name = "b" }]\n'
    )
    assert tomllib.loads(copy_row(text, "part", 0))["part"][1] == {"name": "a 2"}
    assert tomllib.loads(move_row(text, "part", 0, 2))["part"] == [{"name": "b"}, {"name": "a"}]
    assert remove_row(text, "part", 1) == 'part = [{ name = "a" }]\n'


def test_stray_tables_stay_with_their_row() -> None:
    """[part.mass] behind another table belongs to the part above; a new part must not catch it."""
    text = '[[part]]\nname = "a"\n[hull]\nx = 1\n[part.mass]\nvalue = "1 g"\n'
    after = tomllib.loads(add_row(text, "part", {"name": "b"}))
    assert after["part"] == [{"name": "a", "mass": {"value": "1 g"}}, {"name": "b"}]
    assert tomllib.loads(remove_row(text, "part", 0)) == {"hull": {"x": 1}}


@pytest.mark.parametrize("value", [None, {"a": [None]}, "\ud800", b"x"])
def test_what_toml_cannot_say_is_refused(value: Any) -> None:
    with pytest.raises(BoatError):
        put(TEXT, ("name",), value)


def test_what_is_no_toml_is_refused_with_its_line() -> None:
    with pytest.raises(BoatError) as caught:
        put("a = 1\nb = \n", ("a",), 2)
    assert caught.value.advice[0].where == "boat.toml:2"


@pytest.mark.parametrize(
    "path", [("part", 9, "name"), ("part", 9), ("part", "x"), (), ("name", 0), ("new", 0)]
)
def test_places_that_cannot_be(path: Path) -> None:
    with pytest.raises(BoatError):
        put(TEXT, path, {"name": "x"} if path == ("part", 9) else "x")
    with pytest.raises(BoatError):
        drop(TEXT, path)


def test_free_names_count_on() -> None:
    assert free_name("servo", {"battery"}) == "servo"
    assert free_name("servo", {"servo"}) == "servo 2"
    assert free_name("servo 2", {"servo", "servo 2"}) == "servo 3"
