"""`tank`: how much water she must take to dive, where its centre belongs, and what the present tank would do.

What must go under is the material and sealed volume above the surfaced waterline, V_above, not the form's volume
there. With the empty tank counted as displacing when surfaced and flooded when dived, the two force balances give

    T = V_above - lift / rho

for a tank in a dry part (whose room is sealed volume already) and for the part of a flooded-space tank under the
waterline alike; and the two moment balances, level in both states, put its centre at

    c = (first moment of V_above - (lift / rho) B) / T,   B the centre of all volume (dived).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.balance import Balance, balance
from dabchick.physics.cut import cut
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.result import Figure, StudyResult

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SplitTank:
    """A fore and an aft tank that together do what one tank at the right place would."""

    fore_m3: float
    fore_x_m: float
    aft_m3: float
    aft_x_m: float


@dataclass(frozen=True, kw_only=True)
class TankResult(StudyResult):
    """The tank this waterline and lift ask for."""

    waterline_m: float
    lift_kg: float
    volume_m3: Figure
    """Needed room for water."""
    centre_m: Vector
    """Where its centre belongs, house frame."""
    bore_m: float
    """The bore asked for, or the present tank's; NaN where none is known."""
    length_m: float
    """Length of water at that bore; NaN where none is known."""
    present_m3: float
    """All present tanks together; 0 without any."""
    present_centre_m: Vector
    """NaN without a tank."""
    present_waterline_m: float
    """The waterline at which the present tank gives just the lift asked; NaN where it never does."""
    present_lift_kg: float
    """Dived lift with the present tank full, the boat weighted to the wished waterline."""
    present_pitch_kg_m: float
    """Moment, bow down positive, that the present tank's place leaves between the two states."""
    split: SplitTank | None
    """Fore and aft tanks at the ends of the room, when one tank cannot stand at `centre_m`."""
    room_low_x_m: float
    """The range of x where a tank of that length can stand in what holds the present one; NaN without one."""
    room_high_x_m: float


def run(vessel: Vessel, *, bore_m: float | None = None, lift_kg: float | None = None) -> TankResult:
    """Size and place the ballast tank for the wished waterline and lift, level in both states.

    `bore_m` asks for the length at another bore; `lift_kg` overrides the wished lift. Raises BoatError where the
    bore is not positive or nothing stands above the waterline.
    """
    if bore_m is not None and not bore_m > 0.0:
        raise BoatError(
            Advice(
                what="The bore is not above zero.",
                todo="Give the tank's inner diameter.",
                key="bore",
                given=f"{bore_m} m",
            )
        )
    lift = vessel.wishes.lift_dived_kg if lift_kg is None else lift_kg
    rho = vessel.water_density_kg_m3
    body = _without_tanks(vessel)
    above, moment = _above(body, vessel.waterline_m)
    needed = above - lift / rho
    if needed <= 0.0:
        raise BoatError(
            Advice(
                what=(
                    "Nothing of the boat is left to sink: what stands above the waterline displaces less than "
                    "the lift asked."
                ),
                todo="Lower the waterline, add volume above it, or ask for less lift.",
                key="hull.waterline",
                given=f"{above * 1e6:.0f} ml above the waterline, lift {lift * 1000:.0f} g",
            )
        )
    centre = (moment - lift / rho * body.buoyant_centre) / needed
    present = sum(tank.capacity_m3 for tank in vessel.tanks)
    present_centre = (
        np.sum([tank.capacity_m3 * np.array(tank.centre_m) for tank in vessel.tanks], axis=0) / present
        if present
        else np.full(3, math.nan)
    )
    bore = bore_m if bore_m is not None else _bore(vessel)
    length = needed / (0.25 * math.pi * bore**2) if math.isfinite(bore) else math.nan
    low, high = _room(vessel, length)
    split = _split(needed, float(centre[0]), low, high)
    found = _findings(vessel, needed, float(centre[0]), present, low, high, above - lift / rho)
    return TankResult(
        boat=vessel.name,
        method="volume and first moment of all material and sealed volume above the waterline, less the lift",
        sources=("Archimedes' principle in both states, subtracted",),
        validity="boat level in both states, free-flooding spaces drained when surfaced",
        assumptions=assumptions(
            vessel, "lead and foam still to be added above the waterline are not in V_above"
        ),
        warnings=warnings(vessel, *found),
        waterline_m=vessel.waterline_m,
        lift_kg=lift,
        volume_m3=Figure(needed, _spread(vessel, body)),
        centre_m=(float(centre[0]), float(centre[1]), float(centre[2])),
        bore_m=bore,
        length_m=length,
        present_m3=present,
        present_centre_m=(float(present_centre[0]), float(present_centre[1]), float(present_centre[2])),
        present_waterline_m=_waterline_for(vessel, body, present + lift / rho),
        present_lift_kg=rho * (above - present),
        present_pitch_kg_m=rho * present * float(present_centre[0] - centre[0]) if present else math.nan,
        split=split,
        room_low_x_m=low,
        room_high_x_m=high,
    )


