"""The ops of an edit, carried out on the boat's text."""

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from dabchick.model.advice import Advice, BoatError
from dabchick.model.keys import Path, present, value_at
from dabchick.model.vessel import Datum
from dabchick.storage.edit_text import add_row, add_rows, copy_row, drop, move_row, puts, same
from dabchick.storage.shift_text import shift_row
from dabchick.storage.toml_content import content_of
from dabchick.workbench.shapes.boat import AddRow, CopyRow, Drop, MoveRow, Put, Shift

Op = Put | Drop | AddRow | CopyRow | MoveRow | Shift


def carry_out(text: str, ops: Sequence[Op], datum: Datum | None) -> str:
    """All ops in turn, or BoatError. Several values, and several new rows, are written in one go."""
    for kind, run in groupby(ops, key=_kind):
        several = list(run)
        if kind == "put":
            text = puts(text, [(op.path, op.value) for op in several if isinstance(op, Put)])
        elif kind.startswith("add"):
            text = add_rows(
                text, kind.removeprefix("add "), [op.values for op in several if isinstance(op, AddRow)]
            )
        else:
            for op in several:
                text = _carried_out(text, op, datum)
    return text


def on_newer(ops: Sequence[Op], text: str) -> list[Op] | None:
    """The same ops for a text that others have changed meanwhile, rows found by their name.

    None where that could overwrite what others wrote: not every op says what stood at its place, or something
    else stands there now.
    """
    try:
        content = content_of(text)
    except BoatError:
        return None
    moved: list[Op] = []
    for op in ops:
        if not isinstance(op, Put) or "was" not in op.model_fields_set:
            return None
        path = _path_now(op, content)
        if path is None:
            return None
        there = present(path, content) == path
        if not (same(value_at(path, content), op.was) if there else op.was is None):
            return None
        moved.append(op.model_copy(update={"path": list(path)}))
    return moved


def _path_now(op: Put, content: Mapping[str, Any]) -> Path | None:
    """The path that the row has now; None when it is not to be told for sure."""
    path = tuple(op.path)
    if len(path) < 2 or not isinstance(path[1], int):
        return path
    rows = content.get(str(path[0]))
    if op.row_name is None or not isinstance(rows, list):
        return None
    found = [
        row for row, table in enumerate(rows) if isinstance(table, dict) and table.get("name") == op.row_name
    ]
    return (path[0], found[0], *path[2:]) if len(found) == 1 else None


def _kind(op: Op) -> str:
    """What may be carried out together."""
    return (
        f"add {op.table}" if isinstance(op, AddRow) and op.at is None else op.op.replace("add row", "insert")
    )


def _carried_out(text: str, op: Op, datum: Datum | None) -> str:
    match op:
        case Drop():
            return drop(text, op.path)
        case AddRow():
            return add_row(text, op.table, op.values, op.at)
        case CopyRow():
            return copy_row(text, op.table, op.row)
        case MoveRow():
            return move_row(text, op.table, op.row, op.to)
        case Shift() if datum is not None:
            return shift_row(text, op.table, op.row, op.by_m, datum)
    raise BoatError(
        Advice(
            what="The boat has no hull yet that her parts could be moved in.",
            todo="Put the faults right first, or type the place.",
        )
    )
