"""A trim's answer written into the boat file: lead, foam and moved parts, with every other letter kept."""

from dataclasses import replace
from typing import Protocol

import numpy as np

from dabchick.model.vessel import Vector
from dabchick.storage.edit import NewPart, move_part, set_trim_parts
from dabchick.storage.folder import OpenBoat, save
from dabchick.studies.trim_result import Move, Piece, TrimResult


class Fitted(Protocol):
    """What says all lead and foam of a trim and the other parts that are moved."""

    @property
    def pieces(self) -> tuple[Piece, ...]: ...
    @property
    def moves(self) -> tuple[Move, ...]: ...


def apply_trim(boat: OpenBoat, result: TrimResult) -> bool:
    """Write the pieces and moves of a trim and save; False when the file says all of it already.

    Lead and foam of the trim before are replaced. Raises BoatError, with the old file kept, when it cannot be
    saved.
    """
    boat.text = trim_text(boat, result)
    return save(boat)


def trim_text(boat: OpenBoat, result: Fitted) -> str:
    """The boat's text with the pieces and moves of a trim; the boat itself stays as it is."""
    changed = replace(boat)
    # Moves go first: lead and foam put in before a part would change its row.
    for move in result.moves:
        move_part(changed, move.part, _shift(move))
    set_trim_parts(changed, [_part(piece) for piece in result.pieces])
    return changed.text


def _part(piece: Piece) -> NewPart:
    pieces = " + ".join(f"{count} x {mass}" for mass, count in piece.counts.items())
    return NewPart(
        name=piece.place if piece.material in piece.place else f"{piece.material} {piece.place}",
        kind=piece.material,
        centre_m=piece.centre_m,
        mass_kg=piece.mass_kg,
        # Lead is picked or cut on the scales; foam is cut with the ruler, and its mass follows.
        known="weighed" if piece.material == "lead" else "computed",
        size_m=piece.size_m,
        note=pieces,
    )


def _shift(move: Move) -> Vector:
    x, y, z = (float(step) for step in np.subtract(move.to_m, move.from_m))
    return (x, y, z)
