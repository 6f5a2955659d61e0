"""`squeeze`: what depth does to the air she carries, how deep she may go, and what brings her back."""

import itertools
import math
import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.balance import ATMOSPHERE_PA
from dabchick.physics.equilibrium import UPRIGHT, up_vector
from dabchick.physics.hung import Hung
from dabchick.studies.common import BALANCE_SOURCES, assumptions, warnings
from dabchick.studies.lay import lay
from dabchick.studies.loading import fills_for, load
from dabchick.studies.speech import Speech
from dabchick.studies.squeeze_findings import CAUTION, assumed, findings
from dabchick.studies.squeeze_result import (
    BlowPoint,
    DepthRow,
    Jump,
    Loss,
    Reach,
    Rest,
    SqueezeResult,
    Track,
)
from dabchick.studies.squeeze_under import (
    Trapped,
    Under,
    centre_of,
    free_air,
    just_under_m,
    shared_out,
    soft_tanks,
    trapped_in,
    under,
)

__all__ = ["Aim", "BlowPoint", "DepthRow", "Jump", "Loss", "Reach", "Rest", "SqueezeResult", "Track", "run"]

Array = NDArray[np.float64]
Tell = Callable[[str, float], None]

METHOD: Final = (
    "least potential energy in heel and trim with the boat's centre of buoyancy held at each depth; every tank cut "
    "level, the air in open-bottomed ones by Boyle's law at its own depth and attitude; followed down from just "
    "under, a rest that ends found by halving the step"
)
SOURCES: Final = (
    *BALANCE_SOURCES,
    "Boyle's law; standard atmosphere 101325 Pa, 10th CGPM (1954); standard gravity 9.80665 m/s2, 3rd CGPM (1901)",
    "mass of air: ideal gas, R 8.314462618 J/(mol K) (CODATA 2018), dry air 28.9655 g/mol (CIPM-2007, from memory)",
)
VALIDITY: Final = (
    "still water, wholly under, slow changes of depth; no gas dissolves, condenses or leaks, and all is as warm as the "
    "water; rigid parts"
)
GAS_CONSTANT_J_MOL_K: Final = 8.314462618
AIR_KG_MOL: Final = 0.0289655
DEEPEST_ASKED_M: Final = 100.0
DEPTH_M: Final = 3.0
STATIONS: Final = 31
BLOWS: Final = 24
_TURNED: Final = 0.02
"""An attitude that moves by more than this between two depths may have jumped [rad]."""
_JUMPED: Final = 0.01
"""What is left of the move over a hair's breadth of depth when it has [rad]."""


@dataclass(frozen=True)
class Aim:
    """A filling to be found: the one that leaves just this lift at this depth."""

    lift_kg: float = 0.0
    depth_m: float = 0.0


def depths_to(depth_m: float) -> tuple[float, ...]:
    """Depths [m] from just under to this one, evenly."""
    return tuple(float(depth) for depth in np.linspace(0.0, depth_m, STATIONS))


def air_density_kg_m3(temperature_c: float) -> float:
    """Dry air at one atmosphere, rho = p M / (R T) [kg/m3]."""
    return ATMOSPHERE_PA * AIR_KG_MOL / (GAS_CONSTANT_J_MOL_K * (temperature_c + 273.15))


