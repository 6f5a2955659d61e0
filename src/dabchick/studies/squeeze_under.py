"""A vessel held wholly under at any depth, her open tanks breathing and her trapped air squeezed."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from dabchick.model.placed_hull import vector
from dabchick.model.vessel import Tank, Vector, Vessel
from dabchick.physics.balance import Balance
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.physics.hung import Hung, RoomState, followed, hang, rests
from dabchick.physics.squeezed_air import squeezed
from dabchick.studies.air_lie import air_at, lay_with_air
from dabchick.studies.flooded_space import flooded_space
from dabchick.studies.loading import OPEN_BOTTOMED, fills_for, highest_m, load
from dabchick.studies.squeeze_result import DepthRow, Reach, Rest

Array = NDArray[np.float64]

DEEPEST_M: Final = 1000.0
"""Looked no deeper than this for the depth of no lift, where a hundredth of her air is left."""
_NODES_M: Final = np.concatenate([[0.0], np.geomspace(0.05, DEEPEST_M, 47)])


def soft_tanks(vessel: Vessel) -> tuple[Tank, ...]:
    """The tanks that are open at the bottom, so that depth squeezes their air."""
    return tuple(tank for tank in vessel.tanks if tank.system in OPEN_BOTTOMED)


def free_air(vessel: Vessel, fills: Mapping[str, float]) -> dict[str, float]:
    """Air [m3] at one atmosphere that each soft tank holds above so much water at the surface."""
    return {tank.name: (1.0 - fills[tank.name]) * tank.capacity_m3 for tank in soft_tanks(vessel)}


def shared_out(vessel: Vessel, air_m3: float) -> dict[str, float]:
    """Air blown into all soft tanks at once, to each in proportion to its room."""
    tanks = soft_tanks(vessel)
    room = sum(tank.capacity_m3 for tank in tanks)
    return {tank.name: air_m3 * tank.capacity_m3 / room for tank in tanks}


@dataclass(frozen=True, eq=False)
class Trapped:
    """The air that she takes under in her flooded space, ready for any depth."""

    volume_m3: float
    """At one atmosphere."""
    _volume: PchipInterpolator
    _moment: PchipInterpolator
    _head_m: float

    def at(self, depth_m: float) -> tuple[float, Array, float, Array]:
        """Volume [m3], its first moment [m4], and how both grow per metre of depth."""
        # what is held over the nodes is pressure times volume, which hardly changes; the rest is Boyle's law itself
        head = self._head_m + depth_m
        volume, moment = float(self._volume(depth_m)), np.asarray(self._moment(depth_m))
        return (
            volume / head,
            moment / head,
            float(self._volume(depth_m, 1)) / head - volume / head**2,
            np.asarray(self._moment(depth_m, 1)) / head - moment / head**2,
        )


def trapped_in(vessel: Vessel, fills: Mapping[str, float]) -> Trapped:
    """The pockets that stay in at the attitude she goes under in, shut in at one atmosphere. Raises BoatError."""
    space = flooded_space(vessel)
    loading = load(vessel, fills)
    balance = loading.balance
    up = np.array(lay_with_air(vessel, space, loading, "going under", hanging=True).lie.normal)
    air = air_at(vessel, space, up, np.inf, balance.density)
    surface = highest_m(vessel, up)
    volumes, moments = np.zeros(len(_NODES_M)), np.zeros((len(_NODES_M), 3))
    for node, depth in enumerate(_NODES_M):
        for pocket in air.pockets:
            volume, centre, _ = squeezed(space.columns, pocket, up, surface + depth, balance.density)
            volumes[node] += volume
            moments[node] += volume * centre
    heads = balance.atmosphere_head + _NODES_M
    return Trapped(
        volume_m3=air.volume_m3,
        _volume=PchipInterpolator(_NODES_M, heads * volumes),
        _moment=PchipInterpolator(_NODES_M, heads[:, None] * moments),
        _head_m=balance.atmosphere_head,
    )


@dataclass(frozen=True, eq=False)
class Under:
    """One loading of the vessel, to be held at any depth by her centre of buoyancy."""

    vessel: Vessel
    balance: Balance
    over_point_m: float
    """How deep the point she is held by lies when she is just wholly under."""
    trapped: Trapped | None

    @property
    def point_m(self) -> Array:
        """The point she is held by: the centre of all that displaces, as a dived boat's lift is taken up."""
        return self.balance.buoyant_centre

    def _lightened(self, depth_m: float) -> Balance:
        if self.trapped is None:
            return self.balance
        volume, moment, _, _ = self.trapped.at(depth_m)
        density = self.balance.density
        return self.balance._replace(
            mass=self.balance.mass - density * volume, moment=self.balance.moment - density * moment
        )

    def hung(self, depth_m: float, start: Array = UPRIGHT) -> Hung:
        """The rest she comes to at a depth from the attitude `start`; trapped air counts in its lift and loss."""
        return hang(self._lightened(depth_m), self.point_m, depth_m + self.over_point_m, start)

    def loss_kg_m(self, depth_m: float, here: Hung) -> float:
        """Lift lost per metre further down at a rest."""
        if self.trapped is None:
            return here.loss_kg_m
        _, _, volume_per_m, moment_per_m = self.trapped.at(depth_m)
        density = self.balance.density
        return followed(
            self._lightened(depth_m),
            self.point_m,
            depth_m + self.over_point_m,
            here.normal,
            density * volume_per_m,
            density * moment_per_m,
        )

    def row(self, depth_m: float, here: Hung, *, every: bool = True) -> DepthRow:
        """All figures of a rest at a depth; `every` also finds the other ways to hang there."""
        volume, moment, change, change_moment = (
            (0.0, np.zeros(3), 0.0, np.zeros(3)) if self.trapped is None else self.trapped.at(depth_m)
        )
        density = self.balance.density
        # the lift of trapped air is counted as less mass in the balance; here it is displaced water again
        mass = here.mass_kg + density * volume
        gravity = (here.moment_kg_m + density * moment) / mass
        buoyancy = (self.balance.buoyant_volume * self.point_m + moment) / (
            self.balance.buoyant_volume + volume
        )
        soft = sum(room.softness_m2 for room in here.rooms) - change
        lost = np.sum(
            [
                room.softness_m2 * room.surface_moment_m3 / room.surface_m2
                for room in here.rooms
                if room.softness_m2 > 0.0
            ]
            + [-change_moment],
            axis=0,
        )
        ways = (
            rests(self._lightened(depth_m), self.point_m, depth_m + self.over_point_m, here.heel_deg)
            if every and np.any(self.balance.tank_air > 0.0)
            else (here,)
        )
        return DepthRow(
            depth_m=depth_m,
            lift_kg=here.lift_kg,
            loss_kg_m=self.loss_kg_m(depth_m, here),
            air_m3=self._soft_air(here) + volume,
            trim_deg=here.trim_deg,
            heel_deg=here.heel_deg,
            bg_m=float(buoyancy[2] - gravity[2]),
            gm_transverse_m=float(here.stiffness_kg_m[1, 1] / mass),
            gm_longitudinal_m=float(here.stiffness_kg_m[0, 0] / mass),
            lost_at_m=vector(lost / soft) if soft > 1e-15 else (math.nan, math.nan, math.nan),
            rests=tuple(
                Rest(
                    trim_deg=way.trim_deg,
                    heel_deg=way.heel_deg,
                    gm_longitudinal_m=float(way.stiffness_kg_m[0, 0] / mass),
                    air_shift_m=self._air_shift(way),
                )
                for way in (ways or (here,))
            ),
        )

    def _rooms(self, here: Hung) -> list[tuple[Tank, RoomState]]:
        tanks = [tank for tank in self.vessel.tanks if tank.system != "piston"]
        return [
            (tank, room) for tank, room in zip(tanks, here.rooms, strict=True) if tank.system in OPEN_BOTTOMED
        ]

    def _soft_air(self, here: Hung) -> float:
        return sum(room.air_m3 for _, room in self._rooms(here))

    def _air_shift(self, here: Hung) -> float:
        """Of the air's middle from that of the rooms, forward; 0 without air."""
        air = moment = 0.0
        for tank, room in self._rooms(here):
            air += room.air_m3
            whole = tank.capacity_m3 * tank.centre_m[0]
            moment += whole - float(room.water_moment_m4[0]) - room.air_m3 * tank.centre_m[0]
        return moment / air if air > 1e-12 else 0.0

    def closed(self) -> "Under":
        """The same boat with the water of her soft tanks held at what it is just under the surface."""
        here = self.hung(0.0)
        airs = self.balance.tank_air
        volumes = np.where(airs > 0.0, [room.water_m3 for room in here.rooms], self.balance.tank_volume)
        balance = self.balance._replace(tank_volume=volumes, tank_air=np.zeros_like(airs))
        return Under(self.vessel, balance, self.over_point_m, self.trapped)

    def _airless_lift_kg(self) -> float:
        """What is left of her lift when all her air is squeezed away."""
        balance = self.balance
        water = np.where(balance.tank_air > 0.0, balance.tank_capacity, balance.tank_volume)
        return float(balance.density * (balance.buoyant_volume - np.sum(water)) - balance.mass)

    def reach(self) -> tuple[Reach, float]:
        """Whether her lift stays above zero, and the depth at which it is zero (NaN where there is none).

        A depth of `DEEPEST_M` means that or more.
        """
        above = self.hung(0.0)
        if above.lift_kg <= 0.0:
            return "never", math.nan
        low, normal = 0.0, above.normal
        high = 0.25
        while True:
            here = self.hung(high, normal)
            if here.lift_kg <= 0.0:
                break
            if high >= DEEPEST_M:
                return ("any depth", math.nan) if self._airless_lift_kg() >= 0.0 else ("down to", DEEPEST_M)
            low, normal = high, here.normal
            high = min(2.0 * high, DEEPEST_M)
        found = brentq(lambda depth: self.hung(depth, normal).lift_kg, low, high, xtol=1e-7, rtol=1e-13)
        return "down to", float(found)


