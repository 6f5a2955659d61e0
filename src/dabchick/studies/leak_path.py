"""A boat with water in her dry parts, followed as the water rises: how she rests, and when something happens."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.placed_hull import vector
from dabchick.model.vessel import Tank, Vessel
from dabchick.physics.balance import Balance
from dabchick.physics.cut import forest
from dabchick.physics.equilibrium import (
    UPRIGHT,
    Equilibrium,
    NotSettledError,
    SinksError,
    find,
    heel_and_trim_deg,
    up_vector,
)
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from dabchick.studies.leak_result import EventKind, StateKind
from dabchick.studies.loading import ROUND_SIDES, Loading, highest_point, load, under_offset_m

Array = NDArray[np.float64]

TIPS_DEG: Final = 10.0
STEEP_DEG: Final = 45.0
NUDGE_DEG: Final = 0.5
"""Where she balances on a knife edge, so much of a touch shows which way she goes."""
HALVINGS: Final = 16
LEVEL_M: Final = 5e-4
"""Points no lower than this under the highest count as its top."""
NO_LIFT: Final = 1e-6
"""Of her mass: less lift than this holds nothing out of the water."""
WATER: Final = "water in "

FOLLOWED: Final[tuple[EventKind, ...]] = ("tips", "heels", "on end", "over", "deck", "top")
GRAVITY_OF: Final[tuple[EventKind, ...]] = ("heels", "tips", "deck", "top", "on end", "over", "sinks")
"""From the least grave to the gravest."""


@dataclass(frozen=True)
class Happening:
    """Something that begins at so much water."""

    kind: EventKind
    water_m3: float
    trim_deg: float
    heel_deg: float


@dataclass(frozen=True, eq=False)
class Flooded:
    """A vessel with rooms that may take water, shared out among them in proportion to their size."""

    wet: Vessel
    """With each room as one more tank that finds its own level."""
    rooms: tuple[Solid, ...]
    names: tuple[str, ...]

    @property
    def room_m3(self) -> float:
        return sum(room.volume for room in self.rooms)

    def loading(self, water_m3: float, fills: dict[str, float]) -> Loading:
        """The vessel with so much water in her, within what the rooms hold."""
        share = min(max(water_m3 / self.room_m3, 0.0), 1.0)
        return load(self.wet, {**fills, **dict.fromkeys(self.names, share)})

    def free_surface_m(self, normal: Array, water_m3: float, mass_kg: float) -> float:
        """GM lost to the surfaces of this water as she lies: rho i / M about the boat's own long axis."""
        if water_m3 <= 0.0:
            return 0.0
        flat = float(np.hypot(normal[1], normal[2]))
        roll = np.array([0.0, normal[2], -normal[1]]) / flat if flat > 1e-12 else np.array([0.0, 1.0, 0.0])
        lost = 0.0
        for room in self.rooms:
            trees, _ = forest([room])
            up = normal / np.linalg.norm(normal)
            _, found = level(trees, up, water_m3 * room.volume / self.room_m3)
            if found.waterplane_area > 0.0:
                first = float(found.waterplane_moment @ roll)
                lost += float(roll @ found.waterplane_second @ roll) - first * first / found.waterplane_area
        return self.wet.water_density_kg_m3 * lost / mass_kg


def flooded(vessel: Vessel, rooms: Sequence[Solid], names: Sequence[str]) -> Flooded:
    """The vessel with these rooms open to water; `names` tell them apart."""
    taken = {tank.name for tank in vessel.tanks}
    labels = []
    for name in names:
        label = f"{WATER}{name}"
        while label in taken:
            label += "'"
        taken.add(label)
        labels.append(label)
    more = tuple(
        Tank(
            name=label,
            system="vented pump",
            solid=room,
            capacity_m3=room.volume,
            centre_m=vector(room.centre),
            inside=name,
            piston_direction=(0.0, 0.0, 0.0),
        )
        for label, name, room in zip(labels, names, rooms, strict=True)
    )
    return Flooded(replace(vessel, tanks=(*vessel.tanks, *more)), tuple(rooms), tuple(labels))


def lift_kg(loading: Loading) -> float:
    """What she could still carry when wholly under with this loading."""
    return loading.balance.density * loading.balance.buoyant_volume - loading.mass_kg


def settle(balance: Balance, start: Array, depth_m: float, *, hanging: bool) -> Equilibrium | None:
    """Where she comes to rest from an attitude, nudged off a knife edge; None where she sinks."""
    try:
        rest = _found(balance, start, depth_m, hanging)
        if rest.falling_ways > 0:
            heel, trim = heel_and_trim_deg(rest.normal)
            rest = _found(balance, up_vector(heel + NUDGE_DEG, trim + NUDGE_DEG), depth_m, hanging)
    except SinksError:
        return None
    return rest


