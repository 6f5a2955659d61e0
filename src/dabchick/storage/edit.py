"""Changes to an open boat's text: parts added, replaced, moved and removed, with every other letter kept.

The text itself is cut and joined where the change is. Going through a parsed document would put the tables
of a file that mixes [[part]] and [[tank]] into another order, and their comments in other places.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from dabchick.model.advice import Advice, BoatError
from dabchick.model.keys import Path
from dabchick.model.units import UnitSet, written
from dabchick.model.vessel import Datum, Known, Vector
from dabchick.storage.blocks import joined, spans, with_ends, without
from dabchick.storage.edit_text import free_name, names, remove_row
from dabchick.storage.folder import OpenBoat
from dabchick.storage.locate import places
from dabchick.storage.toml_content import content_of
from dabchick.storage.toml_words import toml_value


@dataclass(frozen=True)
class NewPart:
    """A part to be written, in SI and in the house frame."""

    name: str
    kind: Literal["dry", "solid", "inside", "lead", "foam"]
    centre_m: Vector
    mass_kg: float
    known: Known
    mass_spread_kg: float | None = None
    size_m: Vector | None = None
    """Length, width and height of its box."""
    volume_m3: float | None = None
    """What it displaces, where that is not the whole box."""
    inside: str = ""
    note: str = ""


def set_trim_parts(boat: OpenBoat, parts: Sequence[NewPart]) -> None:
    """Put the lead and foam of a trim into the text, in the place of those of the trim before."""
    rows = _rows(boat)
    old = [row for row, table in enumerate(rows) if table.get("from") == "trim"]
    found = places(boat.text)
    cuts = [span for row in old for span in spans(boat.text, found, ("part", row))]
    at = cuts[0][0] if cuts else _end_of_parts(boat.text)
    text = without(boat.text, cuts)
    taken = {str(table.get("name")) for row, table in enumerate(rows) if row not in old}
    taken |= names({"tank": content_of(boat.text).get("tank", [])}, "tank")
    new = ""
    for part in parts:
        name = free_name(part.name, taken)
        taken.add(name)
        new += _table(part, name, boat.vessel.datum, boat.vessel.units, from_trim=True)
    boat.text = joined(text, at, new)


def add_part(boat: OpenBoat, part: NewPart) -> None:
    """Add a part behind the last one. Raises BoatError when its name is taken."""
    if part.name in names(content_of(boat.text), "part"):
        raise BoatError(
            Advice(
                what=f'The name "{part.name}" is taken already.',
                todo="Choose another one.",
                where=str(boat.file),
            )
        )
    new = _table(part, part.name, boat.vessel.datum, boat.vessel.units)
    boat.text = joined(boat.text, _end_of_parts(boat.text), new)


def replace_part(boat: OpenBoat, name: str, part: NewPart) -> None:
    """Put a part in the place of another; comments above it stay. Raises BoatError for no such part."""
    pieces = spans(boat.text, places(boat.text), ("part", _row(boat, name)), with_comment=False)
    (start, end), strays = pieces[0], pieces[1:]
    new = _table(part, part.name, boat.vessel.datum, boat.vessel.units)
    text = without(boat.text, strays)
    before, behind = text[:start], text[end:]
    boat.text = before + with_ends(new, boat.text) + behind


def remove_part(boat: OpenBoat, name: str) -> None:
    """Take a part out, with the comment directly above it. Raises BoatError when there is no such part."""
    boat.text = remove_row(boat.text, "part", _row(boat, name))


def move_part(boat: OpenBoat, name: str, shift_m: Vector) -> None:
    """Shift a part, `at` and `centre`, by a way in the house frame. Raises BoatError for no such part."""
    row = _row(boat, name)
    part = boat.boat.parts[row]
    datum, units = boat.vessel.datum, boat.vessel.units
    for key, point in (("centre", part.centre), ("at", part.at)):
        if point is None:
            continue
        x, y, z = datum.to_house(point)
        moved = (x + shift_m[0], y + shift_m[1], z + shift_m[2])
        set_value(boat, ("part", row, key), _point(moved, datum, units))


def set_value(boat: OpenBoat, path: Path, value: Any) -> None:
    """Write a value in the place of one that stands there; what stands behind it on the line stays.

    Raises BoatError when nothing stands at that path.
    """
    span = places(boat.text).values.get(path)
    if span is None:
        raise BoatError(
            Advice(
                what=f"Nothing stands at {path} to be changed.",
                todo="Add it by hand first.",
                where=str(boat.file),
            )
        )
    boat.text = boat.text[: span[0]] + toml_value(value) + boat.text[span[1] :]


def _rows(boat: OpenBoat) -> list[dict[str, Any]]:
    rows = content_of(boat.text).get("part", [])
    headed = {path for path, _ in places(boat.text).headers}
    if rows and ("part", 0) not in headed:
        raise BoatError(
            Advice(
                what="The parts are written as one list, which is not changed from here.",
                todo="Write each as a [[part]] of its own.",
                where=str(boat.file),
                key="part",
            )
        )
    return list(rows)


def _row(boat: OpenBoat, name: str) -> int:
    for row, table in enumerate(_rows(boat)):
        if table.get("name") == name:
            return row
    raise BoatError(
        Advice(
            what=f'There is no part called "{name}".',
            todo="Take one of the names allowed.",
            where=str(boat.file),
            allowed=", ".join(f'"{table.get("name")}"' for table in _rows(boat)),
        )
    )


def _end_of_parts(text: str) -> int:
    """Behind the last part; behind everything where there is none."""
    found = places(text)
    rows = [header[:2] for header, _ in found.headers if header[0] == "part" and len(header) > 1]
    return spans(text, found, rows[-1])[-1][1] if rows else len(text)


def _table(part: NewPart, name: str, datum: Datum, units: UnitSet, from_trim: bool = False) -> str:
    """One [[part]] as text, in the builder's datum and units."""
    rows: dict[str, Any] = {"name": name, "kind": part.kind}
    if from_trim:
        rows["from"] = "trim"
    if part.inside:
        rows["inside"] = part.inside
    if part.size_m is not None:
        rows["shape"] = {"box": {"size": [written(side, "length", units) for side in part.size_m]}}
    rows["at"] = _point(part.centre_m, datum, units)
    rows["mass"] = {"value": written(part.mass_kg, "mass", units), "known": part.known}
    if part.mass_spread_kg is not None:
        rows["mass"]["spread"] = written(part.mass_spread_kg, "mass", units)
    if part.volume_m3 is not None:
        rows["volume"] = {"value": written(part.volume_m3, "volume", units), "known": part.known}
    if part.note:
        rows["note"] = part.note
    return "[[part]]\n" + "".join(f"{key} = {toml_value(value)}\n" for key, value in rows.items()) + "\n"


def _point(point: Vector, datum: Datum, units: UnitSet) -> list[Any]:
    return [written(value, "length", units) for value in datum.to_builder(point)]
