"""A real browser on a real workbench: a server for each file of tests, a copy of the invented boat for each test."""

import itertools
import shutil
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, Request, expect, sync_playwright

from tests.browser import chromium
from tests.support.serving import Server, demo_shelf, serving

PATIENCE_MS = 20_000
"""How long a page may take on a busy machine before it counts as wrong; usually it takes a moment."""
OWN_HOSTS = ("127.0.0.1", "127.0.0.2", "localhost")
# The picture is drawn in software here, which the driver remarks on; no page can do anything about it.
DRIVER_REMARK = "GPU stall due to ReadPixels"


@dataclass(frozen=True)
class Workbench:
    """A server that runs, and a boat of the test's own on its shelf."""

    server: Server
    boat: str

    @property
    def address(self) -> str:
        return self.server.address

    @property
    def shelf(self) -> Path:
        return self.server.shelf

    @property
    def file(self) -> Path:
        return self.shelf / self.boat / "boat.toml"

    @property
    def text(self) -> str:
        """The boat file as it stands on disk."""
        return self.file.read_text(encoding="utf-8")

    def at(self, page: str = "boat") -> str:
        return f"{self.address}/#/{self.boat}/{page}"

    def part(self, name: str) -> Any:
        """One part as it stands on disk."""
        return next(part for part in tomllib.loads(self.text)["part"] if part["name"] == name)


@dataclass(frozen=True)
class Sight:
    """How large a window, in which theme, held by a hand or not."""

    width: int = 1440
    height: int = 900
    theme: str = "light"
    touch: bool = False


OpenPage = Callable[..., Page]


# Not for the whole session: while it runs, nothing else in this process can start an event loop of its own.
@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = chromium.found()
    if path is None:
        if chromium.must_be_there():
            pytest.fail(chromium.MISSING)
        # A builder's own machine may have no browser; where every change is tested this is a failure, just above.
        pytest.skip(chromium.MISSING)
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=chromium.arguments())
        yield running
        running.close()


@pytest.fixture(scope="module")
def server(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Asks for the browser first, so that a machine without one starts no server."""
    with serving(demo_shelf(tmp_path_factory.mktemp("browser") / "shelf")) as running:
        yield running


NUMBERS = itertools.count(1)


@pytest.fixture
def workbench(server: Server) -> Workbench:
    """The invented boat, a fresh copy for each test."""
    name = f"copy-{next(NUMBERS)}"
    with as_file(files("dabchick.data") / "demo" / "wren") as demo:
        shutil.copytree(demo, server.shelf / name)
    return Workbench(server, name)


@pytest.fixture
def pardoned() -> list[str]:
    """What a test brings about on purpose: complaints that hold one of these texts count for nothing."""
    return []


@pytest.fixture
def open_page(browser: Browser, pardoned: list[str]) -> Iterator[OpenPage]:
    """Opens pages, and sees to it at the end that none of them complained in its console or asked another host."""
    complaints: list[str] = []
    contexts = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and DRIVER_REMARK not in message.text:
            complaints.append(f"{message.type}: {message.text}")

    def fault(error: Error) -> None:
        complaints.append(f"fault: {error.message}")

    def watch(request: Request) -> None:
        where = urlsplit(request.url)
        if where.scheme not in ("data", "blob") and where.hostname not in OWN_HOSTS:
            complaints.append(f"asked another host: {request.url}")

    def open_one(address: str, sight: Sight | None = None) -> Page:
        seen = sight or Sight()
        context = browser.new_context(
            viewport={"width": seen.width, "height": seen.height},
            color_scheme="dark" if seen.theme == "dark" else "light",
            has_touch=seen.touch,
            reduced_motion="reduce",
        )
        contexts.append(context)
        page = context.new_page()
        page.on("console", note)
        page.on("pageerror", fault)
        page.on("request", watch)
        page.goto(address)
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert [one for one in complaints if not any(text in one for text in pardoned)] == []
