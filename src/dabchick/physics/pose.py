"""One pose of a boat in plain numbers: energy, what is left of force and moment, and stiffness."""

from dataclasses import dataclass

import numpy as np

from dabchick.physics.balance import Array, Balance, evaluate
from dabchick.physics.cut import CUT_SIZE


@dataclass(frozen=True, eq=False)
class Pose:
    """Slopes and stiffness of the energy over g in (immersion [m], pitch [rad], roll [rad]); kg, kg m."""

    normal: Array
    pitch: Array
    """Unit vector of pure pitch, heel held."""
    roll: Array
    energy_kg_m: float
    slopes: Array
    """(3,): force left [kg], moment left about pitch and roll [kg m]."""
    stiffness: Array
    """(3, 3)"""
    mass_kg: float
    """With the tank water."""
    moment_kg_m: Array
    """(3,) mass times centre of gravity, the tank water as it lies."""
    volume_m3: float
    volume_moment_m4: Array
    """(3,) of what displaces, as it lies; when she hangs, of all that displaces."""
    waterplane_m2: float

    @property
    def free_stiffness(self) -> Array:
        """(2, 2) in (pitch, roll) with immersion let free."""
        h = self.stiffness
        if h[0, 0] <= 0.0:
            return np.asarray(h[1:, 1:])
        return np.asarray(h[1:, 1:] - np.outer(h[1:, 0], h[0, 1:]) / h[0, 0])


def pose(balance: Balance, normal: Array, offset: float, *, hanging: bool = False) -> Pose:
    """The boat at the attitude `normal` (3,) with the surface at `offset`; see `evaluate` for `hanging`."""
    gradient, hessian, out = np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE)
    energy = evaluate(balance, normal, offset, hanging, gradient, hessian, out)
    level = float(np.hypot(normal[1], normal[2]))
    if level < 1e-12:
        pitch, roll = np.array([0.0, 0.0, -np.sign(normal[0])]), np.array([0.0, 1.0, 0.0])
    else:
        sine, cosine = normal[1] / level, normal[2] / level
        pitch = np.array([level, -normal[0] * sine, -normal[0] * cosine])
        roll = np.array([0.0, cosine, -sine])
    ways = np.zeros((4, 3))
    ways[3, 0] = 1.0
    ways[:3, 1], ways[:3, 2] = pitch, roll
    stiffness = ways.T @ hessian @ ways
    along = float(gradient[:3] @ normal)
    stiffness[1, 1] -= along
    stiffness[2, 2] -= along
    rho = balance.density
    mass = float(rho * out[0] - gradient[3])
    volume_moment = out[1:4].copy()
    moment = gradient[:3] + rho * volume_moment
    if hanging:
        volume_moment = balance.buoyant_volume * balance.buoyant_centre
        moment = gradient[:3] + mass * balance.buoyant_centre
    return Pose(
        normal=normal,
        pitch=pitch,
        roll=roll,
        energy_kg_m=float(energy),
        slopes=ways.T @ gradient,
        stiffness=stiffness,
        mass_kg=mass,
        moment_kg_m=moment,
        volume_m3=balance.buoyant_volume if hanging else float(out[0]),
        volume_moment_m4=volume_moment,
        waterplane_m2=0.0 if hanging else float(out[4]),
    )