def run(
    vessel: Vessel,
    *,
    fills: Sequence[float | Mapping[str, float]] = (),
    aims: Sequence[Aim] = (),
    depths: Sequence[float] | None = None,
    air: bool = False,
    blow_m3: float = 0.0,
    blow_kg: float = 0.0,
    tell: Tell | None = None,
) -> SqueezeResult:
    """Take her down with each of these tank fills, water as at the surface, then with the fills found for the aims.

    Without fills or aims, one is found that gives the lift wished for when dived, just under the surface. `depths` [m]
    of water over her highest point rise (to 3 m without any); the last is the one that she is to come back from, there
    with `blow_m3` (at one atmosphere) and `blow_kg` more air blown into the soft tanks. `air` counts what is trapped in
    the flooded space as well. Raises BoatError.
    """
    blow_m3 += blow_kg / air_density_kg_m3(vessel.water_temperature_c)
    levels = depths_to(DEPTH_M) if depths is None else tuple(float(depth) for depth in depths)
    _asked(vessel, levels, blow_m3, aims)
    say = tell or (lambda text, share: None)
    wanted = [fills_for(vessel, entry) for entry in fills]
    looked = list(aims) or ([] if wanted else [Aim(vessel.wishes.lift_dived_kg, 0.0)])
    found: list[Advice] = []
    say("Putting her under", 0.02)
    pockets = _pockets(vessel, wanted, len(looked), air, say)
    over = just_under_m(vessel, pockets[0])
    for aim, kept in zip(looked, pockets[len(wanted) :], strict=True):
        share, advice = _fill_for(vessel, aim, kept, over)
        wanted.append(share)
        found += advice
    tracks = []
    for number, (each, kept) in enumerate(zip(wanted, pockets, strict=True)):
        start = 0.3 + 0.5 * number / len(wanted)
        held = under(vessel, each, free_air(vessel, each), kept, over)
        tracks.append(_track(vessel, each, held, levels, say, start, 0.5 / len(wanted)))
    say("Blowing", 0.85)
    first, kept = wanted[0], pockets[0]
    more = shared_out(vessel, blow_m3) if soft_tanks(vessel) else {}
    airs = {name: amount + more[name] for name, amount in free_air(vessel, first).items()}
    blown = under(vessel, first, airs, kept, over)
    back, back_depth = _same_or_reach(tracks[0], blown, blow_m3)
    lift = _down(blown, levels)[-1].lift_kg
    needed = _needed(vessel, first, kept, over, levels[-1])
    blows = _blows(vessel, first, kept, over, levels[-1], say)
    holding = tuple(tank.name for tank in vessel.tanks if tank not in soft_tanks(vessel))
    result = SqueezeResult(
        boat=vessel.name,
        method=METHOD,
        sources=SOURCES,
        validity=VALIDITY,
        assumptions=assumptions(vessel, *assumed(vessel, holding, air)),
        warnings=warnings(vessel),
        water_density_kg_m3=vessel.water_density_kg_m3,
        depth_m=levels[-1],
        soft=tuple(tank.name for tank in soft_tanks(vessel)),
        holding=holding,
        trapped_m3=math.nan if kept is None else kept.volume_m3,
        tracks=tuple(tracks),
        blown_m3=blow_m3,
        lift_blown_kg=lift,
        back=back,
        back_depth_m=back_depth,
        comes_back=lift > 0.0,
        needed_m3=needed,
        blows=blows,
        cautions=(CAUTION,) if soft_tanks(vessel) else (),
    )
    return replace(result, warnings=warnings(vessel, *found, *findings(vessel, result)))


def _asked(vessel: Vessel, depths: Sequence[float], blow_m3: float, aims: Sequence[Aim]) -> None:
    faults = []
    rising = all(a < b for a, b in itertools.pairwise(depths))
    if not depths or not rising or not (depths[0] >= 0.0 and depths[-1] <= DEEPEST_ASKED_M):
        faults.append(
            Advice(
                what="These depths cannot be followed down.",
                todo="Give depths of water over her highest point that rise from 0.",
                key="depth",
                given=", ".join(f"{depth:g} m" for depth in depths) or "none",
                allowed=f"0 to {DEEPEST_ASKED_M:g} m, each deeper than the one before",
            )
        )
    if not 0.0 <= blow_m3 < math.inf:
        faults.append(
            Advice(
                what="So much air cannot be blown.",
                todo="Give the air as it would be at the surface.",
                key="blow",
                given=f"{blow_m3 * 1e6:g} ml",
                allowed="0 ml or more",
            )
        )
    elif blow_m3 > 0.0 and not soft_tanks(vessel):
        faults.append(
            Advice(
                what="She has no tank that air could be blown into.",
                todo='Give a tank the system "gas blown" or "air blown", or leave the air out.',
                key="blow",
                given=f"{blow_m3 * 1e6:g} ml",
                allowed="0 ml",
            )
        )
    for aim in aims:
        if not math.isfinite(aim.lift_kg) or not 0.0 <= aim.depth_m <= DEEPEST_ASKED_M:
            faults.append(
                Advice(
                    what="No filling can be found for this.",
                    todo="Give a lift, and a depth of water over her highest point.",
                    key="neutral",
                    given=f"{aim.lift_kg * 1e3:g} g at {aim.depth_m:g} m",
                    allowed=f"0 to {DEEPEST_ASKED_M:g} m",
                )
            )
    if faults:
        raise BoatError(*faults)


