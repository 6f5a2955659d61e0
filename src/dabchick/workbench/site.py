"""What is served: the guard, then the pages at once, then the API as soon as it stands.

The API brings numpy, the compiler and the studies with it, which takes longer than a browser needs to ask for the first
page; so it is put together in a thread of its own while the pages are already on their way.
"""

import asyncio
import logging
from collections.abc import Callable
from contextlib import AsyncExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Final

from starlette.types import Receive, Scope, Send

from dabchick.model.advice import Advice
from dabchick.workbench.guard import Guard, refuse, refuse_socket
from dabchick.workbench.pairing import Pairing
from dabchick.workbench.settings import Settings
from dabchick.workbench.static import Pages

if TYPE_CHECKING:
    from fastapi import FastAPI

log = logging.getLogger("dabchick.workbench")


class Site:
    """ASGI: the whole workbench of one shelf, as it is served."""

    def __init__(
        self,
        settings: Settings,
        pages: Path,
        *,
        pairing: Pairing | None = None,
        tell: Callable[[str], None] = lambda text: None,
    ) -> None:
        self.settings = settings
        self.pairing = pairing or Pairing(settings)
        self._pages = Pages(pages)
        self._tell = tell
        self._api: asyncio.Future[FastAPI | None] | None = None
        self._guarded = Guard(self._behind, settings, self.pairing)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._live(receive, send)
        else:
            await self._guarded(scope, receive, send)

    async def _behind(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not scope["path"].startswith("/api"):
            await self._pages(scope, receive, send)
            return
        if self._api is None:
            raise RuntimeError("The site was asked before its life began.")
        api = await asyncio.shield(self._api)
        if api is not None:
            await api(scope, receive, send)
        elif scope["type"] == "websocket":
            await refuse_socket(scope, receive, send, 500, _NOT_BUILT)
        else:
            await refuse(send, 500, _NOT_BUILT)

    async def _live(self, receive: Receive, send: Send) -> None:
        await receive()
        self._api = asyncio.get_running_loop().create_future()
        async with AsyncExitStack() as stack:
            building = asyncio.create_task(self._build(stack, self._api))
            await send({"type": "lifespan.startup.complete"})
            await receive()
            await building
        await send({"type": "lifespan.shutdown.complete"})

    async def _build(self, stack: AsyncExitStack, future: "asyncio.Future[FastAPI | None]") -> None:
        try:
            api = await asyncio.to_thread(_create, self.settings, self.pairing, self._tell)
            await stack.enter_async_context(api.router.lifespan_context(api))
        except Exception:
            # The pages are served already: they say what is wrong, which a process that just ends could not.
            log.exception("The workbench could not be put together.")
            future.set_result(None)
        else:
            future.set_result(api)


_NOT_BUILT: Final = Advice(
    what="The workbench could not be put together.",
    todo="End it with Ctrl-C, and report it with the lines that the server printed.",
)


def _create(settings: Settings, pairing: Pairing, tell: Callable[[str], None]) -> "FastAPI":
    from dabchick.physics.compiled import compiled_before
    from dabchick.workbench.app import create_app

    api = create_app(settings, pairing)
    if not compiled_before():
        tell("This first time the arithmetic is compiled for your machine, which takes about a minute.")
        _compile()
    return api


def _compile() -> None:
    """Work out the demo boat once: whatever the pages will ask for is then ready."""
    from importlib.resources import as_file, files

    from dabchick.storage.folder import open_boat
    from dabchick.studies import afloat, check

    with as_file(files("dabchick") / "data" / "demo" / "wren") as folder:
        vessel = open_boat(folder).vessel
    afloat.run(vessel, 0.5)
    check.run(vessel)
