"""Pieces put end to end along x by their joint faces: the flat faces at their aft and fore ends."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.storage.piece_file import ReadPiece

Array = NDArray[np.float64]

_FACING: Final = 0.999
_AT_END_M: Final = 2e-5
_ALIKE: Final = 0.02
"""Part of its width by which a joint face may differ from the one that it lies on."""


@dataclass(frozen=True, eq=False)
class Stacked:
    """The pieces in their new places."""

    pieces: list[ReadPiece]
    moved: Array
    """(k, 3) [m]"""
    assumptions: list[str]
    advice: list[Advice]


@dataclass(frozen=True, eq=False)
class _Face:
    """A joint face: its box in y and z, and its middle."""

    low: Array
    high: Array
    middle: Array
    flat: bool

    @property
    def sides(self) -> Array:
        sides: Array = self.high - self.low
        return sides


def stacked(pieces: Sequence[ReadPiece]) -> Stacked:
    """Each piece shifted so that its aft end lies on the fore end of the one before, middle on middle.

    The order given is kept, the aftermost first. Where an end is not flat it is not shifted across. Joint faces of
    different sizes are named: then the order is wrong, or a piece lies end for end.
    """
    moved = np.zeros((len(pieces), 3))
    found: list[Advice] = []
    placed = [pieces[0]]
    for number, piece in enumerate(pieces[1:], 1):
        before = placed[-1]
        fore, aft = _joint_face(before, forward=True), _joint_face(piece, forward=False)
        move = np.array([before.high[0] - piece.low[0], 0.0, 0.0])
        if fore.flat and aft.flat:
            move[1:] = fore.middle - aft.middle
            wide = np.maximum(fore.sides, aft.sides)
            if (np.abs(fore.sides - aft.sides) > _ALIKE * wide).any():
                found.append(
                    Advice(
                        what=f"The joint faces of {before.name} and {piece.name} are not alike: "
                        f"{_size(fore)} against {_size(aft)} mm, breadth by height.",
                        todo="Give the pieces in their order from stern to bow, and turn the one that lies end for "
                        "end.",
                        where=f"x = {before.high[0] * 1000.0:.2f} mm",
                        key="pieces",
                        severity="warning",
                    )
                )
        placed.append(piece.moved(move))
        moved[number] = move
    shifts = [
        f"{piece.name} by ({', '.join(f'{value * 1000.0:+.2f}' for value in move)}) mm"
        for piece, move in zip(pieces, moves_of(moved), strict=True)
        if move.any()
    ]
    said = ["stacked along x in the order given, the aftermost first"]
    said += [f"moved to stack them: {'; '.join(shifts)}"] if shifts else []
    return Stacked(placed, moved, said, found)


def moves_of(moved: Array) -> list[Array]:
    """Rows of a table of moves, rounded to the nanometre so that none is shown as a move of nothing."""
    return [np.where(np.abs(row) < 1e-9, 0.0, row) for row in moved]


def _joint_face(piece: ReadPiece, *, forward: bool) -> _Face:
    corners = piece.vertices[piece.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    end = piece.high[0] if forward else piece.low[0]
    facing = normal[:, 0] * (1.0 if forward else -1.0) >= _FACING * size
    at_end = np.abs(corners[:, :, 0] - end).max(axis=1) <= _AT_END_M
    mine = facing & at_end & (size > 0.0)
    if not mine.any():
        near = piece.vertices[np.abs(piece.vertices[:, 0] - end) <= _AT_END_M][:, 1:]
        return _Face(near.min(axis=0), near.max(axis=0), near.mean(axis=0), flat=False)
    points = corners[mine][:, :, 1:]
    low, high = points.min(axis=(0, 1)), points.max(axis=(0, 1))
    return _Face(low, high, 0.5 * (low + high), flat=True)


def _size(face: _Face) -> str:
    return " x ".join(f"{side * 1000.0:.1f}" for side in face.sides)
