"""Water that comes into a closed room through a hole, a bore or a gap, and the air that it squeezes there.

A leak is its inflow at the start and how that follows the pressure left over: q = q0 (dp / dp0)^power, with power 1/2
through a sharp hole, 1 through a narrow bore or gap, 0 for a drip that is taken as steady. With the room R closed but
for the leak, its air obeys Boyle's law, so that V of water leaves

    dp(V) = dp0 - p0 V / (R - V)      and none at      V_stop = R dp0 / (p0 + dp0).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2

Array = NDArray[np.float64]

SHARP_HOLE: float = 0.61
"""Discharge coefficient of a sharp-edged hole: 0.60 to 0.62."""


def head_pa(depth_m: float, density_kg_m3: float) -> float:
    """Pressure of so much water over the leak [Pa], rho g h."""
    return density_kg_m3 * GRAVITY_M_S2 * depth_m


def hole_flow(diameter_m: float, pressure_pa: float, density_kg_m3: float) -> float:
    """Inflow through a sharp round hole [m3/s]: Cd A sqrt(2 dp / rho), Cd 0.61; for holes wider than deep."""
    _above_zero(diameter=diameter_m, density=density_kg_m3)
    area = 0.25 * np.pi * diameter_m * diameter_m
    return float(SHARP_HOLE * area * np.sqrt(2.0 * max(pressure_pa, 0.0) / density_kg_m3))


def bore_flow(diameter_m: float, length_m: float, pressure_pa: float, viscosity_pa_s: float) -> float:
    """Inflow through a long thin bore [m3/s]: Hagen-Poiseuille, pi d^4 dp / (128 mu L).

    Loss at its ends is left out (true flow some 10 % less); it holds while Re < 2000, see `reynolds`.
    """
    _above_zero(diameter=diameter_m, length=length_m, viscosity=viscosity_pa_s)
    return float(np.pi * diameter_m**4 * max(pressure_pa, 0.0) / (128.0 * viscosity_pa_s * length_m))


def gap_flow(
    diameter_m: float,
    gap_m: float,
    length_m: float,
    pressure_pa: float,
    viscosity_pa_s: float,
    eccentricity: float = 0.0,
) -> float:
    """Inflow along a shaft through a thin ring gap [m3/s]: pi d c^3 dp / (12 mu L) (1 + 1.5 e^2).

    `gap_m` is the radial gap c, far below the diameter d; e is 0 with the shaft in the middle, 1 where it touches.
    """
    _above_zero(diameter=diameter_m, gap=gap_m, length=length_m, viscosity=viscosity_pa_s)
    if not 0.0 <= eccentricity <= 1.0:
        raise ValueError(
            f"The shaft's eccentricity is {eccentricity}. Give 0 (in the middle) to 1 (touching)."
        )
    aside = 1.0 + 1.5 * eccentricity * eccentricity
    thin = np.pi * diameter_m * gap_m**3 * max(pressure_pa, 0.0) / (12.0 * viscosity_pa_s * length_m)
    return float(aside * thin)


def reynolds(flow_m3_s: float, wetted_m: float, kinematic_m2_s: float) -> float:
    """Reynolds number on the hydraulic diameter: 4 q / (wetted perimeter nu); laminar below about 2000."""
    _above_zero(perimeter=wetted_m, viscosity=kinematic_m2_s)
    return 4.0 * flow_m3_s / (wetted_m * kinematic_m2_s)


def stop_volume(room_m3: float, pressure_pa: float, air_pa: float = ATMOSPHERE_PA) -> float:
    """Water [m3] at which the squeezed air of a closed room holds the pressure outside, isothermal (Boyle)."""
    _above_zero(room=room_m3, air=air_pa)
    over = max(pressure_pa, 0.0)
    return room_m3 * over / (air_pa + over)


def inside_pressure(water_m3: ArrayLike, room_m3: float, air_pa: float = ATMOSPHERE_PA) -> Array:
    """Pressure over the atmosphere [Pa] in a closed room with so much water; infinite once it is full."""
    _above_zero(room=room_m3, air=air_pa)
    water = np.asarray(water_m3, dtype=np.float64)
    left = room_m3 - water
    return np.where(left > 0.0, air_pa * water / np.where(left > 0.0, left, 1.0), np.inf)


def time_to(
    water_m3: ArrayLike,
    flow_m3_s: float,
    power: float,
    room_m3: float,
    pressure_pa: float,
    air_pa: float = ATMOSPHERE_PA,
) -> Array:
    """Seconds until so much water is in, from a flow at the start that follows (dp/dp0)^power; in closed form.

    `power` is 0, 1/2 or 1. With `air_pa` 0 the air gets out and nothing slows the leak. Infinite beyond the volume
    at which the air stops it, beyond the room, and where nothing flows.

        power 1:   t = k [V + c ln(Vs / (Vs - V))],                       k = dp0 / (q0 (p0 + dp0)), c = R - Vs
        power 1/2: t = sqrt(k / q0) [sqrt(y (y + c)) + c asinh(sqrt(y / c))] from y = Vs - V to y = Vs
    """
    _above_zero(room=room_m3)
    if power not in (0.0, 0.5, 1.0):
        raise ValueError(f"The flow follows the pressure with power {power}. Give 0, 1/2 or 1.")
    water = np.asarray(water_m3, dtype=np.float64)
    never = np.where(water > 0.0, np.inf, 0.0)
    if not flow_m3_s > 0.0:
        return never
    if power == 0.0 or air_pa == 0.0:
        return np.where(water <= room_m3 * (1.0 + 1e-12), water / flow_m3_s, np.inf)
    if not pressure_pa > 0.0:
        return never
    end = stop_volume(room_m3, pressure_pa, air_pa)
    rest = room_m3 - end
    share = pressure_pa / (air_pa + pressure_pa)
    inside = water < end if power == 1.0 else water <= end
    y = np.where(inside, np.maximum(end - water, 0.0), end)
    if power == 1.0:
        time = share / flow_m3_s * (end - y + rest * np.log(end / y))
    else:

        def swept(at: Array) -> Array:
            return np.asarray(np.sqrt(at * (at + rest)) + rest * np.arcsinh(np.sqrt(at / rest)))

        time = np.sqrt(share) / flow_m3_s * (swept(np.asarray(end)) - swept(y))
    return np.where(inside, time, np.inf)


def flow_at(
    water_m3: ArrayLike,
    flow_m3_s: float,
    power: float,
    room_m3: float,
    pressure_pa: float,
    air_pa: float = ATMOSPHERE_PA,
) -> Array:
    """Inflow [m3/s] with so much water in; 0 from where the air stops it. Arguments as for `time_to`."""
    water = np.asarray(water_m3, dtype=np.float64)
    if power == 0.0 or air_pa == 0.0:
        return np.where(water < room_m3, flow_m3_s, 0.0)
    if not pressure_pa > 0.0:
        return np.zeros_like(water)
    left = np.maximum(1.0 - inside_pressure(water, room_m3, air_pa) / pressure_pa, 0.0)
    return np.asarray(flow_m3_s * left**power)


def _above_zero(**values: float) -> None:
    wrong = [f"{name} {value}" for name, value in values.items() if not (np.isfinite(value) and value > 0.0)]
    if wrong:
        raise ValueError(f"A leak needs numbers above 0; given {', '.join(wrong)}. Give each in SI units.")
