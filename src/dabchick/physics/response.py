"""What a small change does to a boat at rest: the inverse of the stiffness, exact to first order.

At rest the gradient g(x, p) of the energy in x = (immersion, pitch, roll) is zero; a change dp of any property
moves her by dx = -H^-1 (dg/dp) dp, with H the exact Hessian.
"""

from dataclasses import dataclass

import numpy as np

from dabchick.physics.balance import Array, Balance, with_air_held
from dabchick.physics.cut import CUT_SIZE, cut_into
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
        return rho / volume * self._of_water(int(first), int(last))

    def of_density(self) -> Array:
        """Load (3,) of 1 kg/m3 denser water, the tank's water included; nothing when she hangs without free tanks."""
        if self.hanging:
            return np.zeros(3)
        return self._of_water(0, self.balance.last_displacer)

    def _of_water(self, first: int, last: int) -> Array:
        """Load (3,) of 1 kg/m3 more in what surfaces first:last displace."""
        out, n = np.zeros(CUT_SIZE), self.normal
        cut_into(self.balance.forest, first, last, n[0], n[1], n[2], self.offset_m, out)
        return np.array([out[0], -out[1:4] @ self.pitch, -out[1:4] @ self.roll])

    @property
    def _free(self) -> Array:
        return np.array([0.0, 1.0, 1.0]) if self.hanging else np.ones(3)


def response(
    balance: Balance, equilibrium: Equilibrium, depth_m: float = 0.0, *, loose: bool = False
) -> Response:
    """The response at an equilibrium of this balance. Raises ValueError where a direction has no stiffness at all.

    With `loose` the flexibility is NaN there instead.
    """
    offset = depth_m if equilibrium.hanging else equilibrium.offset_m
    return response_at(balance, equilibrium.normal, offset, hanging=equilibrium.hanging, loose=loose)


def response_at(
    balance: Balance, normal: Array, offset_m: float, *, hanging: bool = False, loose: bool = False
) -> Response:
    """The same at a pose (3,) that is known to be one of rest."""
    if hanging:
        balance = with_air_held(balance, normal, offset_m)
    here = pose(balance, normal, offset_m, hanging=hanging)
    h = here.stiffness.copy()
    if hanging:
        h[0, 0] = 1.0  # immersion is held; any stiffness of its own keeps the matrix regular
    soft = abs(np.linalg.det(h)) <= 1e-18 * np.prod(np.abs(np.diag(h)) + 1e-30)
    if soft and not loose:
        raise ValueError(
            "She has no stiffness against some small turn, so small changes move her without limit."
        )
    flexibility = np.full((3, 3), np.nan) if soft else np.negative(np.linalg.inv(h), dtype=np.float64)
    if hanging:
        flexibility[0, :] = flexibility[:, 0] = 0.0
    return Response(
        balance=balance,
        normal=normal,
        offset_m=offset_m,
        hanging=hanging,
        pitch=here.pitch,
        roll=here.roll,
        flexibility=flexibility,
        mass_kg=here.mass_kg,
        centre_of_gravity_m=here.moment_kg_m / here.mass_kg,
    )
