"""One loading of the vessel, ready for the balance: which water is in which tank."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Tank, Vessel
from dabchick.physics.balance import Balance, Bodies, balance_of, bodies
from dabchick.physics.cut import lowest
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface

OPEN_BOTTOMED = ("gas blown", "air blown")
ROUND_SIDES = 96
_BRIMFUL = 1.0 + 1e-12


@dataclass(frozen=True, eq=False)
class Loading:
    """A vessel with her tanks filled to stated shares."""

    balance: Balance
    fills: dict[str, float]
    displacing: tuple[Item | Tank, ...]
    """In the order of the balance's solids."""
    weighed: tuple[Item, ...]
    """The items whose mass counts."""
    mass_kg: float
    """With the tank water."""


def fills_for(vessel: Vessel, share: float | Mapping[str, float]) -> dict[str, float]:
    """The share of each tank, from one share for all or by name. Raises BoatError outside 0 to 1 or unknown."""
    names = [tank.name for tank in vessel.tanks]
    wanted = dict.fromkeys(names, share) if isinstance(share, int | float) else dict(share)
    faults = [
        Advice(
            what=f"There is no tank named '{name}'.",
            todo="Name one of the boat's tanks.",
            key="fill",
            given=name,
            allowed=", ".join(names) or "this boat has no tank",
        )
        for name in wanted
        if name not in names
    ]
    faults += [
        Advice(
            what=f"Tank '{name}' cannot be filled to {value:g} of its room.",
            todo="Give a share from 0 (empty) to 1 (full).",
            key="fill",
            given=f"{value:g}",
            allowed="0 to 1",
        )
        for name, value in wanted.items()
        if not 0.0 <= value <= 1.0
    ]
    if faults:
        raise BoatError(*faults)
    return {name: float(wanted.get(name, 0.0)) for name in names}


def piston_water_centre(tank: Tank, share: float) -> NDArray[np.float64]:
    """Centre [m] of the water column between a piston tank's fixed end and its piston."""
    direction = np.array(tank.piston_direction)
    stroke = tank.capacity_m3 / tank.bore_area_m2
    return np.array(tank.centre_m) + direction * (share - 1.0) * 0.5 * stroke


@dataclass(frozen=True, eq=False)
class _Gathered:
    weighed: tuple[Item, ...]
    displacing: tuple[Item | Tank, ...]
    bodies: Bodies
    mass_kg: float
    moment_kg_m: NDArray[np.float64]


@lru_cache(maxsize=4)
def _gather(vessel: Vessel) -> _Gathered:
    """What does not change with fills or water; kept for the few vessels last asked for (a vessel is frozen)."""
    weighed = tuple(item for item in vessel.items if item.mass_kg > 0.0)
    displacing: tuple[Item | Tank, ...] = (
        *(item for item in vessel.items if item.solid is not None),
        *(tank for tank in vessel.tanks if not tank.inside),
    )
    if not weighed or not displacing:
        raise BoatError(
            Advice(
                what="Nothing in this boat has a mass yet."
                if not weighed
                else "Nothing in this boat displaces water.",
                todo="Give the hull's skin and at least one part a mass and a shape.",
                key="part",
            )
        )
    return _Gathered(
        weighed=weighed,
        displacing=displacing,
        bodies=_bodies(
            tuple(solid for entry in displacing if (solid := entry.solid) is not None),
            tuple(tank.solid for tank in vessel.tanks if tank.system != "piston"),
        ),
        mass_kg=sum(item.mass_kg for item in weighed),
        moment_kg_m=np.sum([item.mass_kg * np.array(item.centre_m) for item in weighed], axis=0),
    )


@lru_cache(maxsize=4)
def _bodies(solids: tuple[Solid, ...], rooms: tuple[Solid, ...]) -> Bodies:
    """Kept by the solids themselves, so that another mass costs nothing here."""
    return bodies(solids, rooms)


def load(
    vessel: Vessel, share: float | Mapping[str, float] = 0.0, density_kg_m3: float | None = None
) -> Loading:
    """Weigh and gather the vessel with her tanks filled to `share`; raises BoatError where nothing has a mass."""
    density = vessel.water_density_kg_m3 if density_kg_m3 is None else density_kg_m3
    fills = fills_for(vessel, share)
    gathered = _gather(vessel)
    mass, moment = gathered.mass_kg, gathered.moment_kg_m
    waters, airs = [], []
    for tank in vessel.tanks:
        fill = fills[tank.name]
        volume = fill * tank.capacity_m3
        if tank.system == "piston":
            mass += density * volume
            moment = moment + density * volume * piston_water_centre(tank, fill)
        else:
            # asked for a hair more than its room, a full tank is full whatever rounding says: no free surface is left
            waters.append(volume * _BRIMFUL if fill == 1.0 else volume)
            shut = tank.system in OPEN_BOTTOMED and 0.0 < fill < 1.0
            airs.append(tank.capacity_m3 - volume if shut else 0.0)
    return Loading(
        balance=balance_of(gathered.bodies, mass, moment / mass, density, waters, airs),
        fills=fills,
        displacing=gathered.displacing,
        weighed=gathered.weighed,
        mass_kg=mass + density * sum(waters),
    )


def under_offset_m(loading: Loading) -> float:
    """An offset that just covers her in any attitude, for the squeeze on shut-in air when wholly under."""
    return float(np.linalg.norm(loading.balance.middle)) + loading.balance.radius


def highest_m(vessel: Vessel, normal: NDArray[np.float64]) -> float:
    """Height n . x [m] of the highest point of the hull and of all that displaces, n (3,) being up."""
    balance = load(vessel).balance
    top = -lowest(balance.forest, 0, balance.last_displacer, -normal[0], -normal[1], -normal[2])
    return max(float(top), float(highest_point(vessel.hull, normal) @ normal))


def highest_point(solid: Solid, normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """The point (3,) of a solid that stands highest when n (3,) is up; round ones as meshed."""
    found = []
    for surface in solid.surfaces:
        if isinstance(surface, MeshSurface):
            # looked for where the mesh keeps its points, which spares a copy of them all
            found.append(surface.shape.vertices[np.argmax(surface.shape.vertices @ normal)] + surface.shift)
        else:
            points = surface.mesh(ROUND_SIDES)[0]
            found.append(points[np.argmax(points @ normal)])
    return np.asarray(max(found, key=lambda point: float(point @ normal)))
