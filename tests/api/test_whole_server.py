"""The workbench as a process of its own: killed, asked by two at once, edited behind its back, and attacked."""

import io
import json
import random
import socket
import sys
import threading
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import ClientConnection, connect

from tests.support.sample_boat import write_box_stl
from tests.support.serving import (
    SECOND_LOOPBACK,
    Server,
    demo_shelf,
    needs_second_loopback,
    put,
    serving,
    state,
)
from tests.support.workbench import ended, upload, words

MASS = ("part", 3, "mass", "value")
"""Of the demo boat's battery; 506 g as delivered."""
ROUNDS = 4
MOST_MEMORY_MB = 600.0

linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="read from /proc")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("whole")
    (folder / "tmp").mkdir()
    with serving(demo_shelf(folder / "shelf"), TMPDIR=str(folder / "tmp")) as running:
        yield running
    assert list((folder / "tmp").iterdir()) == [], "what was brought in goes when the server ends"


@pytest.fixture
def client(server: Server) -> Iterator[httpx.Client]:
    with server.client() as asking:
        yield asking


@contextmanager
def channel(server: Server, boat: str = "wren", **headers: str) -> Iterator[ClientConnection]:
    address = f"{server.address.replace('http', 'ws')}/api/boats/{boat}/live"
    with connect(address, additional_headers=headers, proxy=None, max_size=None) as socket_:
        yield socket_


def told(page: ClientConnection, kind: str) -> Any:
    """The next word of this kind."""
    while True:
        word = json.loads(page.recv(timeout=30))
        if word["kind"] == kind:
            return word


def test_kill_in_mid_save_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """Edits go out one after the other without a pause while the server is killed; again and again.

    After each start the boat stands at the last edit that was acknowledged, or at the one that was on its way, and
    every acknowledged one is a step in her past.
    """
    server = Server(demo_shelf(tmp_path / "shelf"))
    file = server.shelf / "wren" / "boat.toml"
    chance = random.Random(7)
    kept: list[int] = []
    tried = 0
    server.start()
    try:
        for _ in range(ROUNDS):
            before = len(kept)

            def edit() -> None:
                nonlocal tried
                with server.client() as asking:
                    revision = state(asking)["revision"]
                    while True:
                        tried += 1
                        answer = put(asking, revision, MASS, f"{tried} g")
                        assert answer.status_code == 200, answer.text
                        kept.append(tried)
                        revision = answer.json()["revision"]

            fault: list[BaseException] = []
            editing = threading.Thread(target=until_cut(edit, fault))
            editing.start()
            while len(kept) < before + 3:  # the first ones bring the compiled code up
                editing.join(0.01)
                assert editing.is_alive(), fault
            editing.join(chance.uniform(0.05, 0.4))
            server.kill()
            editing.join(30)
            assert [type(entry) for entry in fault] == [CutOffError]
            server.start()
            with server.client() as asking:
                now = state(asking)
                steps = asking.get("/api/boats/wren/steps").json()["steps"]
            assert mass(file) in (f"{kept[-1]} g", f"{tried} g")
            assert now["values"]["part"][3]["mass"]["value"] == mass(file)
            assert now["errors"] == []
            # One step for each edit that was made, and the one that the boat was found with.
            assert len(kept) + 1 <= len(steps) <= tried + 1
        with server.client() as asking:
            walked = []
            while (now := state(asking))["undo"]:
                walked.append(now["values"]["part"][3]["mass"]["value"])
                answer = asking.post("/api/boats/wren/undo", json={"base": now["revision"]})
                assert answer.status_code == 200, answer.text
                if len(walked) > 2 * tried:
                    raise AssertionError("Undo leads nowhere.")
        assert mass(file) == "506 g"
        assert {f"{number} g" for number in kept} <= set(walked)
    finally:
        server.kill()


class CutOffError(Exception):
    """The server was killed while it was asked."""


def until_cut(work: Callable[[], None], fault: list[BaseException]) -> Callable[[], None]:
    def run() -> None:
        try:
            work()
        except httpx.TransportError:
            fault.append(CutOffError())
        except BaseException as other:  # noqa: BLE001 - handed to the thread that waits
            fault.append(other)

    return run


def mass(file: Path) -> Any:
    return tomllib.loads(file.read_text("utf-8"))["part"][3]["mass"]["value"]


def test_two_clients_stay_in_step_and_overwrite_nothing(server: Server, client: httpx.Client) -> None:
    with channel(server) as laptop, channel(server) as phone:
        start = told(laptop, "hello")["revision"]
        assert told(phone, "hello")["revision"] == start
        first = put(client, start, MASS, "501 g").json()
        for page in (laptop, phone):
            word = told(page, "changed")
            assert (word["revision"], word["what"], word["by"]) == (first["revision"], "Test", "test")
        # The phone has not seen it: on its older base nothing of it is overwritten.
        refused = put(client, start, MASS, "499 g")
        assert refused.status_code == 409
        assert "hang" in words(refused)
        assert put(client, start, MASS, "499 g", was="506 g", row_name="battery").status_code == 409
        # Elsewhere in the file nothing would be lost, so this one is taken.
        scale = put(client, start, ["scale"], 72, was=60)
        assert scale.status_code == 200
        assert (
            told(laptop, "changed")["revision"]
            == told(phone, "changed")["revision"]
            == scale.json()["revision"]
        )
        values = state(client)["values"]
        assert (values["part"][3]["mass"]["value"], values["scale"]) == ("501 g", 72)


