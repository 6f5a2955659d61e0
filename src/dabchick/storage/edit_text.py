"""Changes to a TOML text, from text to text: every letter that is not meant stays as it was.

The text itself is cut and joined where the change is; writing it anew from a document would put tables that are
mixed into another order, and comments in other places. Paths are as in the file: `("part", 3, "mass", "value")`.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.keys import Path, Step, dotted, present, value_at
from dabchick.storage.blocks import (
    comment_start,
    ending,
    joined,
    line_end,
    line_start,
    spans,
    with_ends,
    without,
)
from dabchick.storage.list_text import drop_entry, insert_entry
from dabchick.storage.locate import Assignment, Places, places
from dabchick.storage.toml_content import content_of as content_of
from dabchick.storage.toml_words import toml_key, toml_value

_STATED: Final = ("mass", "volume")
"""Keys whose table may be written as its `value` alone."""


@dataclass(frozen=True)
class _Parsed:
    text: str
    content: Mapping[str, Any]
    places: Places


def put(text: str, path: Sequence[Step], value: Any) -> str:
    """Write a value at a path; what is missing on the way there is made. Raises BoatError where it cannot be."""
    path = tuple(path)
    parsed = _parsed(text)
    if not path:
        raise _impossible(path, "A value needs a key to stand at.", "Name one.")
    if present(path, parsed.content) != path:
        return _add(parsed, path, value)
    old = value_at(path, parsed.content)
    return text if same(old, value) else _replace(parsed, path, old, value)


def puts(text: str, changes: Sequence[tuple[Sequence[Step], Any]]) -> str:
    """Many values at once, in turn; as `put` one after the other, but the text is looked through only once."""
    parsed, splices, touched = _parsed(text), list[_Splice](), set[Path]()
    for given, value in changes:
        path = tuple(given)
        splice = _simple(parsed, path, value)
        if splice is not None and touched.isdisjoint(path[:size] for size in range(len(path) + 1)):
            splices.append(splice)
            touched |= {path}
            continue
        text = put(_spliced(parsed.text, splices), path, value)
        parsed, splices, touched = _parsed(text), [], set()
    return _spliced(parsed.text, splices)


def drop(text: str, path: Sequence[Step]) -> str:
    """Take out a key, a table with all below it, or a row. Raises BoatError when nothing stands there.

    A table that has no header of its own goes with its last key.
    """
    path = tuple(path)
    parsed = _parsed(text)
    if not path or present(path, parsed.content) != path:
        raise _impossible(path, "Nothing stands here to be taken out.", "Load the page again.")
    if path in parsed.places.values and isinstance(path[-1], int):
        return drop_entry(text, parsed.places, path)
    text = without(text, spans(text, parsed.places, path))
    while True:
        written = places(text).assignments
        last = next((entry for entry in reversed(written) if _belongs(entry, path)), None)
        if last is None:
            return text
        text = _without_key(text, last, written)


def add_row(text: str, table: Sequence[Step] | str, values: Mapping[str, Any], at: int | None = None) -> str:
    """Add a row to a list of tables, before row `at` or last. Raises BoatError for a row that is not there."""
    return add_rows(text, table, [values], at)


def add_rows(
    text: str, table: Sequence[Step] | str, rows: Sequence[Mapping[str, Any]], at: int | None = None
) -> str:
    """Add several rows to a list of tables, as `add_row` does one."""
    path = (table,) if isinstance(table, str) else tuple(table)
    parsed = _parsed(text)
    count = _count(parsed, path)
    at = count if at is None else at
    if not 0 <= at <= count:
        raise _impossible((*path, at), f"There is no row {at + 1}.", "Load the page again.")
    if path in parsed.places.values:
        for row in reversed(rows):
            text = insert_entry(text, places(text), path, at, dict(row))
        return text
    header = ".".join(toml_key(step) for step in path if isinstance(step, str))
    blocks = [
        f"[[{header}]]\n" + "".join(f"{toml_key(key)} = {toml_value(value)}\n" for key, value in row.items())
        for row in rows
    ]
    return joined(text, _row_place(parsed, path, at, count), "\n".join(blocks))


def copy_row(text: str, table: str, row: int) -> str:
    """Copy a row directly behind itself, under a free name; the copy of a piece of the trim is the builder's own."""
    parsed = _parsed(text)
    values = _row(parsed, table, row)
    fresh = {key: value for key, value in values.items() if key != "from"}
    if "name" in values:
        fresh["name"] = free_name(str(values["name"]), names(parsed.content, table))
    if (table,) in parsed.places.values:
        return insert_entry(text, parsed.places, (table,), row + 1, fresh)
    pieces = spans(text, parsed.places, (table, row), with_comment=False)
    block = "".join(text[start:end] for start, end in pieces).replace("\r\n", "\n")
    text = joined(text, pieces[-1][1], block)
    if "from" in values:
        text = drop(text, (table, row + 1, "from"))
    return put(text, (table, row + 1, "name"), fresh["name"]) if "name" in fresh else text


def remove_row(text: str, table: str, row: int) -> str:
    """Take a row out, with the comment directly above it. Raises BoatError when there is no such row."""
    _row(_parsed(text), table, row)
    return drop(text, (table, row))


