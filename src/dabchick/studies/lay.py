"""Find how a loaded vessel lies, with every figure's spread carried from the ledger to first order."""

import math

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Vessel
from dabchick.physics.balance import tanks_into
from dabchick.physics.equilibrium import UPRIGHT, Equilibrium, SinksError, find
from dabchick.physics.response import Response, response
from dabchick.studies.lie import Condition, Lie
from dabchick.studies.loading import Loading, highest_point, piston_water_centre, under_offset_m
from dabchick.studies.result import Figure

Array = NDArray[np.float64]

SPREAD_METHOD = (
    "spreads are one standard deviation, carried to first order through the exact stiffness, "
    "each part's mass, place and volume taken as independent"
)


def lay(
    vessel: Vessel,
    loading: Loading,
    name: str,
    *,
    hanging: bool = False,
    start: Array = UPRIGHT,
) -> Lie:
    """How she lies with this loading: afloat from the attitude `start`, or wholly under when `hanging`.

    A boat that sinks is reported as such, in the attitude she sinks in.
    """
    depth = under_offset_m(loading)
    under = hanging
    try:
        rest = find(loading.balance, start, hanging=hanging, depth_m=depth)
    except SinksError:
        under = True
        rest = find(loading.balance, start, hanging=True, depth_m=depth)
    condition: Condition = "floats"
    if under:
        condition = "hangs" if hanging and _lift(loading) >= 0.0 else "sinks"
    return describe(vessel, loading, name, rest, condition)


def _lift(loading: Loading) -> float:
    return loading.balance.density * loading.balance.buoyant_volume - loading.mass_kg


def describe(
    vessel: Vessel,
    loading: Loading,
    name: str,
    rest: Equilibrium,
    condition: Condition,
    *,
    loose: bool = False,
) -> Lie:
    """All figures of one equilibrium of this loading.

    Raises ValueError where nothing holds her against some turn; with `loose` the spreads of how she lies are NaN then.
    """
    balance = loading.balance
    moved = response(balance, rest, under_offset_m(loading), loose=loose)
    loads = _spread_loads(vessel, loading, moved)
    moves = moved.moves(loads)
    normal = rest.normal
    turns = np.outer(moves[:, 1], moved.pitch) + np.outer(moves[:, 2], moved.roll)
    mass_figure, lift_figure = _mass_and_lift(vessel, loading)
    cg = moved.centre_of_gravity_m
    cb = rest.centre_of_buoyancy_m
    level = math.cos(math.radians(rest.trim_deg))
    g_spread, bg_spread = _height_spreads(loading, cg, cb)

    def draught(mark: float) -> Figure:
        if rest.hanging:
            return Figure(math.nan, math.nan)
        height = (rest.offset_m - normal[0] * mark) / normal[2]
        change = (moves[:, 0] - turns[:, 0] * mark - turns[:, 2] * height) / normal[2]
        return Figure(float(height), _root_sum_square(change))

    def freeboard() -> Figure:
        if rest.hanging:
            return Figure(math.nan, math.nan)
        top = highest_point(vessel.hull, normal)
        return Figure(float(top @ normal) - rest.offset_m, _root_sum_square(turns @ top - moves[:, 0]))

    return Lie(
        name=name,
        condition=condition,
        fills=loading.fills,
        draught_bow_m=draught(vessel.mark_bow_m),
        draught_stern_m=draught(vessel.mark_stern_m),
        freeboard_m=freeboard(),
        heel_deg=Figure(rest.heel_deg, _root_sum_square(np.degrees(moves[:, 2])) / max(level, 1e-9)),
        trim_deg=Figure(rest.trim_deg, _root_sum_square(np.degrees(moves[:, 1]))),
        lift_kg=lift_figure,
        mass_kg=mass_figure,
        displaced_m3=rest.displaced_m3,
        cg_m=_vector(cg),
        cb_m=_vector(cb),
        gm_transverse_m=Figure(rest.gm_transverse_m, g_spread),
        gm_longitudinal_m=Figure(rest.gm_longitudinal_m, g_spread),
        bg_m=Figure(float(cb[2] - cg[2]), bg_spread),
        stable=rest.stable,
        force_residual=rest.force_residual,
        moment_residual=rest.moment_residual,
        normal=_vector(normal),
        offset_m=rest.offset_m,
    )


