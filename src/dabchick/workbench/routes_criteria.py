"""Is she stable enough, and what cures her: both as jobs, and a cure written into the file."""

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.storage.apply_cure import cure_text
from dabchick.studies import cure, stability
from dabchick.studies.criteria import Verdict, judge
from dabchick.studies.cure_result import CureResult
from dabchick.studies.limits import Limits
from dabchick.workbench.bench import Stale
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.criteria_out import criteria_out, cure_out, limits_of, writable
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right, right_now
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.routes_trim import Grounds, grounds_of
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.criteria import CriteriaOut, CureApply, CureOut, LimitsAsk
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shelf import Shelf

CURE_SECONDS = 300.0
"""The most for a cure on a slow machine."""


@dataclass(frozen=True, eq=False)
class Cured:
    """Cures found by a job, with what they were worked out from."""

    vessel: Vessel
    result: CureResult
    scale: float | None
    revision: int
    boat: str
    grounds: Grounds


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes over the verdicts and cures of a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["criteria"])

    @routes.post("/boats/{boat}/criteria")
    def begin_verdict(boat: str, ask: LimitsAsk) -> JobOut:
        """Begin to judge her way down and up; the answer is at /api/jobs/{job}/criteria."""
        bench = shelf.bench(boat)
        now = bench.now
        right = last_right(now)
        revision, scale, vessel = now.right_revision or 0, right.boat.scale, right.vessel
        job = jobs.start(
            f"Verdict on {vessel.name}",
            judged,
            vessel,
            limits_of(vessel, ask),
            boat=bench.name,
            then=lambda verdict: criteria_out(vessel, verdict, scale, revision),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/criteria")
    def verdict(job: str) -> CriteriaOut:
        """The verdict of a job."""
        return jobs.answer(job, CriteriaOut)

    @routes.post("/boats/{boat}/cure")
    def begin_cure(boat: str, ask: LimitsAsk) -> JobOut:
        """Begin to look for cures; the answer is at /api/jobs/{job}/cure."""
        bench = shelf.bench(boat)
        now = bench.now
        right = right_now(now)
        grounds = grounds_of(now, right)
        job = jobs.start(
            f"Cure for {right.vessel.name}",
            cured,
            right.vessel,
            limits_of(right.vessel, ask),
            boat=bench.name,
            seconds=CURE_SECONDS,
            then=_kept(right.vessel, right.boat.scale, now.revision, bench.name, grounds),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/cure")
    def get_cures(job: str) -> CureOut:
        """The cures that a job found."""
        found = jobs.answer(job, Cured)
        return cure_out(found.vessel, found.result, found.scale, found.revision)

    @routes.post("/boats/{boat}/cure/apply")
    def post_apply(boat: str, apply: CureApply) -> BoatState:
        """Write one cure of a job's answer into the file, in one step."""
        bench = shelf.bench(boat)
        found = jobs.answer(apply.job, Cured)
        if found.boat != bench.name:
            raise Stale(_OTHER_BOAT)
        now = bench.now
        right = right_now(now)
        grounds = grounds_of(now, right)
        if grounds.boat != found.grounds.boat or grounds.fitted != found.grounds.fitted:
            raise Stale(_CHANGED)
        cures = found.result.cures
        if apply.number >= len(cures) or not writable(cures[apply.number]):
            raise BoatError(_NOT_THIS)
        chosen = cures[apply.number]
        bench.edit("Apply the cure", lambda text: cure_text(right, chosen), base=now.revision, by=apply.by)
        return state_of(bench)

    return routes


def judged(tell: Tell, vessel: Vessel, limits: Limits) -> Verdict:
    """The way down and up and its verdict, in a process of its own."""
    return judge(vessel, stability.run(vessel, tell=tell), limits)


def cured(tell: Tell, vessel: Vessel, limits: Limits) -> CureResult:
    """The search, in a process of its own."""
    return cure.run(vessel, limits, tell=tell)


def _kept(
    vessel: Vessel, scale: float | None, revision: int, boat: str, grounds: Grounds
) -> Callable[[CureResult], Cured]:
    return lambda result: Cured(vessel, result, scale, revision, boat, grounds)


_OTHER_BOAT = Advice(what="This cure was worked out for another boat.", todo="Look for the cure of this one.")
_CHANGED = Advice(
    what="The boat has changed since this cure was looked for, so it may be right no longer.",
    todo="Look for a cure anew, then apply it.",
)
_NOT_THIS = Advice(
    what="This cure does not keep all limits and both trims, or needs a look into the boat; nothing was written.",
    todo="Take another one, or change the boat by hand.",
)
