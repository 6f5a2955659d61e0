"""`hull`: the hull in figures, as it was read and placed."""

import math
from dataclasses import dataclass

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.result import Figure, StudyResult


@dataclass(frozen=True, kw_only=True)
class HullResult(StudyResult):
    """Sizes of the outer form, and what its material weighs and displaces."""

    length_m: float
    beam_m: float
    height_m: float
    form_volume_m3: float
    """Of the closed outer form."""
    area_m2: float
    """Of the outer form."""
    skin_mass_kg: Figure
    """NaN where nothing says what the skin weighs."""
    skin_volume_m3: Figure
    triangles: int


def run(vessel: Vessel) -> HullResult:
    """The hull's main figures."""
    low, high = vessel.hull.bounds()
    skin = next((item for item in vessel.items if item.kind == "skin"), None)
    nothing = Figure(math.nan, math.nan)
    sides = np.subtract(high, low)
    return HullResult(
        boat=vessel.name,
        method="sums over the triangles of the hull's closed surface",
        sources=("divergence theorem",),
        validity="the surface as read; between stations as lofted",
        assumptions=assumptions(vessel),
        warnings=warnings(vessel),
        length_m=float(sides[0]),
        beam_m=float(sides[1]),
        height_m=float(sides[2]),
        form_volume_m3=vessel.hull.volume,
        area_m2=vessel.hull.area,
        skin_mass_kg=Figure(skin.mass_kg, skin.mass_spread_kg) if skin else nothing,
        skin_volume_m3=Figure(skin.volume_m3, skin.volume_spread_m3) if skin else nothing,
        triangles=sum(len(faces) for _, faces, _ in vessel.hull.meshes()),
    )
