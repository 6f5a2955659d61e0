"""How the water comes in: a drip, a hole, a long thin bore, or the gap round a shaft."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import leak_flow
from dabchick.physics.balance import ATMOSPHERE_PA
from dabchick.physics.water import kinematic_viscosity_m2_s

DROP_M3: Final = 0.05e-6
"""20 drops to the millilitre: pharmacy convention, from memory."""
DRIP: Final = 3.0
"""Drops a minute where no leak is given: a stern gland of a full-size boat, running (2 to 3)."""
DEPTH_M: Final = 1.0
LAMINAR: Final = 2000.0

Kind = Literal["drip", "hole", "bore", "gap"]


@dataclass(frozen=True)
class LeakWay:
    """The way in, as the builder says it."""

    kind: Kind
    drops_per_min: float = 0.0
    """For a drip."""
    diameter_m: float = 0.0
    """Of the hole or bore, or of the shaft in its gap."""
    gap_m: float = 0.0
    """Radial, for the gap round a shaft."""
    length_m: float = 0.0
    """Along the bore or gap."""


A_DRIP: Final = LeakWay("drip", DRIP)


@dataclass(frozen=True)
class LeakSource:
    """A leak at its depth, with air at one atmosphere inside."""

    way: LeakWay
    depth_m: float
    """Water over the leak; NaN for a drip that is taken as steady."""
    pressure_pa: float
    """Of that water; 0 for a steady drip."""
    flow_m3_s: float
    """At the start."""
    power: float
    """The flow follows the pressure left over with this power."""
    air_pa: float
    """Pressure of the air shut in at the start; 0 where it gets out."""
    reynolds: float
    """On the hydraulic diameter; NaN for a drip."""
    touching_times: float
    """So many times the flow with the shaft against one side of its gap; 1 for all else."""

    def seconds(self, water_m3: float, room_m3: float) -> float:
        """Until so much water is in a room of this volume; infinite where the air stops it before."""
        return float(
            leak_flow.time_to(water_m3, self.flow_m3_s, self.power, room_m3, self.pressure_pa, self.air_pa)
        )

    def flow_at(self, water_m3: float, room_m3: float) -> float:
        """[m3/s] with so much water in."""
        return float(
            leak_flow.flow_at(water_m3, self.flow_m3_s, self.power, room_m3, self.pressure_pa, self.air_pa)
        )

    def stops_at_m3(self, room_m3: float) -> float:
        """Water at which the squeezed air holds the leak; NaN where nothing stops it."""
        if self.power == 0.0 or self.air_pa == 0.0:
            return math.nan
        return leak_flow.stop_volume(room_m3, self.pressure_pa, self.air_pa)


def source_of(vessel: Vessel, way: LeakWay, depth_m: float | None, vented: bool) -> LeakSource:
    """The leak in this boat's water. Raises BoatError for sizes that cannot be.

    A drip without a depth is steady; with one it fades with the pressure left, as through a narrow gap.
    """
    _checked(way, depth_m)
    steady = way.kind == "drip" and depth_m is None
    depth = math.nan if steady else DEPTH_M if depth_m is None else depth_m
    density = vessel.water_density_kg_m3
    over = 0.0 if steady else leak_flow.head_pa(depth, density)
    kinematic = kinematic_viscosity_m2_s(vessel.water_temperature_c, vessel.water_salinity_g_kg)
    viscosity = density * kinematic
    wide, times = way.diameter_m, 1.0
    number = math.nan
    if way.kind == "drip":
        flow, power = way.drops_per_min * DROP_M3 / 60.0, 0.0 if steady else 1.0
    elif way.kind == "hole":
        flow, power = leak_flow.hole_flow(wide, over, density), 0.5
        number = leak_flow.reynolds(flow, math.pi * wide, kinematic)
    elif way.kind == "bore":
        flow, power = leak_flow.bore_flow(wide, way.length_m, over, viscosity), 1.0
        number = leak_flow.reynolds(flow, math.pi * wide, kinematic)
    else:
        flow, power = leak_flow.gap_flow(wide, way.gap_m, way.length_m, over, viscosity), 1.0
        touching = leak_flow.gap_flow(wide, way.gap_m, way.length_m, over, viscosity, 1.0)
        times = touching / flow if flow > 0.0 else 2.5
        number = leak_flow.reynolds(flow, 2.0 * math.pi * wide, kinematic)
    return LeakSource(way, depth, over, flow, power, 0.0 if vented else ATMOSPHERE_PA, number, times)


def _checked(way: LeakWay, depth_m: float | None) -> None:
    asked = {
        "drip": [("drip", way.drops_per_min, "drops a minute", 1e6)],
        "hole": [("hole", way.diameter_m, "m wide", 0.1)],
        "bore": [("bore", way.diameter_m, "m wide", 0.02), ("bore", way.length_m, "m long", 1.0)],
        "gap": [
            ("gap", way.diameter_m, "m of shaft", 0.1),
            ("gap", way.gap_m, "m of gap", 0.1 * way.diameter_m),
            ("gap", way.length_m, "m long", 1.0),
        ],
    }[way.kind]
    faults = [
        Advice(
            what=f"A {key} of {value:g} {unit} cannot be reckoned with.",
            todo="Give a size within the limits." if key != "gap" else "Give shaft x radial gap x length.",
            key=key,
            given=f"{value:g} {unit}",
            allowed=f"above 0, up to {most:g} {unit}",
        )
        for key, value, unit, most in asked
        if not (np.isfinite(value) and 0.0 < value <= most)
    ]
    if depth_m is not None and not (math.isfinite(depth_m) and 0.0 < depth_m <= 100.0):
        faults.append(
            Advice(
                what=f"The leak cannot lie {depth_m:g} m deep.",
                todo="Give the water over the leak.",
                key="depth",
                given=f"{depth_m:g} m",
                allowed="above 0, up to 100 m",
            )
        )
    if faults:
        raise BoatError(*faults)