def _pockets(
    vessel: Vessel, wanted: Sequence[Mapping[str, float]], looked: int, air: bool, say: Tell
) -> list[Trapped | None]:
    """The trapped air of each filling; of those still to be found, as with full tanks."""
    if not air:
        return [None] * (len(wanted) + looked)
    found: list[Trapped | None] = []
    for each in [*wanted, *([fills_for(vessel, 1.0)] if looked else [])]:
        say("Finding the air that stays in", 0.05 + 0.25 * len(found) / (len(wanted) + 1))
        found.append(trapped_in(vessel, each))
    return [*found[: len(wanted)], *(found[-1:] * looked)]


def _fill_for(
    vessel: Vessel, aim: Aim, kept: Trapped | None, over: float
) -> tuple[dict[str, float], list[Advice]]:
    """One share for all soft tanks (all tanks, where none is soft), the others full."""
    soft = soft_tanks(vessel)
    moved = [tank.name for tank in (soft or vessel.tanks)]

    def filled(share: float) -> dict[str, float]:
        return {**fills_for(vessel, 1.0), **dict.fromkeys(moved, share)}

    def lift(share: float) -> float:
        each = filled(share)
        return under(vessel, each, free_air(vessel, each), kept, over).hung(aim.depth_m).lift_kg - aim.lift_kg

    if not moved:
        return {}, []
    empty, full = lift(0.0), lift(1.0)
    if empty > 0.0 > full:
        return filled(float(brentq(lift, 0.0, 1.0, xtol=1e-12))), []
    if full == 0.0:
        return filled(1.0), []
    say = Speech(vessel)
    most = full > 0.0
    left = say.mass((full if most else empty) + aim.lift_kg)
    where = "just under the surface" if aim.depth_m == 0.0 else f"under {say.depth(aim.depth_m)} of water"
    return filled(1.0 if most else 0.0), [
        Advice(
            what=(
                f"No filling leaves her a lift of {say.mass(aim.lift_kg)} {where}: with full tanks she has {left}."
                if most
                else f"No filling leaves her a lift of {say.mass(aim.lift_kg)} {where}: even with empty tanks she "
                f"has {left}."
            ),
            todo="Trim her first (`dabchick trim`), or ask for another lift; shown is the nearest filling.",
            key="fill",
            severity="warning",
        )
    ]


def _down(held: Under, levels: Sequence[float], start: Array = UPRIGHT) -> list[Hung]:
    """Her rest at each depth, each come to from the one above it."""
    stations: list[Hung] = []
    normal = start
    for depth in levels:
        stations.append(held.hung(depth, normal))
        normal = stations[-1].normal
    return stations


def _track(
    vessel: Vessel,
    fills: dict[str, float],
    held: Under,
    levels: Sequence[float],
    say: Tell,
    start: float,
    share: float,
) -> Track:
    stations = _down(held, levels)
    rows = []
    # the search for other rests lets go of the interpreter, so that every core takes a depth
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for row in pool.map(held.row, levels, stations):
            rows.append(row)
            say("Going down", start + share * len(rows) / len(levels))
    shut = held.closed()
    closed = [shut.row(depth, here) for depth, here in zip(levels, _down(shut, levels), strict=True)]
    top = held.hung(0.0)
    losses = [Loss(row.depth_m, row.loss_kg_m) for row in rows]
    reach, neutral = held.reach()
    spread = lay(vessel, load(vessel, fills), "wholly under", hanging=True).lift_kg.spread
    rate = held.loss_kg_m(neutral, held.hung(neutral, stations[-1].normal)) if reach == "down to" else 0.0
    return Track(
        fills=fills,
        air_free_m3=sum(free_air(vessel, fills).values()),
        lift_under_kg=top.lift_kg,
        lift_spread_kg=spread,
        rows=tuple(rows),
        loss_at_surface=Loss(0.0, held.loss_kg_m(0.0, top)),
        loss_at_depth=losses[-1],
        loss_worst=max(losses, key=lambda loss: loss.kg_m),
        lost_centre_m=centre_of(tuple(rows)),
        neutral=reach,
        neutral_depth_m=neutral,
        neutral_spread_m=spread / rate if rate > 0.0 else math.nan,
        jumps=_jumps(held, levels, rows[0].rests),
        closed=tuple(closed),
    )


