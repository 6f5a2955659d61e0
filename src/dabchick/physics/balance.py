"""Potential energy of a boat in still water, with its gradient and Hessian, at any attitude and immersion.

The world's up-vector in the boat's frame is the unit vector n; the water surface is the plane n.x = d, and what
has n.x < d is under water. Per unit of gravity (so in kg m) the energy is

    E(n, d) = sum m (n.x - d) - rho * integral over the immersed material of (n.x - d) dV
              + for each tank: rho * integral over its water of (n.x - d) dV  [+ the work of shut-in air]

    dE/dd = rho V - M                 (zero: weight and displacement balance)
    dE/dn = M G - rho V B =: q        (parallel to n: no moment is left)
    d2E   = rho * integral over the waterplane of (x, -1)(x, -1)^T dA, minus the free surfaces of the tanks

The waterplane term is exact, and so is the tank's: its water is cut level at every attitude.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE, Forest, cut_into, forest
from dabchick.physics.liquid import level_into
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

GRAVITY_M_S2 = 9.80665
"""Standard gravity, 3rd CGPM (1901); it only matters where air is squeezed."""
ATMOSPHERE_PA = 101325.0
"""Standard atmosphere, 10th CGPM (1954)."""

_VERY_SMALL = 1e-300


@dataclass(frozen=True, eq=False)
class TankWater:
    """Water in a tank that finds its own level.

    `volume_m3` is held by a pump or bag. With `shut_air_m3` above zero the tank is open at the bottom and holds
    that much air (measured at the surface, at one atmosphere), squeezed isothermally as the tank goes deeper;
    `volume_m3` is then not used.
    """

    solid: Solid
    volume_m3: float
    shut_air_m3: float = 0.0


class Balance(NamedTuple):
    """Everything a kernel needs: arrays and numbers only, SI, boat frame."""

    forest: Forest
    last_displacer: int
    """Surfaces 0:last_displacer displace water; the tanks' rooms follow."""
    displacer_starts: Counts
    """Solid i that displaces owns surfaces displacer_starts[i]:displacer_starts[i + 1]."""
    mass: float
    moment: Array
    """Mass times centre, of all that has no free surface [kg m]."""
    density: float
    buoyant_volume: float
    buoyant_centre: Array
    tank_first: Counts
    tank_last: Counts
    tank_volume: Array
    tank_capacity: Array
    tank_air: Array
    """Head of the atmosphere times shut-in air [m4]; 0 where the water's volume is held."""
    atmosphere_head: float
    middle: Array
    """Centre of a ball round everything that displaces."""
    radius: float


@dataclass(frozen=True, eq=False)
class Bodies:
    """All that displaces and all tank rooms, gathered once for any mass, water and tank filling."""

    trees: Forest
    starts: Counts
    displacers: int
    volume_m3: float
    centre_m: Array
    rooms_m3: Array
    low_m: Array
    high_m: Array


def bodies(solids: Sequence[Solid], rooms: Sequence[Solid] = ()) -> Bodies:
    """Gather the solids that displace and the rooms of tanks. Raises ValueError where nothing displaces water."""
    if not solids:
        raise ValueError("Nothing displaces water. Give at least one solid.")
    trees, starts = forest([*solids, *rooms])
    volume = float(sum(solid.volume for solid in solids))
    if not volume > 0.0:
        raise ValueError(f"All that displaces adds up to {volume} m3. Give solids with a volume above zero.")
    corners = [solid.bounds() for solid in solids]
    return Bodies(
        trees=trees,
        starts=starts.astype(np.int64),
        displacers=len(solids),
        volume_m3=volume,
        centre_m=np.sum([solid.volume * solid.centre for solid in solids], axis=0) / volume,
        rooms_m3=np.array([room.volume for room in rooms], dtype=np.float64),
        low_m=np.min([low for low, _ in corners], axis=0),
        high_m=np.max([high for _, high in corners], axis=0),
    )