def move_row(text: str, table: str, row: int, to: int) -> str:
    """Put a row before another one, or last where `to` is their count; its comment goes with it."""
    parsed = _parsed(text)
    values = _row(parsed, table, row)
    count = _count(parsed, (table,))
    if not 0 <= to <= count:
        raise _impossible((table, to), f"There is no row {to + 1}.", "Load the page again.")
    if to in (row, row + 1):
        return text
    to = to - 1 if to > row else to
    if (table,) in parsed.places.values:
        less = drop_entry(text, parsed.places, (table, row))
        return insert_entry(less, places(less), (table,), to, values)
    pieces = spans(text, parsed.places, (table, row))
    block = "".join(text[start:end] for start, end in pieces).replace("\r\n", "\n")
    rest = _parsed(without(text, pieces))
    return joined(rest.text, _row_place(rest, (table,), to, count - 1), block)


def names(content: Mapping[str, Any], table: str) -> set[str]:
    """The names that a new row of a table may not have."""
    kin = ("part", "tank") if table in ("part", "tank") else (table,)
    rows = [row for key in kin if isinstance(content.get(key), list) for row in content[key]]
    return {str(row["name"]) for row in rows if isinstance(row, dict) and "name" in row}


def free_name(name: str, taken: set[str]) -> str:
    """The name, or with the first number behind it that makes it free."""
    stem = re.sub(r" \d+\Z", "", name) if name in taken else name
    count, free = 1, name
    while free in taken:
        count += 1
        free = f"{stem} {count}"
    return free


