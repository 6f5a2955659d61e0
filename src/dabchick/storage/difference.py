"""What differs between two texts of a boat file, in the builder's words."""

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from dabchick.model.keys import Path

ROWS: Final = {"part": "part", "tank": "tank", "place": "place", "keep_out": "keep-out", "space": "space"}
"""Lists whose rows are told apart by their names."""
_PATHS: Final[dict[tuple[str, ...], str]] = {
    ("at",): "place",
    ("centre",): "centre of mass",
    ("mass", "value"): "mass",
    ("mass", "known"): "mass known as",
    ("mass", "spread"): "spread of the mass",
    ("volume", "value"): "volume",
    ("volume", "known"): "volume known as",
    ("volume", "spread"): "spread of the volume",
    ("placed", "known"): "place known as",
    ("placed", "spread"): "spread of the place",
    ("shape", "box", "size"): "size",
    ("shape", "cylinder", "length"): "length",
    ("shape", "cylinder", "diameter"): "diameter",
    ("for",): "for",
    ("lift_dived",): "lift dived",
    ("least_bg",): "least BG",
    ("from",): "made by",
    ("measured_from",): "measured from",
}
_STATED: Final = ("mass", "volume")
_LONGEST: Final = 80


def difference(before: str, after: str) -> list[str]:
    """Lines such as `battery: mass 506 g → 520 g`; none for equal texts."""
    if before == after:
        return []
    try:
        old, new = tomllib.loads(before), tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        return _of_lines(before, after)
    lines = list(_tables(old, new))
    return lines or ["Only comments, blank lines or the way of writing differ."]


