"""Follow her in time on one way, with the water in her spaces lagging behind."""

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.physics.balance import Array
from dabchick.physics.draining import Moment, Stand, begin, levels_m, run_off
from dabchick.physics.equilibrium import UPRIGHT, heel_and_trim_deg
from dabchick.physics.orifice import AIR_KG_M3
from dabchick.physics.pose import Pose, pose
from dabchick.physics.settle import AT_REST, SINKS, settle_into
from dabchick.studies.drain_result import Course, DrainMoment, SpaceTimes, WaterLevel, Way
from dabchick.studies.lagging import Lagging, holes_of
from dabchick.studies.loading import load

ENOUGH: Final = 0.995
"""Followed until this share of all that is to run has run."""
STILL_S: Final = 120.0
"""Or until no more than a thousandth of it would run in so long."""
LONGEST_S: Final = 3600.0
MOST_MOMENTS: Final = 3000
TURNED_DEG: Final = 60.0
"""A heel beyond which she has turned over."""
LEAP_DEG: Final = 15.0
"""She lets go and finds another rest where she heels so much in one step."""
STEPS_OF_BALLAST: Final = 40
STEPS_IN_SEARCH: Final = 25


@dataclass(frozen=True)
class Ballast:
    """How the tanks empty or fill: each evenly, in a time of its own."""

    way: Way
    times_s: Mapping[str, float]

    @property
    def whole_s(self) -> float:
        return max(self.times_s.values(), default=0.0)

    def fills(self, time_s: float) -> dict[str, float]:
        shares = {
            name: min(1.0, time_s / length) if length > 0.0 else 1.0 for name, length in self.times_s.items()
        }
        return {name: 1.0 - share if self.way == "up" else share for name, share in shares.items()}

    @property
    def corners_s(self) -> tuple[float, ...]:
        return tuple(sorted(set(self.times_s.values())))


@dataclass(frozen=True, eq=False)
class FreeStand:
    """At rest with all spaces flooded just to the water outside."""

    stand: Stand
    here: Pose

    @property
    def gm_m(self) -> float:
        return float(self.here.free_stiffness[1, 1]) / self.here.mass_kg


def free_stand(boat: Lagging, fills: Mapping[str, float], before: Stand) -> FreeStand:
    """The free-flooding balance from an earlier stand; wholly under where she sinks."""
    entry = load(boat.vessel, fills).balance
    # the air of open tanks is held, as it is on the way
    entry = entry._replace(tank_air=np.zeros_like(entry.tank_air))
    normal = before.normal.copy()
    known = not before.under and math.isfinite(before.offset_m)
    offset, state = settle_into(entry, normal, before.offset_m if known else 0.0, False, False, known)
    if state not in (AT_REST, SINKS):
        normal = before.normal.copy()
        offset, state = settle_into(entry, normal, 0.0, False, False, False)
    under = state == SINKS
    if under:
        normal = before.normal.copy()
        settle_into(entry, normal, 0.0, True, False, False)
        offset = boat.highest_m(normal)
    here = pose(entry, normal, offset, hanging=under)
    return FreeStand(Stand(normal, float(offset), here.pitch, here.roll, np.zeros((3, 3)), under), here)


NOWHERE: Final = Stand(UPRIGHT, math.nan, UPRIGHT, UPRIGHT, np.zeros((3, 3)), False)


def follow(
    boat: Lagging,
    ballast: Ballast,
    discharge: float,
    *,
    factors: Array | None = None,
    tolerance: float = 3e-4,
    figures: bool = True,
    tell: Callable[[float], None] | None = None,
) -> Course:
    """She begins at rest with the tanks full (up) or empty (down) and her spaces level with the water outside.

    `factors` (k,) multiply the openings' areas. Without `figures` only what a search needs is found: the least GM and
    the water. Raises ArithmeticError where she comes to no rest.
    """
    spaces, density = boat.spaces, boat.vessel.water_density_kg_m3
    first = free_stand(boat, ballast.fills(0.0), NOWHERE)
    water = boat.flooded_to(first.stand.normal, first.stand.offset_m)
    if first.stand.under:
        water = boat.flooded_to(first.stand.normal, math.inf)
    ending = free_stand(boat, ballast.fills(ballast.whole_s), first.stand)
    wanted = boat.flooded_to(ending.stand.normal, math.inf if ending.stand.under else ending.stand.offset_m)
    to_move = wanted - water
    holes = holes_of(boat.found, discharge, factors)
    step = ballast.whole_s / (STEPS_OF_BALLAST if figures else STEPS_IN_SEARCH)

    def rest(time: float, held: Array, before: Stand) -> Stand:
        return boat.rest(ballast.fills(time), held, before)

    def longest(time: float) -> float:
        ahead = [corner - time for corner in ballast.corners_s if corner > time * (1.0 + 1e-12)]
        if ahead:
            return min(ahead[0], step)
        return max(0.1 * time, step)

    start = begin(spaces, water, rest(0.0, water, first.stand), density)
    moments, found = [start], [_moment(boat, ballast, start, first, figures)]
    lets_go, held = math.nan, math.inf
    free = first
    if len(holes.areas):
        running = run_off(
            spaces, holes, rest, start, density, AIR_KG_M3, longest_s=longest,
            first_s=min(1e-2, step), tolerance=tolerance,
        )  # fmt: skip
    else:
        running = (
            start._replace(time_s=time, stand=rest(time, water, start.stand))
            for time in np.linspace(0.0, ballast.whole_s, STEPS_OF_BALLAST + 1)[1:]
        )
    for now in running:
        if figures:
            free = free_stand(boat, ballast.fills(now.time_s), free.stand)
        moments.append(now)
        found.append(_moment(boat, ballast, now, free, figures))
        if tell is not None:
            tell(_share(now, ballast, water, to_move))
        leapt = abs(found[-1].heel_deg - found[-2].heel_deg) > LEAP_DEG
        if math.isnan(lets_go) and (now.stand.hold_kg_m < 0.0 or leapt or found[-1].gm_m <= 0.0):
            lets_go = now.time_s
            held = min(0.0, now.stand.hold_kg_m / boat.own_mass_kg(ballast.fills(now.time_s)))
        if abs(found[-1].heel_deg) > TURNED_DEG or _done(moments, ballast, water, to_move):
            break
    low = min(range(len(found)), key=lambda index: found[index].gm_m)
    return Course(
        way=ballast.way,
        ballast_s=ballast.whole_s,
        moments=tuple(found),
        least_gm_m=min(found[low].gm_m, held),
        least_at_s=lets_go if held < found[low].gm_m else found[low].time_s,
        least_drained_gm_m=min((entry.gm_drained_m for entry in found), default=math.nan),
        times=_times(boat, moments, water, to_move),
        lets_go_s=lets_go,
        water_gone_m3=moments[-1].left_m3,
    )


