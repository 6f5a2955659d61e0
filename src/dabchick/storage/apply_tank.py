"""A proposed tank written into the boat file: the shape and place of the tanks it changes, and not a letter more."""

import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from dabchick.model.boat import TankTable
from dabchick.model.keys import path_of
from dabchick.model.placed_hull import vector
from dabchick.model.resize import of_bore, of_volume
from dabchick.model.shape import Shape, rotation
from dabchick.model.units import written
from dabchick.model.vessel import Vector
from dabchick.storage.edit_text import add_row, content_of, free_name, names, puts
from dabchick.storage.folder import OpenBoat, open_text
from dabchick.studies import tank as tank_study
from dabchick.studies.tank import TankResult
from dabchick.studies.tank_proposals import TankChange, TankProposal

MOST_ROUNDS: Final = 6
AGREE_SHARE: Final = 2e-4
"""Of the needed volume: a tank this near is not set right any further."""
AGREE_M: Final = 2e-5
_MOVED_M: Final = 1e-6


@dataclass(frozen=True, eq=False)
class PlannedTank:
    """A proposal as it would stand in the boat file, and what the tank study then says."""

    proposal: TankProposal
    text: str
    boat: OpenBoat
    result: TankResult
    tanks: tuple[TankTable, ...]
    """The tables that are changed or new, in the order of the proposal's changes."""


def plan(boat: OpenBoat, proposal: TankProposal) -> PlannedTank | None:
    """The boat with a proposed tank; None where a tank has no length that could be changed.

    A tank in the flooded space displaces by its own walls, and what is needed follows from them; so the answer is
    set right until the study is content. Raises BoatError where such a tank does not fit the boat.
    """
    now = proposal
    for _ in range(MOST_ROUNDS):
        written_text = _written(boat, now)
        if written_text is None:
            return None
        text, rows = written_text
        opened = open_text(text, boat.file, boat.on_disk, boat)
        result = tank_study.run(opened.vessel)
        planned = PlannedTank(proposal, text, opened, result, tuple(opened.boat.tanks[row] for row in rows))
        share = result.volume_m3.value / result.present_m3
        wanted = _wanted_shift(now, planned)
        if abs(share - 1.0) < AGREE_SHARE and abs(wanted) < AGREE_M:
            break
        now = replace(
            now,
            changes=tuple(
                replace(
                    change,
                    volume_m3=change.volume_m3 * share,
                    x_m=None if change.x_m is None else change.x_m + wanted,
                )
                for change in now.changes
            ),
        )
    return planned


def _wanted_shift(proposal: TankProposal, planned: PlannedTank) -> float:
    """How far the tanks still stand off; 0 for a proposal that keeps its places, or cannot reach the right one."""
    movable = proposal.reaches and all(change.x_m is not None for change in proposal.changes)
    return planned.result.centre_m[0] - planned.result.present_centre_m[0] if movable else 0.0


def _written(boat: OpenBoat, proposal: TankProposal) -> tuple[str, list[int]] | None:
    text, rows = boat.text, []
    changes: list[tuple[tuple[str | int, ...], Any]] = []
    new: list[dict[str, Any]] = []
    content = content_of(text)
    count = len(content.get("tank", []))
    for change in proposal.changes:
        row = int(path_of(change.key)[1]) if change.key else -1
        table = boat.boat.tanks[row] if change.key else None
        shape = _shape(boat, table, change)
        if shape is None:
            return None
        as_written: Mapping[str, Any] = content["tank"][row] if change.key else {}
        keys = {
            "shape": _shape_text(boat, as_written.get("shape"), table, shape),
            "at": _at_text(boat, as_written.get("at"), table, shape, change),
        }
        if change.key and not change.copied:
            rows.append(row)
            changes += [(("tank", row, key), value) for key, value in keys.items()]
        else:
            rows.append(count + len(new))
            new.append(_new_row(content, as_written, keys, change, new))
    text = puts(text, changes)
    for values in new:
        text = add_row(text, "tank", values)
    return text, rows


