"""From chosen amounts to pieces, moves, and the vessel with both in place."""

from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Place, Vector, Vessel, Wishes
from dabchick.studies.trim_blocks import as_item, foam_block, lead_block
from dabchick.studies.trim_coins import fewest_pieces
from dabchick.studies.trim_model import LEAST_MOVE_M, Column, TrimModel, movable
from dabchick.studies.trim_result import Move, Piece

Array = NDArray[np.float64]


def pieces_of(
    vessel: Vessel, places: tuple[Place, ...], trim_model: TrimModel, amounts: Array
) -> tuple[Piece, ...]:
    """One piece per place and material that got anything worth cutting."""
    wishes = vessel.wishes
    pieces = []
    for index, place in enumerate(places):
        for material in ("lead", "foam"):
            chosen = [
                (column, amount)
                for column, amount in zip(trim_model.columns, amounts, strict=True)
                if column.kind == material
                and column.place == index
                and amount >= 0.5 * max(column.least, 1e-6)
            ]
            mass = sum(column.mass_per_unit * amount for column, amount in chosen)
            volume = sum(column.volume_per_unit * amount for column, amount in chosen)
            if not chosen:
                continue
            block = lead_block(place, volume) if material == "lead" else foam_block(place, volume, wishes)
            pieces.append(
                Piece(
                    material="lead" if material == "lead" else "foam",
                    place=place.name,
                    mass_kg=float(mass),
                    volume_m3=float(volume),
                    size_m=block.size_m,
                    centre_m=block.centre_m,
                    counts=_counts(wishes.lead_pieces_kg, chosen),
                )
            )
    return tuple(pieces)


def piece_of(item: Item, wishes: Wishes) -> Piece:
    """The piece that an item put in by an earlier trim stands for."""
    material: Literal["lead", "foam"] = "lead" if item.kind == "lead" else "foam"
    low, high = item.envelope.bounds() if item.envelope is not None else (np.array(item.centre_m),) * 2
    length, width, height = (float(edge) for edge in high - low)
    counts: dict[str, int] = {}
    if material == "lead" and wishes.lead_pieces_kg:
        try:
            counts = fewest_pieces(wishes.lead_pieces_kg, item.mass_kg)
        except ValueError:
            counts = {}  # the builder cut it to another mass by hand
    return Piece(
        material=material,
        place=item.name.removeprefix(f"{material} "),
        mass_kg=item.mass_kg,
        volume_m3=item.volume_m3,
        size_m=(length, width, height),
        centre_m=item.centre_m,
        counts=counts,
    )


def _counts(pieces_kg: tuple[float, ...], chosen: list[tuple[Column, float]]) -> dict[str, int]:
    counts = [(column.piece_kg, round(amount)) for column, amount in chosen if column.whole]
    if len(counts) == 1:
        step, steps = counts[0]
        return fewest_pieces(pieces_kg, step * steps)
    return {f"{piece * 1000:g} g": count for piece, count in counts if count}


def moves_of(vessel: Vessel, trim_model: TrimModel, amounts: Array) -> tuple[Move, ...]:
    """The parts that were shifted."""
    moves = []
    for index, item in enumerate(movable(vessel)):
        shift = sum(
            column.shift_per_unit * amount
            for column, amount in zip(trim_model.columns, amounts, strict=True)
            if column.kind == "move" and column.place == index
        )
        if item.rail is not None and abs(shift) > 0.5 * LEAST_MOVE_M:
            moves.append(
                Move(item.name, item.centre_m, _along(item.centre_m, item.rail.direction, float(shift)))
            )
    return tuple(moves)


def _along(point: Vector, direction: Vector, shift: float) -> Vector:
    x, y, z = np.add(point, shift * np.array(direction))
    return float(x), float(y), float(z)


def with_trim(vessel: Vessel, pieces: tuple[Piece, ...], moves: tuple[Move, ...]) -> Vessel:
    """The bare vessel with the moves made and the pieces in place."""
    to = {move.part: move for move in moves}
    items = [_moved(item, to[item.name]) if item.name in to else item for item in vessel.items]
    wishes = vessel.wishes
    densities = {"lead": wishes.lead_density_kg_m3, "foam": wishes.foam_density_kg_m3}
    items += [as_item(piece, densities[piece.material]) for piece in pieces]
    return replace(vessel, items=tuple(items))


def _moved(item: Item, move: Move) -> Item:
    shift = np.subtract(move.to_m, move.from_m)
    return replace(
        item,
        centre_m=move.to_m,
        volume_centre_m=_along(
            item.volume_centre_m, (float(shift[0]), float(shift[1]), float(shift[2])), 1.0
        ),
        solid=item.solid.moved(shift) if item.solid is not None else None,
        envelope=item.envelope.moved(shift) if item.envelope is not None else None,
    )
