"""All that could be changed in her, each with what one unit of it does to both trims, to GM and to BG."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Place, Vector, Vessel
from dabchick.physics.solid import Solid
from dabchick.studies.hold import GmSlopes
from dabchick.studies.loading import load
from dabchick.studies.places import find_places
from dabchick.studies.trim_apply import piece_of, with_trim
from dabchick.studies.trim_blocks import (
    Block,
    as_item,
    foam_block,
    foam_room_m3,
    lead_block,
    lead_room_m3,
)
from dabchick.studies.trim_coins import fewest_pieces
from dabchick.studies.trim_model import (
    LEAST_MOVE_M,
    Column,
    TrimModel,
    bare,
    model,
    movable,
    rows_of,
)
from dabchick.studies.trim_result import Move, Piece

Array = NDArray[np.float64]
Kind = Literal["move", "shift", "lead", "foam"]


@dataclass(frozen=True, eq=False)
class Body:
    """Mass and displacement that come with one unit of an option (less than zero: that go)."""

    mass_kg: float
    centre_m: Vector
    solid: Solid | None
    """What displaces."""
    share: float
    """Of the solid."""


@dataclass(frozen=True, eq=False)
class Option:
    """One thing that can be done, in units of the bench: whole moves, mm, g or pieces, ml."""

    kind: Kind
    part: str
    """Item moved or shifted."""
    place: int
    """Index of the place; -1 for a shift."""
    high: float
    least: float
    whole: bool
    piece_kg: float
    mass_per_unit: float
    """Of what is added."""
    volume_per_unit: float
    shift_per_unit: float
    touched_kg: float
    """Mass of the thing that is moved; 0 for what is added."""
    rows: Array
    """(7,) of the trim model, per unit."""
    bodies: tuple[Body, ...]


@dataclass(frozen=True, eq=False)
class Options:
    """All options of one vessel, and the linear rows of her trims as she stands."""

    vessel: Vessel
    places: tuple[Place, ...]
    options: tuple[Option, ...]
    linear: TrimModel

    @property
    def matrix(self) -> Array:
        """(7, n)."""
        return np.array([option.rows for option in self.options]).reshape(-1, 7).T


def free_places(vessel: Vessel) -> tuple[Place, ...]:
    """The builder's places with nothing in them, and those found in the room that is left."""
    taken = [item for item in vessel.items if item.kind in ("lead", "foam")]
    own = [
        place
        for place in vessel.wishes.places
        if not any(
            np.all(np.array(item.centre_m) >= place.low_m) and np.all(np.array(item.centre_m) <= place.high_m)
            for item in taken
        )
    ]
    return (*own, *(find_places(vessel) if vessel.wishes.find_places else ()))


def options_of(vessel: Vessel, places: tuple[Place, ...], taken: Mapping[tuple[str, int], float]) -> Options:
    """Everything that can be done; `taken` [m3] says how large each new block is thought, by (material, place)."""
    wishes = vessel.wishes
    linear = model(vessel, places, vessel.waterline_m, taken, sheet=not wishes.lead_pieces_kg)
    found = [_as_option(vessel, places, column, taken) for column in linear.columns]
    for item in vessel.items:
        if item.kind in ("lead", "foam") and item.mass_kg > 0.0:
            found += _moves(vessel, places, item, linear)
    return Options(vessel, places, tuple(found), linear)


def _as_option(
    vessel: Vessel, places: tuple[Place, ...], column: Column, taken: Mapping[tuple[str, int], float]
) -> Option:
    wishes = vessel.wishes
    part, touched = "", 0.0
    if column.kind == "move":
        item = movable(vessel)[column.place]
        part, touched = item.name, item.mass_kg
        direction = np.array(item.rail.direction if item.rail else (0.0, 0.0, 0.0)) * column.shift_per_unit
        bodies = _shifted(item, direction)
    else:
        place, key = places[column.place], (column.kind, column.place)
        if column.kind == "lead":
            room = lead_room_m3(place, wishes)
            block, density = (
                lead_block(place, min(taken.get(key, 0.25 * room), room)),
                wishes.lead_density_kg_m3,
            )
        else:
            room = foam_room_m3(place, wishes)
            block = foam_block(place, max(min(taken.get(key, 0.5 * room), room), 1e-9), wishes)
            density = wishes.foam_density_kg_m3
        solid = _solid_of(block, density)
        share = column.volume_per_unit / (block.size_m[0] * block.size_m[1] * block.size_m[2])
        bodies = (Body(column.mass_per_unit, block.centre_m, solid, share),)
    return Option(
        kind="shift" if column.kind == "move" else column.kind,
        part=part,
        place=-1 if column.kind == "move" else column.place,
        high=column.high,
        least=column.least,
        whole=column.whole,
        piece_kg=column.piece_kg,
        mass_per_unit=column.mass_per_unit,
        volume_per_unit=column.volume_per_unit,
        shift_per_unit=column.shift_per_unit,
        touched_kg=touched,
        rows=np.array(column.coefficients),
        bodies=bodies,
    )


