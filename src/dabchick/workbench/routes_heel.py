"""What heels her: surfaced, dived and at a fill at once; where she is least stable as long work."""

from fastapi import APIRouter

from dabchick.model.vessel import Vessel
from dabchick.studies import heel
from dabchick.studies.heel_ask import Causes, HeelTexts, causes_from, fill_from
from dabchick.studies.heel_result import HeelResult
from dabchick.workbench.heel_out import heel_out
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.heel import HeelAsk, HeelOut
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about what heels a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["heel"])

    @routes.post("/boats/{boat}/heel")
    def post_heel(boat: str, ask: HeelAsk) -> HeelOut:
        """Where each cause takes her, and how much she bears; nothing is written."""
        now = shelf.bench(boat).now
        vessel = last_right(now).vessel
        asked, fills = _asked(vessel, ask)
        return heel_out(vessel, heel_with(None, vessel, asked, fills, least=False), now.right_revision or 0)

    @routes.post("/boats/{boat}/heel/least")
    def begin(boat: str, ask: HeelAsk) -> JobOut:
        """Begin to look at the least stable moment of the dive too; the answer is at /api/jobs/{job}/heel."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel = last_right(now).vessel
        asked, fills = _asked(vessel, ask)
        revision = now.right_revision or 0
        job = jobs.start(
            f"What heels {vessel.name}",
            heel_with,
            vessel,
            asked,
            fills,
            boat=bench.name,
            then=lambda result: heel_out(vessel, result, revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/heel")
    def found(job: str) -> HeelOut:
        """What was found, the least stable moment with it."""
        return jobs.answer(job, HeelOut)

    return routes


def _asked(vessel: Vessel, ask: HeelAsk) -> tuple[Causes, tuple[float, ...]]:
    texts = HeelTexts(**ask.model_dump(exclude={"fill"}))
    fill = fill_from(ask.fill)
    return causes_from(vessel, texts), () if fill is None else (fill,)


def heel_with(
    tell: Tell | None, vessel: Vessel, asked: Causes, fills: tuple[float, ...], least: bool = True
) -> HeelResult:
    """The whole study; with the least stable moment in a process of its own."""
    return heel.run(
        vessel,
        torque=asked.torque,
        turn=asked.turn,
        wind=asked.wind,
        side=asked.side,
        fills=fills,
        least=least,
        tell=tell,
    )
