"""How she lies, in a sentence a builder would say."""

import math
from typing import Final

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import number, with_unit
from dabchick.studies.lie import Lie

SMALL_ANGLE_DEG: Final = 0.05
"""Less than this nobody sees on a model."""
ON_HER_WATERLINE: Final = "on her waterline"


def sentence(vessel: Vessel, lie: Lie, under: Lie | None = None) -> str:
    """What one sees when she is put into the water; `under` is the same loading held wholly under."""
    units = vessel.units
    if under is not None and lie.condition == "floats" and lie.freeboard_m.value < 0.0:
        depth = with_unit(-lie.freeboard_m.value, "length", units)
        return (
            f"{sentence(vessel, under)} Let go, she comes up until her sail or masts stand out, with {depth} "
            "of water over the highest point of the hull."
        )
    if lie.condition == "sinks":
        excess = with_unit(-lie.lift_kg.value, "mass", units)
        return f"{vessel.name} sinks: {excess} heavier than all the water she can displace{leaning(lie)}."
    if lie.condition == "hangs":
        lift = with_unit(lie.lift_kg.value, "mass", units)
        return (
            f"{vessel.name} hangs in the water with {lift} of lift{leaning(lie) or ', level'}.{_upset(lie)}"
        )
    if any(share > 0.0 for share in lie.fills.values()):
        bow, stern = (
            with_unit(draught.value, "length", units) for draught in (lie.draught_bow_m, lie.draught_stern_m)
        )
        return (
            f"{vessel.name} floats with the water at {bow} on the bow mark and {stern} on the stern mark"
            f"{leaning(lie)}.{_upset(lie)}"
        )
    return f"{vessel.name} floats {on_the_marks(vessel, lie)}{leaning(lie)}.{_upset(lie)}"


def on_the_marks(vessel: Vessel, lie: Lie) -> str:
    """How both draughts stand to the waterline, such as `3.2 mm too deep at the bow and on her waterline ...`."""
    bow = off(lie.draught_bow_m.value - vessel.waterline_m, "bow", vessel.units)
    stern = off(lie.draught_stern_m.value - vessel.waterline_m, "stern", vessel.units)
    if bow.startswith(ON_HER_WATERLINE) and stern.startswith(ON_HER_WATERLINE):
        return f"{ON_HER_WATERLINE}, bow and stern"
    return f"{bow} and {stern}"


def off(miss_m: float, mark: str, units: UnitSet) -> str:
    """One draught against the waterline, such as `3.2 mm too deep at the bow`."""
    amount = with_unit(abs(miss_m), "length", units)
    if not any(digit in "123456789" for digit in amount):
        return f"{ON_HER_WATERLINE} at the {mark}"
    return f"{amount} too {'deep' if miss_m > 0.0 else 'high'} at the {mark}"


def leaning(lie: Lie) -> str:
    """Trim and heel behind a comma; nothing where nobody sees them."""
    parts = []
    trim, heel = lie.trim_deg.value, lie.heel_deg.value
    if math.isfinite(trim) and abs(trim) >= SMALL_ANGLE_DEG:
        parts.append(f"{number(abs(trim), 1)} deg bow {'up' if trim > 0.0 else 'down'}")
    if math.isfinite(heel) and abs(heel) >= SMALL_ANGLE_DEG:
        parts.append(f"{number(abs(heel), 1)} deg over to {'starboard' if heel > 0.0 else 'port'}")
    return f", {' and '.join(parts)}" if parts else ""


def _upset(lie: Lie) -> str:
    return "" if lie.stable else " She does not stay like this: the least touch turns her over."
