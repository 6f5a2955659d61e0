"""A dry part that fills slowly, as a job."""

from fastapi import APIRouter

from dabchick.model.typed import si_all
from dabchick.model.vessel import Vessel
from dabchick.report.leak_drawing import LeakView, views
from dabchick.studies import leak
from dabchick.studies.leak_ask import way_of
from dabchick.studies.leak_result import LeakResult
from dabchick.studies.leak_source import LeakWay
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.leak_out import leak_out
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.leak import LeakAsk, LeakOut
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about leaks in a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["leak"])

    @routes.post("/boats/{boat}/leak")
    def begin(boat: str, ask: LeakAsk) -> JobOut:
        """Begin to let water into a dry part; the answer is at /api/jobs/{job}/leak."""
        bench = shelf.bench(boat)
        way = way_of(ask.drip, ask.hole, ask.gap)
        depth_m, wall_m = si_all(("depth", ask.depth, "length"), ("wall", ask.wall, "length"))
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"A leak in {vessel.name}",
            let_in,
            vessel,
            ask.part or None,
            way,
            depth_m,
            wall_m,
            ask.vented,
            boat=bench.name,
            then=lambda found: leak_out(vessel, found[0], found[1], revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/leak")
    def found(job: str) -> LeakOut:
        """What the leak does to her."""
        return jobs.answer(job, LeakOut)

    return routes


def let_in(
    tell: Tell,
    vessel: Vessel,
    part: str | None,
    way: LeakWay,
    depth_m: float | None,
    wall_m: float | None,
    vented: bool,
) -> tuple[LeakResult, tuple[LeakView, ...]]:
    """The study and its pictures, in a process of its own."""

    def share(text: str, done: float) -> None:
        tell(text, 0.7 * done)

    result = leak.run(vessel, part=part, leak=way, depth_m=depth_m, wall_m=wall_m, vented=vented, tell=share)
    tell("Drawing her", 0.75)
    return result, views(vessel, result, wall_m)
