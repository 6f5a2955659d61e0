"""Random boats that dive, from a seed: a few solids, one to three tanks of any kind, and a way of filling."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.balance import Balance, balance_of, bodies
from dabchick.physics.filling import Filling, filling
from dabchick.physics.passage import LostError, Passage, begin, follow
from dabchick.physics.track import Track
from tests.support.random_boats import KINDS

Array = NDArray[np.float64]
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class DiveBoat:
    """A balance at empty tanks, and what changes along the way."""

    seed: int
    balance: Balance
    filling: Filling

    @property
    def track(self) -> Track:
        return Track(self.balance, self.filling)


def turned(chance: np.random.Generator) -> Array:
    """A random proper rotation."""
    w, x, y, z = (lambda q: q / np.linalg.norm(q))(chance.normal(size=4))
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def dive_boat(seed: int, *, air: bool = True) -> DiveBoat:
    """The boat of a seed: 40 to 95 % under when empty, from 10 % lift to 5 % too heavy when full.

    A third of them are the same to port and starboard, on an even keel, so that their forks are exact.
    """
    chance = np.random.default_rng(seed)
    even = chance.uniform() < 1.0 / 3.0

    def placed(solid: shapes.Solid, reach: float) -> list[shapes.Solid]:
        shift = chance.uniform(-1.0, 1.0, 3) * [0.25, 0.06, 0.06] * reach
        if not even:
            return [solid.moved(shift, turned(chance))]
        if chance.uniform() < 0.5:
            return [solid.moved(shift * [1.0, 0.0, 1.0])]
        return [solid.moved(shift * [1.0, side, 1.0]) for side in (-1.0, 1.0)]

    solids = []
    for _ in range(int(chance.integers(1, 4))):
        solids += placed(KINDS[int(chance.integers(len(KINDS)))](float(chance.uniform(0.6, 1.6))), 1.0)
    rooms = []
    for _ in range(int(chance.integers(1, 3))):
        size = chance.uniform(0.05, 0.16, 3)
        room = shapes.box(*size) if chance.uniform() < 0.5 else shapes.cylinder(size[0], size[1])
        rooms += placed(room, 0.7)
    density = float(chance.uniform(995.0, 1028.0))
    gathered = bodies(solids, rooms)
    under = float(chance.uniform(0.4, 0.95))
    end = float(chance.uniform(0.9, 1.05))
    wanted = max(end - under, 0.03) * gathered.volume_m3
    if float(np.sum(gathered.rooms_m3)) < wanted:
        # tanks too small for that: as deep as they take her
        under = end - float(np.sum(gathered.rooms_m3)) / gathered.volume_m3
    share = min(1.0, wanted / float(np.sum(gathered.rooms_m3)))
    mass = under * density * gathered.volume_m3
    aside = np.array([1.0, 0.0, 1.0]) if even else np.ones(3)
    centre = gathered.centre_m * aside + aside * chance.uniform(-1.0, 1.0, 3) * [0.02, 0.006, 0.015]
    centre = centre - np.array([0.0, 0.0, 0.01])
    shut = chance.uniform(size=len(rooms)) < (0.25 if air else 0.0)
    if even:
        shut[:] = shut[0]
    full = share * gathered.rooms_m3
    knots = [0.0, 1.0]
    fills = np.array([np.zeros(len(rooms)), full])
    if len(rooms) > 1 and not even and chance.uniform() < 0.4:
        first = np.where(np.arange(len(rooms)) == 0, full, 0.0)
        at = float(full[0] / np.sum(full))
        knots, fills = [0.0, at, 1.0], np.array([np.zeros(len(rooms)), first, full])

    def sample(progress: float) -> Balance:
        water = np.array([np.interp(progress, knots, column) for column in fills.T])
        caught = np.where(shut & (water > 0.0), gathered.rooms_m3 - water, 0.0)
        return balance_of(gathered, mass, centre, density, water, caught)

    start = balance_of(gathered, mass, centre, density, np.zeros(len(rooms)))
    depth = float(np.linalg.norm(start.middle)) + start.radius
    return DiveBoat(seed, start, filling(knots, sample, depth))


def dived(boat: DiveBoat, stages: int = 11) -> tuple[Passage, Passage]:
    """Down and up again. Raises LostError."""
    track = boat.track
    down = follow(track, begin(track, UP), np.linspace(0.0, 1.0, stages))
    return down, follow(track, down.stages[-1], np.linspace(1.0, 0.0, stages))


def outcome(seed: int) -> str:
    """What becomes of the boat of a seed: a proven answer in words, or the reason why there is none."""
    try:
        ways = dived(dive_boat(seed))
    except LostError as fault:
        restless = "come to no rest" in str(fault)
        return "named: air and boat never rest" if restless else f"lost: {' '.join(str(fault).split()[:6])}"
    except ArithmeticError as fault:
        return f"no rest: {' '.join(str(fault).split()[:6])}"
    if any(way.neutral for way in ways):
        return "named: no hold against some turn"
    points = [point for way in ways for point in way.stages]
    if not all(point.stable for point in points):
        return "WRONG: a stage that is not stable"
    if max(point.residual for point in points) > 1e-10:
        return "WRONG: a stage that does not balance"
    kinds = {happening.kind for way in ways for happening in way.happenings}
    told = [kind for kind in ("jump", "fold", "fork", "under") if kind in kinds]
    return f"proven: {', '.join(told) or 'nothing happens'}"


def distribution(seeds: Iterable[int]) -> Counter[str]:
    """How many of the boats come to which outcome."""
    return Counter(outcome(seed) for seed in seeds)
