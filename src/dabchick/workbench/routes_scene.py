"""What there is to draw: the scene, and its meshes in one packed answer."""

from collections import OrderedDict
from threading import Lock
from typing import Annotated, Final
from weakref import WeakKeyDictionary

from fastapi import APIRouter, Header, Query, Response

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench.bench import Bench
from dabchick.workbench.drawn import Forms
from dabchick.workbench.errors import Refused
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.scene import Scene, scene_of
from dabchick.workbench.shapes.scene import SceneOut
from dabchick.workbench.shelf import Shelf

KEPT: Final = 2
"""Scenes kept of each boat, so that the meshes of one just fetched are still there after the next edit."""

_NEVER_RIGHT = Advice(
    what="The boat file has not been right yet, so there is nothing to draw.",
    todo="Put right what is marked in it.",
)
_GONE = Advice(
    what="The boat has changed since her scene was fetched.", todo="Fetch the scene again.", key="revision"
)


class Scenes:
    """The newest scenes of every boat that is open."""

    def __init__(self) -> None:
        self._forms = Forms()
        self._lock = Lock()
        self._kept: WeakKeyDictionary[Bench, OrderedDict[int, Scene]] = WeakKeyDictionary()

    def newest(self, bench: Bench) -> Scene:
        """The scene of the boat as she is now. Raises BoatError where she never was right."""
        now = bench.now
        if now.right is None:
            raise BoatError(*(now.advice or (_NEVER_RIGHT,)))
        with self._lock:
            kept = self._kept.setdefault(bench, OrderedDict())
            found = kept.get(now.revision)
            if found is None:
                found = kept[now.revision] = scene_of(now.right, now.revision, self._forms)
                while len(kept) > KEPT:
                    kept.popitem(last=False)
            return found

    def of(self, bench: Bench, revision: int | None) -> Scene:
        """The scene of a revision, or the newest. Raises Refused where it is kept no longer."""
        newest = self.newest(bench)
        if revision is None:
            return newest
        with self._lock:
            found = self._kept[bench].get(revision)
        if found is None:
            raise Refused(409, _GONE)
        return found


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """The routes about the picture of a boat."""
    routes = APIRouter(prefix="/api/boats/{boat}", tags=["scene"])
    scenes = Scenes()

    @routes.get("/scene")
    def scene(boat: str) -> SceneOut:
        """Bodies, outlines and dimensions of the last right boat."""
        return scenes.newest(shelf.bench(boat)).scene

    @routes.get(
        "/meshes",
        response_class=Response,
        responses={
            200: {
                "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}
            },
            304: {"description": "The meshes are those that the page has already"},
        },
    )
    def meshes(
        boat: str,
        revision: Annotated[int | None, Query(description="Of the scene that was fetched")] = None,
        if_none_match: Annotated[str | None, Header()] = None,
    ) -> Response:
        """Positions and corners of every body with a mesh, as the scene says where."""
        found = scenes.of(shelf.bench(boat), revision)
        headers = {"ETag": found.etag, "Cache-Control": "private, no-cache"}
        if if_none_match is not None and found.etag in (tag.strip() for tag in if_none_match.split(",")):
            return Response(status_code=304, headers=headers)
        return Response(found.meshes, media_type="application/octet-stream", headers=headers)

    return routes
