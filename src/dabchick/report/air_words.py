"""What the air study says, in the builder's datum and units, for every face alike."""

import math
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, degrees, length_unit, number, place_words, with_unit
from dabchick.studies.air import AirResult, Dived
from dabchick.studies.air_pockets import AirPocket
from dabchick.studies.air_vents import Vent, VentPlan

SMALL_M3: Final = 5e-8
"""Less air than this is not worth a sentence."""


def depth_words(depth_m: float, units: UnitSet) -> str:
    """A depth of water in words, as round as it was asked for."""
    return f"{depth_m:g} m of water" if units == "metric" else f"{depth_m / 0.3048:.1f} ft of water"


FAR_DEG: Final = 30.0
"""Beyond this a turn to first order says only that she stands on end."""


class PocketRow(NamedTuple):
    """One pocket in words."""

    volume: str
    lift: str
    pitch: str
    heel: str
    place: str
    """Its middle, from the builder's zeros."""
    water: str
    """Height of the water in it."""
    held_by: str
    """What sets that height."""


def attitude(pitch_deg: float, heel_deg: float) -> str:
    """Such as `15 deg bow up, 3 deg to starboard`, or `level`."""
    parts = []
    if pitch_deg:
        parts.append(f"{_short(pitch_deg)} deg bow {'up' if pitch_deg > 0.0 else 'down'}")
    if heel_deg:
        parts.append(f"{_short(heel_deg)} deg to {'starboard' if heel_deg > 0.0 else 'port'}")
    return " and ".join(parts) or "level"


def summary(vessel: Vessel, result: AirResult) -> str:
    """The answer in a sentence or two."""
    units = vessel.units
    way = attitude(result.pitch_deg, result.heel_deg)
    where = "" if math.isnan(result.depth_m) else f" under {depth_words(result.depth_m, units)}"
    if result.volume_m3 < SMALL_M3:
        text = f"Dived {way}{where}, {vessel.name} keeps no air worth naming."
    else:
        volume, lift = with_unit(result.volume_m3, "volume", units), with_unit(result.lift_kg, "mass", units)
        text = f"Dived {way}{where}, {vessel.name} keeps {volume} of air, which lifts {lift}."
    if result.with_air is not None:
        text += f" {rest_sentence(result, units)}"
    return text


def rest_sentence(result: AirResult, units: UnitSet) -> str:
    """Where she goes when let go under water with her air."""
    rest = result.with_air
    if rest is None:
        return ""
    if not result.settled:
        return "Let go under water, she and her air come to no rest."
    volume = with_unit(rest.air_m3, "volume", units)
    dry = _lie(result.without_air)
    return f"Let go under water she hangs {_lie(rest)} with {volume} of air in her; without any, {dry}."


def _lie(state: Dived) -> str:
    return attitude(round(state.pitch_deg, 1) + 0.0, round(state.heel_deg, 1) + 0.0)


def _short(value: float) -> str:
    return number(abs(value), 1).removesuffix(".0")


def pocket_row(vessel: Vessel, pocket: AirPocket) -> PocketRow:
    """One pocket in the builder's datum and units."""
    units, datum = vessel.units, vessel.datum
    along, across, up = place_words(pocket.centre_m, datum, units)
    if pocket.opening == 0:
        held = "no opening reached"
    else:
        held = f"{'passage to ' if pocket.by_passage else ''}opening {pocket.opening}"
    water = (
        with_unit(datum.to_builder((0.0, 0.0, pocket.water_m))[2], "length", units)
        if math.isfinite(pocket.water_m)
        else NO_VALUE
    )
    volume = with_unit(pocket.volume_m3, "volume", units)
    if pocket.volume_spread_m3 > 0.0:
        volume += f" ± {with_unit(pocket.volume_spread_m3, 'volume', units)}"
    return PocketRow(
        volume,
        with_unit(pocket.lift_kg, "mass", units),
        turn_words(pocket.pitch_deg),
        turn_words(pocket.heel_deg),
        f"{along}, {across}, {up}",
        water,
        held,
    )


def place_heading(vessel: Vessel) -> str:
    """What the three numbers of a place are."""
    unit, _ = length_unit(vessel.units)
    return f"middle from {vessel.datum.x_from}, across, over {vessel.datum.z_from} [{unit}]"


def turn_words(value_deg: float) -> str:
    """A turn to first order; far from level only that it is far."""
    if abs(value_deg) > FAR_DEG:
        return f"over {degrees(math.copysign(FAR_DEG, value_deg), decimals=0)}"
    return degrees(value_deg)


def vents_sentence(vessel: Vessel, plan: VentPlan) -> str:
    """How many holes, and what they leave."""
    leave = with_unit(plan.leave_m3, "volume", vessel.units)
    if not plan.vents and plan.within:
        return f"Her openings do: no more than {leave} stays in, level and 15 deg bow up or down."
    new = sum(vent.opening == 0 for vent in plan.vents)
    larger = len(plan.vents) - new
    parts = [f"{new} new vent{'s' if new != 1 else ''}"] if new else []
    parts += [f"{larger} opening{'s' if larger != 1 else ''} made larger"] if larger else []
    if not parts:
        return f"No hole in the skin at any of the places tried lets more out; over {leave} stays in."
    made = " and ".join(parts)
    if plan.within:
        return f"{made[0].upper()}{made[1:]} let out all but {leave}, level and 15 deg bow up or down; fewer do not."
    return (
        f"{made[0].upper()}{made[1:]} let out all that holes in the skin can reach; more than {leave} stays "
        "under parts."
    )


def vent_words(vessel: Vessel, vent: Vent) -> tuple[str, str, str]:
    """What to make, where from the builder's zeros, and how large."""
    along, across, up = place_words(vent.at_m, vessel.datum, vessel.units)
    what = "new vent" if vent.opening == 0 else f"make opening {vent.opening} larger"
    wide = with_unit(2.0 * math.sqrt(vent.area_m2 / math.pi), "length", vessel.units)
    unit, _ = length_unit(vessel.units)
    aside = across if across == "centre" else across.replace(" ", f"\u00a0{unit} to ", 1)
    height = f"{up}\u00a0{unit} over the {vessel.datum.z_from}"
    place = f"{along}\u00a0{unit} from the {vessel.datum.x_from}, {aside}, {height}"
    return what, place, f"{wide} wide"
