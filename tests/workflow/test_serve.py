"""`dabchick serve` as a process: it listens on loopback alone, says where, and ends cleanly."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pytest

from dabchick.storage.new_boat import write_demo
from dabchick.workbench import network
from tests.support.command import as_process

WAIT_S = 120.0


@contextmanager
def serving(*arguments: object, folder: Path, port: int | None = None) -> Iterator[tuple[str, IO[str]]]:
    """The address and what is printed after it; ended by Ctrl-C, which has to be clean."""
    chosen = () if port is None else ("--port", str(port))
    command = [
        sys.executable,
        "-u",
        "-c",
        "from dabchick.cli.main import main; main()",
        "serve",
        "--no-browser",
    ]
    process = subprocess.Popen(
        [*command, *chosen, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        cwd=folder,
        env={**os.environ, "COLUMNS": "100", "PYTHONUTF8": "1", "DABCHICK_CONFIG": str(folder / ".own")},
    )
    assert process.stdout is not None
    assert process.stderr is not None
    try:
        said = ""
        while (found := re.search(r"The workbench is at (http://\S+)", said)) is None:
            line = process.stdout.readline()
            assert line, process.stderr.read()
            said += line
        yield found[1], process.stdout
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=WAIT_S)
        assert process.returncode == 0, err
        assert "has ended" in out
        assert "Traceback" not in err
    finally:
        process.kill()
        process.communicate()


def answer(address: str, path: str = "") -> tuple[int, str]:
    """Status and text; asked until the server listens."""
    until = time.monotonic() + WAIT_S
    while True:
        try:
            with urllib.request.urlopen(address.split("#", maxsplit=1)[0] + path, timeout=WAIT_S) as reply:
                return reply.status, reply.read().decode()
        except urllib.error.HTTPError as refusal:
            return refusal.code, refusal.read().decode()
        except (ConnectionError, urllib.error.URLError):
            assert time.monotonic() < until
            time.sleep(0.05)


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    write_demo(tmp_path / "wren", "Wren", "metric")
    return tmp_path


needs_signals = pytest.mark.skipif(
    sys.platform == "win32", reason="Ctrl-C cannot be sent to one process here"
)


@needs_signals
def test_the_pages_and_the_shelf_are_served_on_loopback_alone(shelf: Path) -> None:
    with serving("wren", folder=shelf, port=0) as (address, _):
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/#/wren/boat", address)
        status, page = answer(address)
        assert status == 200
        assert '<div id="app">' in page
        assert not re.search(r"(src|href)=\"https?:", page), "nothing comes from another host"
        boats = json.loads(answer(address, "api/boats")[1])
        assert (boats["first"], [boat["boat"] for boat in boats["boats"]]) == ("wren", ["wren"])
        assert json.loads(answer(address, "api/me")[1]) == {
            "laptop": True,
            "paired": False,
            "device": "",
            "lan": False,
        }
        assert answer(address, "api/nothing")[0] == 404
        port = int(address.split(":")[2].split("/")[0])
        for own in network.lan_addresses():
            with socket.socket() as probe:
                probe.settimeout(2.0)
                assert probe.connect_ex((own, port)) != 0, "without --lan nobody else can connect"


@needs_signals
@pytest.mark.skipif(not network.lan_addresses(), reason="this machine has no address in a local network")
def test_with_lan_a_code_is_shown_and_a_stranger_is_kept_out(shelf: Path) -> None:
    with serving("--lan", folder=shelf, port=0) as (_, out):
        said = ""
        while "Ctrl-C" not in said:
            said += out.readline()
        assert re.search(r"Code: [2-9A-Z]{4} [2-9A-Z]{4}", said)
        found = re.search(r"http://\S+", said)
        assert found is not None
        status, text = answer(found[0], "api/boats")
        assert status == 401
        assert "not paired" in text
        assert answer(found[0])[0] == 200


@needs_signals
def test_a_taken_port_is_stepped_over_and_said_unless_it_was_asked_for(shelf: Path) -> None:
    with serving(folder=shelf, port=0) as (address, _):
        port = address.split(":")[2].split("/")[0]
        refused = as_process("serve", "--no-browser", "--port", port, folder=shelf)
        assert refused.code == 2
        assert "--port" in refused.words
        assert "in use" in refused.words


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("heron",), "heron does not exist"),
        (("--shelf", "nowhere"), "cannot be read"),
        (("wren", "--shelf", "other"), "does not lie in the shelf"),
        (("other",), "has no boat.toml"),
        (("--port", "70000"), "65535"),
    ],
)
def test_what_cannot_be_served_is_advice(shelf: Path, arguments: tuple[str, ...], says: str) -> None:
    (shelf / "other").mkdir()
    refused = as_process("serve", "--no-browser", *arguments, folder=shelf)
    assert refused.code == 2
    assert says in refused.words
    assert "Traceback" not in refused.err


def test_sockets_share_one_port_and_the_next_free_one_is_found() -> None:
    first = network.listen(0)
    port = first[0].getsockname()[1]
    assert {entry.getsockname()[1] for entry in first} == {port}
    assert {entry.getsockname()[0] for entry in first} <= {"127.0.0.1", "::1"}
    with pytest.raises(OSError, match="in use"):
        network.listen(port)
    second = network.listen_near(port)
    assert second[0].getsockname()[1] != port
    for entry in (*first, *second):
        entry.close()
