"""A part or tank moved by a way in the house frame: its text written anew in the builder's datum and units."""

from collections.abc import Mapping
from typing import Any

from dabchick.model.advice import Advice, BoatError
from dabchick.model.keys import dotted
from dabchick.model.units import UnitError, UnitSet, parse, written
from dabchick.model.vessel import Datum, Vector
from dabchick.storage.edit_text import puts
from dabchick.storage.toml_content import content_of


def shift_row(text: str, table: str, row: int, by_m: Vector, datum: Datum) -> str:
    """Shift `at` and `centre` of a row; a coordinate that does not change keeps the builder's own writing.

    Raises BoatError when there is no such row, or its place cannot be read.
    """
    content = content_of(text)
    rows = content.get(table)
    if not isinstance(rows, list) or not 0 <= row < len(rows) or not isinstance(rows[row], dict):
        raise BoatError(Advice(what=f"There is no {table} in row {row + 1}.", todo="Load the page again."))
    units: UnitSet = "inch" if content.get("units") == "inch" else "metric"
    changes = [
        ((table, row, key), _shifted(rows[row], key, dotted((table, row, key)), by_m, datum, units))
        for key in ("at", "centre")
        if key in rows[row]
    ]
    return puts(text, [((*path, axis), value) for path, point in changes for axis, value in point.items()])


def _shifted(
    row: Mapping[str, Any], key: str, dotted_key: str, by_m: Vector, datum: Datum, units: UnitSet
) -> dict[int, str]:
    point = row[key]
    if not isinstance(point, list) or len(point) != 3:
        raise BoatError(
            Advice(
                what="This is no place that could be shifted.",
                todo='Give x, y and z, such as ["260 mm", 0, "52 mm"].',
                key=dotted_key,
                given=str(point),
            )
        )
    try:
        x, y, z = (parse(value, "length") for value in point)
    except UnitError as fault:
        raise BoatError(
            Advice(what=fault.what, todo=fault.todo, key=dotted_key, given=str(point), allowed=fault.allowed)
        ) from fault
    house = datum.to_house((x, y, z))
    moved = datum.to_builder((house[0] + by_m[0], house[1] + by_m[1], house[2] + by_m[2]))
    return {axis: written(moved[axis], "length", units) for axis in range(3) if by_m[axis] != 0.0}