def _shape(boat: OpenBoat, table: TankTable | None, change: TankChange) -> Shape | None:
    if change.bore_m is not None:
        return of_bore(table.shape if table is not None else None, change.bore_m, change.volume_m3)
    if table is None:
        return None
    return of_volume(table.shape, _body(boat, table, table.shape), change.volume_m3)


def _body(boat: OpenBoat, table: TankTable | None, shape: Shape) -> Any:
    """A shape's body round its own middle, turned as the tank is."""
    body = shape.solid(-1.0 if boat.vessel.datum.x_from == "bow" else 1.0, boat.meshes)
    turn = table.turn if table is not None else (0.0, 0.0, 0.0)
    return body.moved(np.zeros(3), rotation(turn)) if any(turn) else body


def _at_text(
    boat: OpenBoat, old: Any, table: TankTable | None, shape: Shape, change: TankChange
) -> list[Any]:
    """Where `at` goes for the centre of the room to stand where it should; what does not move keeps its text."""
    datum, units = boat.vessel.datum, boat.vessel.units
    off = vector(_body(boat, table, shape).centre)
    here: Vector = datum.to_house(table.at) if table is not None else (0.0, 0.0, 0.0)
    centre = vector(_body(boat, table, table.shape).centre + np.array(here)) if table is not None else here
    wanted = (
        centre[0] if change.x_m is None else change.x_m,
        centre[1] if change.y_m is None else change.y_m,
        centre[2] if change.z_m is None else change.z_m,
    )
    at = (wanted[0] - off[0], wanted[1] - off[1], wanted[2] - off[2])
    texts = [written(value, "length", units) for value in datum.to_builder(at)]
    if table is None or not isinstance(old, list):
        return texts
    return [old[axis] if abs(at[axis] - here[axis]) < _MOVED_M else texts[axis] for axis in range(3)]


def _shape_text(boat: OpenBoat, old: Any, table: TankTable | None, shape: Shape) -> dict[str, Any]:
    """The shape as the boat file says it; sizes that did not change keep the builder's own text."""
    units = boat.vessel.units
    name = next(key for key in Shape.names if getattr(shape, key) is not None)
    body = getattr(shape, name)
    before = getattr(table.shape, name) if table is not None else None
    told: dict[str, Any] = copy.deepcopy(old[name]) if before is not None and old is not None else {}
    for key in type(body).model_fields:
        value = getattr(body, key)
        if before is not None and getattr(before, key) == value:
            continue
        if key == "axis":
            if value != "x":
                told[key] = value
        elif isinstance(value, float):
            told[key] = written(value, "length", units)
        elif before is not None:
            told[key] = _list_text(told[key], getattr(before, key), value, units)
    return {name: told}


def _list_text(old: Any, before: Any, value: Any, units: Any) -> list[Any]:
    """A list of sizes, or of points, with the texts of those that did not change kept."""
    told: list[Any] = []
    for text, was, now in zip(old, before, value, strict=True):
        if was == now:
            told.append(text)
        elif isinstance(now, tuple):
            told.append(_list_text(text, was, now, units))
        else:
            told.append(written(now, "length", units))
    return told


def _new_row(
    content: Mapping[str, Any],
    like: Mapping[str, Any],
    keys: Mapping[str, Any],
    change: TankChange,
    new: list[dict[str, Any]],
) -> dict[str, Any]:
    """A further tank: like the one it is copied from, or a piston tank of its own."""
    taken = names(content, "tank") | {str(row["name"]) for row in new}
    values: dict[str, Any] = {
        "name": free_name(str(like.get("name", "main")), taken),
        "system": like.get("system", "piston"),
        **keys,
    }
    if change.inside:
        values["inside"] = change.inside
    for key in ("turn", "water_end", "walls"):
        if key in like:
            values[key] = copy.deepcopy(like[key])
    return values
