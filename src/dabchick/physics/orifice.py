"""Water and air through a hole between two spaces, each with its own level and its own air pressure."""

import math

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2
from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]

SHARP_EDGE = 0.62
"""Coefficient of discharge of a sharp-edged hole: 0.62 at a head of 1 ft, Encyclopaedia Britannica 11th ed. (1911),
Hydraulics (read in a public transcription); 0.60 is the usual figure of engineers."""
EDGE_BAND = (0.5, 0.8)
"""From a re-entrant pipe (Borda, 0.52, from memory) to a short tube running full (0.82, from memory)."""
AIR_KG_M3 = 1.225
"""Air at 15 degC and one atmosphere, International Standard Atmosphere (ISO 2533)."""

SMOOTH_PA = 0.2
"""Below this difference in pressure, a fiftieth of a millimetre of water, the flow is taken as even with it."""
LEAST_HALF_HEIGHT_M = 5e-4
"""A hole that lies flat is taken as this high, so that a level that reaches it does not step."""

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(8)
# u -> (3u - u^3)/2 has no slope at the ends, where the flow has a root: the rule then meets it smoothly.
_SPOTS = 0.5 * (3.0 * _POINTS - _POINTS**3)
_SHARES = 1.5 * _WEIGHTS * (1.0 - _POINTS**2)


@compiled
def speed(pressure: float, density: float, smooth: float = SMOOTH_PA) -> float:
    """Speed [m/s] of a jet without loss under a difference in pressure [Pa], with its sign: sqrt(2 |p| / density).

    Near none, below `smooth` [Pa], it is even with the pressure instead of rising like a root.
    """
    return float(np.sqrt(2.0 / density) * pressure / np.sqrt(np.sqrt(pressure * pressure + smooth * smooth)))


@compiled
def through_into(
    level_a: float,
    level_b: float,
    gauge_a: float,
    gauge_b: float,
    half: float,
    area: float,
    cd: float,
    water: float,
    air: float,
    smooth: float,
    out: Array,
) -> None:
    """Flow from a to b through a round hole: out[0] water [m3/s], out[1] air [Pa m3/s], volume times its pressure.

    Levels [m] count from the hole's middle, gauges [Pa] from the atmosphere; `half` is half the hole's height.
    At the height z the pressure on a side is gauge + water g max(level - z, 0), and what flows is what stands on
    the side of the higher pressure: Q = cd * integral of sqrt(2 dp / density) dA over the hole's height. Submerged
    flow, the free jet, the weir and air going in over water coming out are all cases of it.
    """  # fmt: skip
    out[0] = out[1] = 0.0
    heavy = water * GRAVITY_M_S2
    even = gauge_a - gauge_b
    marks = np.empty(5)
    marks[0], marks[4] = -half, half
    low, high = min(level_a, level_b), max(level_a, level_b)
    # where the pressures are alike: between the levels only one side has water over it
    alike = level_a + even / heavy if level_a > level_b else level_b - even / heavy
    marks[1] = min(max(low, -half), half)
    marks[2] = min(max(min(max(alike, low), high), -half), half)
    marks[3] = min(max(high, -half), half)
    full = 2.0 * area / (np.pi * half * half)
    for part in range(4):
        middle, reach = 0.5 * (marks[part] + marks[part + 1]), 0.5 * (marks[part + 1] - marks[part])
        if reach <= 0.0:
            continue
        for spot in range(_SPOTS.size):
            z = middle + reach * _SPOTS[spot]
            over = even + heavy * (max(level_a - z, 0.0) - max(level_b - z, 0.0))
            room = cd * full * np.sqrt(max(half * half - z * z, 0.0)) * reach * _SHARES[spot]
            wet = level_a > z if over > 0.0 else level_b > z
            if wet:
                out[0] += room * speed(over, water, smooth)
            else:
                behind = gauge_a if over > 0.0 else gauge_b
                out[1] += room * speed(over, air, smooth) * (ATMOSPHERE_PA + behind)


def through(
    level_a_m: float,
    level_b_m: float,
    area_m2: float,
    half_m: float,
    *,
    gauge_a_pa: float = 0.0,
    gauge_b_pa: float = 0.0,
    cd: float = SHARP_EDGE,
    water_kg_m3: float = 1000.0,
    air_kg_m3: float = AIR_KG_M3,
) -> tuple[float, float]:
    """Water [m3/s] and air [m3/s at one atmosphere] from a to b through a round hole; see `through_into`.

    Raises ValueError for an area, height, coefficient or density that is not above 0, or a number that is not
    finite.
    """
    for name, value in (
        ("area", area_m2), ("half height", half_m), ("coefficient of discharge", cd),
        ("density of the water", water_kg_m3), ("density of the air", air_kg_m3),
    ):  # fmt: skip
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"The {name} is {value}. Give a number above zero.")
    if not all(math.isfinite(value) for value in (level_a_m, level_b_m, gauge_a_pa, gauge_b_pa)):
        raise ValueError("A level or a pressure is not a finite number. Give finite ones.")
    out = np.zeros(2)
    through_into(
        level_a_m,
        level_b_m,
        gauge_a_pa,
        gauge_b_pa,
        half_m,
        area_m2,
        cd,
        water_kg_m3,
        air_kg_m3,
        SMOOTH_PA,
        out,
    )
    return float(out[0]), float(out[1]) / ATMOSPHERE_PA


def air_to_water_speed(water_kg_m3: float, air_kg_m3: float = AIR_KG_M3) -> float:
    """How much faster air goes through a hole than water under the same difference in pressure."""
    return math.sqrt(water_kg_m3 / air_kg_m3)