def _share(now: Moment, ballast: Ballast, water: Array, to_move: Array) -> float:
    ran = float(np.sum(np.abs(now.water_m3 - water))) / max(float(np.sum(np.abs(to_move))), 1e-12)
    return min(1.0, 0.5 * min(1.0, now.time_s / max(ballast.whole_s, 1e-9)) + 0.5 * min(1.0, ran))


def _done(moments: list[Moment], ballast: Ballast, water: Array, to_move: Array) -> bool:
    now, before = moments[-1], moments[-2]
    if now.time_s < ballast.whole_s * (1.0 - 1e-9):
        return len(moments) > MOST_MOMENTS
    left = np.abs(now.water_m3 - water - to_move)
    whole = max(float(np.sum(np.abs(to_move))), 1e-9)
    if np.all(left <= np.maximum((1.0 - ENOUGH) * np.abs(to_move), 1e-9)):
        return True
    pace = float(np.sum(np.abs(now.water_m3 - before.water_m3))) / (now.time_s - before.time_s)
    return pace * STILL_S < 1e-3 * whole or now.time_s > LONGEST_S or len(moments) > MOST_MOMENTS


def _times(boat: Lagging, moments: list[Moment], water: Array, to_move: Array) -> tuple[SpaceTimes, ...]:
    rows = []
    for index, space in enumerate(boat.found.spaces):
        whole = float(to_move[index])
        shares = [
            (float(moment.time_s), float(moment.water_m3[index] - water[index]) / whole if whole else 1.0)
            for moment in moments
        ]
        rows.append(
            SpaceTimes(
                name=space.name,
                moved_m3=abs(whole),
                to_95_s=_reaches(shares, 0.95),
                to_99_s=_reaches(shares, 0.99),
                left_m3=abs(whole) * max(0.0, 1.0 - shares[-1][1]),
            )
        )
    return tuple(rows)


def _reaches(shares: list[tuple[float, float]], goal: float) -> float:
    """The time from which the share stays above the goal, straight between two moments; NaN: it does not."""
    if shares[-1][1] < goal:
        return math.nan
    for (t0, s0), (t1, s1) in reversed(list(itertools.pairwise(shares))):
        if s0 < goal <= s1:
            return t0 + (t1 - t0) * (goal - s0) / (s1 - s0)
    return shares[0][0]


def _moment(boat: Lagging, ballast: Ballast, now: Moment, free: FreeStand, figures: bool) -> DrainMoment:
    fills = ballast.fills(now.time_s)
    here = boat.pose(fills, now.water_m3, now.stand)
    own = boat.own_mass_kg(fills)
    gm = float(here.free_stiffness[1, 1]) / own
    normal = now.stand.normal
    heel, trim = heel_and_trim_deg(normal)
    if not figures:
        return DrainMoment(
            now.time_s, fills, (), math.nan, math.nan, heel, trim, gm, math.nan, math.nan, math.nan, math.nan,
            now.stand.under,
        )  # fmt: skip
    vessel, density = boat.vessel, boat.vessel.water_density_kg_m3
    levels = levels_m(boat.spaces, normal, now.water_m3)
    flooded = boat.flooded_to(normal, math.inf if now.stand.under else now.stand.offset_m)
    middles = [space.solid.centre for space in boat.found.spaces]

    def draught(mark: float) -> float:
        return math.nan if now.stand.under else float((now.stand.offset_m - normal[0] * mark) / normal[2])

    buoyancy, weight = here.volume_moment_m4[2] * density, here.moment_kg_m[2]
    material = load(vessel, fills)
    return DrainMoment(
        time_s=now.time_s,
        fills=fills,
        spaces=tuple(
            WaterLevel(
                water_m3=float(volume),
                level_m=float((level - normal[:2] @ middle[:2]) / normal[2]),
                over_m=float(level - now.stand.offset_m),
                air_pa=float(gauge),
            )
            for volume, level, gauge, middle in zip(now.water_m3, levels, now.gauge_pa, middles, strict=True)
        ),
        draught_bow_m=draught(vessel.mark_bow_m),
        draught_stern_m=draught(vessel.mark_stern_m),
        heel_deg=heel,
        trim_deg=trim,
        gm_m=gm,
        gm_drained_m=free.gm_m,
        bg_m=float(buoyancy * here.mass_kg / (density * here.volume_m3) - weight) / own,
        lift_kg=float(density * material.balance.buoyant_volume - material.mass_kg),
        lagging_kg=float(density * np.sum(now.water_m3 - flooded)),
        under=now.stand.under,
    )