def _shifted(item: Item, shift: Array) -> tuple[Body, ...]:
    """One unit of a shift: gone from here, come there."""
    x, y, z = (float(value) for value in np.add(item.centre_m, shift))
    there = item.solid.moved(shift) if item.solid is not None else None
    return (
        Body(-item.mass_kg, item.centre_m, item.solid, -1.0),
        Body(item.mass_kg, (x, y, z), there, 1.0),
    )


def _solid_of(block: Block, density: float) -> Solid | None:
    volume = float(np.prod(block.size_m))
    piece = Piece("lead", "", volume * density, volume, block.size_m, block.centre_m, {})
    return as_item(piece, density).solid


def _moves(vessel: Vessel, places: tuple[Place, ...], item: Item, linear: TrimModel) -> list[Option]:
    """A piece of lead or foam as it is, put into each place that holds it."""
    without = replace(vessel, items=tuple(entry for entry in vessel.items if entry is not item))
    if not any(entry.mass_kg > 0.0 for entry in without.items):
        return []
    gone = rows_of(without, load(without, 0.0), load(without, 1.0), vessel.waterline_m) - linear.base
    found = []
    for index, place in enumerate(places):
        there = relocated(vessel, item, place)
        if there is None:
            continue
        come = _row_of(vessel, there)
        found.append(
            Option(
                kind="move",
                part=item.name,
                place=index,
                high=1.0,
                least=0.0,
                whole=True,
                piece_kg=0.0,
                mass_per_unit=0.0,
                volume_per_unit=0.0,
                shift_per_unit=0.0,
                touched_kg=item.mass_kg,
                rows=gone + come,
                bodies=(
                    Body(-item.mass_kg, item.centre_m, item.solid, -1.0),
                    Body(there.mass_kg, there.centre_m, there.solid, 1.0),
                ),
            )
        )
    return found


def _row_of(vessel: Vessel, item: Item) -> Array:
    """The seven rows of a box of one material, level at the wished waterline."""
    rho, lift = vessel.water_density_kg_m3, vessel.wishes.lift_dived_kg
    kept = 1.0 - lift / (rho * load(vessel, 1.0).balance.buoyant_volume)
    low, high = item.solid.bounds() if item.solid is not None else (np.array(item.centre_m),) * 2
    share = float(np.clip((vessel.waterline_m - low[2]) / max(high[2] - low[2], 1e-9), 0.0, 1.0))
    wet = rho * item.volume_m3 * share
    mass, centre, displaced = item.mass_kg, item.centre_m, item.volume_centre_m
    dived = kept * rho * item.volume_m3
    return np.array(
        [
            mass - wet,
            mass * centre[0] - wet * displaced[0],
            mass * centre[1] - wet * displaced[1],
            mass - rho * item.volume_m3,
            mass * centre[0] - dived * displaced[0],
            mass * centre[1] - dived * displaced[1],
            dived * displaced[2] - mass * centre[2] - vessel.wishes.least_bg_m * mass,
        ]
    )


def relocated(vessel: Vessel, item: Item, place: Place) -> Item | None:
    """A piece in a place: a trim's piece laid anew as a block, another one as it is; None where it does not fit."""
    lead = item.kind == "lead"
    if place.holds not in (item.kind, "both"):
        return None
    wishes = vessel.wishes
    room = lead_room_m3(place, wishes) if lead else foam_room_m3(place, wishes)
    if item.volume_m3 > room * (1.0 + 1e-9):
        return None
    if item.from_trim:
        return as_item(
            moved_piece(vessel, item, place), wishes.lead_density_kg_m3 if lead else wishes.foam_density_kg_m3
        )
    if item.envelope is None:
        return None
    low, high = item.envelope.bounds()
    if np.any(high - low > np.subtract(place.high_m, place.low_m) + 1e-9):
        return None
    middle = 0.5 * np.add(place.low_m, place.high_m)
    shift = middle - 0.5 * (low + high)
    shift[2] = place.low_m[2] - low[2] if lead else place.high_m[2] - high[2]
    x, y, z = (float(value) for value in np.add(item.centre_m, shift))
    vx, vy, vz = (float(value) for value in np.add(item.volume_centre_m, shift))
    return replace(
        item,
        centre_m=(x, y, z),
        volume_centre_m=(vx, vy, vz),
        solid=item.solid.moved(shift) if item.solid is not None else None,
        envelope=item.envelope.moved(shift),
    )


