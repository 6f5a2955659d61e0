"""What lowering one thing by a millimetre gives: the heavy parts that stand high first."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Tank, Vessel
from dabchick.studies.cure_result import Lever
from dabchick.studies.hold import Hold, held
from dabchick.studies.what_if import WALLS, PartChange, with_changes, with_contents

Array = NDArray[np.float64]
BY_M = 0.001
MOST = 6
BESIDE_M = 0.001
"""Boxes that share less than this along or across are beside each other."""


@dataclass(frozen=True)
class _Thing:
    name: str
    key: str
    mass_kg: float
    height_m: float


def levers(vessel: Vessel, least: Hold, wanted_m: float, most: int = MOST) -> tuple[Lever, ...]:
    """The things whose lowering gives most, mass times height over the keel first; by full equilibria.

    `least` is the least stable moment, `wanted_m` what GM misses there. Lead and foam are left out: they are moved.
    """
    fills = least.loading.fills
    dived = held(vessel, dict.fromkeys(fills, 1.0), hanging=True)
    found = sorted(_things(vessel, fills), key=lambda thing: -thing.mass_kg * thing.height_m)[:most]
    return tuple(_lever(vessel, thing, least, dived, wanted_m) for thing in found)


def lowered(vessel: Vessel, key: str, by_m: float) -> Vessel:
    """The vessel with one row of the boat file, and all that is in it, so much lower."""
    return with_changes(
        vessel, [PartChange(entry, (0.0, 0.0, -by_m)) for entry in with_contents(vessel, key)]
    )


def key_of(vessel: Vessel, name: str) -> str:
    """The row of a part or tank by its name."""
    entries: tuple[Item | Tank, ...] = (*vessel.items, *vessel.tanks)
    return next(entry.key for entry in entries if entry.name == name and entry.key)


def _things(vessel: Vessel, fills: dict[str, float]) -> list[_Thing]:
    rho = vessel.water_density_kg_m3
    found = []
    for item in vessel.items:
        movable = item.key and not item.key.startswith("hull") and not item.key.endswith(WALLS)
        if not movable or item.kind in ("lead", "foam") or item.mass_kg <= 0.0:
            continue
        keys = set(with_contents(vessel, item.key))
        held_items = [
            entry for entry in vessel.items if entry.key in keys or entry.key.removesuffix(WALLS) in keys
        ]
        mass = sum(entry.mass_kg for entry in held_items)
        mass += sum(
            rho * tank.capacity_m3 * fills.get(tank.name, 0.0) for tank in vessel.tanks if tank.key in keys
        )
        found.append(_Thing(item.name, item.key, mass, item.centre_m[2] - vessel.low_m[2]))
    for tank in vessel.tanks:
        if tank.key:
            walls = sum(item.mass_kg for item in vessel.items if item.key == f"{tank.key}{WALLS}")
            water = rho * tank.capacity_m3 * fills.get(tank.name, 0.0)
            found.append(_Thing(tank.name, tank.key, walls + water, tank.centre_m[2] - vessel.low_m[2]))
    return found


def _lever(vessel: Vessel, thing: _Thing, least: Hold, dived: Hold, wanted_m: float) -> Lever:
    low = lowered(vessel, thing.key, BY_M)
    at_least = held(low, least.loading.fills, least.normal, hanging=least.hanging)
    under = held(low, dived.loading.fills, dived.normal, hanging=True)
    gain = at_least.gm_transverse_m - least.gm_transverse_m
    turn = math.degrees(math.asin(float(under.normal[0])) - math.asin(float(dived.normal[0])))
    contents = with_contents(vessel, thing.key)
    return Lever(
        part=thing.name,
        with_contents=len(contents) > 1,
        mass_kg=thing.mass_kg,
        height_m=thing.height_m + vessel.low_m[2],
        gm_m_per_mm=gain,
        bg_m_per_mm=under.gm_transverse_m - dived.gm_transverse_m,
        trim_dived_deg_per_mm=turn,
        alone_m=max(wanted_m, 0.0) / gain * BY_M if gain > 1e-9 else math.nan,
        clear_m=_clear(vessel, thing.key, set(contents)),
    )


def _box(entry: Item | Tank) -> tuple[Array, Array] | None:
    solid = entry.solid if isinstance(entry, Tank) else entry.envelope
    if solid is None:
        return None
    low, high = solid.bounds()
    return low, high


def _clear(vessel: Vessel, key: str, moving: set[str]) -> float:
    """Down to the next box below, or to the bottom of what holds it, taken as round; NaN for a point."""
    entries: tuple[Item | Tank, ...] = (*vessel.items, *vessel.tanks)
    own = next(entry for entry in entries if entry.key == key)
    box = _box(own)
    if box is None:
        return math.nan
    low, high = box
    holder = next((item for item in vessel.items if item.name == own.inside and own.inside), None)
    around = _box(holder) if holder is not None else (np.array(vessel.low_m), np.array(vessel.high_m))
    clear = math.inf
    if around is not None:
        middle, half = 0.5 * (around[0] + around[1]), 0.5 * (around[1] - around[0])
        wide = max(abs(low[1] - middle[1]), abs(high[1] - middle[1])) / max(half[1], 1e-9)
        floor = middle[2] - half[2] * math.sqrt(max(0.0, 1.0 - min(wide, 1.0) ** 2))
        clear = max(0.0, low[2] - floor)
    for other in entries:
        beneath = _box(other)
        skin = isinstance(other, Item) and other.kind == "skin"
        if beneath is None or skin or other.key in moving or other is own or other is holder:
            continue
        if own.inside != other.inside:
            continue
        shared = np.minimum(high, beneath[1]) - np.maximum(low, beneath[0])
        if shared[0] > BESIDE_M and shared[1] > BESIDE_M and beneath[0][2] < low[2]:
            clear = min(clear, max(0.0, float(low[2] - beneath[1][2])))
    return float(clear)
