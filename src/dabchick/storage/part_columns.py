"""The columns of the weight list: where each stands in the boat file, how it is read and how it is changed.

The page, the CSV file and a paste from a spreadsheet all go through this one table.
"""

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import tomlkit

from dabchick.model.keys import Path
from dabchick.model.units import Dimension

ColumnName = Literal[
    "name", "kind", "mass", "known", "spread", "x", "y", "z", "inside", "material", "volume", "outside", "note",
]  # fmt: skip
TableName = Literal["part", "tank", "skin"]
Row = Mapping[str, Any]


@dataclass(frozen=True)
class PartColumn:
    """One column; `places` says where it stands in a row of each table, and it is not asked of the others."""

    name: ColumnName
    places: Mapping[TableName, Path]
    dimension: Dimension | None = None
    """Of a number with a unit; None for words."""
    field: Literal["", "value", "known", "spread"] = ""
    """Of a number that says how it is known, which may also be written as the bare text of its value."""
    yes_or_no: bool = False
    words: tuple[str, ...] = ()
    """What a heading may call it, in lower case."""


def _own(key: str, *tables: TableName) -> dict[TableName, Path]:
    return dict.fromkeys(tables, (key,))


_MASS: Final[dict[TableName, Path]] = {"part": ("mass",), "tank": ("walls", "mass"), "skin": ("mass",)}
_STUFF: Final[dict[TableName, Path]] = {
    "part": ("material",),
    "tank": ("walls", "material"),
    "skin": ("material",),
}
_AT: Final[list[dict[TableName, Path]]] = [{"part": ("at", axis), "tank": ("at", axis)} for axis in range(3)]

COLUMNS: Final = (
    PartColumn(
        "name",
        _own("name", "part", "tank"),
        words=("name", "part", "item", "component", "what", "description"),
    ),
    PartColumn("kind", {"part": ("kind",), "tank": ("system",)}, words=("kind", "type", "system")),
    PartColumn("mass", _MASS, "mass", "value", words=("mass", "weight")),
    PartColumn("known", _MASS, None, "known", words=("known", "known how", "how known", "known by")),
    PartColumn(
        "spread",
        _MASS,
        "mass",
        "spread",
        words=("spread", "uncertainty", "±", "+/-", "doubt", "standard deviation"),
    ),
    PartColumn("x", _AT[0], "length", words=("x", "along", "station")),
    PartColumn("y", _AT[1], "length", words=("y", "across", "to port")),
    PartColumn("z", _AT[2], "length", words=("z", "up", "height")),
    PartColumn("inside", _own("inside", "part", "tank"), words=("inside", "in", "inside of", "held by")),
    PartColumn("material", _STUFF, words=("material", "made of")),
    PartColumn(
        "volume",
        {"part": ("volume",), "tank": ("walls", "volume")},
        "volume",
        "value",
        words=("volume", "displacement", "displaces"),
    ),
    PartColumn("outside", _own("outside", "part"), yes_or_no=True, words=("outside", "outside the hull")),
    PartColumn(
        "note",
        _own("note", "part", "tank"),
        words=("note", "notes", "comment", "comments", "remark", "remarks"),
    ),
)
BY_NAME: Final[dict[str, PartColumn]] = {column.name: column for column in COLUMNS}


@dataclass(frozen=True)
class Written:
    """What stands in a cell, and where in its row an edit of it goes."""

    path: Path
    value: Any
    """None where nothing stands."""

    @property
    def text(self) -> str:
        return as_text(self.value)


@dataclass(frozen=True)
class Change:
    """A value to be written at a path in a row; None takes the key away."""

    path: Path
    value: Any
    was: Any
    """What stood there."""


def written(row: Row, table: TableName, column: PartColumn) -> Written | None:
    """The cell of a column; None where this table has no such column."""
    base = column.places.get(table)
    if base is None:
        return None
    if column.field:
        stated = _at(row, base)
        if isinstance(stated, Mapping):
            return Written((*base, column.field), stated.get(column.field))
        if column.field == "value":
            return Written(base, stated)
        return Written((*base, column.field), None)
    if base[0] == "at" and not isinstance(row.get("at"), list | tuple):
        # A place that is no list cannot be taken apart: it stands whole under x.
        return Written(base, row.get("at") if base == ("at", 0) else None)
    return Written(base, _at(row, base))