def _jumps(held: Under, levels: Sequence[float], starts: Sequence[Rest]) -> tuple[Jump, ...]:
    """Where a rest ends on the way down, whichever one she went under in."""
    jumps: list[Jump] = []
    for rest in starts:
        stations = _down(held, levels, up_vector(rest.heel_deg, rest.trim_deg))
        for (high, before), (low, after) in itertools.pairwise(zip(levels, stations, strict=True)):
            if _apart(before, after) <= _TURNED:
                continue
            jump = _jump(held, high, before, low, after)
            if jump is not None and all(abs(jump.depth_m - other.depth_m) > 1e-3 for other in jumps):
                jumps.append(jump)
    return tuple(sorted(jumps, key=lambda jump: jump.depth_m))


def _apart(one: Hung, two: Hung) -> float:
    return float(np.linalg.norm(two.normal - one.normal))


def _jump(held: Under, high: float, before: Hung, low: float, after: Hung) -> Jump | None:
    """Halve the step until she has either turned by and by or still goes over at once."""
    while low - high > 1e-5:
        middle = 0.5 * (high + low)
        here = held.hung(middle, before.normal)
        if _apart(here, before) < _apart(here, after):
            high, before = middle, here
        else:
            low, after = middle, here
    if _apart(before, after) <= _JUMPED:
        return None
    return Jump(low, before.trim_deg, after.trim_deg, before.heel_deg, after.heel_deg)


def _same_or_reach(track: Track, blown: Under, blow_m3: float) -> tuple[Reach, float]:
    return (track.neutral, track.neutral_depth_m) if blow_m3 == 0.0 else blown.reach()


def _dry_m3(vessel: Vessel, held: Under, depth_m: float) -> float:
    """Air at one atmosphere that blows every soft tank dry at a depth, whatever her attitude."""
    room = sum(tank.capacity_m3 for tank in soft_tanks(vessel))
    head = held.balance.atmosphere_head
    lowest = depth_m + held.over_point_m + held.balance.radius
    return room * (head + lowest) / head


def _needed(
    vessel: Vessel, fills: Mapping[str, float], kept: Trapped | None, over: float, depth_m: float
) -> float:
    """Air at one atmosphere with which her lift at a depth is just zero, her soft tanks else flooded."""

    def lift(air: float) -> float:
        airs = shared_out(vessel, air) if soft_tanks(vessel) else {}
        return under(vessel, fills, airs, kept, over).hung(depth_m).lift_kg

    if lift(0.0) > 0.0:
        return 0.0
    if not soft_tanks(vessel):
        return math.nan
    most = _dry_m3(vessel, under(vessel, fills, shared_out(vessel, 0.0), kept, over), depth_m)
    if lift(most) <= 0.0:
        return math.nan
    return float(brentq(lift, 0.0, most, xtol=1e-13))


def _blows(
    vessel: Vessel,
    fills: Mapping[str, float],
    kept: Trapped | None,
    over: float,
    depth_m: float,
    say: Tell,
) -> tuple[BlowPoint, ...]:
    if not soft_tanks(vessel):
        return ()
    least = _needed(vessel, fills, kept, over, 0.0)
    most = _dry_m3(vessel, under(vessel, fills, shared_out(vessel, 0.0), kept, over), depth_m)
    first = 0.0 if math.isnan(least) else least
    weight = air_density_kg_m3(vessel.water_temperature_c)
    points = []
    for number in range(1, BLOWS + 1):
        say("Blowing", 0.85 + 0.15 * number / BLOWS)
        # closer together where a little air matters most
        air = first + (most - first) * (number / BLOWS) ** 2
        held = under(vessel, fills, shared_out(vessel, air), kept, over)
        back, depth = held.reach()
        points.append(BlowPoint(air, weight * air, held.hung(0.0).lift_kg, back, depth))
    return tuple(points)
