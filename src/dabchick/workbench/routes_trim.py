"""The trim: solved as a job, looked at, written into the file, and on paper."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Response

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.report.trim_sheet import pieces_csv, trim_sheet_pdf, trim_sheet_svg
from dabchick.report.typesetting import Paper
from dabchick.storage.apply_trim import trim_text
from dabchick.storage.folder import OpenBoat
from dabchick.studies import trim
from dabchick.studies.trim_result import TrimResult
from dabchick.workbench.bench import Snapshot, Stale
from dabchick.workbench.boat_state import state_of
from dabchick.workbench.downloads import download
from dabchick.workbench.errors import NotThere
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right, right_now
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.boat import BoatState
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.trim import Apply, TrimAsk, TrimOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.trim_out import TrimAnswer, TrimPages

STAGES: Final = 4.0
"""The search has its seconds for all stages together; proof and obstacles take up to so many times as long."""
SPARE_SECONDS: Final = 60.0
_BESIDE: Final = ("name", "note", "scale", "units", "space")
"""Keys of the whole file that change nothing about a trim."""

Job = Annotated[
    str | None, Query(max_length=60, description="The job that found it; without: the trim in the file")
]
Save = Annotated[bool, Query(description="To be saved instead of shown")]


@dataclass(frozen=True, eq=False)
class Solved(TrimAnswer):
    """A trim found by a job, with what it was worked out from."""

    boat: str
    grounds: "Grounds"


@dataclass(frozen=True)
class Grounds:
    """What a boat says, as far as it matters to a trim."""

    boat: Any
    """The file without names for people and without the last trim, and what its hull and meshes are."""
    fitted: Any
    """The rows of the last trim, which an apply takes out."""


def solve(tell: Tell, vessel: Vessel, gap: float, seconds: float, sheet: bool | None) -> TrimResult:
    """The search, in a process of its own."""
    return trim.run(vessel, gap=gap, seconds=seconds, sheet=sheet, progress=tell)


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes over the trims of a shelf's boats."""
    routes = APIRouter(prefix="/api", tags=["trim"])
    pages = TrimPages()

    @routes.post("/boats/{boat}/trim")
    def post_trim(boat: str, ask: TrimAsk) -> JobOut:
        """Begin to look for lead and foam; the wishes are those of the boat file."""
        bench = shelf.bench(boat)
        now = bench.now
        right = right_now(now)
        job = jobs.start(
            f"Trim of {right.vessel.name}",
            solve,
            right.vessel,
            ask.gap,
            ask.seconds,
            ask.sheet,
            boat=bench.name,
            seconds=STAGES * ask.seconds + SPARE_SECONDS,
            then=_kept(right.vessel, now.revision, bench.name, grounds_of(now, right)),
        )
        return job_out(job)

    @routes.get("/boats/{boat}/trim")
    def get_fitted(boat: str) -> TrimOut:
        """The trim that is written in the file, proven as it stands."""
        return pages.out(_fitted(shelf, boat), None)

    @routes.get("/jobs/{job}/trim")
    def get_solved(job: str) -> TrimOut:
        """The trim that a job found."""
        return pages.out(jobs.answer(job, Solved), job)

    @routes.post("/boats/{boat}/trim/apply")
    def post_apply(boat: str, apply: Apply) -> BoatState:
        """Write the lead, the foam and the moved parts of a job's answer into the file, in one step."""
        bench = shelf.bench(boat)
        solved = jobs.answer(apply.job, Solved)
        if solved.boat != bench.name:
            raise Stale(_OTHER_BOAT)
        now = bench.now
        right = right_now(now)
        grounds = grounds_of(now, right)
        # Others may have written a note meanwhile; but a trim that they have put in is not taken out unseen.
        unseen = apply.base != now.revision and grounds.fitted != solved.grounds.fitted
        if unseen or grounds.boat != solved.grounds.boat:
            raise Stale(_CHANGED)
        if not solved.result.feasible:
            raise BoatError(
                _NOT_ALL,
                *(
                    Advice(what=entry.text, todo="Change this wish, or the boat.")
                    for entry in solved.result.obstacles
                ),
            )
        bench.edit(
            "Apply the trim", lambda text: trim_text(right, solved.result), base=now.revision, by=apply.by
        )
        return state_of(bench)

    @routes.get("/boats/{boat}/trim/sheet.pdf", **_file("application/pdf"))
    def get_pdf(boat: str, job: Job = None, paper: Paper = "a4", save: Save = False) -> Response:
        """The trim sheet, one page."""
        found = _answer(shelf, jobs, boat, job)
        content = trim_sheet_pdf(found.vessel, found.result, paper)
        return download(content, "application/pdf", found.vessel.name, "trim-sheet.pdf", shown=not save)

    @routes.get("/boats/{boat}/trim/sheet.svg", **_file("image/svg+xml"))
    def get_svg(boat: str, job: Job = None, paper: Paper = "a4", save: Save = False) -> Response:
        """The drawing of the trim sheet."""
        found = _answer(shelf, jobs, boat, job)
        content = trim_sheet_svg(found.vessel, found.result, paper)
        return download(content, "image/svg+xml", found.vessel.name, "trim-drawing.svg", shown=not save)

    @routes.get("/boats/{boat}/trim/pieces.csv", **_file("text/csv"))
    def get_pieces(boat: str, job: Job = None) -> Response:
        """The list of pieces."""
        found = _answer(shelf, jobs, boat, job)
        content = pieces_csv(found.vessel, found.result)
        return download(content, "text/csv; charset=utf-8", found.vessel.name, "trim-pieces.csv")

    return routes


