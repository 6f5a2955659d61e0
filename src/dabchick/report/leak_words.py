"""What the leak study says, in the builder's datum and units, for every face alike."""

import math
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import (
    NO_VALUE,
    degrees,
    figure,
    length_unit,
    number,
    place_words,
    short_with_unit,
    with_unit,
)
from dabchick.report.figures import measured
from dabchick.studies.leak import TOGETHER
from dabchick.studies.leak_result import (
    Alarm,
    BulkheadSide,
    LeakEvent,
    LeakPart,
    LeakResult,
    LeakStage,
    Reserve,
)
from dabchick.studies.leak_source import LeakSource

STEEP_DEG: Final = 45.0
"""Beyond this a draught at a mark says nothing any more."""
CAUTION: Final = (
    "Water and lithium cells do not go together: a wet pack may catch fire hours later. Keep away from it, let it lie "
    "outdoors where nothing burns, do not charge it again, and do as your local rules and those who know them say."
)


class StageRow(NamedTuple):
    """One line of the table over the water."""

    water: str
    after: str
    bow: str
    stern: str
    trim: str
    heel: str
    gm: str
    lift: str
    dived_trim: str
    dived_gm: str
    dived_bg: str
    """BG, the boat's own z."""


class PartRow(NamedTuple):
    """One line of the table by compartments."""

    name: str
    room: str
    reserve: str
    after: str
    stops: str
    aft: str
    fore: str


def place(part: str) -> str:
    """Where the water is, such as `in the cylinder`."""
    return "in all dry parts together" if part == TOGETHER else f"in the {part}"


def span(seconds: float) -> str:
    """A span of time as people say it."""
    if math.isnan(seconds):
        return NO_VALUE
    if math.isinf(seconds):
        return "never"
    minutes = seconds / 60.0
    if seconds < 90.0:
        return f"{number(seconds, 0)}\u00a0s"
    if minutes < 90.0:
        return f"{number(minutes, 0 if minutes >= 10.0 else 1)}\u00a0min"
    hours = minutes / 60.0
    if hours < 48.0:
        return f"{number(hours, 0 if hours >= 10.0 else 1)}\u00a0h"
    return f"{number(hours / 24.0, 0 if hours >= 240.0 else 1)}\u00a0days"


def depth(depth_m: float, units: UnitSet) -> str:
    """A depth, as round as it was asked for."""
    return f"{depth_m:g}\u00a0m" if units == "metric" else f"{depth_m / 0.3048:.3g}\u00a0ft"


def leak_phrase(source: LeakSource, units: UnitSet) -> str:
    """The way in, such as `at 3 drops a minute` or `through a hole 1 mm wide, 1 m down`."""
    way = source.way

    def size(value: float) -> str:
        if units == "metric":
            return f"{value * 1e3:.4g}\u00a0mm"
        return f"{value / 0.0254:.3g}\u00a0in"

    down = "" if math.isnan(source.depth_m) else f", {depth(source.depth_m, units)} down"
    if way.kind == "drip":
        return f"at {way.drops_per_min:.3g} drops a minute{down}"
    if way.kind == "hole":
        return f"through a hole {size(way.diameter_m)} wide{down}"
    if way.kind == "bore":
        return f"through a bore {size(way.diameter_m)} wide and {size(way.length_m)} long{down}"
    gap, shaft, length = size(way.gap_m), size(way.diameter_m), size(way.length_m)
    return f"through a gap of {gap} round a shaft of {shaft}, {length} long{down}"


