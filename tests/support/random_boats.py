"""Boats of a few plain solids, ballast and tanks, drawn at random by hypothesis: ugly on purpose."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.balance import Balance, TankWater, balance
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]

steady = settings(
    derandomize=True,
    deadline=None,
    max_examples=40,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)
"""The same examples at every run; no clock, since the first call compiles; failures are not shrunk."""


@dataclass(frozen=True, eq=False)
class RandomBoat:
    """What goes into a balance, kept apart so that a test can move, reorder or reload it."""

    solids: tuple[Solid, ...]
    mass: float
    centre: Array
    density: float
    tanks: tuple[TankWater, ...] = ()

    def balance(self) -> Balance:
        return balance(self.solids, self.mass, self.centre, self.density, self.tanks)

    @property
    def volume(self) -> float:
        return float(sum(solid.volume for solid in self.solids))

    @property
    def buoyant_centre(self) -> Array:
        return np.asarray(sum(solid.volume * solid.centre for solid in self.solids) / self.volume)

    def moved(self, translation: Array, rotation: Array) -> "RandomBoat":
        """The same boat described in another frame, x' = R x + t."""
        return RandomBoat(
            tuple(solid.moved(translation, rotation) for solid in self.solids),
            self.mass,
            rotation @ self.centre + translation,
            self.density,
            tuple(replace(tank, solid=tank.solid.moved(translation, rotation)) for tank in self.tanks),
        )


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers to five decimals: lengths to 10 micrometres, since nobody builds finer."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False).map(lambda value: round(value, 5))


def vectors(half: float) -> st.SearchStrategy[Array]:
    return st.tuples(*(numbers(-half, half) for _ in range(3))).map(np.array)


@st.composite
def rotations(draw: st.DrawFn, mirrored: bool = False) -> Array:
    """A proper rotation from a random quaternion, or one with a mirror after it."""
    quaternion = np.array([draw(numbers(-1.0, 1.0)) for _ in range(4)]) + np.array([1e-3, 0.0, 0.0, 0.0])
    w, x, y, z = quaternion / np.linalg.norm(quaternion)
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    return turn @ np.diag([1.0, -1.0, 1.0]) if mirrored else turn


_OUTLINE = [(0.03, -0.02), (0.05, 0.01), (0.02, 0.06), (0.0, 0.02), (-0.04, 0.05), (-0.05, -0.01)]
KINDS: tuple[Callable[[float], Solid], ...] = (
    lambda size: shapes.box(0.2 * size, 0.09 * size, 0.07 * size),
    lambda size: shapes.cylinder(0.3 * size, 0.08 * size),
    lambda size: shapes.capsule(0.25 * size, 0.07 * size),
    lambda size: shapes.sphere(0.11 * size),
    lambda size: shapes.cone(0.18 * size, 0.1 * size, 0.02 * size),
    lambda size: shapes.spheroid(0.24 * size, 0.1 * size),
    lambda size: shapes.prism(size * np.array(_OUTLINE), 0.15 * size),
    lambda size: shapes.tube(0.3 * size, 0.09 * size, 0.06 * size),
)


shares = st.sampled_from([0.0, 1.0]) | numbers(0.02, 0.98)
"""Of a tank that is empty, full or part filled; a film of water is a case of its own."""

OFF_AXIS = np.array([0.0007, 0.0013, -0.0021])
"""Keeps the weight off the axis of round bodies, which else would rest at any heel."""


@st.composite
def solids(draw: st.DrawFn) -> Solid:
    """One solid of a random kind, size, place and attitude, some 50 to 500 ml."""
    kind = draw(st.sampled_from(KINDS))
    turn = draw(rotations())
    place = draw(vectors(0.5)) * np.array([0.5, 0.12, 0.12])
    return kind(draw(numbers(0.6, 1.6))).moved(place, turn)


@st.composite
def boats(
    draw: st.DrawFn, least: int = 2, most: int = 5, tanks: bool = True, afloat: bool = True
) -> RandomBoat:
    """A boat of solids that may overlap (each counts fully), 35 to 97 % immersed with her tank water."""
    parts = tuple(draw(st.lists(solids(), min_size=least, max_size=most)))
    density = draw(numbers(995.0, 1028.0))
    volume = sum(part.volume for part in parts)
    share = draw(numbers(0.35, 0.97)) if afloat else 1.0 + draw(numbers(-0.01, 0.05))
    mass = share * density * volume
    rooms: list[TankWater] = []
    if tanks and draw(st.booleans()):
        for _ in range(draw(st.integers(1, 2))):
            room = shapes.cylinder(0.12, 0.05) if draw(st.booleans()) else shapes.box(0.1, 0.06, 0.04)
            room = room.moved(draw(vectors(0.2)) * np.array([1.0, 0.2, 0.2]), draw(rotations()))
            rooms.append(TankWater(room, draw(shares) * room.volume))
    water = sum(density * room.volume_m3 for room in rooms)
    dry = max(mass - water, 0.3 * mass)
    centre = np.asarray(sum(part.volume * part.centre for part in parts) / volume)
    return RandomBoat(parts, dry, centre + OFF_AXIS + draw(vectors(0.02)), density, tuple(rooms))