def _found(balance: Balance, start: Array, depth_m: float, hanging: bool) -> Equilibrium:
    try:
        return find(balance, start, hanging=hanging, depth_m=depth_m)
    except NotSettledError:
        heel, trim = heel_and_trim_deg(start)
        return find(balance, up_vector(heel + NUDGE_DEG, trim + NUDGE_DEG), hanging=hanging, depth_m=depth_m)


class Watch:
    """Tells what of all that is followed has happened in a rest."""

    def __init__(self, vessel: Vessel, dry: Equilibrium) -> None:
        self.dry = dry
        self.deck = _top_of([vessel.hull])
        self.top = _top_of([vessel.hull, *(item.solid for item in vessel.items if item.solid is not None)])

    def happened(self, rest: Equilibrium) -> set[EventKind]:
        """Kinds that hold in this rest."""
        found: set[EventKind] = set()
        steep = abs(rest.trim_deg) >= STEEP_DEG
        if steep and abs(self.dry.trim_deg) < STEEP_DEG:
            found.add("on end")
        if abs(rest.trim_deg - self.dry.trim_deg) >= TIPS_DEG:
            found.add("tips")
        if not steep:
            apart = (rest.heel_deg - self.dry.heel_deg + 180.0) % 360.0 - 180.0
            if abs(apart) >= TIPS_DEG:
                found.add("heels")
            if rest.normal[2] < 0.0 < self.dry.normal[2]:
                found.add("over")
        if not rest.hanging:
            if float(np.max(self.deck @ rest.normal)) < rest.offset_m:
                found.add("deck")
            if float(np.max(self.top @ rest.normal)) < rest.offset_m:
                found.add("top")
        return found


def _top_of(solids: Sequence[Solid]) -> Array:
    """The points (k, 3) that stand highest upright, all of a level top alike."""
    heights = [float(highest_point(solid, UPRIGHT)[2]) for solid in solids]
    top = max(heights)
    points = [
        vertices[vertices[:, 2] >= top - LEVEL_M]
        for solid, height in zip(solids, heights, strict=True)
        if height >= top - LEVEL_M
        for vertices, _, _ in solid.meshes(ROUND_SIDES)
    ]
    return np.concatenate(points)


def follow(
    boat: Flooded,
    fills: dict[str, float],
    waters_m3: Sequence[float],
    state: StateKind,
    seen: Callable[[float, Equilibrium | None], None] | None = None,
) -> list[Happening]:
    """Let the water rise through `waters_m3` (rising from 0), each rest begun from the one before; what happens when.

    Each happening is found between two waters by halving. `seen` is told every rest, None where she sinks.
    """
    hanging = state == "dived"

    def rest_at(water: float, start: Array) -> Equilibrium | None:
        loading = boat.loading(water, fills)
        if not hanging and lift_kg(loading) <= NO_LIFT * loading.mass_kg:
            return None
        return settle(loading.balance, start, under_offset_m(loading), hanging=hanging)

    before: Equilibrium | None = None
    watch: Watch | None = None
    known: set[EventKind] = set()
    events: list[Happening] = []
    at = 0.0
    for water in waters_m3:
        start = UPRIGHT if before is None else before.normal
        rest = rest_at(water, start)
        if seen is not None:
            seen(water, rest)
        if rest is None:
            break
        if watch is None:
            watch = Watch(boat.wet, rest)
            known = watch.happened(rest)
            events += [
                Happening(kind, water, rest.trim_deg, rest.heel_deg) for kind in FOLLOWED if kind in known
            ]
        elif before is not None:
            for kind in FOLLOWED:
                if kind in watch.happened(rest) and kind not in known:
                    known.add(kind)
                    events.append(_between(kind, at, before, water, rest, rest_at, watch))
        before, at = rest, water
    return sorted(events, key=lambda event: (event.water_m3, GRAVITY_OF.index(event.kind)))


def _between(
    kind: EventKind,
    low: float,
    before: Equilibrium,
    high: float,
    after: Equilibrium,
    rest_at: Callable[[float, Array], Equilibrium | None],
    watch: Watch,
) -> Happening:
    """Where it begins between two waters, each rest from the last one in which it had not."""
    for _ in range(HALVINGS):
        if high - low <= 1e-4 * max(high, 1e-9):
            break
        middle = 0.5 * (low + high)
        rest = rest_at(middle, before.normal)
        if rest is None or kind in watch.happened(rest):
            high, after = middle, after if rest is None else rest
        else:
            low, before = middle, rest
    return Happening(kind, high, after.trim_deg, after.heel_deg)


def waters_up_to(end_m3: float) -> list[float]:
    """Round steps from 0 up to an end: about 20, and two small ones first, where a free surface does most."""
    if not end_m3 > 0.0:
        return [0.0]
    rough = end_m3 / 20.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = power * next(
        times for times in (1.0, 2.0, 2.5, 5.0, 10.0) if times * power >= rough * (1.0 - 1e-9)
    )
    count = math.ceil(end_m3 / step - 1e-6)
    return [0.0, 0.25 * step, 0.5 * step, *(number * step for number in range(1, count)), end_m3]
