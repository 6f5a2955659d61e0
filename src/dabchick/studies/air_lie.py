"""How she lies with trapped air in her: attitude and air found from each other until both stay."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.physics.squeezed_air import squeezed
from dabchick.physics.trapped_air import Air, trapped
from dabchick.studies.flooded_space import FloodedSpace
from dabchick.studies.lay import lay
from dabchick.studies.lie import Lie
from dabchick.studies.loading import Loading, highest_m
from dabchick.studies.result import Figure

Array = NDArray[np.float64]

MOST_ROUNDS: Final = 60
STILL: Final = 2e-6
"""Attitude (as a chord on the unit sphere) and lift (as a share of the mass) have come to rest within this."""
LEAST_STEP: Final = 1.0 / 64.0


class CarriedError(BoatError):
    """The air alone lifts more than she weighs, so she cannot be wholly under with it."""


@dataclass(frozen=True, eq=False)
class AirLie:
    """A lie with the air that stays in at it."""

    lie: Lie
    """Her mass, CG, CB, GM and BG count the air's lift as buoyancy; `lift_kg` as well."""
    air: Air
    rounds: int
    settled: bool
    """Attitude and air agree. Otherwise this is the last of many rounds."""


def lay_with_air(
    vessel: Vessel,
    space: FloodedSpace,
    loading: Loading,
    name: str,
    *,
    hanging: bool = False,
    depth_m: float | None = None,
) -> AirLie:
    """The lie that begins upright and is found again with its own air until nothing moves any more.

    Each round finds the air at the attitude, then the attitude with that air's lift; a step that turns back is
    halved. With `depth_m` of water over her highest point, the air is squeezed. Raises CarriedError.
    """
    up, outside = UPRIGHT, np.inf
    step, before = 1.0, None
    lie = lay(vessel, loading, name, hanging=hanging)
    if not hanging and lie.condition == "floats":
        up, outside = np.array(lie.normal), lie.offset_m
    elif hanging:
        up = np.array(lie.normal)
    volume = -1.0
    air = Air(up, outside, ())
    for number in range(1, MOST_ROUNDS + 1):
        air = air_at(vessel, space, up, outside, loading.balance.density, depth_m)
        lie = _lie_of(vessel, loading, air, name, hanging, up)
        target = np.array(lie.normal)
        height = np.inf if lie.condition != "floats" else lie.offset_m
        move = target - up
        near = loading.balance.density * abs(air.volume_m3 - volume) <= STILL * loading.mass_kg
        level = outside == height or abs(height - outside) <= STILL * vessel.length_m
        if float(np.linalg.norm(move)) <= STILL and near and level:
            return AirLie(lie, air, number, True)
        if before is not None and float(move @ before) < 0.0:
            step = max(LEAST_STEP, 0.5 * step)
        before, volume = move, air.volume_m3
        up = up + step * move
        up = up / np.linalg.norm(up)
        both = np.isfinite(outside) and np.isfinite(height)
        outside = outside + step * (height - outside) if both else height
    return AirLie(lie, air, MOST_ROUNDS, False)


def air_at(
    vessel: Vessel,
    space: FloodedSpace,
    up: Array,
    outside: float,
    density: float,
    depth_m: float | None = None,
) -> Air:
    """The air that stays in at an attitude; with `depth_m` of water over her highest point, squeezed by it."""
    air = trapped(space.walls, space.columns, list(space.mouths), up, outside)
    if depth_m is None or np.isfinite(outside):
        return air
    surface = highest_m(vessel, up) + depth_m
    pockets = []
    for pocket in air.pockets:
        volume, centre, level = squeezed(space.columns, pocket, up, surface, density)
        pockets.append(pocket._replace(volume_m3=volume, centre_m=centre, level=level))
    return air._replace(pockets=tuple(pockets))


def _lie_of(vessel: Vessel, loading: Loading, air: Air, name: str, hanging: bool, start: Array) -> Lie:
    """How she lies with this much air at this place, which takes as much off her weight there."""
    balance = loading.balance
    lifted = balance.density * air.volume_m3
    if lifted == 0.0:
        return lay(vessel, loading, name, hanging=hanging, start=start)
    left = loading.mass_kg - lifted
    own = balance.mass - lifted
    if own <= 0.0:
        raise CarriedError(
            Advice(
                what="The trapped air alone would carry the whole boat, so she does not dive at all.",
                todo="Give her openings at the highest points of the hull.",
                key="hull.openings",
                given=f"{lifted:.3f} kg of lift from air",
                allowed=f"less than her mass of {balance.mass:.3f} kg",
            )
        )
    centre = air.centre_m
    lightened = replace(
        loading,
        balance=balance._replace(mass=own, moment=balance.moment - lifted * centre),
        mass_kg=left,
    )
    return _as_buoyancy(
        lay(vessel, lightened, name, hanging=hanging, start=start), lifted, centre, air.volume_m3
    )


def _as_buoyancy(lie: Lie, lifted: float, air_centre: Array, volume: float) -> Lie:
    """The same lie said rightly: the air is no missing mass but displaced water."""
    mass = lie.mass_kg.value + lifted
    share = lie.mass_kg.value / mass
    cg = share * np.array(lie.cg_m) + (1.0 - share) * air_centre
    displaced = lie.displaced_m3 + volume
    cb = (lie.displaced_m3 * np.array(lie.cb_m) + volume * air_centre) / displaced

    def times(figure: Figure) -> Figure:
        return Figure(figure.value * share, figure.spread * share)

    return replace(
        lie,
        mass_kg=Figure(mass, lie.mass_kg.spread),
        displaced_m3=displaced,
        cg_m=(float(cg[0]), float(cg[1]), float(cg[2])),
        cb_m=(float(cb[0]), float(cb[1]), float(cb[2])),
        gm_transverse_m=times(lie.gm_transverse_m),
        gm_longitudinal_m=times(lie.gm_longitudinal_m),
        bg_m=Figure(float(cb[2] - cg[2]), lie.bg_m.spread),
    )