def changed(row: Row, table: TableName, column: PartColumn, text: str) -> tuple[Change, ...]:
    """What has to be changed in a row for a cell to say `text`; an empty text takes the key away.

    Anything is taken as it is typed: a text that cannot be read is written too, so that it is not lost and the
    check can say at the cell what is wrong.
    """
    base = column.places.get(table)
    if base is None:
        raise ValueError(f"A {table} has no column {column.name}.")
    value = _typed(column, text)
    if column.field:
        return _stated(row, base, column.field, value)
    if base[0] == "at":
        return _place(row, int(base[1]), value)
    return put(row, base, value)


def after(row: Row, changes: tuple[Change, ...]) -> dict[str, Any]:
    """The row with the changes made."""
    new: dict[str, Any] = copy.deepcopy(dict(row))
    for change in changes:
        here: Any = new
        for step in change.path[:-1]:
            here = here[step]
        if change.value is None:
            del here[change.path[-1]]
        else:
            here[change.path[-1]] = copy.deepcopy(change.value)
    return new


def as_text(value: Any) -> str:
    """A value of the boat file as a cell shows it: texts bare, yes or no, tables and lists as they are written."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key_text(key)} = {_inner(entry)}' for key, entry in value.items())} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_inner(entry) for entry in value)}]"
    return str(value)


def key_text(key: str) -> str:
    """A key as it is written, in quotes where it has to be."""
    return str(tomlkit.key(key).as_string())


def _inner(value: Any) -> str:
    return as_text(value) if isinstance(value, dict | list | tuple) else str(tomlkit.item(value).as_string())


_YES_OR_NO: Final = {"yes": True, "true": True, "y": True, "no": False, "false": False, "n": False}


def _typed(column: PartColumn, text: str) -> Any:
    text = text.strip()
    if not text:
        return None
    if column.yes_or_no:
        return _YES_OR_NO.get(text.lower(), text)
    if column.dimension is not None and text == "0":
        return 0
    return text


def _stated(row: Row, base: Path, field: str, value: Any) -> tuple[Change, ...]:
    old = _at(row, base)
    if not isinstance(old, Mapping):
        if field == "value":
            return put(row, base, value)
        if value is None:
            return ()
        return put(row, base, {field: value} if old is None else {"value": old, field: value})
    if field == "value" and value is None:
        # Without its value the rest says nothing.
        return put(row, base, None)
    return put(row, (*base, field), value)


def _place(row: Row, axis: int, value: Any) -> tuple[Change, ...]:
    old = row.get("at")
    point = list(old) if isinstance(old, list | tuple) else []
    if len(point) == 3 and value is not None:
        return put(row, ("at", axis), value)
    # A point has three entries, or it is not there: one taken out leaves a gap that the check finds.
    point = [*point, "", "", ""][:3]
    point[axis] = "" if value is None else value
    return put(row, ("at",), None if all(entry == "" for entry in point) else point)


def put(row: Row, path: Path, value: Any) -> tuple[Change, ...]:
    """One change, with the tables round it made where they are not there yet."""
    old = _at(row, path)
    if value == old and type(value) is type(old):
        return ()
    if value is None:
        return (Change(path, None, old),)
    depth = len(path)
    while depth > 1 and not isinstance(_at(row, path[: depth - 1]), Mapping | list):
        depth -= 1
    for step in reversed(path[depth:]):
        value = {step: value}
    return (Change(path[:depth], value, _at(row, path[:depth])),)


def _at(row: Any, path: Path) -> Any:
    for step in path:
        if isinstance(step, int):
            if not isinstance(row, list | tuple) or step >= len(row):
                return None
            row = row[step]
        else:
            if not isinstance(row, Mapping) or step not in row:
                return None
            row = row[step]
    return row
