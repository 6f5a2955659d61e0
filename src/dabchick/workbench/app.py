"""The API put together: one router per question, one error shape. `site.py` puts guard and pages before it."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version

from fastapi import FastAPI

from dabchick.workbench import (
    errors,
    live,
    routes_air,
    routes_boat,
    routes_compare,
    routes_criteria,
    routes_drain,
    routes_fit,
    routes_heel,
    routes_history,
    routes_hull,
    routes_jobs,
    routes_leak,
    routes_measures,
    routes_new,
    routes_pairing,
    routes_prints,
    routes_scale,
    routes_scene,
    routes_shelf,
    routes_space,
    routes_split,
    routes_squeeze,
    routes_stability,
    routes_tank,
    routes_trace,
    routes_trim,
    routes_uploads,
    routes_weights,
)
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.pairing import Pairing
from dabchick.workbench.settings import Settings
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.uploads import Uploads


def create_app(settings: Settings, pairing: Pairing | None = None) -> FastAPI:
    """The whole API on one shelf of boats, to be served behind `Site`, which lets in only whom it should."""
    shelf = Shelf(settings.shelf)
    jobs = Jobs()
    uploads = Uploads()

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        jobs.warm_up()
        try:
            yield
        finally:
            jobs.close()
            uploads.close()

    app = FastAPI(
        title="Dabchick workbench",
        version=version("dabchick"),
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        responses=errors.REFUSALS,
        lifespan=life,
    )
    errors.install(app)
    for router in (
        routes_pairing.router(settings, pairing or Pairing(settings)),
        routes_shelf.router(shelf, jobs, settings),
        routes_new.router(shelf, jobs, uploads),
        routes_uploads.router(jobs, uploads),
        routes_jobs.router(jobs),
        routes_boat.router(shelf),
        routes_history.router(shelf),
        routes_hull.router(shelf, jobs, uploads),
        routes_prints.router(shelf, jobs, uploads),
        routes_fit.router(shelf, jobs),
        routes_measures.router(shelf, jobs),
        routes_scale.router(),
        routes_weights.router(shelf, jobs),
        routes_scene.router(shelf, jobs),
        routes_tank.router(shelf, jobs),
        routes_trim.router(shelf, jobs),
        routes_trace.router(shelf, jobs, uploads),
        routes_space.router(shelf, jobs),
        routes_split.router(shelf),
        routes_air.router(shelf, jobs),
        routes_leak.router(shelf, jobs),
        routes_squeeze.router(shelf, jobs),
        routes_heel.router(shelf, jobs),
        routes_compare.router(shelf, jobs),
        routes_criteria.router(shelf, jobs),
        routes_stability.router(shelf, jobs),
        routes_drain.router(shelf, jobs),
        live.router(shelf, jobs),
    ):
        app.include_router(router)
    return app
