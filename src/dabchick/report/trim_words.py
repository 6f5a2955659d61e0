"""What the trim says, in the builder's datum and units, for every face alike."""

import math
from typing import NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import length_unit, number, place_words, with_unit
from dabchick.studies.trim_result import PLACES_STAGE, Move, Piece, Sensitivities, TrimResult


class SmallChange(NamedTuple):
    """What a small change does, surfaced and dived; empty where it does nothing to speak of."""

    change: str
    surfaced: str
    dived: str


def summary(vessel: Vessel, result: TrimResult) -> str:
    """The answer in a sentence."""
    units = vessel.units
    parts = []
    if result.moves:
        parts.append(f"{len(result.moves)} part{'s' if len(result.moves) > 1 else ''} moved")
    if result.added_lead_kg > 0.0:
        parts.append(f"{with_unit(result.added_lead_kg, 'mass', units)} of lead")
    if result.added_foam_m3 > 0.0:
        parts.append(f"{with_unit(result.added_foam_m3, 'volume', units)} of foam")
    means = _listed(parts) or "nothing added and nothing moved"
    if not result.feasible:
        nearest = f"Shown is the nearest that was found, with {means}."
        return f"Not all wishes can be kept. {nearest} In the way stands:"
    lift = with_unit(result.after[1].lift_kg.value, "mass", units)
    return f"With {means}, {vessel.name} floats on her waterline and hangs level dived, with {lift} of lift."


def move_words(vessel: Vessel, move: Move) -> str:
    """Which part goes how far, and where its middle is then."""
    step = math.dist(move.from_m, move.to_m)
    along = move.to_m[0] - move.from_m[0]
    way = (
        ("towards the bow" if along > 0.0 else "towards the stern")
        if abs(along) > 0.7 * step
        else "along its rail"
    )
    far = with_unit(step, "length", vessel.units)
    return f"Move '{move.part}' {far} {way}: its middle to {_at(vessel, move.to_m)}."


def piece_name(piece: Piece) -> str:
    """Such as `lead keel fore`."""
    return piece.place if piece.material in piece.place else f"{piece.material} {piece.place}"


def amount_words(piece: Piece, units: UnitSet) -> str:
    """What to weigh out or cut: the mass of lead, the volume of foam."""
    if piece.material == "lead":
        return with_unit(piece.mass_kg, "mass", units)
    return with_unit(piece.volume_m3, "volume", units)


def count_words(piece: Piece) -> str:
    """The pieces to take, such as `2 × 20 g + 1 × 5 g`; empty for sheet and foam."""
    return " + ".join(f"{times} × {name}" for name, times in piece.counts.items() if times)


def small_changes(small: Sensitivities, units: UnitSet) -> list[SmallChange]:
    """What 10 g or a degree do to her."""
    rows = (
        (
            "10 g added at the bow",
            small.pitch_surfaced_deg_per_10g_at_bow,
            small.pitch_dived_deg_per_10g_at_bow,
            "trim",
        ),
        (
            "10 g added at the stern",
            small.pitch_surfaced_deg_per_10g_at_stern,
            small.pitch_dived_deg_per_10g_at_stern,
            "trim",
        ),
        (
            "10 g moved 100 mm forward",
            small.pitch_surfaced_deg_per_10g_moved_100mm,
            small.pitch_dived_deg_per_10g_moved_100mm,
            "trim",
        ),
        (
            "10 g moved 10 mm to starboard",
            small.heel_surfaced_deg_per_10g_moved_10mm,
            small.heel_dived_deg_per_10g_moved_10mm,
            "heel",
        ),
    )
    told = [
        SmallChange(name, *(f"{number(value, 2, plus=True)} deg {angle}" for value in (surfaced, dived)))
        for name, surfaced, dived, angle in rows
    ]
    deeper = with_unit(small.draught_mm_per_10g / 1000.0, "length", units, plus=True)
    told.append(
        SmallChange("10 g added amidships", f"{deeper} draught", f"{with_unit(-0.01, 'mass', units)} lift")
    )
    told.append(
        SmallChange(
            "water 1 degC warmer",
            "",
            f"{with_unit(small.lift_g_per_degc / 1000.0, 'mass', units, plus=True)} lift",
        )
    )
    told.append(
        SmallChange(
            "water 1 g/kg saltier",
            "",
            f"{with_unit(small.lift_g_per_g_kg_salt / 1000.0, 'mass', units, plus=True)} lift",
        )
    )
    return told


def misses(vessel: Vessel, result: TrimResult) -> str:
    """How far off the wish she is."""
    units = vessel.units
    return (
        f"Off the wish: {with_unit(result.draught_bow_miss_m, 'length', units, plus=True)} at the bow, "
        f"{with_unit(result.draught_stern_miss_m, 'length', units, plus=True)} at the stern, "
        f"{with_unit(result.lift_miss_kg, 'mass', units, plus=True)} of lift."
    )


def proof(result: TrimResult) -> str:
    """What is proven, and what ran out of time."""
    words = "As it stands in the boat file; proved by a full balance in both states."
    if result.rounds:
        rounds = f"{result.rounds} round{'s' if result.rounds != 1 else ''}"
        # Places are whole: no fewer will do as soon as less than one of them is in doubt. The small costs that
        # decide between equal counts add up to less than a tenth.
        in_doubt = result.gaps.get(PLACES_STAGE, 0.0) * (result.place_count + 0.1) + 0.1
        fewer = " Time ran out before it was proven that no fewer places would do." if in_doubt >= 1.0 else ""
        words = (
            f"Proven gap of lead and foam {100.0 * result.gap:.1f} %; proved by a full balance in both states, "
            f"{rounds}.{fewer}"
        )
    return words


def _listed(parts: list[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _at(vessel: Vessel, point: Vector) -> str:
    along, across, up = place_words(point, vessel.datum, vessel.units)
    unit = length_unit(vessel.units)[0]
    return (
        f"{along} {unit} from the {vessel.datum.x_from}, {across}, {up} {unit} over the {vessel.datum.z_from}"
    )