def summary(vessel: Vessel, result: LeakResult) -> str:
    """The answer in a sentence or two."""
    units, part = vessel.units, result.chosen
    water = with_unit(part.reserve_m3, "volume", units)
    where = place(part.name)
    phrase = leak_phrase(result.source, units)
    if part.reserve_m3 <= 0.0:
        return (
            f"{vessel.name} has no lift to spare with her tanks empty: the first drop {where} keeps her down."
        )
    if part.floods_wholly:
        text = f"All the room {where} may fill, {water}, and {vessel.name} still comes up"
        text += f"; {phrase} {_lasting(part, result.source, units, 'until it is full')}."
    else:
        text = f"{water} of water {where} and {vessel.name} no longer comes up"
        text += f"; {phrase} {_lasting(part, result.source, units, '')}."
    turns = [turn for turn in (_turn(part, "afloat", units), _turn(part, "dived", units)) if turn]
    if turns:
        joined = "; ".join(turns)
        text += f" {joined[0].upper()}{joined[1:]}."
    dived = next((one for one in result.reserves if one.fills and min(one.fills.values()) >= 1.0), None)
    if dived is not None and not dived.floods_wholly:
        spent = with_unit(dived.water_m3.value, "volume", units)
        text += f" With her tanks full, {spent} take all her lift."
    return text


def _lasting(part: LeakPart, source: LeakSource, units: UnitSet, until: str) -> str:
    if math.isinf(part.after_s):
        if math.isfinite(part.stops_at_m3) and part.stops_at_m3 > 0.0:
            stops = with_unit(part.stops_at_m3, "volume", units)
            return f"that never comes about, since the air shut in stops the leak at {stops}"
        return "that never comes about"
    return f"that is {span(part.after_s)}{' ' if until else ''}{until}"


def _turn(part: LeakPart, state: str, units: UnitSet) -> str:
    """The first change of attitude in a state, such as `afloat she tips bow up from 144 ml`."""
    found = [e for e in part.events if e.state == state and e.kind in ("tips", "heels", "on end", "over")]
    if not found:
        return ""
    first = found[0]
    where = "at the surface" if state == "afloat" else "dived"
    text = f"{where} she {_doing(first)} from {with_unit(first.water_m3, 'volume', units)} on"
    grave = next((e for e in found if e.kind in ("on end", "over") and e is not first), None)
    if grave is not None:
        text += f" and {_doing(grave)} from {with_unit(grave.water_m3, 'volume', units)}"
    return text


def _doing(event: LeakEvent) -> str:
    return {
        "tips": f"tips bow {'up' if event.trim_deg > 0.0 else 'down'}",
        "heels": f"leans to {'starboard' if event.heel_deg > 0.0 else 'port'}",
        "on end": f"stands on end, bow {'up' if event.trim_deg > 0.0 else 'down'}",
        "over": "lies keel up",
        "deck": "has the top of her hull under water",
        "top": "has sail and masts under water too",
        "sinks": "no longer comes up",
        "full": "is full there and still floats",
    }[event.kind]


def event_words(event: LeakEvent, units: UnitSet) -> tuple[str, str, str]:
    """Water, time, and what happens."""
    where = (
        "" if event.kind in ("sinks", "full") else "at the surface " if event.state == "afloat" else "dived "
    )
    return with_unit(event.water_m3, "volume", units), span(event.after_s), f"{where}she {_doing(event)}"


def stage_row(stage: LeakStage, units: UnitSet) -> StageRow:
    """One amount of water in words; a dash where a figure says nothing."""
    lie = stage.afloat
    floats = lie.condition == "floats"
    level = floats and abs(lie.trim_deg.value) < STEEP_DEG and abs(lie.heel_deg.value) < STEEP_DEG

    def drawn(value: float) -> str:
        return figure(value, "length", units) if level else NO_VALUE

    return StageRow(
        with_unit(stage.water_m3, "volume", units),
        span(stage.after_s),
        drawn(lie.draught_bow_m.value),
        drawn(lie.draught_stern_m.value),
        degrees(lie.trim_deg.value) if floats else "sinks",
        degrees(lie.heel_deg.value) if floats else NO_VALUE,
        figure(lie.gm_transverse_m.value, "length", units) if floats else NO_VALUE,
        with_unit(lie.lift_kg.value, "mass", units),
        degrees(stage.dived.trim_deg.value),
        figure(stage.dived.gm_transverse_m.value, "length", units),
        figure(stage.dived.bg_m.value, "length", units),
    )


