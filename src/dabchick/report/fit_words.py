"""What the fit studies say, in the builder's datum and units, for every face alike."""

import math
from typing import NamedTuple

from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import NO_VALUE, number, place_words, with_unit
from dabchick.studies.fit import FitResult, Pair
from dabchick.studies.fit_cylinder import CylinderRoom
from dabchick.studies.fit_slide import Hindrance, SlideResult
from dabchick.studies.speech import Speech

KINDS = {"overlap": "in one place", "touch": "touching", "close": "too near"}


class PairRow(NamedTuple):
    """One pair for a table."""

    first: str
    second: str
    kind: str
    amount: str
    """Room shared, or clearance."""
    place: str
    note: str


def fit_summary(vessel: Vessel, result: FitResult) -> str:
    """The answer in a sentence or two."""
    wished = with_unit(result.clearance_m, "length", vessel.units)
    kept = result.tried_count - len(result.pairs)
    said = [
        f"{counted(result.overlap_count, 'pair shares', 'pairs share')} room" if result.overlap_count else "",
        f"{counted(result.touch_count, 'pair touches', 'pairs touch')}" if result.touch_count else "",
        f"{counted(result.close_count, 'pair comes', 'pairs come')} nearer than {wished}"
        if result.close_count
        else "",
    ]
    found = [one for one in said if one]
    if not found:
        text = f"{vessel.name}: all {result.tried_count} pairs keep {wished}."
    else:
        text = f"{vessel.name}: {_and(found)}; {kept} of {result.tried_count} keep {wished}."
    if math.isfinite(result.next_clearance_m):
        first, second = result.next_pair
        least = with_unit(result.next_clearance_m, "length", vessel.units)
        text += f" The nearest of these: {first} and {second}, {least}."
    return text


def pair_row(vessel: Vessel, pair: Pair) -> PairRow:
    """A pair with its place in the builder's words."""
    amount = (
        Speech(vessel).volume(pair.overlap_m3)
        if pair.overlap_m3 > 0.0
        else with_unit(max(0.0, pair.clearance_m), "length", vessel.units)
        if pair.clearance_m > -1e-5
        else f"{with_unit(-pair.clearance_m, 'length', vessel.units)} into the wall"
    )
    return PairRow(
        pair.first,
        held_words(pair),
        KINDS[pair.kind],
        amount,
        place(vessel, pair.first_point_m),
        moved_words(vessel, pair),
    )


def held_words(pair: Pair) -> str:
    """The second of a pair: one that holds the first is met from within."""
    return f"{pair.second}, inside" if pair.held else pair.second


def moved_words(vessel: Vessel, pair: Pair) -> str:
    """Where on its rail the first one is; empty for things that stay."""
    if pair.moved_m == 0.0:
        return ""
    return f"{pair.first} moved {with_unit(abs(pair.moved_m), 'length', vessel.units)} along its rail"


def place(vessel: Vessel, at: Vector) -> str:
    """A point in one short phrase: `x 120.0, 14.0 port, z 30.0 mm`."""
    if not all(math.isfinite(value) for value in at):
        return NO_VALUE
    along, athwart, up = place_words(at, vessel.datum, vessel.units)
    unit = with_unit(1.0, "length", vessel.units).split("\u00a0")[-1]
    return f"x\u00a0{along}, {athwart}, z\u00a0{up}\u00a0{unit}"


def wall_words(vessel: Vessel, result: FitResult) -> list[str]:
    """How thick the walls of the dry parts may be, one sentence for each."""
    return [
        f"{one.holder}: {one.nearest} comes within {with_unit(one.distance_m, 'length', vessel.units)} of the "
        "outside, so the wall has to be thinner there."
        if one.distance_m > 1e-5
        else f"{one.holder}: {one.nearest} reaches the outside."
        for one in result.contents
    ]


