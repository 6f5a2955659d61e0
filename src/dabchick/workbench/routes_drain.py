"""Water that lags in casing and hull, as a job."""

from fastapi import APIRouter

from dabchick.model.typed import si_all
from dabchick.model.vessel import Vessel
from dabchick.physics.orifice import SHARP_EDGE
from dabchick.studies import drain
from dabchick.studies.drain_result import DrainResult
from dabchick.workbench.drain_out import drain_out
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.drain import DrainAsk, DrainOut
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about water that lags in a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["drain"])

    @routes.post("/boats/{boat}/drain")
    def begin(boat: str, ask: DrainAsk) -> JobOut:
        """Begin to follow her both ways; the answer is at /api/jobs/{job}/drain."""
        bench = shelf.bench(boat)
        blow_s, fill_s, limit_m = si_all(
            ("blow", ask.blow, "time"), ("fill", ask.fill, "time"), ("limit", ask.limit, "length")
        )
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"Water that lags in {vessel.name}",
            follow,
            vessel,
            blow_s,
            fill_s,
            limit_m,
            SHARP_EDGE if ask.cd is None else ask.cd,
            boat=bench.name,
            then=lambda result: drain_out(vessel, result, revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/drain")
    def found(job: str) -> DrainOut:
        """What a job found."""
        return jobs.answer(job, DrainOut)

    return routes


def follow(
    tell: Tell,
    vessel: Vessel,
    blow_s: float | None,
    fill_s: float | None,
    limit_m: float | None,
    discharge: float,
) -> DrainResult:
    """The study, in a process of its own."""
    return drain.run(vessel, blow_s=blow_s, fill_s=fill_s, limit_m=limit_m, discharge=discharge, tell=tell)
