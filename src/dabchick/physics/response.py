"""What a small change does to a boat at rest: the inverse of the stiffness, exact to first order.

At rest the gradient g(x, p) of the energy in x = (immersion, pitch, roll) is zero; a change dp of any property
moves her by dx = -H^-1 (dg/dp) dp, with H the exact Hessian.
"""

from dataclasses import dataclass

import numpy as np

from dabchick.physics.balance import Array, Balance, with_air_held
from dabchick.physics.cut import cut
from dabchick.physics.equilibrium import Equilibrium
from dabchick.physics.pose import pose


@dataclass(frozen=True, eq=False)
class Response:
    """Flexibility of one equilibrium. Loads are rows (k, 3): the change of (dE/dd, dE/dpitch, dE/droll)."""

    balance: Balance
    normal: Array
    offset_m: float
    hanging: bool
    pitch: Array
    roll: Array
    flexibility: Array
    """(3, 3): minus the inverse Hessian, in m and rad per kg and kg m."""
    mass_kg: float
    """With the tank water."""
    centre_of_gravity_m: Array
    """(3,) with the tank water as it lies."""

    def moves(self, loads: Array) -> Array:
        """Change of (offset d [m], pitch [rad], roll [rad]) for each load, (k, 3)."""
        return loads @ self.flexibility.T

    def of_mass(self, centres: Array) -> Array:
        """Loads of 1 kg added at each centre (k, 3)."""
        arm = centres - self.balance.buoyant_centre if self.hanging else centres
        return np.column_stack([np.full(len(arm), -1.0), arm @ self.pitch, arm @ self.roll]) * self._free

    def of_shift(self, mass_kg: float, shifts: Array) -> Array:
        """Loads of a mass moved by each shift (k, 3)."""
        return np.column_stack(
            [np.zeros(len(shifts)), mass_kg * shifts @ self.pitch, mass_kg * shifts @ self.roll]
        )

    def of_volume(self, solid: int, centre: Array, volume: float) -> Array:
        """Load (3,) of 1 m3 more in solid number `solid` of the balance, spread over it as it lies.

        `centre` and `volume` are its whole ones, used when she hangs.
        """
        rho = self.balance.density
        if self.hanging:
            # More volume at c moves the centre of buoyancy by (c - B) / V, which the hung mass then feels.
            mass = self.mass_kg
            arm = -mass * (centre - self.balance.buoyant_centre) / self.balance.buoyant_volume
            return np.array([0.0, arm @ self.pitch, arm @ self.roll])
        first, last = self.balance.displacer_starts[solid], self.balance.displacer_starts[solid + 1]
        part = cut(self.balance.forest, self.normal, self.offset_m, int(first), int(last))
        share = 1.0 / volume
        return rho * share * np.array([part.volume, -part.moment @ self.pitch, -part.moment @ self.roll])

    def of_density(self) -> Array:
        """Load (3,) of 1 kg/m3 denser water, the tank's water included; nothing when she hangs without free tanks."""
        if self.hanging:
            return np.zeros(3)
        part = cut(self.balance.forest, self.normal, self.offset_m, 0, self.balance.last_displacer)
        return np.array([part.volume, -part.moment @ self.pitch, -part.moment @ self.roll])

    @property
    def _free(self) -> Array:
        return np.array([0.0, 1.0, 1.0]) if self.hanging else np.ones(3)


def response(balance: Balance, equilibrium: Equilibrium, depth_m: float = 0.0) -> Response:
    """The response at an equilibrium of this balance. Raises ValueError where a direction has no stiffness at all."""
    offset = depth_m if equilibrium.hanging else equilibrium.offset_m
    if equilibrium.hanging:
        balance = with_air_held(balance, equilibrium.normal, offset)
    here = pose(balance, equilibrium.normal, offset, hanging=equilibrium.hanging)
    h = here.stiffness.copy()
    if equilibrium.hanging:
        h[0, 0] = 1.0  # immersion is held; any stiffness of its own keeps the matrix regular
    if abs(np.linalg.det(h)) <= 1e-18 * np.prod(np.abs(np.diag(h)) + 1e-30):
        raise ValueError(
            "She has no stiffness against some small turn, so small changes move her without limit."
        )
    flexibility = np.negative(np.linalg.inv(h), dtype=np.float64)
    if equilibrium.hanging:
        flexibility[0, :] = flexibility[:, 0] = 0.0
    return Response(
        balance=balance,
        normal=equilibrium.normal,
        offset_m=offset,
        hanging=equilibrium.hanging,
        pitch=here.pitch,
        roll=here.roll,
        flexibility=flexibility,
        mass_kg=here.mass_kg,
        centre_of_gravity_m=here.moment_kg_m / here.mass_kg,
    )
