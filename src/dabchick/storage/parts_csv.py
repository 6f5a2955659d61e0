"""The part list as a CSV file, and back: every key of every part, numbers with the units that the builder wrote."""

import csv
import io
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from dabchick.model.boat import Part
from dabchick.model.units import UnitSet, spellings
from dabchick.storage.part_columns import (
    BY_NAME,
    COLUMNS,
    Change,
    PartColumn,
    TableName,
    as_text,
    changed,
    put,
    written,
)
from dabchick.storage.sheet_text import guarded, unguarded

Content = Mapping[str, Any]

_TO_NAMED: Final = {"volume known": "known", "volume spread": "spread"}
"""Columns of the file that the page does not show, with the field of `volume` that they hold."""
_SHOWN_KEYS: Final = frozenset(
    {"name", "kind", "mass", "at", "inside", "material", "volume", "outside", "note"}
)
_OTHER_KEYS: Final = tuple(
    key
    for key in (entry.alias or name for name, entry in Part.model_fields.items())
    if key not in _SHOWN_KEYS
)
"""Keys of a part that stand in the file as they do in the boat file, such as `shape` and `rail`."""
_PLAIN_AMOUNT: Final = re.compile(r"[-+]?[\d.]+(?: [^\s=@'\"]+)?")
_UNIT_IN_HEADING: Final = re.compile(
    r"(?P<words>.*?)\s*(?:[(\[](?P<in_brackets>[^)\]]+)[)\]]|(?:,|/|\bin)\s+(?P<behind>\S+)|_(?P<joined>[^\s_]+))"
)


@dataclass(frozen=True)
class Heading:
    """What a column of a sheet is: one of the weight list, or a key of a part that the list does not show."""

    text: str
    column: PartColumn | None = None
    other: str = ""
    unit: str = ""
    """Of its numbers, where the heading says so."""
    fault: str = ""
    """Why it cannot be taken, where that is not just because it is not known."""

    @property
    def is_known(self) -> bool:
        return self.column is not None or bool(self.other)


def parts_csv(content: Content) -> str:
    """The parts of a boat file as CSV, commas between, one line for the headings."""
    parts = [row for row in _rows(content) if isinstance(row, dict)]
    others = [key for key in _OTHER_KEYS if any(key in part for part in parts)]
    stated = [
        name
        for name, field in _TO_NAMED.items()
        if any(isinstance(part.get("volume"), dict) and field in part["volume"] for part in parts)
    ]
    table = [[*(_heading_text(column, content) for column in COLUMNS), *stated, *others]]
    table += [
        [
            *(_cell(part, column) for column in COLUMNS),
            *(as_text(_volume_field(part, _TO_NAMED[name])) for name in stated),
            *(guarded(as_text(part.get(key))) for key in others),
        ]
        for part in parts
    ]
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(table)
    return out.getvalue()


def _rows(content: Content) -> Sequence[Any]:
    rows = content.get("part", [])
    return rows if isinstance(rows, list) else []


def _heading_text(column: PartColumn, content: Content) -> str:
    """The axes say what they are measured from, so that a list is not taken into a boat measured otherwise."""
    if column.name not in "xyz":
        return column.name
    if column.name == "y":
        return "y to port"
    zero = _measured_from(content, column.name)
    return f"{column.name} from {zero}" if zero else column.name


def _measured_from(content: Content, axis: str) -> str:
    table = content.get("measured_from")
    zero = table.get(axis) if isinstance(table, dict) else None
    return zero if isinstance(zero, str) else ""


def _cell(part: Mapping[str, Any], column: PartColumn) -> str:
    found = written(part, "part", column)
    text = found.text if found is not None else ""
    if column.dimension is not None and _PLAIN_AMOUNT.fullmatch(text):
        return text
    return guarded(text)


def _volume_field(part: Mapping[str, Any], field: str) -> Any:
    volume = part.get("volume")
    return volume.get(field) if isinstance(volume, dict) else None


def headings(cells: Iterable[str], content: Content) -> list[Heading]:
    """What each heading of a sheet means for this boat."""
    return [_heading(cell, content) for cell in cells]