def _without_tanks(vessel: Vessel) -> Balance:
    """All that displaces but the rooms of tanks in the flooded space; the mass has no part in it."""
    solids = [item.solid for item in vessel.items if item.solid is not None]
    if not solids:
        raise BoatError(
            Advice(
                what="Nothing in this boat displaces water.",
                todo="Give the hull a skin and the parts shapes.",
                key="part",
            )
        )
    return balance(solids, 1.0, np.zeros(3), vessel.water_density_kg_m3)


def _above(body: Balance, waterline: float) -> tuple[float, Array]:
    under = cut(body.forest, UPRIGHT, waterline, 0, body.last_displacer)
    volume = body.buoyant_volume
    return volume - under.volume, volume * body.buoyant_centre - np.asarray(under.moment)


def _waterline_for(vessel: Vessel, body: Balance, above: float) -> float:
    """The waterline that leaves just `above` [m3] of material over it; NaN where none does."""

    def excess(height: float) -> float:
        return _above(body, height)[0] - above

    low, high = vessel.low_m[2], vessel.high_m[2]
    if excess(low) < 0.0 or excess(high) > 0.0:
        return math.nan
    return float(brentq(excess, low, high, xtol=1e-7))


def _bore(vessel: Vessel) -> float:
    areas = [tank.bore_area_m2 for tank in vessel.tanks if tank.bore_area_m2 > 0.0]
    return 2.0 * math.sqrt(areas[0] / math.pi) if areas else math.nan


def _room(vessel: Vessel, length: float) -> tuple[float, float]:
    """The range of centres at which a tank of this length stays inside the dry part that holds the present one."""
    holders = [item for tank in vessel.tanks for item in vessel.items if item.name == tank.inside]
    if not holders or holders[0].solid is None or not math.isfinite(length):
        return math.nan, math.nan
    low, high = holders[0].solid.bounds()
    return float(low[0]) + 0.5 * length, float(high[0]) - 0.5 * length


def _split(needed: float, x: float, low: float, high: float) -> SplitTank | None:
    """Two tanks with the same sum and moment; the nearer end of the room carries the more."""
    if not (math.isfinite(low) and math.isfinite(high)) or low <= x <= high or low >= high:
        return None
    # One end stays where it can; the other must stand on the far side of the centre, outside this holder.
    aft, fore = (min(low, x - 0.05), high) if x > high else (low, max(high, x + 0.05))
    fore = fore if fore > x else x + (x - aft) * 0.25
    aft = aft if aft < x else x - (fore - x) * 0.25
    share = (x - aft) / (fore - aft)
    return SplitTank(needed * share, fore, needed * (1.0 - share), aft)


def _spread(vessel: Vessel, body: Balance) -> float:
    total = 0.0
    displacing = [item for item in vessel.items if item.solid is not None]
    for index, item in enumerate(displacing):
        if item.volume_m3 <= 0.0:
            continue
        first, last = body.displacer_starts[index], body.displacer_starts[index + 1]
        under = cut(body.forest, UPRIGHT, vessel.waterline_m, int(first), int(last)).volume
        total += (item.volume_spread_m3 * (1.0 - under / item.volume_m3)) ** 2
    return math.sqrt(total)


def _findings(
    vessel: Vessel, needed: float, x: float, present: float, low: float, high: float, wanted: float
) -> list[Advice]:
    found = []
    if not vessel.tanks:
        found.append(
            Advice(
                what="The boat has no tank yet.",
                todo=f"Add a [[tank]] of {wanted * 1e6:.0f} ml.",
                key="tank",
                severity="warning",
            )
        )
    elif present < 0.995 * needed:
        found.append(
            Advice(
                what=f"The present tank is {(needed - present) * 1e6:.0f} ml too small for this waterline and lift.",
                todo="Make it longer, or let her float deeper when surfaced.",
                key="tank",
                severity="warning",
            )
        )
    elif present > 1.005 * needed:
        found.append(
            Advice(
                what=f"The present tank takes {(present - needed) * 1e6:.0f} ml more than is needed.",
                todo="Add foam above the waterline, or stop it short of full.",
                key="tank",
                severity="warning",
            )
        )
    if math.isfinite(low) and math.isfinite(high) and not low <= x <= high:
        found.append(
            Advice(
                what="The tank's centre belongs where it cannot stand in its present holder.",
                todo="Split it into a fore and an aft tank, or move volume above the waterline along the boat.",
                where=f"x {vessel.datum.to_builder((x, 0.0, 0.0))[0] * 1000:.0f} mm from the {vessel.datum.x_from}",
                key="tank",
                severity="warning",
            )
        )
    return found