def test_a_boat_file_edited_by_hand_is_noticed_by_every_open_page(
    server: Server, client: httpx.Client
) -> None:
    file = server.shelf / "wren" / "boat.toml"
    before = state(client)
    with channel(server) as laptop, channel(server) as phone:
        told(laptop, "hello")
        told(phone, "hello")
        text = file.read_text("utf-8")
        file.write_text(text.replace('where = "garden pond"', 'where = "indoor pool"'), "utf-8")
        for page in (laptop, phone):
            word = told(page, "changed")
            assert word["revision"] > before["revision"]
            assert "utside" in word["what"]
    now = state(client)
    assert now["values"]["water"]["where"] == "indoor pool"
    undone = client.post("/api/boats/wren/undo", json={"base": now["revision"]})
    assert undone.json()["values"]["water"]["where"] == "garden pond"
    assert file.read_text("utf-8") == text
    # An editor that saves over what it read earlier is a step too, so that what it wrote over is not lost.
    file.write_text("half a line", "utf-8")
    faulty = state(client)
    assert faulty["errors"]
    assert client.post("/api/boats/wren/undo", json={"base": faulty["revision"]}).status_code == 200
    assert file.read_text("utf-8") == text


@linux
def test_without_lan_only_loopback_listens(server: Server) -> None:
    listening = set()
    for table in ("tcp", "tcp6"):
        for line in Path(f"/proc/net/{table}").read_text().splitlines()[1:]:
            place, port = line.split()[1].split(":")
            if int(port, 16) == server.port and line.split()[3] == "0A":
                listening.add(place)
    # 127.0.0.1 and ::1 as the kernel writes them.
    assert "0100007F" in listening
    assert listening <= {"0100007F", "00000000000000000000000001000000"}
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((SECOND_LOOPBACK, server.port), timeout=5)


@pytest.mark.parametrize(
    ("headers", "path"),
    [
        ({"host": "evil.example"}, "/"),
        ({"host": "evil.example"}, "/api/boats"),
        ({"host": "127.0.0.1"}, "/api/boats"),
        ({"origin": "http://evil.example"}, "/api/boats"),
        ({"sec-fetch-site": "cross-site"}, "/api/boats/wren"),
    ],
)
def test_foreign_names_and_sites_are_refused(
    client: httpx.Client, headers: dict[str, str], path: str
) -> None:
    answer = client.get(path, headers=headers)
    assert answer.status_code == 403
    words(answer)


def test_a_page_of_another_site_changes_nothing(server: Server, client: httpx.Client) -> None:
    before = state(client)
    body = json.dumps({"base": before["revision"], "what": "x", "ops": [{"op": "drop", "path": ["part", 0]}]})
    for headers, status in (
        ({"origin": "http://evil.example", "content-type": "application/json"}, 403),
        ({"sec-fetch-site": "cross-site", "content-type": "application/json"}, 403),
        ({"content-type": "text/plain"}, 415),
        ({"content-type": "application/x-www-form-urlencoded"}, 415),
    ):
        answer = client.post("/api/boats/wren/edits", content=body, headers=headers)
        assert answer.status_code == status
    assert state(client)["revision"] == before["revision"]


