"""`leak`: a watertight part that fills slowly: how she lies, how much she stands, and how long that lasts."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import leak_flow
from dabchick.physics.equilibrium import UPRIGHT, Equilibrium
from dabchick.studies.common import BALANCE_SOURCES, BALANCE_VALIDITY, assumptions, warnings
from dabchick.studies.lay import describe, lay, mass_and_lift
from dabchick.studies.leak_alarm import OVER_FLOOR_M, alarms
from dabchick.studies.leak_bulkhead import bulkheads
from dabchick.studies.leak_path import (
    STEEP_DEG,
    Flooded,
    Happening,
    flooded,
    follow,
    lift_kg,
    waters_up_to,
)
from dabchick.studies.leak_result import (
    LeakEvent,
    LeakPart,
    LeakResult,
    LeakStage,
    Reserve,
    StateKind,
)
from dabchick.studies.leak_room import (
    SHAPELESS_KG_M3,
    WALL_BAND_M,
    WALL_M,
    DryRoom,
    dry_rooms,
    formless,
)
from dabchick.studies.leak_source import A_DRIP, LAMINAR, LeakSource, LeakWay, source_of
from dabchick.studies.lie import Lie
from dabchick.studies.loading import fills_for, load
from dabchick.studies.result import Figure
from dabchick.studies.speech import Speech

Tell = Callable[[str, float], None]

TOGETHER: Final = "all together"
FILLS: Final = (0.0, 0.5, 1.0)
COARSE: Final = 12
METHOD: Final = (
    "least potential energy in immersion, heel and trim, the water inside cut level at every attitude and the path "
    "followed as it rises; the room from the part's form by exact and boolean subtraction; inflow in closed form "
    "against the air that it squeezes"
)
SOURCES: Final = (
    *BALANCE_SOURCES,
    "sharp hole: q = Cd A sqrt(2 dp / rho) with Cd 0.61 (0.60 to 0.62 for sharp holes, from memory)",
    "bore: Hagen-Poiseuille; shaft gap: pi d c^3 dp / (12 mu L), times 1 + 1.5 e^2 off centre (from memory)",
    "Boyle's law; standard atmosphere 101325 Pa, 10th CGPM (1954); standard gravity 9.80665 m/s2, 3rd CGPM (1901)",
    "drops: 20 to the millilitre, pharmacy convention (from memory); 2 to 3 a minute at a stern gland, read in "
    "boating pages",
)
VALIDITY: Final = f"{BALANCE_VALIDITY}; water that comes in slowly and finds its way everywhere in the part"


@dataclass(frozen=True)
class _Asked:
    source: LeakSource
    wall_m: float | None
    fills: tuple[dict[str, float], ...]
    full: dict[str, float]


def run(
    vessel: Vessel,
    *,
    part: str | None = None,
    fills: Sequence[float] = FILLS,
    leak: LeakWay = A_DRIP,
    depth_m: float | None = None,
    wall_m: float | None = None,
    vented: bool = False,
    least_m3: float | None = None,
    least_s: float | None = None,
    tell: Tell | None = None,
) -> LeakResult:
    """What slow flooding of a dry part does to her, from dry to where she no longer comes up.

    `part` is the name of a dry part or `all together` (without one: the dry part with the most room); `leak` at
    `depth_m` of water (a drip without a depth is steady, any other leak lies at 1 m); `vented` lets the air out.
    `fills` are the shares of all tanks at which the reserve is given. A reserve with empty tanks below `least_m3` or
    `least_s` is a finding. Raises BoatError.
    """
    say = tell or (lambda text, share: None)
    say("Finding the room in her dry parts", 0.02)
    source = source_of(vessel, leak, depth_m, vented)
    asked = _Asked(source, wall_m, tuple(fills_for(vessel, share) for share in fills), fills_for(vessel, 1.0))
    _limits_asked(least_m3, least_s)
    rooms = dry_rooms(vessel, wall_m)
    name = _chosen(rooms, part)
    groups: list[tuple[str, tuple[DryRoom, ...]]] = [(room.name, (room,)) for room in rooms]
    if len(rooms) > 1:
        groups.append((TOGETHER, rooms))
    stages: tuple[LeakStage, ...] = ()
    reserves: tuple[Reserve, ...] = ()
    parts = []
    for number, (label, members) in enumerate(groups):
        say(f"Letting water into {label}", 0.1 + 0.85 * number / len(groups))
        boat = flooded(vessel, [room.solid for room in members], [room.name for room in members])
        end = _end(vessel, boat)
        waters = waters_up_to(end)
        if label == name:
            stages, events = _stages(boat, waters, end, asked)
            reserves = tuple(_reserve(vessel, boat, each, source) for each in asked.fills)
        else:
            coarse = [end * step / COARSE for step in range(COARSE + 1)] if end > 0.0 else [0.0]
            events = _events(boat, coarse, end, asked, None)
        parts.append(_part(vessel, label, members, boat, end, events, asked))
    say("Writing it down", 0.98)
    chosen = next(entry for entry in parts if entry.name == name)
    short = (least_m3 is not None and chosen.reserve_m3 < least_m3) or (
        least_s is not None and chosen.after_s < least_s
    )
    return LeakResult(
        boat=vessel.name,
        method=METHOD,
        sources=SOURCES,
        validity=VALIDITY,
        assumptions=assumptions(vessel, *_assumed(vessel, rooms, asked, name)),
        warnings=warnings(vessel, *formless(vessel), *_findings(vessel, chosen, source, least_m3, least_s)),
        part=name,
        source=source,
        wall_given=wall_m is not None,
        water_density_kg_m3=vessel.water_density_kg_m3,
        stages=stages,
        reserves=reserves,
        parts=tuple(parts),
        short=short,
    )


def _chosen(rooms: Sequence[DryRoom], part: str | None) -> str:
    if part is None:
        return max(rooms, key=lambda room: room.volume_m3).name
    names = [room.name for room in rooms]
    if part in names or (part == TOGETHER and len(rooms) > 1):
        return part
    if part == TOGETHER:
        return names[0]
    raise BoatError(
        Advice(
            what=f"There is no dry part named '{part}'.",
            todo='Name a part of kind "dry" that has a shape.',
            key="part",
            given=part,
            allowed=", ".join([*names, *([TOGETHER] if len(names) > 1 else [])]),
        )
    )


def _limits_asked(least_m3: float | None, least_s: float | None) -> None:
    faults = [
        Advice(
            what=f"A reserve of at least {value:g} {unit} cannot be asked for.",
            todo="Give a limit of 0 or more.",
            key=key,
            given=f"{value:g} {unit}",
            allowed="0 or more",
        )
        for key, value, unit in (("least", least_m3, "m3"), ("least-time", least_s, "s"))
        if value is not None and not (math.isfinite(value) and value >= 0.0)
    ]
    if faults:
        raise BoatError(*faults)


def _lift(vessel: Vessel, fills: dict[str, float]) -> Figure:
    """Lift when wholly under, dry inside, with its spread [kg]."""
    return mass_and_lift(vessel, load(vessel, fills))[1]


def _end(vessel: Vessel, boat: Flooded) -> float:
    """The water [m3] that takes all her lift with the tanks empty, no more than the rooms hold."""
    lift = _lift(vessel, fills_for(vessel, 0.0)).value
    return min(boat.room_m3, max(lift, 0.0) / vessel.water_density_kg_m3)


def _stages(
    boat: Flooded, waters: Sequence[float], end: float, asked: _Asked
) -> tuple[tuple[LeakStage, ...], tuple[LeakEvent, ...]]:
    """Every stage with both its lies, and all that happens on the way."""
    rests: dict[StateKind, dict[float, Equilibrium]] = {"afloat": {}, "dived": {}}

    def keep(state: StateKind, water: float, rest: Equilibrium | None) -> None:
        if rest is not None:
            rests[state][water] = rest

    events = _events(boat, waters, end, asked, keep)
    source, room = asked.source, boat.room_m3
    stages = []
    for water in waters:
        afloat = _lie(boat, water, asked, "afloat", rests["afloat"])
        dived = _lie(boat, water, asked, "dived", rests["dived"])
        closed = source.air_pa > 0.0 and water < room
        stages.append(
            LeakStage(
                water_m3=water,
                after_s=source.seconds(water, room),
                pressure_pa=float(leak_flow.inside_pressure(water, room)) if closed else 0.0,
                flow_m3_s=source.flow_at(water, room),
                afloat=afloat,
                dived=dived,
                free_surface_afloat_m=boat.free_surface_m(
                    np.array(afloat.normal), water, afloat.mass_kg.value
                ),
                free_surface_dived_m=boat.free_surface_m(np.array(dived.normal), water, dived.mass_kg.value),
            )
        )
    return tuple(stages), events


def _lie(
    boat: Flooded, water: float, asked: _Asked, state: StateKind, rests: dict[float, Equilibrium]
) -> Lie:
    loading = boat.loading(water, {} if state == "afloat" else asked.full)
    found = rests.get(water)
    if found is None:
        # she sinks at this water: in the attitude that the last rest leads to
        last = rests[max(rests)].normal if rests else UPRIGHT
        lie = lay(boat.wet, loading, state, hanging=True, start=last)
        return replace(lie, condition="sinks") if state == "afloat" else lie
    if state == "afloat":
        return describe(boat.wet, loading, state, found, "floats")
    return describe(boat.wet, loading, state, found, "hangs" if lift_kg(loading) >= 0.0 else "sinks")


def _events(
    boat: Flooded,
    waters: Sequence[float],
    end: float,
    asked: _Asked,
    keep: Callable[[StateKind, float, Equilibrium | None], None] | None,
) -> tuple[LeakEvent, ...]:
    """Afloat with empty tanks, then dived with full ones; what happens, in the order of the water."""

    def timed(found: Happening, state: StateKind) -> LeakEvent:
        after_s = asked.source.seconds(found.water_m3, boat.room_m3)
        return LeakEvent(found.kind, state, found.water_m3, after_s, found.trim_deg, found.heel_deg)

    events = []
    states: tuple[tuple[StateKind, dict[str, float]], ...] = (("afloat", {}), ("dived", asked.full))
    last: Happening | None = None
    for state, fills in states:
        seen: list[Equilibrium] = []

        def note(
            water: float, rest: Equilibrium | None, state: StateKind = state, seen: list[Equilibrium] = seen
        ) -> None:
            if rest is not None:
                seen.append(rest)
            if keep is not None:
                keep(state, water, rest)

        events += [timed(found, state) for found in follow(boat, fills, waters, state, note)]
        if state == "afloat":
            trim, heel = (seen[-1].trim_deg, seen[-1].heel_deg) if seen else (math.nan, math.nan)
            filled = end >= boat.room_m3 and bool(seen)
            last = Happening("full" if filled else "sinks", end, trim, heel)
    if last is not None:
        events.append(timed(last, "afloat"))
    return tuple(sorted(events, key=lambda event: event.water_m3))


def _reserve(vessel: Vessel, boat: Flooded, fills: dict[str, float], source: LeakSource) -> Reserve:
    lift = _lift(vessel, fills)
    density = vessel.water_density_kg_m3
    wholly = lift.value > density * boat.room_m3
    water = boat.room_m3 if wholly else max(lift.value, 0.0) / density
    return Reserve(
        fills=fills,
        lift_kg=lift,
        water_m3=Figure(water, 0.0 if wholly else lift.spread / density),
        floods_wholly=wholly,
        after_s=source.seconds(water, boat.room_m3),
    )


def _part(
    vessel: Vessel,
    label: str,
    members: Sequence[DryRoom],
    boat: Flooded,
    end: float,
    events: tuple[LeakEvent, ...],
    asked: _Asked,
) -> LeakPart:
    source, room = asked.source, boat.room_m3
    low = high = room
    if asked.wall_m is None:
        low = sum(_room_within(vessel, entry, WALL_M + WALL_BAND_M) for entry in members)
        high = sum(_room_within(vessel, entry, WALL_M - WALL_BAND_M) for entry in members)
    wholly = any(event.kind == "full" for event in events)
    single = members[0] if len(members) == 1 else None
    return LeakPart(
        name=label,
        wall_m=members[0].wall_m,
        body_m3=sum(entry.body_m3 for entry in members),
        room_m3=room,
        room_low_m3=low,
        room_high_m3=high,
        contents=tuple(content for entry in members for content in entry.contents),
        reserve_m3=end,
        floods_wholly=wholly,
        after_s=source.seconds(end, room),
        stops_at_m3=source.stops_at_m3(room),
        events=events,
        bulkheads=None if single is None or wholly else bulkheads(vessel, single),
        alarms=alarms(single, source, end) if single is not None else (),
    )


def _room_within(vessel: Vessel, room: DryRoom, wall_m: float) -> float:
    """Volume with another wall; 0 where that leaves nothing."""
    try:
        found = dry_rooms(vessel, wall_m)
    except BoatError:
        return 0.0
    return next(entry.volume_m3 for entry in found if entry.key == room.key)


def _assumed(vessel: Vessel, rooms: Sequence[DryRoom], asked: _Asked, name: str) -> list[str]:
    say = Speech(vessel)
    source = asked.source
    texts = []
    if asked.wall_m is None:
        texts.append(
            f"walls {say.length(WALL_M)} thick, give or take {say.length(WALL_BAND_M)}, ends too (common practice, no "
            "source); `--wall` takes yours"
        )
    else:
        texts.append(f"walls {say.length(asked.wall_m)} thick all round, ends too")
    texts.append("every thing inside fills its whole form, and water finds its way everywhere else")
    for room in rooms:
        for thing, mass in room.shapeless:
            about = say.volume(mass / SHAPELESS_KG_M3)
            texts.append(f"{thing}: has no shape, so it takes up no room here (it may be about {about})")
    tanks = [tank.name for tank in vessel.tanks if tank.inside and tank.system == "piston"]
    if tanks:
        texts.append(f"{', '.join(tanks)}: all the room of the bore counts as closed to the leak")
    if source.power == 0.0:
        texts.append("the drip stays as it is, at every depth and with every pressure inside")
    elif source.air_pa > 0.0:
        texts.append(
            "the leak is the only way in or out for air; air at one atmosphere and one temperature at the start"
        )
        texts.append("no water stands over the leak from inside")
    else:
        texts.append("the air gets out freely, so nothing slows the leak")
    if source.way.kind == "drip":
        texts.append("a drop is 0.05 ml (20 to the millilitre, from memory)")
    if source.way.kind == "gap":
        texts.append("the shaft runs in the middle of its gap")
    if name == TOGETHER:
        texts.append("all parts fill alike, in proportion to their room, and one leak feeds them all")
    texts.append(f"an alarm's sensor stands {say.length(OVER_FLOOR_M)} over the floor")
    texts.append(
        f"a bulkhead has no thickness and holds; she counts as saved when less steep than {STEEP_DEG:.0f} deg"
    )
    return texts


def _findings(
    vessel: Vessel, part: LeakPart, source: LeakSource, least_m3: float | None, least_s: float | None
) -> list[Advice]:
    say = Speech(vessel)
    found = []
    if least_m3 is not None and part.reserve_m3 < least_m3:
        found.append(
            Advice(
                what=f"She stands {say.volume(part.reserve_m3)} of water in {part.name}, less than you ask for.",
                todo="Give her a larger tank, or divide the part by a bulkhead.",
                key="least",
                given=say.volume(part.reserve_m3),
                allowed=f"{say.volume(least_m3)} or more",
                severity="warning",
            )
        )
    if least_s is not None and part.after_s < least_s:
        found.append(
            Advice(
                what=f"With this leak she has {part.after_s / 60.0:.1f} min, less than you ask for.",
                todo="Mend the leak, come up sooner, or divide the part by a bulkhead.",
                key="least-time",
                given=f"{part.after_s / 60.0:.1f} min",
                allowed=f"{least_s / 60.0:g} min or more",
                severity="warning",
            )
        )
    if part.reserve_m3 <= 0.0:
        found.append(
            Advice(
                what="She has no lift with her tanks empty even when dry inside.",
                todo="Take out weight or add foam; `dabchick trim` says how much.",
                severity="warning",
            )
        )
    if source.way.kind in ("bore", "gap") and source.reynolds > LAMINAR:
        found.append(
            Advice(
                what=f"The flow through it is not smooth any more (Reynolds number {source.reynolds:.0f}), so less "
                "comes in than said here.",
                todo="Take it as a hole for an upper limit.",
                key=source.way.kind,
                given=f"{source.reynolds:.0f}",
                allowed=f"up to {LAMINAR:.0f}",
                severity="warning",
            )
        )
    steep = [event for event in part.events if event.kind in ("on end", "over") and event.state == "afloat"]
    if steep:
        first = min(steep, key=lambda event: event.water_m3)
        found.append(
            Advice(
                what=f"From {say.volume(first.water_m3)} on she "
                f"{'stands on end' if first.kind == 'on end' else 'lies keel up'} at the surface, long before her lift "
                "is gone."
                if first.water_m3 < 0.9 * part.reserve_m3
                else f"At {say.volume(first.water_m3)} she "
                f"{'stands on end' if first.kind == 'on end' else 'lies keel up'} at the surface.",
                todo="Divide the part, so that the water cannot run to one end.",
                severity="warning",
            )
        )
    return found
