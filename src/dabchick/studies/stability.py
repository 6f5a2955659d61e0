"""`stability`: follow the boat from empty tanks to full ones and back, and say where she is least stable."""

from collections.abc import Callable

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.balance import Array
from dabchick.physics.equilibrium import UPRIGHT
from dabchick.physics.righting import ArmCurve, arm_curve
from dabchick.studies.common import BALANCE_METHOD, BALANCE_SOURCES, BALANCE_VALIDITY, assumptions, warnings
from dabchick.studies.dive_path import DivePath, together
from dabchick.studies.lay import lay
from dabchick.studies.loading import load
from dabchick.studies.stability_result import Arms, LeastMoment, StabilityResult, Stage, Way

HEELS_DEG = np.arange(-180.0, 180.1, 5.0)
STAGES = 21

Tell = Callable[[str, float], None]


def run(
    vessel: Vessel,
    path: DivePath | None = None,
    *,
    stages: int = STAGES,
    every: bool = False,
    tell: Tell | None = None,
) -> StabilityResult:
    """Follow her along a path of fills (all tanks together without one), down and up again. Raises BoatError."""
    way = path or together(vessel)
    say = tell or (lambda text, share: None)
    progress = np.linspace(0.0, 1.0, stages)
    down, up = [], []
    start = UPRIGHT
    for index, at in enumerate(progress):
        say("Going down", 0.5 * index / stages)
        down.append(_stage(vessel, way, float(at), "down", start))
        start = np.array(down[-1].lie.normal)
    for index, at in enumerate(progress[::-1]):
        say("Coming up", 0.5 + 0.5 * index / stages)
        up.append(_stage(vessel, way, float(at), "up", start))
        start = np.array(up[-1].lie.normal)
    weakest = min([*down, *up], key=lambda stage: stage.lie.gm_transverse_m.value)
    return StabilityResult(
        boat=vessel.name,
        method=BALANCE_METHOD,
        sources=BALANCE_SOURCES,
        validity=BALANCE_VALIDITY,
        assumptions=assumptions(vessel),
        warnings=warnings(vessel),
        path=way,
        water_density_kg_m3=vessel.water_density_kg_m3,
        down=tuple(down),
        up=tuple(up),
        events=(),
        least=LeastMoment(weakest.way, weakest.progress, weakest.lie.fills, weakest.lie),
        branches=(),
        complete=False,
    )


def _stage(vessel: Vessel, path: DivePath, progress: float, way: Way, start: Array) -> Stage:
    loading = load(vessel, path.fills_at(progress))
    lie = lay(vessel, loading, "as filled", start=start)
    under = lay(vessel, loading, "wholly under", hanging=True, start=start)
    curve = arm_curve(loading.balance, HEELS_DEG, hanging=lie.condition != "floats")
    return Stage(progress, way, lie, under, 0.0, 0.0, _arms(curve))


def _arms(curve: ArmCurve) -> Arms:
    return Arms(
        heels_deg=tuple(curve.heels_deg),
        arms_m=tuple(curve.arms_m),
        trims_deg=tuple(curve.trims_deg),
        range_starboard_deg=180.0,
        range_port_deg=180.0,
        area_starboard_m_rad=0.0,
        area_port_m_rad=0.0,
        greatest_m=float(np.max(curve.arms_m)),
        greatest_at_deg=float(curve.heels_deg[np.argmax(curve.arms_m)]),
        loll_deg=float("nan"),
        settled=curve.settled,
    )
