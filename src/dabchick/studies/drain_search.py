"""The smallest openings and the shortest time of blowing that keep GM above a limit, by bisection with proof."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.physics.balance import Array
from dabchick.physics.draining import OUTSIDE
from dabchick.studies.drain_result import Matters, OpeningArea, Remedy, Slower
from dabchick.studies.drain_spaces import WaterSpaces

WIDEST: Final = 32.0
"""Openings are tried from a 32nd of their area to 32 times as large."""
AT_ONCE: Final = 64.0
"""With openings so many times as large a space is taken as running out at once."""
SHORTEST_S: Final = 1.0
LONGEST_S: Final = 900.0
CLOSE: Final = 1.02
"""The two ends of a bisection differ by this factor at most."""

Least = Callable[[float], float]


@dataclass(frozen=True)
class Edge:
    """Where something begins to be enough: the value that is, and the one below it that is not."""

    enough: float
    at_enough: float
    short: float
    at_short: float


def smallest(
    least: Least, limit: float, low: float, high: float, known: tuple[float, float] | None = None
) -> Edge:
    """The smallest value in low..high with least(value) >= limit, taken to grow with it; NaN where there is none.

    `known` is a value in between with its least. Between two ends that are on either side the next value is where a
    straight line (in the value's logarithm) puts the limit, now a little above, now below; every third time halfway.
    """
    ends: dict[str, tuple[float, float]] = {}
    if known is not None:
        ends["enough" if known[1] >= limit else "short"] = known
    if "enough" not in ends:
        top = least(high)
        if not top >= limit:
            return Edge(math.nan, math.nan, high, top)
        ends["enough"] = (high, top)
    if "short" not in ends:
        bottom = least(low)
        if bottom >= limit:
            return Edge(low, bottom, math.nan, math.nan)
        ends["short"] = (low, bottom)
    turn = 0
    while ends["enough"][0] / ends["short"][0] > CLOSE:
        (high, top), (low, bottom) = ends["enough"], ends["short"]
        share = 0.5
        if turn % 3 < 2 and top > bottom:
            aside = 0.45 * math.log(CLOSE) / math.log(high / low)
            share = (limit - bottom) / (top - bottom) + (aside if turn % 3 == 0 else -aside)
            share = min(max(share, aside), 1.0 - aside)
        middle = low * (high / low) ** share
        here = least(middle)
        ends["enough" if here >= limit else "short"] = (middle, here)
        turn += 1
    return Edge(*ends["enough"], *ends["short"])


def touching(found: WaterSpaces, space: int | None) -> Array:
    """True (k,) for each opening of a space; of all of them for None."""
    return np.array(
        [space is None or space in (passage.space, passage.other) for passage in found.passages], dtype=bool
    )


def remedies(
    found: WaterSpaces,
    least: Callable[[Array], float],
    limit: float,
    now: float,
    tell: Callable[[float], None],
) -> tuple[Remedy, ...]:
    """A common factor on all openings, then on those of each space alone; `least(factors)` is the least GM, `now`
    with the openings as they are.
    """
    wanted: Sequence[int | None] = [None, *(range(len(found.spaces)) if len(found.spaces) > 1 else ())]
    rows = []
    for done, space in enumerate(wanted):
        which = touching(found, space)
        tell(done / len(wanted))
        if not np.any(which):
            continue

        def scaled(factor: float, which: Array = which) -> float:
            return least(np.where(which, factor, 1.0))

        edge = smallest(scaled, limit, 1.0 / WIDEST, WIDEST, (1.0, now))
        rows.append(
            Remedy(
                space="" if space is None else found.spaces[space].name,
                factor=edge.enough,
                gm_m=edge.at_enough,
                smaller_factor=edge.short,
                smaller_gm_m=edge.at_short,
                openings=tuple(
                    OpeningArea(passage.name, passage.key, passage.area_m2, passage.area_m2 * edge.enough)
                    for passage, touched in zip(found.passages, which, strict=True)
                    if touched
                ),
            )
        )
    return tuple(rows)


def matters(found: WaterSpaces, least: Callable[[Array], float], now: float) -> tuple[Matters, ...]:
    """What each space's lagging costs, the most first."""
    rows = []
    for space, entry in enumerate(found.spaces):
        outward = np.array(
            [passage.space == space and passage.other == OUTSIDE for passage in found.passages], dtype=bool
        )
        which = outward if np.any(outward) else touching(found, space)
        if np.any(which):
            gm = least(np.where(which, AT_ONCE, 1.0))
            rows.append(Matters(entry.name, gm, gm - now))
    return tuple(sorted(rows, key=lambda row: -row.gain_m))


def slower(least: Least, limit: float, known: tuple[float, float]) -> Slower:
    """The shortest time of blowing; `least(seconds)` is the least GM, `known` a time with its least."""
    inside = SHORTEST_S < known[0] < LONGEST_S
    edge = smallest(least, limit, SHORTEST_S, LONGEST_S, known if inside else None)
    return Slower(edge.enough, edge.at_enough, edge.short, edge.at_short)
