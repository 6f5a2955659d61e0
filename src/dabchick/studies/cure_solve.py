"""Which changes: the fewest and lightest that meet every need, by a mixed-integer linear programme.

Rows: each need (a GM at one fill, BG) is met by the sum of what is done; each of the six trim rows stays within its
tolerance; a place takes one thing, a thing goes to one place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.studies.cure_options import Option
from dabchick.studies.programme import ImpossibleError, OutOfTimeError, Solution, solve_programme

Array = NDArray[np.float64]

MILLIMETRE_M: Final = 1e-3
TOUCH_G: Final = 5.0
"""Touching one more thing counts like so many grams of added weight; common practice, no source."""
MOVED_SHARE: Final = 0.02
"""Moving weight that is there counts like a fiftieth of adding it."""
SHIFT_G_PER_MM: Final = 0.05
NODES: Final = 300
"""Of the search tree of each programme."""
FEW: Final = 6
"""Options of each kind, fore and aft, from which the first answer is chosen."""
MET_M: Final = 2e-5
"""A need missed by less than a fiftieth of a millimetre is met."""


@dataclass(frozen=True, eq=False)
class Needs:
    """What the linear programme is asked for."""

    effects: Array
    """(k, n) [m] per unit of each option."""
    wanted_m: Array
    """(k,) above zero where something is missing."""
    trims: Array
    """(6, n) in yardsticks per unit."""
    misses: Array
    """(6,) as she stands, in yardsticks."""
    within: Array
    """(6,) the most."""


@dataclass(frozen=True, eq=False)
class Chosen:
    """Amounts of each option, and the largest need left open [m] by the linear rows."""

    amounts: Array
    short_m: float


def _shortlist(options: Sequence[Option], needs: Needs) -> NDArray[np.bool_]:
    """The options that do most, some on either side of her middle so that she can be balanced: a start for all."""
    worth = np.min(needs.effects[needs.wanted_m > 0.0], axis=0, initial=np.inf)
    per = np.array([max(option.mass_per_unit, 1e-9) for option in options])
    score = np.where([option.kind in ("lead", "foam") for option in options], worth / per, worth)
    pitch = np.sign(needs.trims[4]) * np.array([1.0 if option.kind != "foam" else -1.0 for option in options])
    taken = np.array([option.kind == "shift" for option in options], dtype=bool)
    for kind in ("move", "lead", "foam"):
        for side in (-1.0, 1.0):
            here = [i for i, option in enumerate(options) if option.kind == kind and pitch[i] == side]
            taken[sorted(here, key=lambda i: -score[i])[:FEW]] = True
    return taken


def choose(
    options: Sequence[Option], needs: Needs, allowed: NDArray[np.bool_], *, seconds: float
) -> Chosen | None:
    """The fewest and lightest of the allowed options, or what comes nearest; None where nothing is possible at all."""
    count = len(options)
    groups: dict[tuple[str, str, int, float], list[int]] = {}
    for index, option in enumerate(options):
        own = float(np.sign(option.shift_per_unit)) if option.kind == "shift" else 0.0
        groups.setdefault((option.kind, option.part, option.place, own), []).append(index)
    members = list(groups.values())
    size = count + len(members) + 1
    rows: list[Array] = []
    low: list[float] = []
    high: list[float] = []

    def add(line: Array, least: float, most: float) -> None:
        rows.append(line)
        low.append(least)
        high.append(most)

    for effect, wanted in zip(needs.effects, needs.wanted_m, strict=True):
        line = np.zeros(size)
        line[:count] = effect / MILLIMETRE_M
        line[-1] = 1.0
        add(line, wanted / MILLIMETRE_M, np.inf)
    for effect, miss, within in zip(needs.trims, needs.misses, needs.within, strict=True):
        line = np.zeros(size)
        line[:count] = effect
        add(line, -within - miss, within - miss)
    once: dict[tuple[str, object], list[int]] = {}
    for number, group in enumerate(members):
        first = options[group[0]]
        line = np.zeros(size)
        for index in group:
            line[index] = 1.0 / max(options[index].high, 1e-12)
        line[count + number] = -1.0
        add(line, -np.inf, 0.0)
        if first.least > 0.0:
            line = np.zeros(size)
            line[group[0]] = 1.0
            line[count + number] = -min(first.least, first.high)
            add(line, 0.0, np.inf)
        if first.place >= 0:
            once.setdefault(("place", first.place), []).append(number)
        if first.part:
            once.setdefault(("part", first.part), []).append(number)
    for numbers in once.values():
        if len(numbers) > 1:
            line = np.zeros(size)
            line[[count + number for number in numbers]] = 1.0
            add(line, -np.inf, 1.0)
    upper = np.concatenate(
        [np.where(allowed, [option.high for option in options], 0.0), np.ones(len(members)), [np.inf]]
    )
    whole = np.array([*(option.whole for option in options), *([True] * len(members)), False])
    cost = np.zeros(size)
    for index, option in enumerate(options):
        if option.kind == "shift":
            cost[index] = SHIFT_G_PER_MM
        elif option.kind == "move":
            cost[index] = MOVED_SHARE * option.touched_kg * 1e3
        else:
            cost[index] = option.mass_per_unit * 1e3
    cost[count : count + len(members)] = TOUCH_G + 1e-4 * np.arange(len(members))
    short = np.zeros(size)
    short[-1] = 1.0
    matrix, lows, highs, lower = np.array(rows), np.array(low), np.array(high), np.zeros(size)

    def solved(costs: Array, most: Array, start: Array | None, enough: float | None) -> Solution:
        return solve_programme(
            costs, matrix, lows, highs, lower, most, whole, gap=0.02, seconds=seconds, start=start,
            good_enough=enough, nodes=NODES,
        )  # fmt: skip

    def both(most: Array, start: Array | None) -> Solution:
        """First the least need left open, then the least cost that leaves no more."""
        nearest = solved(short, most, start, 0.0)
        bounded = most.copy()
        bounded[-1] = max(nearest.cost * 1.001, 0.0) + 1e-6
        return solved(cost, bounded, nearest.point, None)

    few = upper.copy()
    few[:count][~_shortlist(options, needs)] = 0.0
    start: Array | None = None
    try:
        start = both(few, None).point
    except (ImpossibleError, OutOfTimeError):
        start = None  # the few do not do; all of them may
    try:
        found = both(upper, start)
    except (ImpossibleError, OutOfTimeError):
        return None
    amounts = found.point[:count].copy()
    amounts[whole[:count]] = np.round(amounts[whole[:count]])
    left = needs.wanted_m - needs.effects @ amounts
    return Chosen(amounts, float(np.max(left, initial=0.0)))