def grounds_of(now: Snapshot, right: OpenBoat) -> Grounds:
    """What a trim of this boat is worked out from."""
    content = {key: value for key, value in now.content.items() if key not in _BESIDE}
    water = content.get("water", {})
    content["water"] = {key: value for key, value in water.items() if key != "where"}
    hull = content.get("hull", {})
    content["hull"] = {key: value for key, value in hull.items() if key != "break_line"}
    fitted = [row for row in content.get("part", []) if row.get("from") == "trim"]
    for table in ("part", "tank", "place", "keep_out"):
        content[table] = [
            {key: value for key, value in row.items() if key not in ("note", "half")}
            for row in content.get(table, [])
            if row.get("from") != "trim"
        ]
    return Grounds((content, frozenset(right.kept.hulls), frozenset(right.kept.meshes)), fitted)


def _kept(vessel: Vessel, revision: int, boat: str, grounds: Grounds) -> Callable[[TrimResult], Solved]:
    return lambda result: Solved(vessel, result, revision, boat, grounds)


def _answer(shelf: Shelf, jobs: Jobs, boat: str, job: str | None) -> TrimAnswer:
    if job is None:
        return _fitted(shelf, boat)
    solved = jobs.answer(job, Solved)
    if solved.boat != shelf.bench(boat).name:
        raise NotThere(_OTHER_BOAT.what, _OTHER_BOAT.todo)
    return solved


def _fitted(shelf: Shelf, boat: str) -> TrimAnswer:
    now = shelf.bench(boat).now
    vessel = last_right(now).vessel
    if not trim.is_fitted(vessel):
        raise NotThere("No trim is written in the boat file.", "Solve one, then apply it.")
    return _as_fitted(vessel, now.right_revision or 0)


@lru_cache(maxsize=4)
def _as_fitted(vessel: Vessel, revision: int) -> TrimAnswer:
    """Kept, because sheet and page ask for the same one."""
    return TrimAnswer(vessel, trim.as_fitted(vessel), revision)


def _file(kind: str) -> Mapping[str, Any]:
    return {
        "response_class": Response,
        "responses": {200: {"content": {kind: {"schema": {"type": "string", "format": "binary"}}}}},
    }


_OTHER_BOAT = Advice(what="This trim was worked out for another boat.", todo="Solve the trim of this one.")
_CHANGED = Advice(
    what="The boat has changed since this trim was begun, so it may be right no longer.",
    todo="Solve the trim anew, then apply it.",
)
_NOT_ALL = Advice(
    what="Not all wishes can be kept, so nothing was written.", todo="First decide which wish gives way."
)