def has_headings(cells: Sequence[str], content: Content) -> bool:
    """Whether a row of cells is one of headings: a name among them, or most of them known, and no amounts."""
    filled = [cell for cell in cells if cell.strip()]
    known = [entry for entry in headings(filled, content) if entry.is_known or entry.fault]
    return bool(known) and 2 * len(known) >= len(filled) and not any(_is_amount(cell) for cell in filled)


def _is_amount(text: str) -> bool:
    return re.fullmatch(r"\s*[-+]?[\d.,]*\d.*", text, re.DOTALL) is not None


def _heading(cell: str, content: Content) -> Heading:
    text = " ".join(cell.replace("\u00a0", " ").split())
    words, unit = text.lower(), ""
    column = _column_called(words)
    if column is None:
        found = _UNIT_IN_HEADING.fullmatch(text)
        if found is not None:
            unit = found["in_brackets"] or found["behind"] or found["joined"] or ""
            words = found["words"].lower()
            column = _column_called(words)
    zero = re.fullmatch(r"(?P<axis>[xz])?\s*(?:from|over|above|up from)(?: the)? (?P<zero>[a-z]+)", words)
    if column is None and zero is not None:
        axis = zero["axis"] or ("x" if zero["zero"] in {"bow", "stern"} else "z")
        wanted = _measured_from(content, axis)
        if wanted and zero["zero"] != wanted:
            return Heading(
                text,
                fault=f'"{text}" is measured from the {zero["zero"]}, this boat from the {wanted}.',
            )
        column = BY_NAME[axis]
    if column is None:
        if words in _TO_NAMED or words in _OTHER_KEYS:
            return Heading(text, other=words)
        return Heading(text)
    unit = unit.strip()
    if unit and (column.dimension is None or unit not in spellings(column.dimension)):
        return Heading(text, fault=f'"{unit}" is no unit that {column.name} can have.')
    return Heading(text, column, unit=unit)


def _column_called(words: str) -> PartColumn | None:
    plain = words.removesuffix(" to port") if words.startswith("y") else words
    return next((column for column in COLUMNS if plain in column.words), None)


def changes_of(
    row: Mapping[str, Any], table: TableName, heading: Heading, text: str
) -> tuple[Change, ...] | None:
    """What one cell of a sheet changes in a row; None where such a row has no such cell."""
    if heading.column is not None:
        return None if table not in heading.column.places else changed(row, table, heading.column, text)
    if table != "part":
        return None
    value = _toml_value(text) if text.strip() else None
    if heading.other not in _TO_NAMED:
        return put(row, (heading.other,), value)
    old = row.get("volume")
    if old is not None and not isinstance(old, dict):
        return put(row, ("volume",), {"value": old, _TO_NAMED[heading.other]: value}) if value else ()
    return put(row, ("volume", _TO_NAMED[heading.other]), value)


def in_order(part: Mapping[str, Any]) -> dict[str, Any]:
    """A part with its keys in the order in which they are described."""
    order = [entry.alias or name for name, entry in Part.model_fields.items()]
    return {key: part[key] for key in sorted(part, key=order.index)}


def _toml_value(text: str) -> Any:
    """A table or list as it is written in the boat file; a plain text where it is none."""
    if text.lstrip()[:1] not in ("{", "["):
        return text
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def with_unit_of(text: str, unit: str) -> str:
    """An amount with a unit behind it where it has none; 0 and what is no amount stay as they are."""
    if unit and re.fullmatch(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text) and float(text) != 0.0:
        return f"{text} {unit}"
    return text


def needs_unit(text: str, column: PartColumn) -> bool:
    """Whether an amount says no unit where it should."""
    return column.dimension is not None and with_unit_of(text, "?") != text


def usual_unit(column: PartColumn, units: UnitSet) -> str:
    """The unit that bare numbers of a column are in, when the builder says that they are in the boat's own."""
    by_dimension = {
        "metric": {"length": "mm", "mass": "g", "volume": "ml"},
        "inch": {"length": "in", "mass": "oz", "volume": "in^3"},
    }
    return by_dimension[units].get(column.dimension or "", "")


def cell_text(cell: str) -> str:
    """A cell without the mark that kept it from being a formula, and without spaces at its ends."""
    return unguarded(cell).strip()