def _vector(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _root_sum_square(values: Array) -> float:
    return float(np.sqrt(np.sum(np.square(values))))


def _spread_loads(vessel: Vessel, loading: Loading, moved: Response) -> Array:
    """Loads (k, 3) of one standard deviation each: masses, places, volumes, the water's density."""
    items = loading.weighed
    masses = np.array([item.mass_kg for item in items])
    mass_spreads = np.array([item.mass_spread_kg for item in items])
    centres = np.array([item.centre_m for item in items])
    loads = [moved.of_mass(centres) * mass_spreads[:, None]]
    for axis in range(3):
        shifts = np.zeros((len(items), 3))
        shifts[:, axis] = [item.centre_spread_m[axis] for item in items]
        loads.append(moved.of_shift(1.0, shifts * masses[:, None]))
    volumes = [
        moved.of_volume(index, np.array(entry.volume_centre_m), entry.volume_m3) * entry.volume_spread_m3
        for index, entry in enumerate(loading.displacing)
        if isinstance(entry, Item) and entry.volume_spread_m3 > 0.0 and entry.volume_m3 > 0.0
    ]
    if volumes:
        loads.append(np.array(volumes))
    loads.append((moved.of_density() + _tank_water_load(vessel, loading, moved))[None, :])
    loads[-1] = loads[-1] * vessel.water_density_spread_kg_m3
    return np.vstack(loads)


def _tank_water_load(vessel: Vessel, loading: Loading, moved: Response) -> Array:
    """Load (3,) of the tank water growing with the water's density [per kg/m3]."""
    load = np.zeros(3)
    if moved.hanging or not any(loading.fills.values()):
        return load
    if loading.balance.tank_first.size:
        gradient, hessian = np.zeros(4), np.zeros((4, 4))
        n = moved.normal
        tanks_into(loading.balance, n[0], n[1], n[2], moved.offset_m, gradient, hessian)
        gradient /= loading.balance.density
        load = np.array([gradient[3], gradient[:3] @ moved.pitch, gradient[:3] @ moved.roll])
    for tank in vessel.tanks:
        if tank.system == "piston" and loading.fills[tank.name] > 0.0:
            share = loading.fills[tank.name]
            centre = piston_water_centre(tank, share)
            load = load + moved.of_mass(centre[None, :])[0] * share * tank.capacity_m3
    return load


def _mass_and_lift(vessel: Vessel, loading: Loading) -> tuple[Figure, Figure]:
    weight_spread = _root_sum_square(np.array([item.mass_spread_kg for item in loading.weighed]))
    rho = loading.balance.density
    volumes = [entry.volume_spread_m3 for entry in loading.displacing if isinstance(entry, Item)]
    water = sum(loading.fills[tank.name] * tank.capacity_m3 for tank in vessel.tanks)
    by_water = vessel.water_density_spread_kg_m3 * (loading.balance.buoyant_volume - water)
    lift_spread = math.hypot(weight_spread, rho * _root_sum_square(np.array(volumes)), by_water)
    return Figure(loading.mass_kg, weight_spread), Figure(_lift(loading), lift_spread)


def _height_spreads(loading: Loading, cg: Array, cb: Array) -> tuple[float, float]:
    """Spreads [m] of the height of CG (taken for GM too) and of BG."""
    mass = loading.mass_kg
    heights = np.concatenate(
        [
            [item.mass_kg * item.centre_spread_m[2] / mass for item in loading.weighed],
            [item.mass_spread_kg * (item.centre_m[2] - cg[2]) / mass for item in loading.weighed],
        ]
    )
    total = loading.balance.buoyant_volume
    lifts = np.array(
        [
            entry.volume_spread_m3 * (entry.volume_centre_m[2] - cb[2]) / total
            for entry in loading.displacing
            if isinstance(entry, Item)
        ]
    )
    g = _root_sum_square(heights)
    return g, math.hypot(g, _root_sum_square(lifts))
