"""What the heel study says, in the builder's units, for every face alike."""

import math
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, number, short_with_unit, with_unit
from dabchick.studies.heel import CAUSE_WORDS
from dabchick.studies.heel_result import Caused, Greatest, Heeled, HeelResult, HeelState

GOES_OVER: Final = "goes over"
ALL_ROUND: Final = "from any"


class HeelRow(NamedTuple):
    """One cause in words."""

    cause: str
    moment: str
    rests: str
    """Where she rests under it."""
    band: str
    """Where she rests at either end of what is uncertain; empty where nothing is."""
    swings: str
    """How far she swings when it comes at once."""
    bears: str
    """How many times as much she bears."""


def heel_words(heel_deg: float, *, decimals: int = 1) -> str:
    """Such as `12.5° to port`; a dash where there is none."""
    if not math.isfinite(heel_deg):
        return NO_VALUE
    amount = number(abs(heel_deg), decimals)
    if not any(digit in "123456789" for digit in amount):
        return "upright"
    return f"{amount}° to {'starboard' if heel_deg > 0.0 else 'port'}"


def heel_short(heel_deg: float) -> str:
    """For tables: `12.5° port`, `12.5° stbd`, or that she goes over where there is no rest."""
    if not math.isfinite(heel_deg):
        return GOES_OVER
    return heel_words(heel_deg).replace("to starboard", "stbd").replace("to port", "port")


def state_title(state: HeelState) -> str:
    """Its name and, where the name does not say it, how full the tanks are."""
    fills = state.lie.fills
    if state.name in ("surfaced", "dived") or not fills:
        return state.name
    shares = set(fills.values())
    if len(shares) == 1:
        return f"{state.name}, tanks {100.0 * shares.pop():.0f} %"
    return f"{state.name}, " + ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in fills.items())


def summary(vessel: Vessel, result: HeelResult) -> str:
    """The answer in a sentence or two."""
    fallen = [state for state in result.states if not state.holds]
    if fallen:
        names = " and ".join(state.name for state in fallen)
        return f"{vessel.name} does not hold herself upright, {names}: the least thing turns her over."
    every = [(state, entry) for state in result.states for entry in state.caused]
    if not every:
        parts = [
            f"{state_title(state)} {number(state.per_10g_moved_10mm_deg, 2)}°, and she bears "
            f"{with_unit(weaker(state).moment_n_m, 'torque', vessel.units)}"
            for state in result.states
        ]
        return f"10 g moved 10 mm across heels {vessel.name}: {'; '.join(parts)}."
    over = [(state, entry) for state, entry in every if math.isnan(entry.likely.heel_deg)]
    if over:
        state, entry = over[0]
        words = phrase(vessel, result, entry)
        return (
            f"{words[0].upper()}{words[1:]} lays {vessel.name} over, {state_title(state)}: no rest is left on "
            "that side."
        )
    state, entry = max(every, key=lambda pair: _away(pair[0], pair[1].likely))
    swings = entry.likely.swings_deg
    end = (
        "it may lay her over when it comes at once"
        if math.isnan(swings)
        else f"{heel_words(swings)} at most when it comes at once"
    )
    return (
        f"Most of all, {state_title(state)}, {phrase(vessel, result, entry)} heels {vessel.name}: she "
        f"rests {heel_words(entry.likely.heel_deg)}, {end}."
    )


def _away(state: HeelState, found: Heeled) -> float:
    return abs(found.heel_deg - state.lie.heel_deg.value)


def phrase(vessel: Vessel, result: HeelResult, entry: Caused) -> str:
    """A cause within a sentence, such as `a gust from port`."""
    words = cause_words(vessel, result, entry)
    return {
        "torque": f"the propeller's torque, {entry.way},",
        "turn": f"a {entry.way}",
        "wind": f"wind {entry.way}",
        "gust": f"a gust {entry.way}",
        "side": words,
    }[entry.cause]


def weaker(state: HeelState) -> Greatest:
    """The side on which she bears less."""
    return min((state.starboard, state.port), key=lambda side: side.moment_n_m)