def same(one: Any, other: Any) -> bool:
    """Whether two values are written alike: 1 is neither 1.0 nor true."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and bool(one == other)


def _parsed(text: str) -> _Parsed:
    return _Parsed(text, content_of(text), places(text))


def _replace(parsed: _Parsed, path: Path, old: Any, value: Any) -> str:
    text = parsed.text
    if isinstance(old, dict) and isinstance(value, dict):
        for key in [key for key in old if key not in value]:
            text = drop(text, (*path, key))
        for key, entry in value.items():
            text = put(text, (*path, key), entry)
        return text if value or present(path, content_of(text)) == path else put(text, path, {})
    span = parsed.places.values.get(path)
    if isinstance(old, list) and isinstance(value, list | tuple) and _keeps_rows(parsed, path, value):
        for row, entry in enumerate(value[: len(old)]):
            text = put(text, (*path, row), entry)
        for row in range(len(old) - 1, len(value) - 1, -1):
            text = drop(text, (*path, row))
        for row in range(len(old), len(value)):
            text = put(text, (*path, row), value[row])
        return text
    if span is not None:
        return text[: span[0]] + toml_value(value) + text[span[1] :]
    toml_value(value)  # before anything is taken out
    return put(drop(text, path), path, value)


def _keeps_rows(parsed: _Parsed, path: Path, value: Sequence[Any]) -> bool:
    """Whether a list is changed entry by entry: one written over several lines, or as tables of their own."""
    span = parsed.places.values.get(path)
    if span is not None:
        return bool(value) and "\n" in parsed.text[slice(*span)]
    return bool(value) and all(isinstance(row, dict) for row in value)


def _add(parsed: _Parsed, path: Path, value: Any) -> str:
    parent = present(path, parsed.content)
    key, rest = path[len(parent)], path[len(parent) + 1 :]
    if any(isinstance(step, int) for step in rest):
        raise _impossible(path, "There is no such row.", "Load the page again.")
    for step in reversed(rest):
        value = {step: value}
    holder = value_at(parent, parsed.content)
    if isinstance(holder, list):
        return _add_entry(parsed, parent, holder, key, value)
    if isinstance(holder, dict) and isinstance(key, str):
        return _add_key(parsed, parent, key, value)
    if isinstance(key, str) and parent[-1] in _STATED and not isinstance(holder, dict):
        return put(parsed.text, parent, {"value": holder, key: value})
    raise _impossible(parent, "What stands here is no table that could hold this.", "Replace it whole.")


def _add_entry(parsed: _Parsed, parent: Path, holder: list[Any], key: Step, value: Any) -> str:
    if key != len(holder):
        raise _impossible((*parent, key), "There is no such row.", "Load the page again.")
    if parent in parsed.places.values:
        return insert_entry(parsed.text, parsed.places, parent, len(holder), value)
    if not isinstance(value, dict):
        raise _impossible((*parent, key), "A row is a table.", "Give it as one.")
    return add_row(parsed.text, parent, value)


def _add_key(parsed: _Parsed, parent: Path, key: str, value: Any) -> str:
    text = parsed.text
    if not parent and isinstance(value, dict):
        lines = "".join(f"{toml_key(name)} = {toml_value(entry)}\n" for name, entry in value.items())
        return joined(text, len(text), f"[{toml_key(key)}]\n{lines}")
    if not parent and isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
        for row in value:
            text = add_row(text, key, row)
        return text
    splice = _new_key(parsed, parent, key, value)
    if splice is not None:
        return _spliced(text, [splice])
    first = next(start for header, start in parsed.places.headers if header[: len(parent)] == parent)
    header = ".".join(toml_key(step) for step in parent if isinstance(step, str))
    block = f"[{header}]\n{toml_key(key)} = {toml_value(value)}\n"
    return joined(text, comment_start(text, first), block)


@dataclass(frozen=True)
class _Splice:
    start: int
    end: int
    new: str


def _spliced(text: str, splices: list[_Splice]) -> str:
    for splice in sorted(splices, key=lambda splice: splice.start)[::-1]:
        text = text[: splice.start] + splice.new + text[splice.end :]
    return text


def _simple(parsed: _Parsed, path: Path, value: Any) -> _Splice | None:
    """The one place to change for a value that replaces a plain one, or for a new key in a table that is there."""
    there = present(path, parsed.content)
    span = parsed.places.values.get(path)
    if path and there == path and span is not None:
        plain = not isinstance(value_at(path, parsed.content), dict | list)
        return _Splice(*span, toml_value(value)) if plain else None
    holder = value_at(there, parsed.content)
    if not there or len(there) != len(path) - 1 or not isinstance(holder, dict) or not holder:
        return None
    return _new_key(parsed, there, str(path[-1]), value) if isinstance(path[-1], str) else None


def _new_key(parsed: _Parsed, parent: Path, key: str, value: Any) -> _Splice | None:
    """Where and how a key goes into a table; None for a table that stands only in the headers of those below it."""
    text, written = parsed.text, parsed.places.assignments
    span = parsed.places.values.get(parent)
    entry = f"{toml_key(key)} = {toml_value(value)}"
    if span is not None:
        ends = [other.end for other in written if other.inline and other.container == parent]
        return _Splice(ends[-1], ends[-1], f", {entry}") if ends else _Splice(*span, f"{{ {entry} }}")
    own = [other for other in written if other.container == parent and not other.inline]
    kin = [other for other in written if _belongs(other, parent) and len(other.path) > len(parent)]
    if kin:
        last = kin[-1]
        entry = ".".join(toml_key(str(step)) for step in parent[len(last.container) :]) + f".{entry}"
        return _Splice(last.end, last.end, f", {entry}") if last.inline else _line_behind(text, last, entry)
    if own:
        return _line_behind(text, own[-1], entry)
    header = next((start for path, start in parsed.places.headers if path == parent), None)
    if header is not None:
        return _behind(text, line_end(text, header), entry)
    return _first_line(parsed, entry) if not parent else None


def _line_behind(text: str, last: Assignment, entry: str) -> _Splice:
    start = line_start(text, last.start)
    indent = text[start : last.start]
    return _behind(text, line_end(text, last.end), indent + entry)


def _behind(text: str, at: int, entry: str) -> _Splice:
    whole = at == 0 or text[at - 1] == "\n"
    return _Splice(at, at, entry + ending(text) if whole else ending(text) + entry)


def _first_line(parsed: _Parsed, entry: str) -> _Splice:
    text, headers = parsed.text, parsed.places.headers
    if not headers:
        return _behind(text, len(text), entry)
    at = comment_start(text, headers[0][1])
    return _Splice(at, at, with_ends(f"{entry}\n\n", text))


def _belongs(entry: Assignment, path: Path) -> bool:
    """Whether an assignment makes a path or a part of it, from outside."""
    return entry.path[: len(path)] == path and len(entry.container) < len(path)


def _without_key(text: str, entry: Assignment, written: list[Assignment]) -> str:
    if not entry.inline:
        return text[: line_start(text, entry.start)] + text[line_end(text, entry.end) :]
    kin = [other for other in written if other.inline and other.container == entry.container]
    index = kin.index(entry)
    if index + 1 < len(kin):
        return text[: entry.start] + text[kin[index + 1].start :]
    if index:
        return text[: kin[index - 1].end] + text[entry.end :]
    return text[: entry.start].rstrip(" \t") + text[entry.end :].lstrip(" \t")


def _count(parsed: _Parsed, path: Path) -> int:
    there = present(path, parsed.content)
    rows = value_at(path, parsed.content) if there == path else []
    if not isinstance(rows, list):
        raise _impossible(path, "This is no list of rows.", f"Write each as a [[{path[-1]}]] of its own.")
    return len(rows)


def _row(parsed: _Parsed, table: str, row: int) -> dict[str, Any]:
    if not 0 <= row < _count(parsed, (table,)):
        raise _impossible((table, row), f"There is no {table} in row {row + 1}.", "Load the page again.")
    values = parsed.content[table][row]
    if not isinstance(values, dict):
        raise _impossible((table, row), "A row is a table.", f"Write each as a [[{table}]] of its own.")
    return values


def _row_place(parsed: _Parsed, path: Path, at: int, count: int) -> int:
    if not count:
        return len(parsed.text)
    if at < count:
        return spans(parsed.text, parsed.places, (*path, at))[0][0]
    return spans(parsed.text, parsed.places, (*path, count - 1))[-1][1]


def _impossible(path: Path, what: str, todo: str) -> BoatError:
    return BoatError(Advice(what=what, todo=todo, key=dotted(path)))
