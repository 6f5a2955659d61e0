"""What fits: what touches what, does a part slide in, what cylinder the hull takes; each a piece of long work."""

import math

from fastapi import APIRouter

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, parse
from dabchick.model.vessel import Vessel
from dabchick.studies import fit, fit_cylinder, fit_slide
from dabchick.studies.fit import USUAL_CLEARANCE_M, FitResult
from dabchick.studies.fit_bodies import Turn
from dabchick.studies.fit_cylinder import CylinderRoom
from dabchick.studies.fit_slide import OUTWARD, Plane, SlideResult, Way
from dabchick.workbench.fit_out import cylinder_out, fit_out, slide_out
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.fit import CylinderAsk, CylinderOut, FitAsk, FitOut, SlideAsk, SlideOut
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """The routes about what fits."""
    routes = APIRouter(prefix="/api", tags=["fit"])

    @routes.post("/boats/{boat}/fit")
    def begin_fit(boat: str, ask: FitAsk) -> JobOut:
        """Begin to hold everything against everything; the answer is at /api/jobs/{job}/fit."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel, revision = last_right(now).vessel, now.right_revision or 0
        turns = tuple(
            Turn(one.part, one.axis, math.degrees(_read(one.angle, "angle", "turn"))) for one in ask.turns
        )
        job = jobs.start(
            f"Fit of {vessel.name}",
            pairs,
            vessel,
            _clearance(ask.clearance),
            _length(ask.wall, "wall", 0.0),
            turns,
            boat=bench.name,
            then=lambda result: fit_out(vessel, revision, result),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/fit")
    def get_fit(job: str) -> FitOut:
        """What touches what."""
        return jobs.answer(job, FitOut)

    @routes.post("/boats/{boat}/fit/slide")
    def begin_slide(boat: str, ask: SlideAsk) -> JobOut:
        """Begin to draw a part along its way in; the answer is at /api/jobs/{job}/slide."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel, revision = last_right(now).vessel, now.right_revision or 0
        job = jobs.start(
            f"Way in of {ask.part}",
            way_in,
            vessel,
            ask.part,
            ask.way,
            _plane(vessel, ask.way, ask.opened),
            ask.past,
            _clearance(ask.clearance),
            boat=bench.name,
            then=lambda result: slide_out(vessel, revision, result),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/slide")
    def get_slide(job: str) -> SlideOut:
        """Whether it gets to its place."""
        return jobs.answer(job, SlideOut)

    @routes.post("/boats/{boat}/fit/cylinder")
    def begin_cylinder(boat: str, ask: CylinderAsk) -> JobOut:
        """Begin to look for the longest or widest cylinder; the answer is at /api/jobs/{job}/cylinder."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel, revision = last_right(now).vessel, now.right_revision or 0
        job = jobs.start(
            f"Cylinder for {vessel.name}",
            cylinder,
            vessel,
            None if ask.diameter is None else _read(ask.diameter, "length", "diameter"),
            None if ask.length is None else _read(ask.length, "length", "length"),
            _clearance(ask.clearance),
            ask.past,
            ask.tilt,
            boat=bench.name,
            then=lambda result: cylinder_out(vessel, revision, result),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/cylinder")
    def get_cylinder(job: str) -> CylinderOut:
        """The cylinder that fits."""
        return jobs.answer(job, CylinderOut)

    return routes


def pairs(
    tell: Tell, vessel: Vessel, clearance_m: float, wall_m: float, turns: tuple[Turn, ...]
) -> FitResult:
    """What touches what, in a process of its own."""
    return fit.run(vessel, clearance_m=clearance_m, wall_m=wall_m, turns=turns, tell=tell)


def way_in(
    tell: Tell, vessel: Vessel, part: str, way: Way, plane: Plane | None, past: bool, clearance_m: float
) -> SlideResult:
    """Whether a part slides in, in a process of its own."""
    return fit_slide.run(vessel, part, way=way, plane=plane, past=past, clearance_m=clearance_m, tell=tell)


def cylinder(
    tell: Tell,
    vessel: Vessel,
    diameter_m: float | None,
    length_m: float | None,
    clearance_m: float,
    past: bool,
    tilt: bool,
) -> CylinderRoom:
    """The longest or widest cylinder, in a process of its own."""
    return fit_cylinder.run(
        vessel,
        diameter_m=diameter_m,
        length_m=length_m,
        clearance_m=clearance_m,
        past=past,
        tilt=tilt,
        tell=tell,
    )


def _read(text: str, dimension: Dimension, key: str) -> float:
    try:
        return parse(text, dimension)
    except UnitError as mistake:
        raise BoatError(
            Advice(what=mistake.what, todo=mistake.todo, key=key, given=text, allowed=mistake.allowed)
        ) from mistake


def _length(text: str | None, key: str, otherwise: float) -> float:
    return otherwise if text is None or not text.strip() else _read(text, "length", key)


def _clearance(text: str | None) -> float:
    return _length(text, "clearance", USUAL_CLEARANCE_M)


def _plane(vessel: Vessel, way: Way, text: str | None) -> Plane | None:
    """Where the hull is opened, from the builder's own zero."""
    if text is None or not text.strip():
        return None
    place = _read(text, "length", "opened")
    x, _, z = vessel.datum.to_house((place, 0.0, place))
    normal = OUTWARD[way]
    return Plane(normal, normal[0] * x + normal[2] * z)
