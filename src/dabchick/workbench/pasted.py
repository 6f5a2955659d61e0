"""Cells from a spreadsheet or a CSV file as ops on the boat file: nothing is changed here, and nothing is guessed."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, get_args

from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import PartKind
from dabchick.model.keys import Path, path_of
from dabchick.model.mistakes import mistakes
from dabchick.model.reading import read
from dabchick.model.vessel import Known
from dabchick.storage.part_columns import BY_NAME, COLUMNS, Change, PartColumn, TableName, after, as_text
from dabchick.storage.parts_csv import (
    Heading,
    cell_text,
    changes_of,
    has_headings,
    headings,
    in_order,
    needs_unit,
    usual_unit,
    with_unit_of,
)
from dabchick.storage.sheet_text import MOST_CELLS, MOST_ROWS, Line, TwoReadingsError, lines_of, plain_number
from dabchick.workbench.row_ops import Content, Row, list_rows, ops_of, plain, units_of
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.boat import AddRow, Drop, Put
from dabchick.workbench.shapes.weights import Pasted, PastedOut

MOST_WORDS: Final = 60
"""Changes told one by one; of more, the count is told."""
_WORDS: Final[dict[str, tuple[str, ...]]] = {"kind": get_args(PartKind), "known": get_args(Known)}


def pasted(content: Content, asked: Pasted, revision: int) -> PastedOut:
    """What a pasted text would do to a boat. Raises BoatError for one that is no sheet at all."""
    lines = _lines(asked)
    work = _Paste(content, asked)
    work.take(lines)
    return PastedOut(
        revision=revision,
        ops=work.ops,
        what=work.what(),
        lines=[*work.words(), *work.notes],
        advice=[AdviceOut.of(entry) for entry in (*work.advice, *work.checked())],
    )


def _lines(asked: Pasted) -> list[Line]:
    lines = lines_of(asked.text, commas=asked.row is None)
    if not lines:
        raise BoatError(
            Advice(
                what="There is nothing to paste.",
                todo="Copy cells in a spreadsheet, or take a CSV file with one part a line.",
            )
        )
    widest = max(len(line.cells) for line in lines)
    if len(lines) > MOST_ROWS or widest > MOST_CELLS:
        raise BoatError(
            Advice(
                what="This is too much for a part list.",
                todo="Copy the rows and columns of the parts alone.",
                given=f"{len(lines)} rows, {widest} columns",
                allowed=f"up to {MOST_ROWS} rows, {MOST_CELLS} columns",
            )
        )
    return lines


@dataclass
class _Paste:
    """One paste, line by line."""

    content: Content
    asked: Pasted
    ops: list[Put | Drop | AddRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """How the text was read."""
    advice: list[Advice] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    """Each change in words."""
    new: list[tuple[int, dict[str, Any]]] = field(default_factory=list)
    """New parts, with the line that each came from."""
    changed: dict[tuple[TableName, int], tuple[int, dict[str, Any]]] = field(default_factory=dict)
    """Rows as they would be, with the line of the last change."""
    decimal_commas: bool = False
    suspect: set[tuple[int, str]] = field(default_factory=set)
    """Line and column of what is told of already."""

    def take(self, lines: Sequence[Line]) -> None:
        heads, lines = self._heads(lines)
        self.decimal_commas = self._has_decimal_commas(heads, lines)
        if self.decimal_commas:
            self.notes.append("Commas in numbers were read as decimal points, such as 1,5 as 1.5.")
        targets = self._targets()
        names = {str(row.values.get("name")): row for row in list_rows(self.content) if row.table == "part"}
        name_at = next((at for at, head in enumerate(heads) if head.column is BY_NAME["name"]), None)
        for line in lines:
            row = next(targets, None)
            if self.asked.row is None and self.asked.by_name and name_at is not None:
                row = names.get(cell_text(line.cells[name_at])) if name_at < len(line.cells) else None
            self._take_line(line, heads, row)

    def _heads(self, lines: Sequence[Line]) -> tuple[list[Heading], Sequence[Line]]:
        first = lines[0]
        if has_headings(first.cells, self.content):
            heads = headings(first.cells, self.content)
            for head in heads:
                if head.fault:
                    self.advice.append(
                        Advice(
                            what=head.fault,
                            todo="Correct the heading, and the numbers below it if need be. The column is left out.",
                            where=f"line {first.line}",
                            given=head.text,
                        )
                    )
            left_out = [head.text for head in heads if not head.is_known and not head.fault and head.text]
            if left_out:
                self.notes.append(f"Left out, for no column of the list is called so: {', '.join(left_out)}.")
            self._say_units(heads)
            return heads, lines[1:]
        start = COLUMNS.index(BY_NAME[self.asked.column or "name"])
        heads = [Heading(column.name, column) for column in COLUMNS[start:]]
        beyond = max(len(line.cells) for line in lines) - len(heads)
        if beyond > 0:
            self.notes.append(f"Left out: {beyond} columns behind the last one of the list.")
        if self.asked.row is None:
            self.notes.append(
                f"No headings were found, so the columns are {', '.join(head.text for head in heads)}."
            )
        return heads, lines

    def _say_units(self, heads: Sequence[Heading]) -> None:
        units = [
            f"{head.column.name} in {head.unit}" for head in heads if head.column is not None and head.unit
        ]
        if units:
            self.notes.append(f"Numbers without a unit, as the headings say: {', '.join(units)}.")

    def _has_decimal_commas(self, heads: Sequence[Heading], lines: Sequence[Line]) -> bool:
        for line in lines:
            for head, cell in zip(heads, line.cells, strict=False):
                if head.column is None or head.column.dimension is None or "," not in cell:
                    continue
                try:
                    number = plain_number(cell_text(cell))
                except TwoReadingsError:
                    continue  # told of when the cell itself is read
                if "," not in number and "." in number:
                    return True
        return False

    def _targets(self) -> Iterator[Row]:
        """The rows to paste onto, in turn; none where all are new."""
        if self.asked.row is None:
            return iter(())
        rows = list_rows(self.content)
        order = self.asked.order or list(range(len(rows)))
        if any(not 0 <= at < len(rows) for at in order) or self.asked.row not in order:
            raise BoatError(
                Advice(
                    what="The list has other rows by now.",
                    todo="Load it again, then paste once more.",
                    where="paste",
                )
            )
        return iter([rows[at] for at in order[order.index(self.asked.row) :]])

    def _take_line(self, line: Line, heads: Sequence[Heading], row: Row | None) -> None:
        if row is None:
            part: dict[str, Any] = {}
            for head, cell in zip(heads, line.cells, strict=False):
                text = self._text(head, cell, line)
                found = changes_of(part, "part", head, text) if head.is_known and text else None
                part = after(part, found or ())
            if part:
                self.new.append((line.line, in_order(part)))
            return
        values = dict(row.values)
        for head, cell in zip(heads, line.cells, strict=False):
            if not head.is_known:
                continue
            text = self._text(head, cell, line)
            found = changes_of(values, row.table, head, text)
            if found is None:
                if text:
                    self._say(f"{row.name} has no {head.text}: {text} is left out.")
                continue
            self._change(row, values, head, found)
            values = after(values, found)
            if found:
                self.changed[row.table, row.row] = (line.line, values)

    def _change(self, row: Row, values: Mapping[str, Any], head: Heading, found: tuple[Change, ...]) -> None:
        self.ops += ops_of(self.content, row, found)
        for change in found:
            was, now = (plain(entry) for entry in (change.was, change.value))
            self.told.append(f"{row.name}: {head.text} from {_say_value(was)} to {_say_value(now)}")

    def _text(self, head: Heading, cell: str, line: Line) -> str:
        """What is to be written for a cell: the number with its unit, or the words."""
        text = cell_text(cell)
        column = head.column
        if column is None or not text:
            return text
        if column.dimension is None:
            return self._word(column, text)
        try:
            text = plain_number(text, decimal_commas=self.decimal_commas)
        except TwoReadingsError as fault:
            self._fault(
                line,
                column,
                f'"{text}" may be {" or ".join(fault.readings)}.',
                f'Write it without a mark for thousands, such as "{fault.readings[-1]}".',
                text,
            )
            return text
        text = with_unit_of(text, head.unit)
        if not needs_unit(text, column):
            return text
        usual = usual_unit(column, units_of(self.content))
        if self.asked.usual_units:
            self._say(f"Numbers without a unit were taken for {usual} under {column.name}.")
            return with_unit_of(text, usual)
        self._fault(
            line,
            column,
            f"The {column.dimension} {text} has no unit.",
            f'Put the unit into the heading, such as "{column.name} ({usual})", or say that numbers without one '
            f"are in {usual}.",
            text,
        )
        return text

    def _word(self, column: PartColumn, text: str) -> str:
        known = _WORDS.get(column.name, ())
        return text.lower() if text.lower() in known else text

    def _fault(self, line: Line, column: PartColumn, what: str, todo: str, given: str) -> None:
        self.suspect.add((line.line, column.name))
        self.advice.append(
            Advice(what=what, todo=todo, where=f"line {line.line}, {column.name}", given=given)
        )

    def _say(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)

    def checked(self) -> list[Advice]:
        """What the check of the boat file would say of the rows as they would be, with the line that each is in."""
        self.ops += [AddRow(op="add row", table="part", values=plain(part)) for _, part in self.new]
        before = self._findings(self.content)
        content = {**self.content}
        lines: dict[Path, int] = {}
        for table in ("part", "tank"):
            rows = content.get(table)
            content[table] = list(rows) if isinstance(rows, list) else []
        for (table, at), (line, values) in self.changed.items():
            if table == "skin":
                content["hull"] = {**content["hull"], "skin": values}
                lines["hull", "skin"] = line
            else:
                content[table][at] = values
                lines[table, at] = line
        for line, part in self.new:
            lines["part", len(content["part"])] = line
            content["part"].append(part)
        found = []
        for key, entries in self._findings(content).items():
            path = path_of(key)
            line_at = lines.get(path[:2])
            if line_at is None or self._is_told(path, line_at):
                continue
            for entry in entries:
                if entry not in before.get(key, []):
                    found.append(_at_line(entry, line_at))
        return found

    def _is_told(self, path: Path, line: int) -> bool:
        return any(at == line and _stands_at(BY_NAME[name], path[2:]) for at, name in self.suspect)

    def _findings(self, content: Mapping[str, Any]) -> dict[str, list[Advice]]:
        draft, advice = read(content)
        found: dict[str, list[Advice]] = {}
        for entry in (*advice, *mistakes(draft)):
            found.setdefault(entry.key, []).append(entry)
        return found

    def what(self) -> str:
        """A name for the step."""
        words = []
        if self.new:
            words.append(f"{len(self.new)} part{'s' if len(self.new) > 1 else ''}")
        if self.told:
            words.append(f"{len(self.told)} cell{'s' if len(self.told) > 1 else ''}")
        return f"Paste {' and '.join(words)}" if words else "Paste nothing new"

    def words(self) -> list[str]:
        """Every change in words, as many as one would read."""
        told = list(self.told)
        told += [f"New: {part.get('name', 'a part without a name')}" for _, part in self.new]
        if len(told) > MOST_WORDS:
            told = [*told[:MOST_WORDS], f"and {len(told) - MOST_WORDS} more"]
        return told or ["Nothing would change."]


def _at_line(entry: Advice, line: int) -> Advice:
    key = re.sub(r"\A(?:part|tank)\[\d+\]\.?|\Ahull\.skin\.?", "", entry.key)
    return Advice(
        what=entry.what,
        todo=entry.todo,
        where=f"line {line}" + (f", {key}" if key else ""),
        given=entry.given,
        allowed=entry.allowed,
        severity=entry.severity,
    )


def _stands_at(column: PartColumn, path: Path) -> bool:
    return any(path[: len(place)] == place for place in column.places.values())


def _say_value(value: Any) -> str:
    return as_text(value) or "nothing"
