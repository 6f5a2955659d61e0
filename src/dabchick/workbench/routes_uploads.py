"""Files brought in: taken in piece by piece, then looked at and mended in a process of its own."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Final, Literal, cast

import numpy as np
from fastapi import APIRouter, Query, Request

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector
from dabchick.storage.mesh_advice import MEND
from dabchick.storage.mesh_look import FileLook
from dabchick.workbench import file_work, uploads
from dabchick.workbench.errors import Refused
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.uploads import Look, LookOut, RepairOut, UnitGuess, UploadOut
from dabchick.workbench.uploads import Upload, Uploads

LOOK_SECONDS: Final = 90.0
MEND_SECONDS: Final = 240.0
MEMORY_MB: Final = 2500
INCH_M: Final = 0.0254
_RAW_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


def router(jobs: Jobs, files: Uploads) -> APIRouter:
    """The routes about uploaded files."""
    routes = APIRouter(prefix="/api", tags=["uploads"])

    @routes.post("/uploads", openapi_extra=_RAW_BODY)
    async def take(
        request: Request,
        name: Annotated[str, Query(min_length=1, max_length=300)],
        purpose: uploads.Purpose = "hull",
    ) -> UploadOut:
        """Take in a file: its bytes are the body."""
        stated = request.headers.get("content-length", "")
        if stated.isdigit() and int(stated) > uploads.MOST_BYTES:
            raise Refused(413, uploads.too_large(name[:80], int(stated)))
        with files.begin(name, purpose) as arriving:
            async for piece in request.stream():
                arriving.take(piece)
            upload = arriving.done()
        return UploadOut(upload=upload.upload, name=upload.name, kind=upload.kind, size=upload.size)

    @routes.post("/uploads/{upload}/look")
    def look(upload: str, how: Look) -> JobOut:
        """Read the file in this unit; the answer is at /api/jobs/{job}/look."""
        found = files.get(upload)
        if found.kind == "plan":
            raise BoatError(NO_HULL)
        job = jobs.start(
            f"Looking at {found.name}",
            file_work.look,
            found.file,
            how.unit,
            how.separate_shells,
            how.part,
            seconds=LOOK_SECONDS,
            memory_mb=MEMORY_MB,
            then=lambda seen: look_out(found, seen),
        )
        return job_out(job)

    @routes.post("/uploads/{upload}/repair")
    def repair(upload: str, how: Look) -> JobOut:
        """Mend the mesh into a new upload; the answer is at /api/jobs/{job}/repair."""
        found = files.get(upload)
        if found.kind == "plan":
            raise BoatError(NO_HULL)
        if found.kind != "mesh" or how.unit is None:
            raise BoatError(_NO_MENDING if found.kind != "mesh" else _NO_UNIT)
        out = files.new_file(f"{Path(found.name).stem[:60]}-mended.stl")
        job = jobs.start(
            f"Mending {found.name}",
            file_work.mend,
            found.file,
            out,
            how.unit,
            how.separate_shells,
            how.part,
            seconds=MEND_SECONDS,
            memory_mb=MEMORY_MB,
            then=lambda mended: _repair_out(files, found, mended),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/look")
    def looked(job: str) -> LookOut:
        """What was found in the file."""
        return jobs.answer(job, LookOut)

    @routes.get("/jobs/{job}/repair")
    def repaired(job: str) -> RepairOut:
        """What the repair changed."""
        return jobs.answer(job, RepairOut)

    return routes


def look_out(upload: Upload, seen: FileLook) -> LookOut:
    """A look as pages read it."""
    positions = np.round(seen.vertices_m, 6).reshape(-1).tolist()
    drawn = len(seen.faces)
    note = ""
    if drawn and drawn < seen.triangles:
        note = f"Drawn with {drawn} of {seen.triangles} triangles; the boat is worked out with all of them."
    return LookOut(
        upload=upload.upload,
        kind="mesh" if upload.kind == "mesh" else "stations",
        triangles=seen.triangles,
        bodies=seen.bodies,
        size=size_text(seen.sides_m) if seen.unit is not None else "",
        volume=f"{seen.volume_m3 * 1e3:.3f} l" if seen.unit is not None and seen.sound else "",
        units=[
            UnitGuess(unit=choice.unit, size=size_text(choice.sides_m), likely=choice.likely)
            for choice in seen.units
        ],
        sound=seen.sound,
        solid_walled=seen.solid_walled,
        advice=[AdviceOut.of(_for_page(entry)) for entry in seen.advice],
        assumptions=list(seen.assumptions),
        longest=cast(Literal["x", "y", "z"], "xyz"[int(np.argmax(seen.sides_m))]),
        fault_points_m=list(seen.places_m),
        preview=Mesh(positions=positions, indices=seen.faces.reshape(-1).tolist()) if drawn else None,
        preview_note=note,
    )


def _repair_out(files: Uploads, old: Upload, mended: file_work.Mended) -> RepairOut:
    new = files.add("mesh", mended.file)
    return RepairOut(
        upload=new.upload,
        changes=list(mended.changes),
        before=look_out(old, mended.before),
        after=look_out(new, mended.after),
    )


def size_text(sides_m: Vector) -> str:
    """The three sides of a box, longest first, in both systems of units."""
    ordered = sorted(sides_m, reverse=True)
    metres = ordered[0] >= 10.0
    unit, size = ("m", 1.0) if metres else ("mm", 1e-3)
    metric = " × ".join(f"{side / size:.4g}" if metres else f"{side / size:.1f}" for side in ordered)
    inch = " × ".join(f"{side / INCH_M:.2f}" for side in ordered)
    return f"{metric} {unit} ({inch} in)"


def _for_page(entry: Advice) -> Advice:
    """The same advice for one who has buttons instead of a command line."""
    if entry.todo == MEND:
        return replace(entry, todo="Choose Repair: it makes a mended copy and tells what it changed.")
    if "--repair" in entry.todo:
        return replace(
            entry,
            key="separate_shells",
            todo="If they all belong to the hull and do not touch (a fin on its own, say), choose Separate bodies; if "
            "they should be one body, choose Repair, which joins those that overlap.",
        )
    return entry


NO_HULL: Final = Advice(
    what="A picture of a plan is no hull by itself.",
    todo="Choose Trace a plan on the hull page, or choose a mesh or a station table here.",
    key="upload",
)
_NO_MENDING: Final = Advice(
    what="A station table is not mended by the workbench.",
    todo="Put it right in your spreadsheet and bring it in again.",
    key="upload",
)
_NO_UNIT: Final = Advice(
    what="Mending needs to know in which unit the mesh was drawn.",
    todo="Choose the unit first.",
    key="unit",
    allowed="mm, cm, m, in, ft",
)