def stage_headings(units: UnitSet) -> tuple[str, ...]:
    """What stands over a `StageRow`; lengths name their unit here."""
    unit, _ = length_unit(units)
    lengths = (f"bow [{unit}]", f"stern [{unit}]", "trim", "heel", f"GM [{unit}]", "lift")
    return ("water", "after", *lengths, "dived trim", f"dived GM [{unit}]", f"dived BG [{unit}]")


def fewer(stages: tuple[LeakStage, ...], most: int = 14) -> list[LeakStage]:
    """So many of the stages at most, the first and the last among them, evenly."""
    if len(stages) <= most:
        return list(stages)
    picked = sorted({round(index * (len(stages) - 1) / (most - 1)) for index in range(most)})
    return [stages[index] for index in picked]


def reserve_words(reserve: Reserve, units: UnitSet) -> tuple[str, str, str, str]:
    """Tanks, lift, water and time."""
    shares = set(reserve.fills.values())
    if not reserve.fills:
        tanks = "no tank"
    elif len(shares) == 1:
        share = next(iter(shares))
        tanks = "empty" if share == 0.0 else "full" if share == 1.0 else f"{100.0 * share:g} % full"
    else:
        tanks = ", ".join(f"{name} {100.0 * share:g} %" for name, share in reserve.fills.items())
    water = measured(reserve.water_m3, "volume", units)
    if reserve.floods_wholly:
        water = f"{with_unit(reserve.water_m3.value, 'volume', units)}, all its room"
    return tanks, measured(reserve.lift_kg, "mass", units), water, span(reserve.after_s)


def part_row(part: LeakPart, units: UnitSet) -> PartRow:
    """One dry part in words."""
    walls = part.bulkheads
    reserve = with_unit(part.reserve_m3, "volume", units)
    whole = "all of it" if part.floods_wholly else NO_VALUE
    return PartRow(
        part.name,
        room_words(part, units),
        f"{reserve}, all" if part.floods_wholly else reserve,
        span(part.after_s),
        with_unit(part.stops_at_m3, "volume", units),
        with_unit(walls.longest_aft_m, "length", units) if walls is not None else whole,
        with_unit(walls.longest_fore_m, "length", units) if walls is not None else whole,
    )


def room_words(part: LeakPart, units: UnitSet) -> str:
    """The room with the band of an assumed wall."""
    room = with_unit(part.room_m3, "volume", units)
    band = 0.5 * (part.room_high_m3 - part.room_low_m3)
    return f"{room} ± {with_unit(band, 'volume', units)}" if band > 0.0 else room


def along(vessel: Vessel, x_m: float) -> str:
    """A station from the builder's own zero, such as `412.0 mm from the bow`."""
    x = vessel.datum.to_builder((x_m, 0.0, 0.0))[0]
    return f"{with_unit(x, 'length', vessel.units)} from the {vessel.datum.x_from}"


def bulkhead_sentence(vessel: Vessel, part: LeakPart) -> str:
    """Whether one bulkhead saves her, and where; else how many would."""
    walls, units = part.bulkheads, vessel.units
    if walls is None:
        return (
            "All parts together have no bulkhead to look for."
            if part.name == TOGETHER
            else f"All the room {place(part.name)} may fill, so no bulkhead is needed."
        )
    longest = (
        f"Filled wholly, {with_unit(walls.longest_aft_m, 'length', units)} of room at the aft end or "
        f"{with_unit(walls.longest_fore_m, 'length', units)} at the fore end still let her come up, keel down and less "
        "steep than 45 deg."
    )
    if math.isfinite(walls.best_x_m):
        ends = sorted(
            (walls.low_x_m, walls.high_x_m), key=lambda x: vessel.datum.to_builder((x, 0.0, 0.0))[0]
        )
        text = f"One bulkhead anywhere from {along(vessel, ends[0])} to {along(vessel, ends[1])} saves her"
        text += f"; best at {along(vessel, walls.best_x_m)}"
        text += (
            f", where it cuts through {', '.join(walls.crosses)}."
            if walls.crosses
            else ", where nothing stands in the way."
        )
        return f"{longest} {text}"
    count = len(walls.needed_x_m)
    if count == 0:
        return f"{longest} No bulkhead saves her, wherever it stands."
    places = [vessel.datum.to_builder((x, 0.0, 0.0))[0] for x in walls.needed_x_m]
    listed = ", ".join(with_unit(x, "length", units) for x in sorted(places))
    return (
        f"{longest} One bulkhead does not save her; {count} would, {listed} from the {vessel.datum.x_from}."
    )