def cause_words(vessel: Vessel, result: HeelResult, entry: Caused) -> str:
    """Such as `Propeller ahead` or `50 g by 20 mm to port`."""
    if entry.cause == "side" and result.side is not None:
        weight = short_with_unit(result.side.mass_kg, "mass", vessel.units)
        if result.side.moved_m is None:
            return f"{weight} hung on"
        way = short_with_unit(result.side.moved_m, "length", vessel.units)
        return f"{weight} by {way} {entry.way.removeprefix('moved ')}"
    return {
        "torque": f"Propeller {entry.way}",
        "turn": entry.way[0].upper() + entry.way[1:],
        "wind": f"Wind {entry.way}",
        "gust": f"Gust {entry.way}",
        "side": CAUSE_WORDS["side"],
    }[entry.cause]


def cause_row(vessel: Vessel, result: HeelResult, entry: Caused) -> HeelRow:
    """One cause in the builder's units."""
    moment = with_unit(abs(entry.likely.moment_n_m), "torque", vessel.units)
    band = ""
    if entry.low != entry.high and not (math.isnan(entry.low.heel_deg) and math.isnan(entry.high.heel_deg)):
        low, high = heel_short(entry.low.heel_deg), heel_short(entry.high.heel_deg)
        if low.split()[-1] == high.split()[-1]:
            low = low.split("°", maxsplit=1)[0]
        band = f"{low} to {high}"
    return HeelRow(
        cause_words(vessel, result, entry),
        moment,
        heel_short(entry.likely.heel_deg),
        band,
        heel_short(entry.likely.swings_deg),
        bears_words(entry.likely.bears),
    )


def bears_words(factor: float) -> str:
    """How many times as much she bears."""
    if math.isinf(factor):
        return "any"
    if factor > 100.0:
        return "over 100 ×"
    return f"{number(factor, 1 if factor >= 2.0 else 2)} ×"


def state_rows(state: HeelState, units: UnitSet) -> list[tuple[str, str]]:
    """What the builder checks in one state: label and figure."""
    lie = state.lie
    rows = [
        ("lies", heel_short(lie.heel_deg.value)),
        ("GM across", with_unit(lie.gm_transverse_m.value, "length", units)),
    ]
    if not state.holds:
        return [*rows, ("holds herself upright", "no")]
    rows.append(("10 g by 10 mm", f"{number(state.per_10g_moved_10mm_deg, 2)}°"))
    rows += [
        (
            f"moment to {entry.by_deg:.0f}°",
            with_unit(min(entry.starboard_n_m, entry.port_n_m), "torque", units),
        )
        for entry in state.moments
    ]
    for name, side in (("starboard", state.starboard), ("port", state.port)):
        rows.append(
            (
                f"most, {name}",
                f"{with_unit(side.moment_n_m, 'torque', units)} at {number(abs(side.heel_deg), 0)}°",
            )
        )
    for name, side in (("starboard", state.starboard), ("port", state.port)):
        back = ALL_ROUND if math.isnan(side.lost_deg) else f"from {number(abs(side.lost_deg), 0)}°"
        rows.append((f"comes back, {name}", back))
    return rows


def lever_words(entry: Caused, units: UnitSet) -> str:
    """Area and lever behind a cause; empty where there is none to tell."""
    if entry.cause in ("wind", "gust"):
        return (
            f"{with_unit(entry.lateral_area_m2, 'area', units)} above the water, lever "
            f"{with_unit(entry.height_m, 'length', units)} to the middle of the side under water "
            f"({with_unit(entry.half_draught_height_m, 'length', units)} to half the draught)"
        )
    if entry.cause == "turn":
        return (
            f"{with_unit(entry.flooded_kg, 'mass', units)} of water inside goes round with her; what is thrown acts "
            f"{_over(entry.height_m, units)} the middle of her side under water and "
            f"{_over(entry.half_draught_height_m, units)} half the draught, or the middle of the hull when dived"
        )
    return ""


def _over(height_m: float, units: UnitSet) -> str:
    return f"{with_unit(abs(height_m), 'length', units)} {'above' if height_m >= 0.0 else 'below'}"
