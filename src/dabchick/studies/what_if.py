"""A vessel with parts and tanks shifted or of another mass: what a builder tries before anything is written down."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.known import mass_spread
from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics import shapes

STAYS: Vector = (0.0, 0.0, 0.0)
WALLS = ".walls"
"""Ends the key of a tank's own material, which stands in the tank's row and goes where the tank goes."""
HULL = "hull."


@dataclass(frozen=True)
class PartChange:
    """What is tried with one row of the boat file."""

    key: str
    """Such as `part[3]` or `tank[1]`; the mass of a tank is that of its walls, whose own key does as well."""
    shift_m: Vector = STAYS
    """In the house frame."""
    mass_kg: float | None = None
    """None: as it is."""


def with_contents(vessel: Vessel, key: str) -> tuple[str, ...]:
    """The keys that go along when `key` is dragged, itself first.

    A dry part takes along what is in it, tanks too; everything else goes alone.
    """
    names = {item.key: item.name for item in vessel.items if item.kind == "dry"}
    taken = [key]
    for mover in taken:
        name = names.get(mover)
        if name is None:
            continue
        held = [item.key for item in vessel.items if item.inside == name]
        held += [tank.key for tank in vessel.tanks if tank.inside == name]
        taken += [entry for entry in held if entry not in taken and not entry.endswith(WALLS)]
    return tuple(taken)


def with_changes(vessel: Vessel, changes: Iterable[PartChange]) -> Vessel:
    """The vessel with exactly these changes; what is not named stays, contents too (see `with_contents`).

    A shift moves centre, body and room by as much. A mass of a part keeps the rule for the spread of its kind of
    knowledge, unless the builder gave a spread of another size: then that one stays. Raises BoatError for what
    cannot be changed, all at once.
    """
    wanted = {change.key: change for change in changes}
    faults = _faults(vessel, wanted)
    if faults:
        raise BoatError(*faults)
    return replace(
        vessel,
        items=tuple(_item_after(item, wanted) for item in vessel.items),
        tanks=tuple(
            _tank_after(tank, wanted[tank.key].shift_m) if tank.key in wanted else tank
            for tank in vessel.tanks
        ),
    )


def _item_after(item: Item, wanted: dict[str, PartChange]) -> Item:
    row = item.key.removesuffix(WALLS)
    own, of_row = wanted.get(item.key), wanted.get(row)
    if of_row is not None and any(of_row.shift_m):
        item = _item_moved(item, of_row.shift_m)
    for change in (of_row, own):
        if change is not None and change.mass_kg is not None:
            item = _item_weighing(item, change.mass_kg)
    return item


def _item_moved(item: Item, shift: Vector) -> Item:
    return replace(
        item,
        centre_m=_sum(item.centre_m, shift),
        volume_centre_m=_sum(item.volume_centre_m, shift),
        solid=item.solid.moved(shift) if item.solid is not None else None,
        envelope=item.envelope.moved(shift) if item.envelope is not None else None,
    )


def _item_weighing(item: Item, mass_kg: float) -> Item:
    by_rule = item.mass_spread_kg == mass_spread(item.mass_kg, item.known)
    times = mass_kg / item.mass_kg if item.mass_kg > 0.0 else 1.0
    weighed = replace(
        item,
        mass_kg=mass_kg,
        mass_spread_kg=mass_spread(mass_kg, item.known) if by_rule else item.mass_spread_kg,
        inertia_kg_m2=item.inertia_kg_m2 * times,
    )
    return _item_displacing(item, weighed, times) if item.volume_by_mass and times > 0.0 else weighed


def _item_displacing(item: Item, weighed: Item, times: float) -> Item:
    """As large as its mass makes it: a cube at its place, its spread that of its density and of the new mass."""
    by_mass = item.mass_spread_kg / item.mass_kg
    by_density = math.sqrt(max(0.0, (item.volume_spread_m3 / item.volume_m3) ** 2 - by_mass**2))
    volume = times * item.volume_m3
    side = volume ** (1.0 / 3.0)
    return replace(
        weighed,
        solid=shapes.box(side, side, side).moved(item.volume_centre_m),
        volume_m3=volume,
        volume_spread_m3=volume * math.hypot(by_density, weighed.mass_spread_kg / weighed.mass_kg),
        inertia_kg_m2=weighed.inertia_kg_m2 * times ** (2.0 / 3.0),
    )


def _tank_after(tank: Tank, shift: Vector) -> Tank:
    if not any(shift):
        return tank
    return replace(tank, solid=tank.solid.moved(shift), centre_m=_sum(tank.centre_m, shift))


def _sum(point: Vector, shift: Vector) -> Vector:
    x, y, z = point
    return (x + shift[0], y + shift[1], z + shift[2])


def _faults(vessel: Vessel, wanted: dict[str, PartChange]) -> list[Advice]:
    items = {item.key for item in vessel.items}
    tanks = {tank.key for tank in vessel.tanks}
    faults = []
    for key, change in wanted.items():
        if not np.isfinite(change.shift_m).all():
            faults.append(
                Advice(
                    what=f"The shift of {key} is not three finite numbers.",
                    todo="Give a shift in metres.",
                    key=key,
                    given=str(change.shift_m),
                )
            )
        if change.mass_kg is not None and not (np.isfinite(change.mass_kg) and change.mass_kg >= 0.0):
            faults.append(
                Advice(
                    what=f"The mass of {key} cannot be {change.mass_kg:g} kg.",
                    todo="Give a mass of 0 or more.",
                    key=key,
                    given=f"{change.mass_kg:g} kg",
                    allowed="0 or more",
                )
            )
        if key not in items and key not in tanks:
            faults.append(
                Advice(
                    what=f"The boat has nothing at {key} that can be moved or weighed.",
                    todo="Load the boat again; a part without a mass is left out of every sum.",
                    key=key,
                )
            )
        elif (key.startswith(HULL) or key.endswith(WALLS)) and any(change.shift_m):
            stays = "The hull's skin" if key.startswith(HULL) else "A tank's walls"
            faults.append(
                Advice(
                    what=f"{stays} cannot be moved on {'its' if key.startswith(HULL) else 'their'} own.",
                    todo="Move the parts in her, or the tank itself.",
                    key=key,
                )
            )
        elif key in tanks and change.mass_kg is not None and f"{key}{WALLS}" not in items:
            faults.append(
                Advice(
                    what=f"{key} has no walls that weigh anything.",
                    todo="Give the tank walls with a mass first.",
                    key=f"{key}{WALLS}",
                )
            )
    return faults
