"""`stability`: follow the boat from empty tanks to full ones and back, and say where she is least stable."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import NoReturn

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.branches import Branches, Curve, branches
from dabchick.physics.equilibrium import UPRIGHT, heel_and_trim_deg
from dabchick.physics.filling import filling
from dabchick.physics.least import least_gm
from dabchick.physics.passage import Passage, begin, follow
from dabchick.physics.track import Point, Track
from dabchick.physics.water import density_kg_m3
from dabchick.studies.common import BALANCE_METHOD, BALANCE_SOURCES, BALANCE_VALIDITY, assumptions, warnings
from dabchick.studies.dive_path import DivePath, together
from dabchick.studies.lay import SPREAD_METHOD
from dabchick.studies.loading import load, under_offset_m
from dabchick.studies.stability_findings import findings
from dabchick.studies.stability_result import Branch, DiveEvent, LeastMoment, StabilityResult, Stage, Way
from dabchick.studies.stability_stage import HEELS_DEG, Dive, attitude

__all__ = ["HEELS_DEG", "STAGES", "run"]

STAGES = 21

METHOD = (
    "the rest she is in followed over the fills by a predictor along its tangent and Newton square to it "
    "(pseudo-arclength); where it ends or loses its hold she goes downhill in steps of a degree at most"
)
SOURCES = (
    "continuation and branch switching: H. B. Keller, in Applications of Bifurcation Theory (1977), from memory",
    "minima - saddles + maxima = 2 on the sphere of attitudes: Morse theory, a standard theorem",
)
VALIDITY = (
    "filled so slowly that she is at rest at every moment: no speed, no swing past the rest she comes to"
)
EVEN = "exactly upright she could as well go to port where she is said to go to starboard"
SHUT_AIR = "no air gets out of an open-bottomed tank while she heels and trims"

Tell = Callable[[str, float], None]
_SAME = 1e-7


def run(
    vessel: Vessel,
    path: DivePath | None = None,
    *,
    stages: int = STAGES,
    every: bool = False,
    temperature_c: float | None = None,
    salinity_g_kg: float | None = None,
    tell: Tell | None = None,
) -> StabilityResult:
    """Follow her along a path of fills (all tanks together without one), down and up again.

    `stages` moments (2 at least) are told in full on either way; what happens between them is found too. `every` also
    follows all other curves of rests. `temperature_c` and `salinity_g_kg` put her in other water. Raises BoatError.
    """
    if stages < 2:
        raise BoatError(
            Advice(
                what="A way down needs two stages at least, its beginning and its end.",
                todo="Ask for 2 or more; 21 shows a dive well.",
                key="stages",
                given=str(stages),
                allowed="2 or more",
            )
        )
    way = path or together(vessel)
    say = tell or (lambda text, share: None)
    density = _density(vessel, temperature_c, salinity_g_kg)
    dive = _dive(vessel, way, density)
    progress = [float(at) for at in np.linspace(0.0, 1.0, stages)]
    try:
        say("Going down", 0.0)
        down = follow(dive.track, begin(dive.track, UPRIGHT), progress)
        say("Coming up", 0.1)
        up = follow(dive.track, down.stages[-1], progress[::-1])
        say("Righting arms", 0.2)
        told_down = _told(dive, down.stages, "down")
        passed = dict(zip(progress, zip(down.stages, told_down, strict=True), strict=True))
        told_up = _told(dive, up.stages, "up", passed)
        least = _least(dive, down, up)
    except ArithmeticError as fault:
        _lost(fault)
    found = Branches()
    if every:
        say("All other rests", 0.5)
        found = branches(
            dive.track,
            progress,
            lambda share: say("All other rests", 0.5 + 0.5 * share),
        )
    events = (*_events(dive, down, "down"), *_events(dive, up, "up"))
    neutral = down.neutral or up.neutral
    return StabilityResult(
        boat=vessel.name,
        method=f"{METHOD}; {BALANCE_METHOD}; {SPREAD_METHOD}",
        sources=(*BALANCE_SOURCES, *SOURCES),
        validity=f"{BALANCE_VALIDITY}; {VALIDITY}",
        assumptions=assumptions(
            vessel,
            "the spread of GM counts the height of the weights only",
            *([EVEN] if any(event.kind == "fork" for event in events) else []),
            *([SHUT_AIR] if np.any(dive.track.filling.air > 0.0) else []),
        ),
        warnings=warnings(vessel, *findings(vessel, told_down, told_up, events, neutral=neutral)),
        path=way,
        water_density_kg_m3=density,
        down=told_down,
        up=told_up,
        events=events,
        least=least,
        branches=tuple(_branch(vessel, curve, dive.track.balance.radius) for curve in found.curves),
        complete=every and bool(found.complete) and all(found.complete),
    )


def _density(vessel: Vessel, temperature_c: float | None, salinity_g_kg: float | None) -> float:
    if temperature_c is None and salinity_g_kg is None:
        return vessel.water_density_kg_m3
    return float(
        density_kg_m3(
            vessel.water_temperature_c if temperature_c is None else temperature_c,
            vessel.water_salinity_g_kg if salinity_g_kg is None else salinity_g_kg,
        )
    )


def _dive(vessel: Vessel, path: DivePath, density: float) -> Dive:
    loading = load(vessel, path.fills_at(0.0), density)
    way = filling(
        path.knots,
        lambda progress: load(vessel, path.fills_at(progress), density).balance,
        under_offset_m(loading),
    )
    return Dive(vessel, path, density, Track(loading.balance, way))


def _lost(fault: ArithmeticError) -> NoReturn:
    raise BoatError(
        Advice(
            what=f"The way of this boat cannot be followed to its end: {fault}",
            todo="Look at how she lies at this fill with `dabchick afloat --fill`, and at tanks and weights there.",
            key="tank",
        )
    ) from fault


def _told(
    dive: Dive,
    points: Sequence[Point],
    way: Way,
    known: dict[float, tuple[Point, Stage]] | None = None,
) -> tuple[Stage, ...]:
    """All figures of the stages, on every core; where she lies as on the way before, those of then."""

    def one(point: Point) -> Stage:
        before = (known or {}).get(point.progress)
        if before is not None and _alike(before[0], point):
            return replace(before[1], way=way)
        return dive.stage(point, way)

    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        return tuple(pool.map(one, points))


def _alike(one: Point, other: Point) -> bool:
    return one.hanging == other.hanging and float(np.max(np.abs(one.state - other.state))) < _SAME


def _least(dive: Dive, down: Passage, up: Passage) -> LeastMoment:
    at_down, at_up = least_gm(dive.track, down.points), least_gm(dive.track, up.points)
    on: Way = "up" if at_up.gm < at_down.gm - 1e-9 * dive.track.balance.radius else "down"
    point = at_up if on == "up" else at_down
    lie = dive.lie(point)
    return LeastMoment(on, point.progress, lie.fills, lie)


def _events(dive: Dive, passage: Passage, way: Way) -> list[DiveEvent]:
    radius = dive.track.balance.radius
    return [
        DiveEvent(
            kind=happening.kind,
            way=way,
            progress=happening.before.progress,
            fills=dive.path.fills_at(happening.before.progress),
            before=attitude(happening.before, radius),
            after=attitude(happening.after, radius),
        )
        for happening in passage.happenings
    ]


def _branch(vessel: Vessel, curve: Curve, radius: float) -> Branch:
    angles = [heel_and_trim_deg(point.normal) for point in curve.points]
    return Branch(
        progress=tuple(point.progress for point in curve.points),
        heel_deg=tuple(heel for heel, _ in angles),
        trim_deg=tuple(trim for _, trim in angles),
        draught_m=tuple(_draught(vessel, point, radius) for point in curve.points),
        stable=tuple(point.stable for point in curve.points),
    )


def _draught(vessel: Vessel, point: Point, radius: float) -> float:
    x, _, z = point.normal
    if point.hanging or abs(z) < 1e-9:
        return float("nan")
    return float((point.state[3] * radius - x * 0.5 * vessel.length_m) / z)