def balance_of(
    gathered: Bodies,
    mass_kg: float,
    centre_m: Sequence[float] | Array,
    density_kg_m3: float,
    water_m3: Sequence[float] | Array = (),
    shut_air_m3: Sequence[float] | Array | None = None,
) -> Balance:
    """The balance of gathered bodies with a mass > 0 at `centre_m` (3,), the free tank water left out.

    `water_m3` is held in each room; where `shut_air_m3` (measured at one atmosphere) is above zero the room is
    open below and the air is squeezed with depth instead. Raises ValueError on a mass or density that is not a
    positive number, or when the counts of rooms and waters differ.
    """
    centre = np.asarray(centre_m, dtype=np.float64)
    water = np.asarray(water_m3, dtype=np.float64)
    if not (np.isfinite(mass_kg) and mass_kg > 0.0 and np.all(np.isfinite(centre))):
        raise ValueError(f"The mass is {mass_kg} kg at {centre} m. Give a positive mass and a finite centre.")
    if not (np.isfinite(density_kg_m3) and density_kg_m3 > 0.0):
        raise ValueError(f"The water's density is {density_kg_m3} kg/m3. Give a positive number.")
    if water.shape != gathered.rooms_m3.shape or not np.all(np.isfinite(water)):
        raise ValueError(
            f"There are {len(gathered.rooms_m3)} tanks and waters {water} m3. Give one volume for each."
        )
    air = np.zeros_like(water) if shut_air_m3 is None else np.asarray(shut_air_m3, dtype=np.float64)
    head = ATMOSPHERE_PA / (density_kg_m3 * GRAVITY_M_S2)
    starts, count = gathered.starts, gathered.displacers
    return Balance(
        forest=gathered.trees,
        last_displacer=int(starts[count]),
        displacer_starts=starts[: count + 1],
        mass=float(mass_kg),
        moment=mass_kg * centre,
        density=float(density_kg_m3),
        buoyant_volume=gathered.volume_m3,
        buoyant_centre=gathered.centre_m,
        tank_first=starts[count:-1],
        tank_last=starts[count + 1 :],
        tank_volume=water,
        tank_capacity=gathered.rooms_m3,
        tank_air=head * air,
        atmosphere_head=head,
        middle=0.5 * (gathered.low_m + gathered.high_m),
        radius=0.5 * float(np.linalg.norm(gathered.high_m - gathered.low_m)),
    )


def balance(
    solids: Sequence[Solid],
    mass_kg: float,
    centre_m: Sequence[float] | Array,
    density_kg_m3: float,
    tanks: Sequence[TankWater] = (),
) -> Balance:
    """Gather and balance in one go; see `bodies` and `balance_of`."""
    return balance_of(
        bodies(solids, [tank.solid for tank in tanks]),
        mass_kg,
        centre_m,
        density_kg_m3,
        [tank.volume_m3 for tank in tanks],
        [tank.shut_air_m3 for tank in tanks],
    )


@compiled
def air_squeezed_into(
    trees: Forest,
    first: int,
    last: int,
    nx: float,
    ny: float,
    nz: float,
    d: float,
    capacity: float,
    air: float,
    head: float,
    out: Array,
) -> tuple[float, float, float]:
    """Water in an open-bottomed tank whose shut-in air obeys (head + depth) * V_air = air, isothermal.

    Depth is that of the air's lower face under the outer water. Fills `out` with the cut of the tank's water
    and returns (water volume, level, air volume). Air beyond the tank's room escapes below.
    """  # fmt: skip
    low, high = 0.0, capacity
    volume = min(max(air / head, 0.0), capacity)
    level = 0.0
    for _ in range(100):
        out[:] = 0.0
        level = level_into(trees, first, last, nx, ny, nz, capacity - volume, out)
        pressure_head = head + d - level
        excess = pressure_head * volume - air
        if excess > 0.0:
            high = volume
        else:
            low = volume
        if high - low <= 1e-15 * capacity or abs(excess) <= 1e-14 * air:
            break
        slope = pressure_head
        if out[4] > 0.0:
            slope += volume / out[4]
        step = volume - excess / slope if slope > 0.0 else 0.5 * (low + high)
        volume = step if low < step < high else 0.5 * (low + high)
    return capacity - volume, level, volume


def with_air_held(entry: Balance, normal: Array, offset: float) -> Balance:
    """The same boat with every open-bottomed tank's water held at what depth makes of it in this pose.

    A boat held wholly under by her lift taken up is asked for her attitude only; letting the air breathe with each
    small turn as well would have no energy of its own.
    """
    if not np.any(entry.tank_air > 0.0):
        return entry
    volumes = entry.tank_volume.copy()
    for tank in np.flatnonzero(entry.tank_air > 0.0):
        volumes[tank], _, _ = air_squeezed_into(
            entry.forest, entry.tank_first[tank], entry.tank_last[tank], normal[0], normal[1], normal[2], offset,
            entry.tank_capacity[tank], entry.tank_air[tank], entry.atmosphere_head, np.empty(CUT_SIZE),
        )  # fmt: skip
    return entry._replace(tank_volume=volumes, tank_air=np.zeros_like(volumes))


