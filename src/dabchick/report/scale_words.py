"""What the scale study says, in the builder's units, for every face alike."""

import math
from typing import Final, NamedTuple

from dabchick.model.units import UnitSet
from dabchick.report.builder_units import NO_VALUE, number, with_unit
from dabchick.studies.scale import CAR_M, Hands, ScaleResult, ScaleRow

FOOT_M: Final = 0.3048
KNOT_M_S: Final = 1852.0 / 3600.0
HANDS: Final[dict[Hands, str]] = {
    "one": "one person",
    "better two": "one, better two",
    "two or more": "two or more",
}
SIGNS: Final[dict[Hands, str]] = {"one": "", "better two": "!", "two or more": "!!"}


class ScaleLine(NamedTuple):
    """One scale in words; ranges are honest bands."""

    scale: str
    length: str
    beam: str
    draught: str
    wet: str
    dived: str
    dry: str
    speed: str
    lift: str
    depth: str
    turning: str
    box: str


HEADS: Final = ScaleLine(
    scale="scale",
    length="length",
    beam="beam",
    draught="draught",
    wet="mass wet, surfaced",
    dived="mass wet, dived",
    dry="mass dry, drained",
    speed="speed",
    lift="to lift her",
    depth="depth wanted",
    turning="room to turn",
    box="box",
)


def lines(result: ScaleResult, units: UnitSet) -> list[ScaleLine]:
    """The table, row by row."""
    return [_line(row, units) for row in result.rows]


def _line(row: ScaleRow, units: UnitSet) -> ScaleLine:
    sign = SIGNS[row.hands]
    box = large(row.transport_low_m, row.transport_high_m, units)
    return ScaleLine(
        scale=f"1:{row.scale:g}",
        length=with_unit(row.length_m, "length", units),
        beam=with_unit(row.beam_m, "length", units),
        draught=with_unit(row.draught_m, "length", units),
        wet=mass(row.mass_surfaced_kg, units),
        dived=mass(row.mass_dived_kg, units),
        dry=band_of_mass(row.dry_low_kg, row.dry_high_kg, units),
        speed=speed(row.speed_m_s),
        lift=f"{sign} {HANDS[row.hands]}".strip(),
        depth=large(row.depth_low_m, row.depth_high_m, units),
        turning=large(row.turning_low_m, row.turning_high_m, units),
        box=f"{box}, long for a car" if row.transport_high_m > CAR_M else box,
    )


def mass(value_kg: float, units: UnitSet) -> str:
    """A mass to three digits, in kg or lb."""
    if not math.isfinite(value_kg):
        return NO_VALUE
    unit, value = ("lb", value_kg / 0.45359237) if units == "inch" else ("kg", value_kg)
    return f"{number(value, _decimals(value))} {unit}"


def band_of_mass(low_kg: float, high_kg: float, units: UnitSet) -> str:
    """Two masses as a band."""
    unit, size = ("lb", 0.45359237) if units == "inch" else ("kg", 1.0)
    decimals = min(_decimals(high_kg / size), 1)
    return f"{number(low_kg / size, decimals)} to {number(high_kg / size, decimals)} {unit}"


def large(low_m: float, high_m: float, units: UnitSet) -> str:
    """Two lengths as a band, in m or ft."""
    unit, size = ("ft", FOOT_M) if units == "inch" else ("m", 1.0)
    decimals = 1 if high_m / size >= 3.0 else 2
    return f"{number(low_m / size, decimals)} to {number(high_m / size, decimals)} {unit}"


def speed(value_m_s: float) -> str:
    """A speed in m/s and kn: builders think in both."""
    if not math.isfinite(value_m_s):
        return NO_VALUE
    return f"{number(value_m_s, 2)} m/s ({number(value_m_s / KNOT_M_S, 1)} kn)"


def _decimals(value: float) -> int:
    return 0 if value >= 100.0 else 1 if value >= 10.0 else 2
