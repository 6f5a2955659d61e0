"""What depth makes of air shut in a pocket: it is squeezed, and water rises in it."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2
from dabchick.physics.columns import Columns
from dabchick.physics.trapped_air import Pocket, measured

Array = NDArray[np.float64]

_STEPS = 60


def squeezed_share(depth_m: float, density_kg_m3: float) -> float:
    """Share of its volume that air keeps at a depth [m] of water: p0 / (p0 + rho g d), Boyle's law at one temperature.

    p0 is one standard atmosphere, g standard gravity. Raises ValueError for a depth below 0 or a density that
    is not above 0.
    """
    if not (np.isfinite(depth_m) and depth_m >= 0.0):
        raise ValueError(f"The depth is {depth_m} m. Give 0 or more metres of water.")
    if not (np.isfinite(density_kg_m3) and density_kg_m3 > 0.0):
        raise ValueError(f"The water's density is {density_kg_m3} kg/m3. Give a positive number.")
    return ATMOSPHERE_PA / (ATMOSPHERE_PA + density_kg_m3 * GRAVITY_M_S2 * depth_m)


def squeezed(
    space: Columns, pocket: Pocket, up: Array, surface: float, density_kg_m3: float
) -> tuple[float, Array, float]:
    """Volume [m3], centre (3,) [m] and level n . x [m] of a pocket's air with the outer surface at n . x =
    `surface` [m].

    The pocket was closed off at one atmosphere. Its air has the pressure of the water at its own level l, so
    V(l) (p0 + rho g (surface - l)) = V0 p0; the level rises until both sides agree. Water in all parts of one
    pocket stands equally high. Raises ValueError where the surface stands under the pocket's top.
    """
    if surface < pocket.top:
        raise ValueError("The pocket stands out of the water. Give a surface above its top.")
    few = space._replace(
        x=space.x[pocket.columns],
        y=space.y[pocket.columns],
        low=space.low[pocket.columns],
        high=space.high[pocket.columns],
    )
    own = np.zeros(len(pocket.columns), dtype=np.int64)

    def above(level: float) -> Array:
        return np.asarray(measured(few, up, own, np.array([level]), np.inf)[0])

    base = up[0] * few.x + up[1] * few.y
    bottom = max(pocket.level, float((base + np.minimum(up[2] * few.low, up[2] * few.high)).min()))
    whole = above(pocket.level)
    low, high = bottom, pocket.top
    for _ in range(_STEPS):
        level = 0.5 * (low + high)
        if above(level)[0] > whole[0] * squeezed_share(surface - level, density_kg_m3):
            low = level
        else:
            high = level
    level = 0.5 * (low + high)
    left = above(level)
    volume = pocket.volume_m3 * squeezed_share(surface - level, density_kg_m3)
    # the columns say where the rest lies; how much there is, the faces have said
    shift = left[1:4] / left[0] - whole[1:4] / whole[0] if left[0] > 0.0 else np.zeros(3)
    return volume, pocket.centre_m + shift, level