@compiled
def tanks_into(
    balance: Balance, nx: float, ny: float, nz: float, d: float, gradient: Array, hessian: Array
) -> float:
    """Add the tanks' water: energy returned, dE/d(n, d) added into (4,), the Hessian into (4, 4)."""
    rho = balance.density
    energy = 0.0
    out = np.empty(CUT_SIZE)
    for tank in range(balance.tank_first.size):
        first, last = balance.tank_first[tank], balance.tank_last[tank]
        air = balance.tank_air[tank]
        out[:] = 0.0
        spring = 0.0
        if air > 0.0:
            volume, _, room = air_squeezed_into(
                balance.forest, first, last, nx, ny, nz, d,
                balance.tank_capacity[tank], air, balance.atmosphere_head, out,
            )  # fmt: skip
            if room > 0.0:
                energy += rho * (balance.atmosphere_head * room - air * np.log(room))
            if out[4] > 0.0 and room < balance.tank_capacity[tank]:
                spring = 1.0 / (1.0 / out[4] + air / (room * room))
        else:
            volume = balance.tank_volume[tank]
            level_into(balance.forest, first, last, nx, ny, nz, volume, out)
        if volume <= 0.0:
            continue
        water = rho * out[0]
        energy += rho * (nx * out[1] + ny * out[2] + nz * out[3]) - d * water
        for axis in range(3):
            gradient[axis] += rho * out[1 + axis]
        gradient[3] -= water
        area = out[4]
        if area <= 0.0:
            continue
        second = np.empty((3, 3))
        second[0, 0], second[1, 1], second[2, 2] = out[8], out[9], out[10]
        second[0, 1] = second[1, 0] = out[11]
        second[0, 2] = second[2, 0] = out[12]
        second[1, 2] = second[2, 1] = out[13]
        for row in range(3):
            for column in range(3):
                hessian[row, column] -= rho * (second[row, column] - out[5 + row] * out[5 + column] / area)
        if spring > 0.0:
            lever = np.array([out[5] / area, out[6] / area, out[7] / area, -1.0])
            for row in range(4):
                for column in range(4):
                    hessian[row, column] -= rho * spring * lever[row] * lever[column]
    return energy


@compiled
def evaluate(
    balance: Balance, n: Array, d: float, hanging: bool, gradient: Array, hessian: Array, out: Array
) -> float:
    """Energy over g [kg m], with dE/d(n, d) into `gradient` (4,) and d2E into `hessian` (4, 4); all overwritten.

    `out` (18,) receives the cut of all that displaces, so the mass is always rho out[0] - gradient[3]. With
    `hanging` the boat counts as wholly under water and held by a force at her centre of buoyancy that takes up
    the net lift, so only attitude matters; the air in open tanks must be held (`with_air_held`), and of `out`
    only the volume is filled, as held up.
    """
    nx, ny, nz = n[0], n[1], n[2]
    rho = balance.density
    gradient[:] = 0.0
    hessian[:, :] = 0.0
    energy = tanks_into(balance, nx, ny, nz, d, gradient, hessian)
    for axis in range(3):
        gradient[axis] += balance.moment[axis]
        energy += balance.moment[axis] * n[axis]
    gradient[3] -= balance.mass
    energy -= balance.mass * d
    out[:] = 0.0
    if hanging:
        mass = -gradient[3]
        for axis in range(3):
            gradient[axis] -= mass * balance.buoyant_centre[axis]
            energy -= mass * balance.buoyant_centre[axis] * n[axis]
        energy += mass * d
        out[0] = mass / rho
        gradient[3] = 0.0
        for row in range(4):
            hessian[row, 3] = hessian[3, row] = 0.0
        hessian[3, 3] = rho * balance.radius * balance.radius
        return energy
    cut_into(balance.forest, 0, balance.last_displacer, nx, ny, nz, d, out)
    for axis in range(3):
        gradient[axis] -= rho * out[1 + axis]
        energy -= rho * out[1 + axis] * n[axis]
    gradient[3] += rho * out[0]
    energy += rho * out[0] * d
    hessian[0, 0] += rho * out[8]
    hessian[1, 1] += rho * out[9]
    hessian[2, 2] += rho * out[10]
    hessian[0, 1] += rho * out[11]
    hessian[1, 0] += rho * out[11]
    hessian[0, 2] += rho * out[12]
    hessian[2, 0] += rho * out[12]
    hessian[1, 2] += rho * out[13]
    hessian[2, 1] += rho * out[13]
    for axis in range(3):
        hessian[axis, 3] -= rho * out[5 + axis]
        hessian[3, axis] -= rho * out[5 + axis]
    hessian[3, 3] += rho * out[4]
    return energy


@compiled
def float_offset(balance: Balance, n: Array, start: float, out: Array) -> tuple[float, bool]:
    """Offset d at which weight and displacement balance at the attitude n; False where she sinks.

    Newton on the volume with the waterplane area as slope, kept inside a bracket; exact to rounding.
    """
    middle = balance.middle[0] * n[0] + balance.middle[1] * n[1] + balance.middle[2] * n[2]
    low, high = middle - balance.radius, middle + balance.radius
    gradient, hessian = np.empty(4), np.empty((4, 4))
    evaluate(balance, n, high, False, gradient, hessian, out)
    if gradient[3] < 0.0:
        return high, False
    d = start if low < start < high else middle
    goal = 1e-13 * balance.mass
    for _ in range(200):
        evaluate(balance, n, d, False, gradient, hessian, out)
        excess = gradient[3]
        if abs(excess) <= goal:
            break
        if excess > 0.0:
            high = d
        else:
            low = d
        if high - low <= 4e-16 * balance.radius:
            break
        slope = hessian[3, 3]
        step = d - excess / slope if slope > _VERY_SMALL else 0.5 * (low + high)
        if not low < step < high:
            step = 0.5 * (low + high)
        if step == d:
            break
        d = step
    return d, True
