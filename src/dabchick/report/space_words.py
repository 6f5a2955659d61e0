"""What the space study says, in the builder's datum and units, for every face alike."""

from collections.abc import Sequence
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import short_with_unit, with_unit
from dabchick.studies.space import FoundPlace, SpaceResult, Station

NO_BREAK: Final = "\u00a0"


class PlaceWords(NamedTuple):
    """A found place as one reads it off a ruler."""

    ends: str
    """Along the boat, from the builder's zero."""
    side: str
    """Across the boat, from the middle outward."""
    height: str
    """From its bottom to its top, from the builder's zero."""
    size: str
    """Length, width and height."""
    section: str
    """Width and height."""
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
    more = with_unit(result.cut_below_m3 + result.cut_above_m3, "volume", units)
    counts = (_counted(len(result.places), "block"), _counted(len(result.rails), "rail"))
    return (
        f"In {vessel.name} lead and foam can use {below} below the waterline and {above} above it, {clearance} off "
        f"everything, and up to {more} more in cells that something cuts; {floods} flood in all. "
        f"{counts[0]} and {counts[1]} are large enough to cut and to fix."
    )


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def place_row(vessel: Vessel, place: FoundPlace) -> PlaceWords:
    """One found place."""
    units, datum = vessel.units, vessel.datum
    low, high = datum.to_builder(place.low_m), datum.to_builder(place.high_m)
    ends = sorted((low[0], high[0]))
    return PlaceWords(
        ends=_range(ends, units),
        side=_side(vessel, place),
        height=_range([low[2], high[2]], units),
        size=_times(place.size_m, units),
        section=_times(place.size_m[1:], units),
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
    return f"{_range(ends, vessel.units)} {word}"


def _times(edges: Sequence[float], units: UnitSet) -> str:
    """Such as `20 × 12 mm`, the unit said once."""
    texts = [short_with_unit(edge, "length", units).partition(NO_BREAK) for edge in edges]
    return f"{' × '.join(text[0] for text in texts)}{NO_BREAK}{texts[0][2]}"


def _range(ends: Sequence[float], units: UnitSet) -> str:
    """Such as `8 to 20 mm`, the unit said once."""
    low, high = (short_with_unit(end, "length", units) for end in ends)
    return f"{low.partition(NO_BREAK)[0]} to {high}"


def reach_words(place: FoundPlace) -> str:
    """How it is got at."""
    if place.reach == "open":
        return "open"
    if place.reach == "behind":
        return f"behind {', '.join(place.behind)}"
    return "not known"


def station_ends(vessel: Vessel, station: Station) -> str:
    """A slab of the length, from the builder's zero."""
    ends = sorted(vessel.datum.to_builder((x, 0.0, 0.0))[0] for x in (station.aft_m, station.fore_m))
    return _range(ends, vessel.units)
