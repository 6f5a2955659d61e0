"""The fills at which a cure has to hold GM up, and what is wanted there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.studies.hold import Hold, held
from dabchick.studies.limits import Limits
from dabchick.studies.stability_result import Arms, StabilityResult, Stage

STATES: Final = 12
"""Fills at which GM is held up in the linear programme: those where it is least; the proof looks at all."""
SAFETY_M: Final = 5e-5
"""The programme aims so much over the limit, since the least moment moves a little."""


@dataclass(frozen=True, eq=False)
class State:
    """One fill at which GM is held up."""

    hold: Hold
    target_m: float
    target_long_m: float


def states_of(vessel: Vessel, limits: Limits, result: StabilityResult) -> tuple[State, ...]:
    """The fills where GM is nearest to what is wanted there, each once."""
    gm = max(limits.gm_every.value, limits.gm_least.value)
    found: dict[tuple[float, ...], State] = {}

    def take(fills: dict[str, float], start: Sequence[float], hanging: bool, arms: Arms | None) -> None:
        hold = held(vessel, fills, np.array(start), hanging=hanging)
        lowering = _lowering(arms, limits) if arms is not None else 0.0
        target = max(gm, hold.gm_transverse_m + lowering if lowering > 0.0 else -math.inf)
        key = (*(round(value, 6) for value in fills.values()), float(hold.hanging), round(hold.normal[0], 4))
        if key not in found or found[key].target_m < target:
            found[key] = State(hold, target, limits.gm_longitudinal.value)

    for stage in (*result.down, *result.up):
        take(stage.lie.fills, stage.lie.normal, stage.lie.condition != "floats", stage.arms)
    take(result.least.fills, result.least.lie.normal, result.least.lie.condition != "floats", None)
    full: Stage = result.down[-1]
    take(full.under.fills, full.under.normal, True, None)

    def room(state: State) -> float:
        hold = state.hold
        return min(hold.gm_transverse_m - state.target_m, hold.gm_longitudinal_m - state.target_long_m)

    return tuple(sorted(found.values(), key=room)[:STATES])


def _lowering(arms: Arms, limits: Limits) -> float:
    """How much lower [m] her weight has to be for the greatest arm and the range, the arm falling by sin(heel)."""
    needed = 0.0
    turn = abs(math.sin(math.radians(arms.greatest_at_deg)))
    if arms.greatest_m < limits.arm.value and turn > 1e-3:
        needed = (limits.arm.value - arms.greatest_m) / turn
    if min(arms.range_starboard_deg, arms.range_port_deg) < limits.range.value:
        heels, held_by = np.array(arms.heels_deg), np.array(arms.arms_m)
        inside = (np.abs(heels) > 0.0) & (np.abs(heels) <= min(limits.range.value, 179.0))
        if np.any(inside):
            sine = np.sin(np.radians(heels[inside]))
            needed = max(needed, float(np.max(-held_by[inside] / sine)))
    return needed


def raised_states(vessel: Vessel, states: tuple[State, ...], after: tuple[State, ...]) -> tuple[State, ...]:
    """The states of before with those that the proof found wanting, as the vessel was."""
    more = []
    for state in after:
        hold = state.hold
        if hold.gm_transverse_m >= state.target_m and hold.gm_longitudinal_m >= state.target_long_m:
            continue
        old = held(vessel, hold.loading.fills, UPRIGHT, hanging=hold.hanging)
        more.append(State(old, state.target_m + SAFETY_M, state.target_long_m + SAFETY_M))
    return (*states, *more) if more else ()
