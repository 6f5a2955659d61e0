"""Rows of the weight list in the boat file's text as parsed, and the ops that change one."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from dabchick.model.keys import Path, Step
from dabchick.model.units import UnitSet
from dabchick.storage.part_columns import Change, TableName
from dabchick.workbench.shapes.boat import Drop, Put

Content = Mapping[str, Any]


@dataclass(frozen=True)
class Row:
    """One row of the list as it stands in the file."""

    table: TableName
    row: int
    values: Mapping[str, Any]

    def __hash__(self) -> int:
        return hash((self.table, self.row, repr(self.values)))

    @property
    def path(self) -> Path:
        return ("hull", "skin") if self.table == "skin" else (self.table, self.row)

    @property
    def name(self) -> str:
        """As the builder knows it."""
        if self.table == "skin":
            return "skin"
        name = self.values.get("name")
        return name if isinstance(name, str) and name.strip() else f"{self.table} {self.row + 1}"


def units_of(content: Content) -> UnitSet:
    """The builder's set of units, also of a file with mistakes."""
    return "inch" if content.get("units") == "inch" else "metric"


def list_rows(content: Content) -> list[Row]:
    """The skin, then parts and tanks in the order of the file; what is no table is no row."""
    rows: list[Row] = []
    hull = content.get("hull")
    if isinstance(hull, dict):
        skin = hull.get("skin")
        rows.append(Row("skin", 0, skin if isinstance(skin, dict) else {}))
    tables: tuple[TableName, ...] = ("part", "tank")
    for table in tables:
        listed = content.get(table)
        if isinstance(listed, list):
            rows += [Row(table, at, entry) for at, entry in enumerate(listed) if isinstance(entry, dict)]
    return rows


def ops_of(content: Content, row: Row, changes: Sequence[Change]) -> list[Put | Drop]:
    """Changes in a row as ops on the whole file."""
    name = row.values.get("name")
    row_name = name if isinstance(name, str) and row.table != "skin" else None
    ops: list[Put | Drop] = []
    for change in changes:
        path: list[Step] = [*row.path, *change.path]
        if change.value is None:
            ops.append(Drop(op="drop", path=path))
        else:
            ops.append(
                Put(op="put", path=path, value=plain(change.value), was=plain(change.was), row_name=row_name)
            )
    return ops


def plain(value: Any) -> Any:
    """A value of the file as JSON can say it: dates, and numbers that are none, as their text."""
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value
