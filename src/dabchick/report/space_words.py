"""What the space study says, in the builder's datum and units, for every face alike."""

from typing import NamedTuple

from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import short_with_unit, with_unit
from dabchick.studies.space import FoundPlace, SpaceResult, Station


class PlaceWords(NamedTuple):
    """A found place as one reads it off a ruler."""

    ends: str
    """Along the boat, from the builder's zero."""
    side: str
    """Across the boat, from the middle outward."""
    height: str
    """From its bottom to its top, from the builder's zero."""
    size: str
    volume: str
    holds: str
    reach: str


def summary(vessel: Vessel, result: SpaceResult) -> str:
    """The answer in two sentences."""
    units = vessel.units
    below, above = (
        with_unit(value, "volume", units) for value in (result.free_below_m3, result.free_above_m3)
    )
    floods = with_unit(result.floods_below_m3 + result.floods_above_m3, "volume", units)
    clearance = short_with_unit(result.clearance_m, "length", units)
    return (
        f"In {vessel.name} lead and foam can use {below} below the waterline and {above} above it, {clearance} off "
        f"everything; {floods} flood in all. {_counted(len(result.places), 'block')} and "
        f"{_counted(len(result.rails), 'rail')} are large enough to cut and to fix."
    )


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def place_row(vessel: Vessel, place: FoundPlace) -> PlaceWords:
    """One found place."""
    units, datum = vessel.units, vessel.datum
    low, high = datum.to_builder(place.low_m), datum.to_builder(place.high_m)
    ends = sorted((low[0], high[0]))
    length, width, height = (short_with_unit(edge, "length", units) for edge in place.size_m)
    unit = length.rpartition("\u00a0")[2]
    sides = " × ".join(edge.partition("\u00a0")[0] for edge in (length, width, height))
    return PlaceWords(
        ends=" to ".join(short_with_unit(end, "length", units) for end in ends),
        side=_side(vessel, place),
        height=" to ".join(short_with_unit(end, "length", units) for end in (low[2], high[2])),
        size=f"{sides}\u00a0{unit}",
        volume=with_unit(place.volume_m3, "volume", units),
        holds={"lead": "lead", "foam": "foam", "both": "lead or foam"}[place.holds],
        reach=reach_words(place),
    )


def _side(vessel: Vessel, place: FoundPlace) -> str:
    """Such as `8 mm to 20 mm port`; half its width to each side for one across the middle."""
    low, high = place.low_m[1], place.high_m[1]
    if low < 0.0 < high:
        return f"{short_with_unit(high, 'length', vessel.units)} to each side"
    ends = sorted((abs(low), abs(high)))
    word = "port" if low >= 0.0 else "starboard"
    return f"{' to '.join(short_with_unit(end, 'length', vessel.units) for end in ends)} {word}"


def reach_words(place: FoundPlace) -> str:
    """How it is got at."""
    if place.reach == "open":
        return "open at the break line"
    if place.reach == "behind":
        return f"behind {', '.join(place.behind)}"
    return "not known"


def station_ends(vessel: Vessel, station: Station) -> str:
    """A slab of the length, from the builder's zero."""
    ends = sorted(vessel.datum.to_builder((x, 0.0, 0.0))[0] for x in (station.aft_m, station.fore_m))
    return " to ".join(short_with_unit(end, "length", vessel.units) for end in ends)
