"""Water that lags in casing and hull, as a job."""

from fastapi import APIRouter

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitError, parse
from dabchick.model.vessel import Vessel
from dabchick.physics.orifice import SHARP_EDGE
from dabchick.studies import drain
from dabchick.studies.drain_ask import seconds_of
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
        blow_s, fill_s, limit_m = _asked(ask)
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


def _asked(ask: DrainAsk) -> tuple[float | None, float | None, float | None]:
    """Times [s] and limit [m] as typed; nothing typed stays None. Raises one BoatError with all that cannot be read."""
    faults: list[Advice] = []
    times: list[float | None] = []
    for key, text in (("blow", ask.blow), ("fill", ask.fill)):
        try:
            times.append(seconds_of(text, key))
        except BoatError as fault:
            faults += fault.advice
    limit = None
    if ask.limit is not None and ask.limit.strip():
        try:
            limit = parse(ask.limit, "length")
        except UnitError as mistake:
            faults.append(
                Advice(
                    what=mistake.what,
                    todo=mistake.todo,
                    key="limit",
                    given=ask.limit,
                    allowed=mistake.allowed,
                )
            )
    if faults:
        raise BoatError(*faults)
    return times[0], times[1], limit
