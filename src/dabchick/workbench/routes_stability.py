"""Stability all the way down: the study and the dive as pictures, worked out together as one piece of long work."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Response

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import NotSettledError
from dabchick.report.arm_family import arm_family_svg
from dabchick.report.dive_diagram import dive_diagram_svg
from dabchick.report.dive_strip import dive_strip_svg
from dabchick.report.stability_sheet import (
    ARMS_NAME,
    DIAGRAM_NAME,
    STAGES_NAME,
    STRIP_NAME,
    stability_sheet_pdf,
)
from dabchick.report.stability_tables import arms_csv, stages_csv
from dabchick.report.typesetting import picture_png
from dabchick.studies import dive_frames, stability
from dabchick.studies.dive_frames import DiveFrames
from dabchick.studies.dive_path import DivePath
from dabchick.studies.stability_result import StabilityResult
from dabchick.workbench.dive_out import Dive, dive_out
from dabchick.workbench.downloads import download
from dabchick.workbench.filling import path_of
from dabchick.workbench.jobs import Jobs, Tell
from dabchick.workbench.last_right import last_right
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.stability import DiveOut, File, StabilityAsk, StabilityOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.stability_out import stability_out

STUDY_SHARE: Final = 0.8
"""Of the work, up to where the pictures begin."""
KINDS: Final = {"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png", "csv": "text/csv"}
DRAWINGS: Final[dict[str, Callable[[Vessel, StabilityResult], str]]] = {
    DIAGRAM_NAME: dive_diagram_svg,
    ARMS_NAME: arm_family_svg,
    STRIP_NAME: dive_strip_svg,
}
SECONDS: Final = 300.0
"""Every way to rest of a fine hull at many stages takes its time."""


@dataclass(frozen=True, eq=False)
class Followed:
    """A way down and up that a job has followed, with what it was worked out from."""

    vessel: Vessel
    result: StabilityResult
    out: StabilityOut
    dive: Dive


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """Routes about the stability of a shelf's boats all the way down."""
    routes = APIRouter(prefix="/api", tags=["stability"])

    @routes.post("/boats/{boat}/stability")
    def begin(boat: str, ask: StabilityAsk) -> JobOut:
        """Begin to follow her down and up; the answer is at /api/jobs/{job}/stability."""
        bench = shelf.bench(boat)
        now = bench.now
        vessel, revision = last_right(now).vessel, now.right_revision or 0
        path = path_of(vessel, ask)

        def kept(found: tuple[StabilityResult, DiveFrames]) -> Followed:
            result, frames = found
            return Followed(
                vessel,
                result,
                stability_out(vessel, result, ask, revision),
                dive_out(vessel, frames, revision),
            )

        job = jobs.start(
            f"Dive of {vessel.name}",
            follow,
            vessel,
            path,
            ask.stages,
            ask.every,
            boat=bench.name,
            seconds=SECONDS,
            then=kept,
        )
        return job_out(job)

    @routes.get("/jobs/{job}/stability")
    def found(job: str) -> StabilityOut:
        """How stable she is all the way."""
        return jobs.answer(job, Followed).out

    @routes.get("/jobs/{job}/dive")
    def dive(job: str) -> DiveOut:
        """The same way as pictures that follow one another."""
        return jobs.answer(job, Followed).dive.out

    @routes.get(
        "/jobs/{job}/dive/waters",
        response_class=Response,
        responses={
            200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
        },
    )
    def waters(job: str) -> Response:
        """Positions and corners of the tank water, as the dive says where."""
        return Response(jobs.answer(job, Followed).dive.waters, media_type="application/octet-stream")

    @routes.get(
        "/jobs/{job}/stability/{file}",
        response_class=Response,
        responses={
            200: {
                "content": {
                    kind: {"schema": {"type": "string", "format": "binary"}} for kind in KINDS.values()
                }
            }
        },
    )
    def on_paper(job: str, file: File) -> Response:
        """The stability sheet, one of its drawings or tables, to be saved."""
        followed = jobs.answer(job, Followed)
        content = paper(followed.vessel, followed.result, file)
        return download(content, KINDS[file.rpartition(".")[2]], followed.vessel.name, file)

    return routes


def paper(vessel: Vessel, result: StabilityResult, file: File) -> bytes | str:
    """The content of one file about a way down."""
    name, _, ending = file.rpartition(".")
    if ending == "pdf":
        return stability_sheet_pdf(vessel, result)
    if ending == "csv":
        return stages_csv(vessel, result) if file == STAGES_NAME else arms_csv(vessel, result)
    drawing = DRAWINGS[name](vessel, result)
    return picture_png(drawing) if ending == "png" else drawing


def follow(
    tell: Tell, vessel: Vessel, path: DivePath, stages: int, every: bool
) -> tuple[StabilityResult, DiveFrames]:
    """The study and then the pictures along the same way, in a process of its own. Raises BoatError."""
    try:
        result = stability.run(
            vessel, path, stages=stages, every=every, tell=lambda text, share: tell(text, STUDY_SHARE * share)
        )
    except NotSettledError as fault:
        raise BoatError(
            Advice(
                what="Somewhere on the way she comes to no rest, so she cannot be followed down.",
                todo="Put the part that was moved last elsewhere, or fill the tanks another way.",
                given=str(fault),
            )
        ) from fault
    frames = dive_frames.run(
        vessel,
        path,
        study=result,
        tell=lambda text, share: tell(text, STUDY_SHARE + (1.0 - STUDY_SHARE) * share),
    )
    return result, frames
