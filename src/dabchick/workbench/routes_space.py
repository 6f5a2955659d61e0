"""Where lead and foam can go, as a job."""

from fastapi import APIRouter

from dabchick.model.typed import si_all
from dabchick.model.vessel import Vessel
from dabchick.studies import space
from dabchick.studies.space import SpaceMap
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.space import SpaceAsk, SpaceOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.space_out import space_out


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes over the free room of a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["space"])

    @routes.post("/boats/{boat}/space")
    def begin(boat: str, ask: SpaceAsk) -> JobOut:
        """Begin to look for free room; the answer is at /api/jobs/{job}/space."""
        bench = shelf.bench(boat)
        cell_m, clearance_m = si_all(("cell", ask.cell, "length"), ("clearance", ask.clearance, "length"))
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"Free room in {vessel.name}",
            look,
            vessel,
            cell_m,
            clearance_m,
            boat=bench.name,
            then=lambda found: space_out(vessel, revision, found),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/space")
    def found(job: str) -> SpaceOut:
        """The free room that a job found."""
        return jobs.answer(job, SpaceOut)

    return routes


def look(tell: Tell, vessel: Vessel, cell_m: float | None, clearance_m: float | None) -> SpaceMap:
    """The search, in a process of its own."""
    return space.space_map(vessel, cell_m=cell_m, clearance_m=clearance_m, progress=tell)