@pytest.mark.parametrize("headers", [{"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}])
def test_a_foreign_channel_is_refused(server: Server, headers: dict[str, str]) -> None:
    with pytest.raises(InvalidStatus) as refused, channel(server, **headers):
        pass
    assert refused.value.response.status_code == 403


def test_a_channel_under_a_foreign_name_is_refused(server: Server) -> None:
    """The name of another site that was made to lead here: the handshake written out by hand."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=30) as line:
        line.sendall(
            b"GET /api/boats/wren/live HTTP/1.1\r\nHost: evil.example\r\nUpgrade: websocket\r\n"
            b"Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n"
            b"Sec-WebSocket-Version: 13\r\n\r\n"
        )
        assert line.recv(100).startswith(b"HTTP/1.1 403 ")


def test_too_much_is_refused_by_its_stated_size_and_by_its_real_one(client: httpx.Client) -> None:
    head = {"content-type": "application/octet-stream"}
    over = 65 * 1024 * 1024
    stated = client.post("/api/uploads", params={"name": "big.stl"}, content=b"\0" * over, headers=head)
    assert stated.status_code == 413
    assert "64" in words(stated) or "67" in words(stated)  # 64 MiB are 67 MB

    def without_end() -> Iterator[bytes]:
        for _ in range(over // 65536):
            yield b"\0" * 65536

    unstated = client.post("/api/uploads", params={"name": "big.stl"}, content=without_end(), headers=head)
    assert unstated.status_code == 413


@pytest.mark.parametrize("name", ["hull.exe", "hull", "hull.svg", ".stl", "hull.stl.zip"])
def test_files_of_another_kind_are_refused(client: httpx.Client, name: str) -> None:
    answer = upload(client, name, b"solid nothing")
    assert answer.status_code == 415, answer.text
    words(answer)


@pytest.mark.parametrize(
    "name",
    [
        "../../outside.stl",
        "/etc/outside.stl",
        "..\\..\\outside.stl",
        "C:\\outside.stl",
        "a/../../../outside.stl",
    ],
)
def test_no_name_leads_out_of_its_folder(
    server: Server, client: httpx.Client, tmp_path: Path, name: str
) -> None:
    write_box_stl(tmp_path / "box.stl")
    above = server.shelf.parent
    before = {file for file in above.rglob("*") if above / "tmp" not in file.parents}
    taken = upload(client, name, (tmp_path / "box.stl").read_bytes())
    assert taken.status_code == 200
    assert taken.json()["name"] in ("outside.stl", "Coutside.stl")
    looked = ended(client, client.post(f"/api/uploads/{taken.json()['upload']}/look", json={"unit": "mm"}))
    assert looked["state"] == "done", looked
    assert {file for file in above.rglob("*") if above / "tmp" not in file.parents} == before
    assert not Path("/etc/outside.stl").exists()


@linux
def test_a_packed_bomb_costs_the_server_nothing(server: Server, client: httpx.Client) -> None:
    """A 3MF archive of about a megabyte that unpacks to a gigabyte: read in a process of its own, ended there."""
    zeros = b"\0" * (1 << 20)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open("3D/3dmodel.model", "w", force_zip64=True) as model:
            model.write(b'<?xml version="1.0"?><model unit="millimeter"><resources>')
            for _ in range(1024):
                model.write(zeros)
        archive.writestr("[Content_Types].xml", "<Types/>")
    assert len(packed.getvalue()) < 2_000_000
    taken = upload(client, "bomb.3mf", packed.getvalue())
    assert taken.status_code == 200, taken.text
    looked = ended(client, client.post(f"/api/uploads/{taken.json()['upload']}/look", json={"unit": "mm"}))
    if looked["state"] == "done":
        found = client.get(f"/api/jobs/{looked['job']}/look").json()
        assert not found["sound"]
        words(found)
    else:
        words(looked)
    assert server.memory_mb() < MOST_MEMORY_MB
    assert state(client)["errors"] == []


def test_a_boat_in_a_hostile_archive_stays_out(server: Server, client: httpx.Client) -> None:
    above = server.shelf.parent
    before = {file for file in above.rglob("*") if above / "tmp" not in file.parents}
    text = (server.shelf / "wren" / "boat.toml").read_bytes()
    for names in (["../boat.toml"], ["boat.toml", "../../outside.txt"], ["boat.toml", "/etc/outside.txt"]):
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as archive:
            for name in names:
                archive.writestr(name, text)
        answer = client.post(
            "/api/boats/zip", content=packed.getvalue(), headers={"content-type": "application/zip"}
        )
        assert answer.status_code in (413, 415, 422), answer.text
        words(answer)
    assert {file for file in above.rglob("*") if above / "tmp" not in file.parents} == before


@needs_second_loopback
def test_from_the_network_only_a_paired_device_comes_in(tmp_path: Path) -> None:
    with (
        serving(demo_shelf(tmp_path / "shelf"), network=True, DABCHICK_CONFIG=str(tmp_path)) as server,
        server.client() as laptop,
        httpx.Client(base_url=server.network_address, timeout=60, trust_env=False) as phone,
    ):
        assert phone.get("/").status_code == 200
        assert phone.get("/api/me").json()["paired"] is False
        for path in (
            "/api/boats",
            "/api/boats/wren",
            "/api/boats/wren/zip",
            "/api/openapi.json",
            "/api/devices",
        ):
            assert phone.get(path).status_code == 401, path
        address = f"{server.network_address.replace('http', 'ws')}/api/boats/wren/live"
        with pytest.raises(InvalidStatus) as refused, connect(address, proxy=None):
            pass
        assert refused.value.response.status_code == 401
        assert phone.get("/", headers={"host": "evil.example"}).status_code == 403

        code = laptop.get("/api/pairing").json()["code"]
        wrong = phone.post("/api/pair", json={"code": "22222222", "device": "phone"})
        assert wrong.status_code == 403
        paired = phone.post("/api/pair", json={"code": code, "device": "phone"})
        assert paired.status_code == 200
        cookie = paired.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert phone.get("/api/boats").status_code == 200
        # Pairing itself stays with the laptop, and a code is good once.
        assert phone.get("/api/pairing").status_code == 403
        with httpx.Client(base_url=server.network_address, timeout=60, trust_env=False) as other:
            assert other.post("/api/pair", json={"code": code, "device": "other"}).status_code == 403

        token = phone.cookies["dabchick_device"]
        with connect(address, proxy=None, additional_headers={"Cookie": f"dabchick_device={token}"}) as page:
            told(page, "hello")
            device = laptop.get("/api/devices").json()[0]["device"]
            assert laptop.delete(f"/api/devices/{device}").status_code == 200
            assert phone.get("/api/boats").status_code == 401
