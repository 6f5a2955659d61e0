"""The workbench as a process of its own, to be asked, killed and started again like the builder's."""

import contextlib
import os
import re
import selectors
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

import httpx
import pytest

START_S = 120.0
"""For the first start of a fresh checkout on a busy machine; a usual one takes a second."""
COMMAND = (sys.executable, "-c", "from dabchick.cli.main import main; main()", "serve", "--no-browser")
NETWORK = (sys.executable, "-m", "tests.support.on_network")
ROOT = Path(__file__).parents[2]
SECOND_LOOPBACK = "127.0.0.2"
"""Stands for this machine's address in the network: nothing of the test leaves the machine."""


def demo_shelf(folder: Path) -> Path:
    """A shelf that holds a copy of the demo boat."""
    folder.mkdir(parents=True, exist_ok=True)
    with as_file(files("dabchick.data") / "demo" / "wren") as demo:
        shutil.copytree(demo, folder / "wren")
    return folder


def free_port() -> int:
    """A port that nothing listened on a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Server:
    """One server over one shelf, always on the same port."""

    shelf: Path
    port: int = 0
    network: bool = False
    """Listens on a second loopback address as if it were the local network."""
    environment: Mapping[str, str] = field(default_factory=dict)
    _process: "subprocess.Popen[str] | None" = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def network_address(self) -> str:
        return f"http://{SECOND_LOOPBACK}:{self.port}"

    @property
    def pid(self) -> int:
        assert self._process is not None
        return self._process.pid

    def start(self) -> None:
        """Returns when it answers."""
        self.port = self.port or free_port()
        command = NETWORK if self.network else COMMAND
        self._process = subprocess.Popen(
            [*command, "--shelf", str(self.shelf), "--port", str(self.port)],
            cwd=ROOT,
            env={**os.environ, "PYTHONUNBUFFERED": "1", "NO_COLOR": "1", **self.environment},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        end = time.monotonic() + START_S
        while True:
            if self._process.poll() is not None:
                raise AssertionError(f"The server ended at once:\n{self.said()}")
            with contextlib.suppress(httpx.TransportError):
                if httpx.get(f"{self.address}/api/me", timeout=START_S, trust_env=False).status_code == 200:
                    return
            if time.monotonic() > end:
                self.kill()
                raise AssertionError(f"The server did not answer within {START_S:.0f} s:\n{self.said()}")
            time.sleep(0.02)

    def kill(self) -> None:
        """End it in the midst of whatever it does, as `kill -9` or a power cut would."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()

    def stop(self) -> str:
        """End it as Ctrl-C does; what it said."""
        assert self._process is not None
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGINT)
            try:
                self._process.wait(15)
            except subprocess.TimeoutExpired:
                self.kill()
                raise AssertionError("The server did not end at Ctrl-C.") from None
        return self.said()

    def said(self) -> str:
        """What it has printed and nobody has read yet."""
        assert self._process is not None
        assert self._process.stdout is not None
        if self._process.poll() is not None:
            return self._process.stdout.read()
        heard = b""
        with selectors.DefaultSelector() as ready:
            ready.register(self._process.stdout, selectors.EVENT_READ)
            while ready.select(0):
                piece = os.read(self._process.stdout.fileno(), 65536)
                if not piece:
                    break
                heard += piece
        return heard.decode()

    def client(self) -> httpx.Client:
        return httpx.Client(base_url=self.address, timeout=60, trust_env=False)

    def memory_mb(self) -> float:
        """Resident memory of the server itself; its helpers are not counted."""
        status = Path(f"/proc/{self.pid}/status").read_text()
        found = re.search(r"VmRSS:\s+(\d+) kB", status)
        assert found is not None
        return int(found[1]) / 1024.0


@contextlib.contextmanager
def serving(shelf: Path, *, network: bool = False, **environment: str) -> Iterator[Server]:
    """A server that runs as long as the block; its last words must hold no traceback."""
    server = Server(shelf, network=network, environment=environment)
    server.start()
    try:
        yield server
        said = server.stop()
    finally:
        server.kill()
    assert "Traceback" not in said, said


def state(client: httpx.Client, boat: str = "wren") -> Any:
    answer = client.get(f"/api/boats/{boat}")
    assert answer.status_code == 200, answer.text
    return answer.json()


def put(
    client: httpx.Client, base: int, path: Sequence[str | int], value: Any, *, boat: str = "wren", **more: Any
) -> httpx.Response:
    """One edit that writes one value; with `was`, one that may be taken on an older base."""
    op = {"op": "put", "path": list(path), "value": value, **more}
    return client.post(
        f"/api/boats/{boat}/edits", json={"base": base, "by": "test", "what": "Test", "ops": [op]}
    )


needs_second_loopback = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="only Linux answers on every address of 127.0.0.0/8"
)
