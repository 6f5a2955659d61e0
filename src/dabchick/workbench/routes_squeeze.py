"""Air and depth: at once for the tanks alone, as long work with the air trapped in her as well."""

from fastapi import APIRouter

from dabchick.model.vessel import Vessel
from dabchick.studies.squeeze import SqueezeResult
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.squeeze import SqueezeAsk, SqueezeOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.squeeze_out import asked, squeeze_out


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about what depth does to the air in a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["squeeze"])

    @routes.post("/boats/{boat}/squeeze")
    def look(boat: str, ask: SqueezeAsk) -> SqueezeOut:
        """What depth does to the air in her tanks."""
        now = shelf.bench(boat).now
        vessel = last_right(now).vessel
        return squeeze_out(vessel, asked(vessel, ask, air=False), now.right_revision or 0)

    @routes.post("/boats/{boat}/squeeze/air")
    def begin(boat: str, ask: SqueezeAsk) -> JobOut:
        """Begin the same with the air trapped in her; the answer is at /api/jobs/{job}/squeeze."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"Air and depth in {vessel.name}",
            with_air,
            vessel,
            ask,
            boat=bench.name,
            then=lambda result: squeeze_out(vessel, result, revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/squeeze")
    def found(job: str) -> SqueezeOut:
        """What the work found."""
        return jobs.answer(job, SqueezeOut)

    return routes


def with_air(tell: Tell, vessel: Vessel, ask: SqueezeAsk) -> SqueezeResult:
    """The whole study, in a process of its own."""
    return asked(vessel, ask, air=True, tell=tell)