def under(
    vessel: Vessel,
    fills: Mapping[str, float],
    airs_m3: Mapping[str, float],
    trapped: Trapped | None,
    over_point_m: float,
) -> Under:
    """The vessel with these fills, her soft tanks holding so much air, measured at one atmosphere."""
    whole = {**fills, **dict.fromkeys(airs_m3, 1.0)}
    balance = load(vessel, whole).balance
    tanks = [tank for tank in vessel.tanks if tank.system != "piston"]
    air = np.array([airs_m3.get(tank.name, 0.0) for tank in tanks])
    return Under(vessel, balance._replace(tank_air=balance.atmosphere_head * air), over_point_m, trapped)


def just_under_m(vessel: Vessel, trapped: Trapped | None) -> float:
    """How deep her centre of buoyancy lies when she hangs with full tanks and her highest point is at the surface."""
    held = under(vessel, fills_for(vessel, 1.0), {}, trapped, 0.0)
    normal = held.hung(0.0).normal
    return highest_m(vessel, normal) - float(normal @ held.point_m)


def centre_of(rows: tuple[DepthRow, ...]) -> Vector:
    """Centre of all the lift lost from the first row to the last: by the trapezium rule over its loss."""
    total, moment = 0.0, np.zeros(3)
    for before, after in itertools.pairwise(rows):
        lost = [(row.loss_kg_m, np.array(row.lost_at_m)) for row in (before, after) if row.loss_kg_m > 0.0]
        for rate, place in lost:
            if np.all(np.isfinite(place)):
                total += 0.5 * rate * (after.depth_m - before.depth_m)
                moment += 0.5 * rate * (after.depth_m - before.depth_m) * place
    return vector(moment / total) if total > 0.0 else (math.nan, math.nan, math.nan)
