"""The shelf: its boats, and a boat as one zip file, out and in."""

import shutil
import tempfile
from importlib.metadata import version
from typing import Final
from urllib.parse import quote

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.boat_zip import clear_unpacked, pack, unpack
from dabchick.storage.folder import FILE
from dabchick.storage.toml_content import content_of
from dabchick.workbench import file_work
from dabchick.workbench.errors import Refused
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.routes_uploads import LOOK_SECONDS, MEMORY_MB
from dabchick.workbench.settings import Settings
from dabchick.workbench.shapes.boat import BoatName, ShelfOut, ShelvedBoat
from dabchick.workbench.shelf import Shelf

MOST_ZIP: Final = 100_000_000
"""Bytes of a boat's zip file."""
_IN_MEMORY: Final = 4_000_000

_ZIP_BODY: Final = {
    "requestBody": {
        "required": True,
        "content": {"application/zip": {"schema": {"type": "string", "format": "binary"}}},
    }
}
_ZIP_ANSWER: Final = {"application/zip": {"schema": {"type": "string", "format": "binary"}}}


def router(shelf: Shelf, jobs: Jobs, settings: Settings) -> APIRouter:
    """Routes over a shelf."""
    routes = APIRouter(prefix="/api/boats", tags=["shelf"])
    clear_unpacked(shelf.folder)

    @routes.get("")
    def get_shelf() -> ShelfOut:
        """The boats of the folder that is served."""
        boats = [
            ShelvedBoat(
                boat=boat.boat, name=boat.name, changed=boat.changed, errors=boat.errors, about=boat.about
            )
            for boat in shelf.summaries()
        ]
        return ShelfOut(
            folder=shelf.folder.resolve().name,
            first=settings.first_boat,
            boats=boats,
            version=version("dabchick"),
            lan=settings.lan,
        )

    @routes.get("/{boat}/zip", response_class=Response, responses={200: {"content": _ZIP_ANSWER}})
    def get_zip(boat: str) -> Response:
        """The boat's whole folder, without its history."""
        folder = shelf.bench(boat).folder
        name = f"attachment; filename=\"boat.zip\"; filename*=UTF-8''{quote(folder.name, safe='')}.zip"
        return Response(pack(folder), media_type="application/zip", headers={"Content-Disposition": name})

    @routes.post("/zip", openapi_extra=_ZIP_BODY)
    async def post_zip(request: Request) -> BoatName:
        """Put a boat from a zip file on the shelf, under a folder name that is free."""
        with tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY) as packed:
            size = 0
            async for piece in request.stream():
                size += len(piece)
                if size > MOST_ZIP:
                    raise Refused(
                        413,
                        Advice(
                            what="The zip file is too large.",
                            todo=f"A boat's zip file has at most {MOST_ZIP // 1_000_000} MB.",
                        ),
                    )
                await run_in_threadpool(packed.write, piece)
            packed.seek(0)
            return BoatName(boat=await run_in_threadpool(_shelved, packed, shelf, jobs))

    return routes


def _shelved(packed: "tempfile.SpooledTemporaryFile[bytes]", shelf: Shelf, jobs: Jobs) -> str:
    """Unpack beside the boats, then give the folder its name in one step; the name of the folder.

    The boat is opened in a process of its own first: her meshes may be anything, and must not bring the server down.
    """
    folder = unpack(packed, shelf.folder)
    try:
        job = jobs.start(
            "Reading the boat", file_work.try_boat, folder, seconds=LOOK_SECONDS, memory_mb=MEMORY_MB
        )
        job.over.wait()
        jobs.done(job.job)
        return shelf.take_in(folder, _name(folder.joinpath(FILE).read_bytes()))
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise


def _name(content: bytes) -> str:
    """The boat's name in her file; a plain word where it cannot be read."""
    try:
        name = content_of(content.decode("utf-8-sig", "replace")).get("name")
    except BoatError:
        return "boat"  # she is put on the shelf all the same: the page then says what is wrong with her file
    return name if isinstance(name, str) else "boat"
