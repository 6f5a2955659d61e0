"""A real browser on a real workbench: a copy of the invented boat, served on a port of its own."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, Request, expect, sync_playwright

from tests.browser import chromium

START_SECONDS = 120.0
"""A first start may have to build the pages."""
PATIENCE_MS = 20_000
"""How long a page may take on a busy machine before it counts as wrong; usually it takes a moment."""
OWN_HOSTS = ("127.0.0.1", "127.0.0.2", "localhost")
# The picture is drawn in software here, which the driver remarks on; no page can do anything about it.
DRIVER_REMARK = "GPU stall due to ReadPixels"


@dataclass(frozen=True)
class Workbench:
    """A server that runs, and the shelf it serves."""

    address: str
    shelf: Path
    boat: str = "wren"

    def at(self, page: str = "boat") -> str:
        return f"{self.address}/#/{self.boat}/{page}"

    @property
    def text(self) -> str:
        """The boat file as it stands on disk."""
        return (self.shelf / self.boat / "boat.toml").read_text(encoding="utf-8")


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


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def serve(shelf: Path, *options: str) -> tuple[subprocess.Popen[bytes], str]:
    """A workbench on this shelf; returns once its API answers. Whoever starts it ends it."""
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    log = (shelf.parent / f"serve-{port}.log").open("wb")
    running = subprocess.Popen(
        [sys.executable, "-c", "from dabchick.cli.main import main; main()",
         "serve", "--shelf", str(shelf), "--port", str(port), "--no-browser", *options],
        stdout=log,
        stderr=subprocess.STDOUT,
    )  # fmt: skip
    log.close()
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and running.poll() is None:
        try:
            with urllib.request.urlopen(f"{address}/api/boats", timeout=5):
                return running, address
        except (urllib.error.URLError, TimeoutError, ConnectionError):
            time.sleep(0.1)
    running.kill()
    running.wait()
    raise AssertionError(f"The workbench did not start: {Path(log.name).read_text(encoding='utf-8')}")


@pytest.fixture
def workbench(tmp_path: Path, browser: Browser) -> Iterator[Workbench]:
    """The invented boat on a shelf of her own; asks for the browser first, so that a machine without one skips."""
    shelf = tmp_path / "shelf"
    with as_file(files("dabchick.data") / "demo" / "wren") as demo:
        shutil.copytree(demo, shelf / "wren")
    running, address = serve(shelf)
    yield Workbench(address, shelf)
    running.terminate()
    try:
        running.wait(timeout=10)
    except subprocess.TimeoutExpired:
        running.kill()
        running.wait()


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
