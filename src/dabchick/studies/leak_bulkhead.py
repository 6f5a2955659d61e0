"""Where a dry part could be divided so that she still comes up with one of its rooms full of water."""

import itertools
import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import UPRIGHT, Equilibrium
from dabchick.studies.leak_path import GRAVITY_OF, STEEP_DEG, flooded, follow, settle
from dabchick.studies.leak_result import Bulkheads, BulkheadSide, EventKind
from dabchick.studies.leak_room import DryRoom
from dabchick.studies.loading import Loading, load, under_offset_m

Array = NDArray[np.float64]

HALVINGS: Final = 24
MOST_NEEDED: Final = 12
STEPS: Final = 10
LEAST_SHARE: Final = 1e-4
"""A bulkhead nearer to an end than this share of the length divides nothing."""


class Divided:
    """One dry part of a vessel with her tanks empty, filled wholly between two stations."""

    def __init__(self, vessel: Vessel, room: DryRoom) -> None:
        self.vessel, self.room = vessel, room
        self.dry: Loading = load(vessel)

    def filled(self, aft_m: float, fore_m: float) -> tuple[float, Equilibrium | None]:
        """Lift left [kg] and rest with that stretch full; None where she sinks. A full room has no free surface."""
        volume, moment = self.room.slab(aft_m, fore_m)
        entry = self.dry.balance
        water = entry.density * volume
        mass = entry.mass + water
        heavy = entry._replace(mass=mass, moment=entry.moment + entry.density * moment)
        lift = entry.density * entry.buoyant_volume - (self.dry.mass_kg + water)
        rest = settle(heavy, UPRIGHT, under_offset_m(self.dry), hanging=False) if lift > 0.0 else None
        return lift, rest

    def survives(self, aft_m: float, fore_m: float) -> bool:
        """She floats with it full: keel down, less steep than 45 deg, not on a knife edge."""
        if fore_m - aft_m <= 0.0:
            return True
        _, rest = self.filled(aft_m, fore_m)
        return (
            rest is not None
            and rest.falling_ways == 0
            and abs(rest.trim_deg) < STEEP_DEG
            and float(rest.normal[2]) > 0.0
        )

    def longest_from(self, start_m: float, end_m: float) -> float:
        """The farthest station towards `end_m` up to which the stretch from `start_m` may fill, by halving."""

        def may(at: float) -> bool:
            return self.survives(min(start_m, at), max(start_m, at))

        if may(end_m):
            return end_m
        good, bad = start_m, end_m
        for _ in range(HALVINGS):
            middle = 0.5 * (good + bad)
            good, bad = (middle, bad) if may(middle) else (good, middle)
        return good


def bulkheads(vessel: Vessel, room: DryRoom) -> Bulkheads:
    """The longest stretch from each end that may fill, and the bulkheads that would save her."""
    divided = Divided(vessel, room)
    aft, fore = room.ends_m
    length = fore - aft
    high = divided.longest_from(aft, fore)
    low = divided.longest_from(fore, aft)
    best = math.nan
    crosses: tuple[str, ...] = ()
    sides: tuple[BulkheadSide, ...] = ()
    one = low <= high and high - aft > LEAST_SHARE * length and fore - low > LEAST_SHARE * length
    if one:
        best, crosses = _clearest(room, low, high)
        sides = _sides(vessel, room, divided, best)
    return Bulkheads(
        longest_aft_m=high - aft,
        longest_fore_m=fore - low,
        low_x_m=low if one else math.nan,
        high_x_m=high if one else math.nan,
        best_x_m=best,
        crosses=crosses,
        sides=sides,
        needed_x_m=() if one else _needed(divided, aft, fore),
    )


def _needed(divided: Divided, aft: float, fore: float) -> tuple[float, ...]:
    """The fewest bulkheads from aft forward, each as far on as it may be; empty where too many would be needed."""
    found: list[float] = []
    here = aft
    while len(found) < MOST_NEEDED:
        reach = divided.longest_from(here, fore)
        if reach >= fore:
            return tuple(found)
        if reach - here <= LEAST_SHARE * (fore - aft):
            return ()
        found.append(reach)
        here = reach
    return ()


def _clearest(room: DryRoom, low: float, high: float) -> tuple[float, tuple[str, ...]]:
    """The middle of the widest stretch in which a bulkhead cuts through the fewest things."""
    cuts = sorted(
        {
            low,
            high,
            *(x for entry in room.contents for x in (entry.low_x_m, entry.high_x_m) if low < x < high),
        }
    )
    stretches = [
        (a, b, tuple(entry.name for entry in room.contents if entry.low_x_m < 0.5 * (a + b) < entry.high_x_m))
        for a, b in itertools.pairwise(cuts)
        if b - a > 1e-4
    ] or [(low, high, ())]
    a, b, names = min(stretches, key=lambda entry: (len(entry[2]), entry[0] - entry[1]))
    return 0.5 * (a + b), names


def _sides(vessel: Vessel, room: DryRoom, divided: Divided, x_m: float) -> tuple[BulkheadSide, ...]:
    aft, fore = room.ends_m
    found = []
    for side, solid, ends in zip(("aft", "fore"), room.divided(x_m), ((aft, x_m), (x_m, fore)), strict=True):
        boat = flooded(vessel, [solid], [room.name])
        waters = [boat.room_m3 * step / STEPS for step in range(STEPS + 1)]
        events = follow(boat, {}, waters, "afloat")
        worst: EventKind | None = max((event.kind for event in events), key=GRAVITY_OF.index, default=None)
        lift, rest = divided.filled(*ends)
        found.append(
            BulkheadSide(
                side="aft" if side == "aft" else "fore",
                room_m3=divided.room.slab(*ends)[0],
                survives=divided.survives(*ends),
                lift_kg=lift,
                trim_deg=rest.trim_deg if rest is not None else math.nan,
                worst=worst,
            )
        )
    return tuple(found)
