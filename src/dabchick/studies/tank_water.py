"""The water in each tank as a body that can be drawn: the tank's own form, cut by the water's level as she lies."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from manifold3d import Manifold, Mesh64
from numpy.typing import NDArray

from dabchick.model.vessel import Tank, Vessel
from dabchick.physics.balance import with_air_held
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from dabchick.studies.lie import Lie
from dabchick.studies.loading import Loading, load, under_offset_m

Array = NDArray[np.float64]

SIDES = 96
"""Sides of a round tank as drawn: its volume is then short by 0.07 %."""


@dataclass(frozen=True, eq=False)
class TankWater:
    """The water in one tank as it lies."""

    key: str
    share: float
    """Filled share of the tank as asked for."""
    volume_m3: float
    """Water held; with air shut in it is what the air's pressure leaves room for."""
    vertices: Array
    """(n, 3) of its closed surface, house frame [m]; none when empty, or where the tank's own mesh touches itself."""
    faces: NDArray[np.int64]
    """(m, 3)"""


def tank_waters(vessel: Vessel, lie: Lie, density_kg_m3: float | None = None) -> tuple[TankWater, ...]:
    """The water in every tank when she lies like this."""
    loading = load(vessel, lie.fills, density_kg_m3)
    return waters_at(vessel, loading, np.array(lie.normal), lie.offset_m)


def waters_at(vessel: Vessel, loading: Loading, normal: Array, offset_m: float) -> tuple[TankWater, ...]:
    """The same for a loading at an attitude, up (3,), with the surface at an offset [m]; NaN when wholly under."""
    offset = offset_m if np.isfinite(offset_m) else under_offset_m(loading)
    balance = with_air_held(loading.balance, normal, offset)
    found = []
    room = 0
    for tank in vessel.tanks:
        share = loading.fills[tank.name]
        if tank.system == "piston":
            volume = share * tank.capacity_m3
            up, height = _piston_face(tank, share)
        else:
            volume = float(balance.tank_volume[room])
            first, last = int(balance.tank_first[room]), int(balance.tank_last[room])
            up, height = normal, level(balance.forest, normal, volume, first, last)[0]
            room += 1
        vertices, faces = _below(tank.solid, up, height) if volume > 0.0 else _NOTHING
        found.append(TankWater(tank.key, share, volume, vertices, faces))
    return tuple(found)


def _piston_face(tank: Tank, share: float) -> tuple[Array, float]:
    """The plane of the piston's face: the water lies on the side that its direction points away from."""
    direction = np.array(tank.piston_direction)
    stroke = tank.capacity_m3 / tank.bore_area_m2
    return direction, float(direction @ np.array(tank.centre_m)) + (share - 0.5) * stroke


_NOTHING = (np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))


def _below(solid: Solid, up: Array, height: float) -> tuple[Array, NDArray[np.int64]]:
    """What of the solid lies below the plane up . x = height, closed."""
    middle = _middle(solid)
    kept = _closed(solid).trim_by_plane(tuple(-up), float(up @ middle - height)).to_mesh64()
    return np.asarray(kept.vert_properties[:, :3], dtype=np.float64) + middle, kept.tri_verts.astype(np.int64)


def _middle(solid: Solid) -> Array:
    low, high = solid.bounds()
    return np.asarray(0.5 * (low + high))


@lru_cache(maxsize=64)
def _closed(solid: Solid) -> Manifold:
    """The solid as drawn, about its own middle so that rounding stays small."""
    middle = _middle(solid)
    whole = Manifold()
    for vertices, faces, weight in solid.meshes(SIDES):
        piece = Manifold(Mesh64(vertices - middle, faces.astype(np.uint64)))
        whole = whole + piece if weight > 0.0 else whole - piece
    return whole