def slide_summary(vessel: Vessel, result: SlideResult) -> str:
    """The answer in a sentence or two."""
    way = with_unit(result.way_m, "length", vessel.units)
    opened = opening_words(vessel, result)
    what = f"{result.part}, {opened}, on a straight way of {way}"
    if result.verdict == "blocked":
        first = max((one for one in result.hindrances if one.blocks), key=lambda one: one.to_go_m)
        return (
            f"Does not go in: {what}. {capital(first.name)} stops it "
            f"{with_unit(first.to_go_m, 'length', vessel.units)} before its place, at "
            f"{place(vessel, first.second_point_m)}."
        )
    least = (
        f"The least clearance is {with_unit(result.least_m, 'length', vessel.units)}, to {result.nearest_name}, "
        f"{_to_go(vessel, result.nearest_to_go_m)}, at {place(vessel, result.nearest_second_m)}."
        if math.isfinite(result.least_m)
        else "Nothing comes near."
    )
    return f"Goes in{', but nearer than wished' if result.verdict == 'tight' else ''}: {what}. {least}"


def opening_words(vessel: Vessel, result: SlideResult) -> str:
    """Which way it goes, and where the hull is opened."""
    say = Speech(vessel)
    x, _, z = result.outward
    plane = result.plane
    at = tuple(plane.offset_m * value for value in plane.normal)
    where = (
        f"opened at {say.height(at[2])}"
        if abs(plane.normal[2]) > 1.0 - 1e-9
        else f"opened at {say.along(at[0])}"
        if abs(plane.normal[0]) > 1.0 - 1e-9
        else "opened square to the way"
    )
    way = (
        "down from the top"
        if z > 1.0 - 1e-9
        else "aft from the bow"
        if x > 1.0 - 1e-9
        else "forward from the stern"
        if x < -1.0 + 1e-9
        else "along the way given"
    )
    return f"{way} with the hull {where}"


class HindranceRow(NamedTuple):
    """One hindrance for a table."""

    name: str
    how: str
    amount: str
    to_go: str
    place: str


def hindrance_row(vessel: Vessel, one: Hindrance) -> HindranceRow:
    """A hindrance in the builder's words."""
    say = Speech(vessel)
    amount = (
        f"{with_unit(one.depth_m, 'length', vessel.units)} deep, {say.volume(one.overlap_m3)}"
        if one.blocks
        else with_unit(one.clearance_m, "length", vessel.units)
    )
    return HindranceRow(
        one.name,
        "in the way" if one.blocks else "touches" if one.clearance_m == 0.0 else "near",
        amount,
        _to_go(vessel, one.to_go_m),
        place(vessel, one.deepest_m if one.blocks else one.second_point_m),
    )


def _to_go(vessel: Vessel, value_m: float) -> str:
    return (
        "in its place" if value_m < 5e-5 else f"{with_unit(value_m, 'length', vessel.units)} before its place"
    )


def cylinder_summary(vessel: Vessel, result: CylinderRoom) -> str:
    """The answer in a sentence or two."""
    units = vessel.units
    length, diameter = (with_unit(value, "length", units) for value in (result.length_m, result.diameter_m))
    lead = (
        f"The longest cylinder of {diameter} that fits is {length} long"
        if result.asked == "length"
        else f"The widest cylinder of {length} that fits has {diameter} of diameter"
    )
    clear = with_unit(result.clearance_m, "length", units)
    tilt = (
        f", its fore end {'up' if result.tilt_deg > 0 else 'down'} by {number(abs(result.tilt_deg), 2)}°"
        if abs(result.tilt_deg) > 0.005
        else ""
    )
    past = "the hull and the parts" if result.past else "the hull"
    return (
        f"{lead}, its middle at {place(vessel, result.centre_m)}{tilt}. It keeps {clear} to {past}; beside it "
        f"there is least room at {Speech(vessel).along(result.tightest_x_m)}."
    )


def counted(count: int, one: str, more: str) -> str:
    """Such as `1 pair touches`, `3 pairs touch`."""
    return f"{count} {one if count == 1 else more}"


def capital(text: str) -> str:
    """With a capital first letter."""
    return text[:1].upper() + text[1:]


def _and(texts: list[str]) -> str:
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"