def moved_piece(vessel: Vessel, item: Item, place: Place) -> Piece:
    """A trim's piece as it lies in another place."""
    piece = piece_of(item, vessel.wishes)
    volume = item.mass_kg / (
        vessel.wishes.lead_density_kg_m3 if item.kind == "lead" else vessel.wishes.foam_density_kg_m3
    )
    block = lead_block(place, volume) if item.kind == "lead" else foam_block(place, volume, vessel.wishes)
    return replace(piece, place=place.name, volume_m3=volume, size_m=block.size_m, centre_m=block.centre_m)


def gm_effects(slopes: GmSlopes, options: Sequence[Option]) -> Array:
    """(2, n) change of GM transverse and longitudinal [m] for one unit of each option."""
    seen: dict[int, Array] = {}
    out = np.zeros((2, len(options)))
    for index, option in enumerate(options):
        for body in option.bodies:
            out[:, index] += body.mass_kg * slopes.of_mass(np.array(body.centre_m))
            if body.solid is not None:
                key = id(body.solid)
                if key not in seen:
                    seen[key] = slopes.of_solid(body.solid)
                out[:, index] += body.share * seen[key]
    return out


def bg_effects(vessel: Vessel, options: Sequence[Option]) -> Array:
    """(n,) change of BG dived [m] for one unit of each option, to first order."""
    full = load(vessel, 1.0)
    balance = full.balance
    mass = full.mass_kg
    rest = [tank for tank in vessel.tanks if tank.system != "piston"]
    moment = balance.moment[2] + balance.density * sum(tank.capacity_m3 * tank.centre_m[2] for tank in rest)
    height = moment / mass
    out = np.zeros(len(options))
    for index, option in enumerate(options):
        for body in option.bodies:
            out[index] -= body.mass_kg * (body.centre_m[2] - height) / mass
            if body.solid is not None:
                arm = body.solid.centre[2] - balance.buoyant_centre[2]
                out[index] += body.share * body.solid.volume * arm / balance.buoyant_volume
    return out


def changed(given: Options, amounts: Array) -> tuple[Vessel, tuple[Piece, ...], tuple[Move, ...]]:
    """The vessel with these amounts done, all her lead and foam of the trim, and all other parts that moved."""
    vessel, places = given.vessel, given.places
    wishes = vessel.wishes
    to_place: dict[str, int] = {}
    shifts: dict[str, float] = {}
    volumes: dict[tuple[str, int], float] = {}
    masses: dict[tuple[str, int], float] = {}
    for option, amount in zip(given.options, amounts, strict=True):
        if option.kind == "move" and amount > 0.5:
            to_place[option.part] = option.place
        elif option.kind == "shift" and amount > 0.0:
            shifts[option.part] = shifts.get(option.part, 0.0) + option.shift_per_unit * float(amount)
        elif option.kind in ("lead", "foam") and amount >= 0.5 * max(option.least, 1e-6):
            key = (option.kind, option.place)
            volumes[key] = volumes.get(key, 0.0) + option.volume_per_unit * float(amount)
            masses[key] = masses.get(key, 0.0) + option.mass_per_unit * float(amount)
    pieces: list[Piece] = []
    moves: list[Move] = []
    for item in vessel.items:
        target = to_place.get(item.name)
        if item.from_trim:
            pieces.append(
                piece_of(item, wishes) if target is None else moved_piece(vessel, item, places[target])
            )
        elif target is not None:
            there = relocated(vessel, item, places[target])
            if there is not None:
                moves.append(Move(item.name, item.centre_m, there.centre_m))
        elif item.rail is not None and abs(shifts.get(item.name, 0.0)) > 0.5 * LEAST_MOVE_M:
            x, y, z = np.add(item.centre_m, shifts[item.name] * np.array(item.rail.direction))
            moves.append(Move(item.name, item.centre_m, (float(x), float(y), float(z))))
    for (material, index), volume in volumes.items():
        place, mass = places[index], masses[(material, index)]
        lead = material == "lead"
        block = lead_block(place, volume) if lead else foam_block(place, volume, wishes)
        pieces.append(
            Piece(
                material="lead" if lead else "foam",
                place=place.name,
                mass_kg=mass,
                volume_m3=volume,
                size_m=block.size_m,
                centre_m=block.centre_m,
                counts=fewest_pieces(wishes.lead_pieces_kg, mass) if lead and wishes.lead_pieces_kg else {},
            )
        )
    return with_trim(bare(vessel), tuple(pieces), tuple(moves)), tuple(pieces), tuple(moves)