def side_sentence(vessel: Vessel, side: BulkheadSide) -> str:
    """What happens with the water kept on one side of the best bulkhead."""
    units = vessel.units
    room = with_unit(side.room_m3, "volume", units)
    text = (
        f"{side.side.capitalize()} of it full, {room}: {with_unit(side.lift_kg, 'mass', units)} of lift left"
    )
    if math.isfinite(side.trim_deg):
        text += f", trim {degrees(side.trim_deg)}"
    worst = {"tips": "tips", "heels": "leans", "on end": "stands on end", "over": "lies keel up"}
    if side.worst in worst:
        text += f"; on the way she {worst[side.worst]}"
    return f"{text}."


def alarm_rows(vessel: Vessel, alarm: Alarm) -> list[tuple[str, str, str, str]]:
    """Attitude, water, time, and how long before the end."""
    return [
        (
            "level"
            if row.trim_deg == 0.0
            else f"{abs(row.trim_deg):g} deg bow {'up' if row.trim_deg > 0.0 else 'down'}",
            with_unit(row.water_m3, "volume", vessel.units),
            span(row.after_s),
            span(row.before_end_s) if not math.isinf(row.before_end_s) else "no end comes",
        )
        for row in alarm.wettings
    ]


def alarm_sentence(vessel: Vessel, alarm: Alarm) -> str:
    """Where the sensors belong."""
    spots = [_spot(vessel, at) for at in alarm.places_m]
    if len(spots) == 1:
        return f"One water alarm does best at {spots[0]}:"
    return f"Two, whichever is wet first, at {' and '.join(spots)}:"


def _spot(vessel: Vessel, at: Vector) -> str:
    unit, _ = length_unit(vessel.units)
    x, y, z = place_words(at, vessel.datum, vessel.units)
    aside = "on the middle line" if y == "centre" else y.replace(" ", f"\u00a0{unit} to ", 1)
    return f"{x}\u00a0{unit} from the {vessel.datum.x_from}, {aside}, {z}\u00a0{unit} over the {vessel.datum.z_from}"


def flow_words(result: LeakResult, units: UnitSet) -> str:
    """How much comes in at the start."""
    source = result.source
    phrase = leak_phrase(source, units)
    text = f"{phrase[0].upper()}{phrase[1:]}: {rate(source.flow_m3_s, units)} at the start"
    if source.way.kind == "gap":
        text += f", {rate(source.flow_m3_s * source.touching_times, units)} where the shaft touches"
    stops = result.chosen.stops_at_m3
    if math.isfinite(stops):
        text += f"; the air shut in stops it at {short_with_unit(stops, 'volume', units)}"
    return f"{text}."


def rate(flow_m3_s: float, units: UnitSet) -> str:
    """An inflow a minute, or an hour where it is slow."""
    slow = flow_m3_s * 60.0 < 1e-6
    unit, size = ("ml", 1e-6) if units == "metric" else ("in³", 0.0254**3)
    amount = flow_m3_s * (3600.0 if slow else 60.0) / size
    return f"{amount:.3g}\u00a0{unit}/{'h' if slow else 'min'}"
