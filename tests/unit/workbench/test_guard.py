"""Who may ask: every host, site, content type and device that must be refused, and those that must not."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from starlette.responses import PlainTextResponse
from starlette.testclient import WebSocketDenialResponse
from starlette.types import Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from dabchick.workbench.guard import COOKIE, DEVICE, Guard
from dabchick.workbench.settings import Settings
from tests.support.workbench import LAN, LAPTOP, PHONE, PORT, settings, words


class OneDevice:
    """A list of devices with one on it, until it is taken off."""

    paired = True

    def device_of(self, token: str) -> str | None:
        return "phone" if self.paired and token == "right" else None

    def named(self, device: str) -> object | None:
        return self if self.paired and device == "phone" else None


async def inside(scope: Scope, receive: Receive, send: Send) -> None:
    """What the guard guards: says which device asks."""
    if scope["type"] == "websocket":
        socket = WebSocket(scope, receive, send)
        await socket.accept()
        async for text in socket.iter_text():
            await socket.send_text(text)
        return
    await PlainTextResponse(f"device '{scope[DEVICE]}'")(scope, receive, send)


def client(
    asked: Settings, devices: OneDevice | None = None, *, address: tuple[str, int] = LAPTOP, host: str = ""
) -> TestClient:
    guard = Guard(inside, asked, devices or OneDevice())
    return TestClient(guard, base_url=f"http://{host or f'127.0.0.1:{PORT}'}", client=address)


ALONE = settings(Path())
WITH_LAN = settings(Path(), lan=True)
JSON = {"content-type": "application/json"}


@pytest.mark.parametrize(
    "host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"]
)
def test_own_names_are_served(host: str) -> None:
    answer = client(ALONE).get("/api/boats", headers={"host": host})
    assert answer.text == "device ''"


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"{LAN}:{PORT}",
        f"localhost.evil.example:{PORT}",
        "",
    ],
)
@pytest.mark.parametrize("path", ["/", "/api/boats", "/assets/a.js"])
def test_any_other_name_is_refused_even_for_pages(host: str, path: str) -> None:
    answer = client(ALONE).get(path, headers={"host": host})
    assert answer.status_code == 403
    assert "name" in words(answer)


def test_two_hosts_are_refused() -> None:
    answer = client(ALONE).get("/", headers=[("host", f"127.0.0.1:{PORT}"), ("host", "evil.example")])
    assert answer.status_code == 403


def test_the_lan_address_is_a_name_only_with_lan() -> None:
    assert client(WITH_LAN, host=f"{LAN}:{PORT}").get("/").status_code == 200
    assert client(ALONE, host=f"{LAN}:{PORT}").get("/").status_code == 403


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": f"https://127.0.0.1:{PORT}"},
        {"origin": f"http://127.0.0.1:{PORT + 1}"},
        {"origin": f"http://localhost:{PORT}"},  # another name of this machine than the one asked for
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
    ],
)
def test_no_other_site_may_change_anything(method: str, headers: dict[str, str]) -> None:
    answer = client(ALONE).request(method, "/api/boats", headers={**JSON, **headers}, content=b"{}")
    assert answer.status_code == 403
    assert "site" in words(answer)


def test_own_pages_may_change_things() -> None:
    own = {**JSON, "origin": f"http://127.0.0.1:{PORT}", "sec-fetch-site": "same-origin"}
    assert client(ALONE).post("/api/boats", headers=own, content=b"{}").status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_no_other_site_may_read_the_api_but_it_may_link_to_the_pages(site: str) -> None:
    assert client(ALONE).get("/api/boats", headers={"sec-fetch-site": site}).status_code == 403
    assert client(ALONE).get("/", headers={"sec-fetch-site": site}).status_code == 200


@pytest.mark.parametrize(
    "kind", ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain", ""]
)
def test_what_a_plain_form_can_send_is_refused(kind: str) -> None:
    answer = client(ALONE).post("/api/boats", content=b"{}", headers={"content-type": kind})
    assert answer.status_code == 415
    assert "application/json" in words(answer)


@pytest.mark.parametrize("kind", ["application/json; charset=utf-8", "application/octet-stream", "text/csv"])
def test_known_content_passes(kind: str) -> None:
    assert client(ALONE).post("/api/boats", content=b"{}", headers={"content-type": kind}).status_code == 200


def test_nothing_at_all_may_be_sent_without_a_kind() -> None:
    assert client(ALONE).post("/api/boats/wren/undo").status_code == 200


@pytest.mark.parametrize("address", ["127.0.0.1", "127.8.8.8", "::1", "::ffff:127.0.0.1"])
def test_loopback_is_the_laptop(address: str) -> None:
    assert client(WITH_LAN, address=(address, 5)).get("/api/devices").text == "device ''"


def test_whoever_comes_in_by_the_network_s_address_is_not_the_laptop() -> None:
    """Even from this machine itself: the address that a connection ends at tells the two sides apart."""
    asking = client(WITH_LAN, address=LAPTOP, host=f"{LAN}:{PORT}")
    assert asking.get("/api/boats").status_code == 401
    assert client(WITH_LAN, address=LAPTOP).get("/api/boats").text == "device ''"


@pytest.mark.parametrize("address", [PHONE[0], LAN, "::ffff:192.168.7.20", "fe80::1", "not an address"])
def test_a_stranger_sees_the_pages_and_may_pair_and_no_more(address: str) -> None:
    stranger = client(WITH_LAN, address=(address, 5), host=f"{LAN}:{PORT}")
    assert stranger.get("/").status_code == 200
    assert stranger.get("/assets/a.js").status_code == 200
    assert stranger.get("/api/me").text == "device '-'"
    assert stranger.post("/api/pair", headers=JSON, content=b"{}").status_code == 200
    for method, path in (
        ("GET", "/api/boats"),
        ("GET", "/api/pair"),
        ("POST", "/api/me"),
        ("GET", "/api/pairing"),
        ("GET", "/api/openapi.json"),
        ("OPTIONS", "/api/boats"),
        ("POST", "/api/pair/"),
        ("GET", "/api"),
    ):
        answer = stranger.request(method, path)
        assert answer.status_code == 401, (method, path)
        assert "pair" in words(answer).lower()


@pytest.mark.parametrize("name", ["x-forwarded-for", "x-real-ip", "forwarded", "x-forwarded-host"])
def test_a_header_makes_nobody_the_laptop(name: str) -> None:
    value = "for=127.0.0.1" if name == "forwarded" else "127.0.0.1"
    stranger = client(WITH_LAN, address=PHONE, host=f"{LAN}:{PORT}")
    assert stranger.get("/api/boats", headers={name: value}).status_code == 401


def test_a_paired_phone_comes_in_but_does_not_look_after_pairing() -> None:
    paired = client(WITH_LAN, address=PHONE, host=f"{LAN}:{PORT}")
    paired.cookies.set(COOKIE, "right")
    assert paired.get("/api/boats").text == "device 'phone'"
    for path in ("/api/pairing", "/api/devices", "/api/devices/x"):
        assert paired.get(path).status_code == 403
    wrong = client(WITH_LAN, address=PHONE, host=f"{LAN}:{PORT}")
    wrong.cookies.set(COOKIE, "wrong")
    assert wrong.get("/api/boats").status_code == 401


def test_a_cookie_is_worth_nothing_without_lan() -> None:
    phone = client(ALONE, address=PHONE)
    phone.cookies.set(COOKIE, "right")
    assert phone.get("/api/boats").status_code == 401


LIVE = "/api/boats/wren/live"


def test_a_channel_is_guarded_like_a_change() -> None:
    own = {"origin": f"http://127.0.0.1:{PORT}"}
    with client(ALONE).websocket_connect(f"ws://127.0.0.1:{PORT}{LIVE}", headers=own) as socket:
        socket.send_text("x")
        assert socket.receive_text() == "x"
    stranger = client(WITH_LAN, address=PHONE)
    for asked, host, headers, status in (
        (client(ALONE), f"127.0.0.1:{PORT}", {"origin": "http://evil.example"}, 403),
        (client(ALONE), "evil.example", {}, 403),
        (client(ALONE), f"127.0.0.1:{PORT}", {"sec-fetch-site": "cross-site"}, 403),
        (stranger, f"{LAN}:{PORT}", {}, 401),
    ):
        with (
            pytest.raises(WebSocketDenialResponse) as caught,
            asked.websocket_connect(f"ws://{host}{LIVE}", headers=headers),
        ):
            pass
        assert caught.value.status_code == status
        assert words(caught.value)


def test_a_channel_ends_when_the_pairing_is_taken_back() -> None:
    devices = OneDevice()
    paired = client(WITH_LAN, devices, address=PHONE, host=f"{LAN}:{PORT}")
    cookie = {"cookie": f"{COOKIE}=right"}
    with paired.websocket_connect(f"ws://{LAN}:{PORT}{LIVE}", headers=cookie) as socket:
        socket.send_text("still there")
        assert socket.receive_text() == "still there"
        devices.paired = False
        socket.send_text("and now?")
        with pytest.raises(WebSocketDisconnect):
            socket.receive_text()


def test_what_a_browser_heeds_over_https_alone_is_not_sent_into_the_network() -> None:
    """It would be ignored there, with a complaint in the console of every page."""
    answer = client(WITH_LAN, address=PHONE, host=f"{LAN}:{PORT}").get("/")
    assert answer.status_code == 200
    assert "cross-origin-opener-policy" not in answer.headers


def test_every_answer_carries_the_safety_headers_refusals_too() -> None:
    for answer in (
        client(ALONE).get("/"),
        client(ALONE).get("/api/boats"),
        client(ALONE).get("/", headers={"host": "evil.example"}),
    ):
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors" in policy
        assert "http" not in policy
    assert "frame-ancestors 'none'" in client(ALONE).get("/").headers["content-security-policy"]
    assert "script-src 'self';" in client(ALONE).get("/").headers["content-security-policy"]
    assert client(ALONE).get("/api/boats").headers["cache-control"] == "no-store"