def _tables(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for key in _keys(old, new):
        one, other = old.get(key), new.get(key)
        if key in ROWS and _named(one) and _named(other):
            yield from _rows(ROWS[key], one or [], other or [])
        elif isinstance(one, dict) or isinstance(other, dict):
            yield from _values(_words((key,)), one, other)
        else:
            yield from _value("", (key,), one, other)


def _named(rows: Any) -> bool:
    """Whether rows can be told apart: each a table with a name of its own."""
    if rows is None:
        return True
    if not isinstance(rows, list) or not all(
        isinstance(row, dict) and isinstance(row.get("name"), str) for row in rows
    ):
        return False
    return len({row["name"] for row in rows}) == len(rows)


def _rows(word: str, old: list[dict[str, Any]], new: list[dict[str, Any]]) -> Iterator[str]:
    before = {row["name"]: row for row in old}
    after = {row["name"]: row for row in new}
    renamed = _renamed(old, new)
    for row in old:
        name = row["name"]
        if name in renamed:
            yield f'{word} "{name}" is called "{renamed[name]}" now'
            yield from _values(renamed[name], _nameless(row), _nameless(after[renamed[name]]))
        elif name not in after:
            yield f'{word} "{name}" taken out'
    for row in new:
        name = row["name"]
        if name in before:
            yield from _values(name, _nameless(before[name]), _nameless(row))
        elif name not in renamed.values():
            yield f'{word} "{name}" added{_in_short(row)}'
    stayed = [
        renamed.get(row["name"], row["name"]) for row in old if renamed.get(row["name"], row["name"]) in after
    ]
    if stayed != [row["name"] for row in new if row["name"] in stayed]:
        yield f"the {word}s stand in another order"


def _renamed(old: list[dict[str, Any]], new: list[dict[str, Any]]) -> dict[str, str]:
    """Rows that have gone under one name and come under another with most of their keys the same."""
    before, after = {row["name"] for row in old}, {row["name"] for row in new}
    come = [row for row in new if row["name"] not in before]
    found: dict[str, str] = {}
    for row in old:
        if row["name"] in after:
            continue
        likeness = [(_alike(row, other), -place, other) for place, other in enumerate(come)]
        best = max(likeness, key=lambda entry: entry[:2], default=None)
        if best is not None and best[0] > 0.5:
            found[row["name"]] = best[2]["name"]
            come.remove(best[2])
    return found


def _alike(one: dict[str, Any], other: dict[str, Any]) -> float:
    keys = set(_nameless(one)) | set(_nameless(other))
    return sum(one.get(key) == other.get(key) for key in keys) / len(keys) if keys else 0.0


def _nameless(row: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key != "name"}


def _in_short(row: dict[str, Any]) -> str:
    mass = row.get("mass")
    mass = mass.get("value") if isinstance(mass, dict) else mass
    return f", {_text(mass)}" if mass is not None else ""


def _values(owner: str, one: Any, other: Any) -> Iterator[str]:
    """Every value of two tables that differs."""
    old, new = dict(_leaves(one)), dict(_leaves(other))
    for path in _keys(old, new):
        yield from _value(owner, path, old.get(path), new.get(path))


def _leaves(value: Any, here: Path = ()) -> Iterator[tuple[Path, Any]]:
    if not isinstance(value, dict):
        if value is not None:
            yield (*here, "value") if here and here[-1] in _STATED else here, value
        return
    if not value and here:
        yield here, value
    for key, entry in value.items():
        yield from _leaves(entry, (*here, key))


def _value(owner: str, path: Path, old: Any, new: Any) -> Iterator[str]:
    if old == new and isinstance(old, bool) == isinstance(new, bool):
        return
    head = f"{owner}: {_words(path)}" if owner and path else owner or _words(path)
    if _tables_in(old) or _tables_in(new):
        yield f"{head}: {_entries(old, new)}"
    elif old is None:
        yield f"{head} {_text(new)} (new)"
    elif new is None:
        yield f"{head} taken out (was {_text(old)})"
    else:
        yield f"{head} {_text(old)} → {_text(new)}"


def _tables_in(value: Any) -> bool:
    return isinstance(value, list) and any(isinstance(entry, dict) for entry in value)


def _entries(old: Any, new: Any) -> str:
    """Two lists of tables without names, counted."""
    one = old if isinstance(old, list) else []
    other = new if isinstance(new, list) else []
    come, gone = _without(other, one), _without(one, other)
    changed = min(len(come), len(gone))
    counts = ((changed, "changed"), (len(come) - changed, "added"), (len(gone) - changed, "taken out"))
    words = [f"{count} {word}" for count, word in counts if count]
    return ", ".join(words) or "in another order"


def _without(entries: list[Any], others: list[Any]) -> list[Any]:
    """The entries that are not among the others, each counted once."""
    left = list(others)
    found = []
    for entry in entries:
        if entry in left:
            left.remove(entry)
        else:
            found.append(entry)
    return found


def _words(path: Path) -> str:
    """A path in the builder's words."""
    steps = tuple(str(step) for step in path)
    for size in range(len(steps), 0, -1):
        if steps[-size:] in _PATHS:
            return " ".join((*(step.replace("_", " ") for step in steps[:-size]), _PATHS[steps[-size:]]))
    return " ".join(step.replace("_", " ") for step in steps)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        text = "yes" if value else "no"
    elif isinstance(value, list):
        text = f"({', '.join(_text(entry) for entry in value)})"
    elif isinstance(value, dict):
        text = "nothing" if not value else ", ".join(f"{key} {_text(entry)}" for key, entry in value.items())
    elif isinstance(value, str):
        text = value if re.match(r"[-+.\d]", value) or (value and " " not in value) else f'"{value}"'
    else:
        text = str(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


def _of_lines(before: str, after: str) -> list[str]:
    """For a text that is no TOML: the lines themselves."""
    old, new = before.splitlines(), after.splitlines()
    lines = ["One of the two texts has a fault in its writing, so their lines are compared."]
    for kind, first, last, start, end in difflib.SequenceMatcher(
        None, old, new, autojunk=False
    ).get_opcodes():
        if kind != "equal":
            lines += [
                f"line {first + 1 + row} was: {old[first + row].strip()}" for row in range(last - first)
            ]
            lines += [f"line {start + 1 + row} is: {new[start + row].strip()}" for row in range(end - start)]
    return lines


def _keys(old: Mapping[Any, Any], new: Mapping[Any, Any]) -> Sequence[Any]:
    return [*old, *(key for key in new if key not in old)]
