"""Lines and letters of keys, against the stdlib parser for what there is and by hand for where it stands."""

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import Advice
from dabchick.model.keys import Path
from dabchick.storage.locate import key_lines, line_of, located, places
from tests.support.sample_boat import TEXT

UGLY = '''\
# comment with [brackets] = "and quotes
top = 1
"quoted key" = 'literal # no comment'
dotted.inner.value = true  # makes two tables

text = """
[not.a.header]
key = "no"
"""
date = 2030-01-31T12:00:00Z

list = [
  1, # one
  [2, 3],
  { a = "x", b = { c = [4,
     5] } },
]

[table]
key = "v]=#"
[table.sub."odd.name"]
deep = 0x1F

[[row]]
name = "first"
  [row.mass]
  value = "1 g"
  [[row.hole]]
  at = [1, 2]
  [[row.hole]]
  at = [3]
[[row]] # second
name = "second"
  [[row.hole]]
  at = []
[other]
[[row]]
name = """three \\"quotes\\" here"""
'''


def paths(value: Any, here: Path = ()) -> set[Path]:
    found = {here} if here else set()
    if isinstance(value, dict):
        found |= {path for key, inner in value.items() for path in paths(inner, (*here, key))}
    elif isinstance(value, list):
        found |= {path for row, inner in enumerate(value) for path in paths(inner, (*here, row))}
    return found


@pytest.mark.parametrize("text", [UGLY, TEXT, UGLY.replace("\n", "\r\n"), ""])
def test_every_key_has_a_line(text: str) -> None:
    assert set(key_lines(text)) == paths(tomllib.loads(text))


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("top",), 2),
        (("quoted key",), 3),
        (("dotted",), 4),
        (("dotted", "inner", "value"), 4),
        (("text",), 6),
        (("date",), 10),
        (("list",), 12),
        (("list", 0), 13),
        (("list", 1, 1), 14),
        (("list", 2, "b", "c", 0), 15),
        (("list", 2, "b", "c", 1), 16),
        (("table",), 19),
        (("table", "sub", "odd.name", "deep"), 22),
        (("row", 0), 24),
        (("row", 0, "mass", "value"), 27),
        (("row", 0, "hole", 1, "at", 0), 31),
        (("row", 1), 32),
        (("row", 1, "hole", 0, "at"), 35),
        (("row", 2, "name"), 38),
    ],
)
def test_line_by_hand(path: Path, line: int) -> None:
    """Counted by eye in the text above."""
    assert key_lines(UGLY)[path] == line


def test_values_are_cut_out_exactly() -> None:
    found = places(UGLY).values
    tree = tomllib.loads(UGLY)
    for path, (start, end) in found.items():
        value: Any = tree
        for step in path:
            value = value[step]
        assert tomllib.loads(f"v = {UGLY[start:end]}")["v"] == value
    assert UGLY[slice(*found["top",])] == "1"


def test_missing_key_stands_at_its_table() -> None:
    lines = key_lines(UGLY)
    assert line_of(("row", 1, "mass", "value"), lines) == 32
    assert line_of(("nothing",), lines) == 1


def test_located_sorts_and_keeps_other_places() -> None:
    advice = [
        Advice("late", "x", key="row[2].name"),
        Advice("early", "x", key="top"),
        Advice("mesh", "x", where="hull.stl", key="hull.mesh"),
    ]
    placed = located(advice, "boat.toml", key_lines(UGLY))
    assert [entry.where for entry in placed] == ["hull.stl", "boat.toml:2", "boat.toml:33"]


_KEYS = st.text("abc-_9", min_size=1, max_size=4) | st.text(" .\"#]='é", min_size=1, max_size=3)
_VALUES: Any = st.recursive(
    st.integers(-9, 9) | st.booleans() | st.text("ab\"\\'#[]{}=,\n", max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_KEYS, inner, max_size=3),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(_KEYS, _VALUES, max_size=4))
def test_any_text_that_a_writer_makes(content: dict[str, Any]) -> None:
    import tomlkit

    text = tomlkit.dumps(content)
    assert set(key_lines(text)) == paths(tomllib.loads(text))
