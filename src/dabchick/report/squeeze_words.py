"""What the study of air and depth says, in the builder's units, for every face alike."""

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import NO_VALUE, degrees, number, with_unit
from dabchick.studies.squeeze_result import BlowPoint, DepthRow, Reach, SqueezeResult, Track

FOOT_M: Final = 0.3048
FELT_KG_M: Final = 5e-5
"""Less than this lost per metre is nothing that depth takes."""
FEW_ROWS: Final = 11
FEW_BLOWS: Final = 8
FAR_M: Final = 100.0
"""Deeper than this nobody takes a model; the figure itself stands in the JSON."""


class RowWords(NamedTuple):
    """One depth in words."""

    depth: str
    lift: str
    loss: str
    air: str
    trim: str
    bg: str
    gm_across: str
    gm_along: str
    others: str
    """Trims of the other ways to hang there."""


class BlowWords(NamedTuple):
    """One blow in words."""

    air: str
    weighs: str
    lift: str
    back: str


def depth_words(depth_m: float, units: UnitSet) -> str:
    """A depth of water, such as `2.4 m`; a dash where there is none."""
    if not math.isfinite(depth_m):
        return NO_VALUE
    value, unit = (depth_m, "m") if units == "metric" else (depth_m / FOOT_M, "ft")
    if depth_m > FAR_M:
        return f"over {number(value / depth_m * FAR_M, 0)}\u00a0{unit}"
    return f"{number(value, 2 if abs(value) < 1.0 else 1)}\u00a0{unit}"


def rate_words(kg_m: float, units: UnitSet) -> str:
    """Lift lost on the way down, such as `3.1 g of lift per metre`."""
    if units == "metric":
        return f"{with_unit(kg_m, 'mass', units)} of lift per metre"
    return f"{with_unit(kg_m * FOOT_M, 'mass', units)} of lift per foot"


def summary(vessel: Vessel, result: SqueezeResult) -> str:
    """The answer in a sentence or two."""
    units = vessel.units
    track = result.tracks[0]
    if not result.soft and not result.trapped_m3 > 0.0:
        return _nothing_soft(vessel, result)
    loss = rate_words(track.loss_worst.kg_m, units)
    where = "" if track.loss_worst.depth_m == 0.0 else f" {depth_words(track.loss_worst.depth_m, units)} down"
    with_what = "on this blow" if result.blown_m3 > 0.0 else "on this air"
    match result.back:
        case "any depth":
            end = "she comes back from any depth"
        case "down to":
            end = f"below {depth_words(result.back_depth_m, units)} she will not come back {with_what}"
        case "never":
            end = "she has no lift even just under the surface and does not come back by herself"
    first = f"She loses {loss}{where}" if track.loss_worst.kg_m > FELT_KG_M else "She carries no air down"
    return f"{first}; {end}."


def _nothing_soft(vessel: Vessel, result: SqueezeResult) -> str:
    lift = result.tracks[0].lift_under_kg
    names = " and ".join(result.holding)
    holds = f": her tank {names} holds its water" if len(result.holding) == 1 else ""
    if len(result.holding) > 1:
        holds = f": her tanks {names} hold their water"
    amount = with_unit(abs(lift), "mass", vessel.units)
    kept = (
        f"keeps her {amount} of lift at any depth"
        if lift > 0.0
        else f"lacks {amount} of lift at any depth and sinks"
    )
    return f"{vessel.name} has nothing that depth squeezes{holds}, so she {kept}."


def fill_words(vessel: Vessel, track: Track) -> str:
    """With what she goes under."""
    shares = ", ".join(
        f"{name} {number(100.0 * share, 1)}\u00a0% full" for name, share in track.fills.items()
    )
    lift = with_unit(track.lift_under_kg, "mass", vessel.units, plus=True)
    air = with_unit(track.air_free_m3, "volume", vessel.units)
    held = (
        f" and {air} of air in her open tanks, as measured at the surface" if track.air_free_m3 > 0.0 else ""
    )
    return f"Going under with {shares or 'no tank'}{held}: lift {lift} just under."


def neutral_sentence(vessel: Vessel, track: Track) -> str:
    """Where she neither rises nor falls; empty where there is no such depth."""
    if track.neutral != "down to":
        return ""
    depth = depth_words(track.neutral_depth_m, vessel.units)
    text = f"Neutral at {depth}: above it she rises, below it she falls, and nothing holds her there."
    gram = gram_sentence(vessel, track)
    return f"{text} {gram}" if gram else text


