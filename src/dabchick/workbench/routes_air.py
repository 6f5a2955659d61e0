"""Trapped air: what stays in at an attitude at once, and as long work the fewest vents and how she hangs with it."""

from typing import Annotated

from fastapi import APIRouter, Query

from dabchick.model.typed import si_of
from dabchick.model.vessel import Vessel
from dabchick.studies import air
from dabchick.studies.air import AirResult
from dabchick.workbench.air_out import air_out, vents_out, volume_to_leave
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.air import AirOut, VentsAsk, VentsOut
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf

Pitch = Annotated[float, Query(ge=-89.0, le=89.0, allow_inf_nan=False, description="Bow up [deg]")]
Heel = Annotated[float, Query(ge=-180.0, le=180.0, allow_inf_nan=False, description="To starboard [deg]")]
Depth = Annotated[str | None, Query(max_length=40, description="Water over her highest point, with its unit")]


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about the air in a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["air"])

    @routes.get("/boats/{boat}/air")
    def get_air(boat: str, pitch: Pitch = 0.0, heel: Heel = 0.0, depth: Depth = None) -> AirOut:
        """The air that stays in her at this attitude, dived."""
        now = shelf.bench(boat).now
        vessel = last_right(now).vessel
        result = air.run(
            vessel,
            pitch_deg=pitch,
            heel_deg=heel,
            depth_m=si_of(depth, "length", "depth"),
            rest=False,
            shapes=True,
        )
        return air_out(vessel, result, now.right_revision or 0)

    @routes.post("/boats/{boat}/air/vents")
    def begin(boat: str, ask: VentsAsk) -> JobOut:
        """Begin to look for the fewest vents; the answer is at /api/jobs/{job}/vents."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel = last_right(now).vessel
        revision = now.right_revision or 0
        job = jobs.start(
            f"Vents for {vessel.name}",
            find_vents,
            vessel,
            volume_to_leave(ask.leave),
            boat=bench.name,
            then=lambda result: vents_out(vessel, result, revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/vents")
    def found(job: str) -> VentsOut:
        """The vents found."""
        return jobs.answer(job, VentsOut)

    return routes


def find_vents(tell: Tell, vessel: Vessel, leave_m3: float) -> AirResult:
    """The whole study, in a process of its own."""
    return air.run(vessel, vents=True, leave_m3=leave_m3, tell=tell)
