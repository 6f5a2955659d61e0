"""Print files joined to one hull: begun here, worked on in a process of its own."""

from pathlib import Path
from typing import Final

from fastapi import APIRouter

from dabchick.model.advice import Advice
from dabchick.model.prints_ask import ZERO, PrintsTexts, TextReader, ask_of
from dabchick.model.units import UnitSet
from dabchick.storage.join import USUAL_GAP_M
from dabchick.storage.piece_file import PieceFile
from dabchick.workbench import prints_work
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.prints_out import prints_out
from dabchick.workbench.routes_jobs import job_out
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.prints import PrintsIn, PrintsOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.uploads import Upload, Uploads

JOIN_SECONDS: Final = 240.0
MEMORY_MB: Final = 2500


def router(shelf: Shelf, jobs: Jobs, uploads: Uploads) -> APIRouter:
    """The routes about print files."""
    routes = APIRouter(prefix="/api", tags=["prints"])

    @routes.post("/boats/{boat}/prints")
    def begin(boat: str, wish: PrintsIn) -> JobOut:
        """Join the pieces and measure them; the answer is at /api/jobs/{job}/prints. The boat stays as she is."""
        bench = shelf.bench(boat)
        units: UnitSet = "inch" if bench.now.content.get("units") == "inch" else "metric"
        found = [uploads.get(piece.upload) for piece in wish.pieces]
        reader = TextReader()
        reader.wrong += [_no_mesh(upload) for upload in found if upload.kind != "mesh"]
        files = [
            PieceFile(
                upload.file,
                piece.unit,
                reader.point("shift", piece.shift) or ZERO,
                reader.turn("turn", piece.turn) or ZERO,
                upload.name,
            )
            for upload, piece in zip(found, wish.pieces, strict=True)
        ]
        gap_m = reader.amount("gap", wish.gap, "length")
        ask = ask_of(_texts(wish), reader)
        out = uploads.new_file(f"{Path(found[0].name).stem[:60]}-joined.stl")
        job = jobs.start(
            f"Joining {len(files)} pieces" if len(files) > 1 else f"Measuring {found[0].name}",
            prints_work.work,
            files,
            ask,
            wish.stack,
            USUAL_GAP_M if gap_m is None else gap_m,
            out,
            boat=bench.name,
            seconds=JOIN_SECONDS,
            memory_mb=MEMORY_MB,
            then=lambda done: prints_out(
                done, ask, uploads.add("mesh", done.file).upload, wish.weighed, units
            ),
        )
        return job_out(job)

    @routes.get("/jobs/{job}/prints")
    def joined(job: str) -> PrintsOut:
        """The pieces as one hull."""
        return jobs.answer(job, PrintsOut)

    return routes


def _texts(wish: PrintsIn) -> PrintsTexts:
    return PrintsTexts(
        length=wish.length,
        between=wish.between,
        walled=wish.walled,
        material=wish.material,
        weighed=wish.weighed,
        infill=wish.infill,
        infill_spread=wish.infill_spread,
        lines=wish.lines,
        line_width=wish.line_width,
        water=wish.water,
        water_spread=wish.water_spread,
    )


def _no_mesh(upload: Upload) -> Advice:
    return Advice(
        what="This is a station table, not a print file.",
        todo="Take it out of the list; bring it in on the hull's own page.",
        where=upload.name,
        key="pieces",
    )