def gram_sentence(vessel: Vessel, track: Track) -> str:
    """How far a little weight moves the neutral depth."""
    if track.neutral != "down to" or not track.neutral_spread_m > 0.0 or not track.lift_spread_kg > 0.0:
        return ""
    small, name = (0.001, "gram") if vessel.units == "metric" else (0.0283495231, "ounce")
    moved = track.neutral_spread_m / track.lift_spread_kg * small
    return f"Each {name} of weight moves that by {depth_words(moved, vessel.units)}."


def cure_sentence(vessel: Vessel, result: SqueezeResult) -> str:
    """What a tank that holds its water would do; empty without soft tanks."""
    if not result.soft:
        return ""
    track = result.tracks[0]
    units = vessel.units
    opened, closed = track.rows[-1], track.closed[-1]
    at = depth_words(result.depth_m, units)
    return (
        f"With the same water in a closed tank (bag or piston) she would have "
        f"{with_unit(closed.lift_kg, 'mass', units, plus=True)} at {at} instead of "
        f"{with_unit(opened.lift_kg, 'mass', units, plus=True)}."
    )


def needed_sentence(vessel: Vessel, result: SqueezeResult) -> str:
    """The air that just brings her back from the depth asked for; empty without soft tanks."""
    if not result.soft:
        return ""
    at = depth_words(result.depth_m, vessel.units)
    if math.isnan(result.needed_m3):
        return f"Not even tanks blown dry bring her back from {at}."
    if result.needed_m3 == 0.0:
        return f"She comes back from {at} without any air in her tanks."
    air = with_unit(result.needed_m3, "volume", vessel.units)
    return f"To come back from {at} her tanks must hold {air} of air in all, as measured at the surface."


def lost_words(vessel: Vessel, track: Track) -> str:
    """Where the lost lift was; empty where none is lost."""
    if not math.isfinite(track.lost_centre_m[0]):
        return ""
    along = with_unit(vessel.datum.to_builder(track.lost_centre_m)[0], "length", vessel.units)
    up = with_unit(vessel.datum.to_builder(track.lost_centre_m)[2], "length", vessel.units)
    return f"The lift is lost {along} from the {vessel.datum.x_from}, {up} from the {vessel.datum.z_from}."


def reach_words(back: Reach, depth_m: float, units: UnitSet) -> str:
    """How deep she may be to come back."""
    match back:
        case "any depth":
            return "any depth"
        case "down to":
            return f"down to {depth_words(depth_m, units)}"
        case "never":
            return "never"


def few(rows: Sequence[DepthRow], count: int = FEW_ROWS) -> list[DepthRow]:
    """So many of the rows, evenly, the first and the last among them; one where depth changes nothing."""
    if all(row.loss_kg_m <= FELT_KG_M for row in rows):
        return list(rows[:1])
    if len(rows) <= count:
        return list(rows)
    return [rows[round(number * (len(rows) - 1) / (count - 1))] for number in range(count)]


def row_words(vessel: Vessel, row: DepthRow) -> RowWords:
    """One depth in the builder's units."""
    units = vessel.units
    others = [rest.trim_deg for rest in row.rests if abs(rest.trim_deg - row.trim_deg) > 0.05]
    loss = row.loss_kg_m if units == "metric" else row.loss_kg_m * FOOT_M
    return RowWords(
        depth=depth_words(row.depth_m, units),
        lift=with_unit(row.lift_kg, "mass", units, plus=True),
        loss=with_unit(loss, "mass", units),
        air=with_unit(row.air_m3, "volume", units),
        trim=degrees(row.trim_deg),
        bg=with_unit(row.bg_m, "length", units),
        gm_across=with_unit(row.gm_transverse_m, "length", units),
        gm_along=with_unit(row.gm_longitudinal_m, "length", units),
        others=", ".join(degrees(trim) for trim in others) or NO_VALUE,
    )


def loss_heading(units: UnitSet) -> str:
    """Heads the column of what is lost further down."""
    return "lost per metre" if units == "metric" else "lost per foot"


def blow_words(vessel: Vessel, point: BlowPoint) -> BlowWords:
    """One blow in the builder's units."""
    units = vessel.units
    weight = (
        f"{number(point.air_kg * 1e3, 2)}\u00a0g"
        if units == "metric"
        else with_unit(point.air_kg, "mass", units)
    )
    return BlowWords(
        air=with_unit(point.air_free_m3, "volume", units),
        weighs=weight,
        lift=with_unit(point.lift_under_kg, "mass", units, plus=True),
        back=reach_words(point.back, point.depth_m, units),
    )


def blows_told(points: Sequence[BlowPoint], count: int = FEW_BLOWS) -> list[BlowPoint]:
    """So many of the blows, evenly, the last among them."""
    if len(points) <= count:
        return list(points)
    return [points[round((number + 1) * len(points) / count) - 1] for number in range(count)]
