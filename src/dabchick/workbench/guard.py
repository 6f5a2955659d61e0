"""Who may ask: the host that is asked for, the page that asks, and the device it comes from. ASGI, before all else.

- The `Host` must be one of the served names, so that a foreign name pointed at this machine opens nothing.
- A request from another site's page is refused by its `Origin` and `Sec-Fetch-Site`.
- A change needs a content type that a plain web form cannot send.
- Loopback is the builder at the machine; every other address needs a paired device's cookie, and so does whoever comes
  in by the address for the network. The addresses are those of the connection itself: what a header says about them
  counts for nothing.
"""

import ipaddress
import json
from dataclasses import asdict
from http.cookies import CookieError, SimpleCookie
from typing import Final, Protocol

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dabchick.model.advice import Advice
from dabchick.workbench.settings import Settings

COOKIE: Final = "dabchick_device"
DEVICE: Final = "dabchick.device"
"""Key in the ASGI scope: id of the paired device, or LAPTOP."""
LAPTOP: Final = ""
STRANGER: Final = "-"

SAFE: Final = ("GET", "HEAD", "OPTIONS")
OPEN_TO_STRANGERS: Final = {("GET", "/api/me"), ("POST", "/api/pair")}
LAPTOP_ONLY: Final = ("/api/pairing", "/api/devices")
CONTENT: Final = (
    "application/json",
    "application/octet-stream",
    "application/zip",
    "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
    "model/stl",
    "model/obj",
    "model/3mf",
    "text/csv",
)
"""None of these can be sent across sites without the browser asking first, which is never answered."""

PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; "
    "img-src 'self' data: blob:; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; "
    "frame-src 'self' blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
ANSWER_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"


class Devices(Protocol):
    """What the guard asks of the pairing."""

    def device_of(self, token: str) -> str | None:
        """The id of the paired device with this cookie."""

    def named(self, device: str) -> object | None:
        """The device of this id; None when it is let in no longer."""


class _RefusedError(Exception):
    def __init__(self, status: int, what: str, todo: str, given: str = "", allowed: str = "") -> None:
        super().__init__(what)
        self.status = status
        self.advice = Advice(what=what, todo=todo, where="request", given=given, allowed=allowed)


class Guard:
    """Lets through what may pass, with the answer's safety headers; refuses the rest with advice."""

    def __init__(self, app: ASGIApp, settings: Settings, devices: Devices) -> None:
        self._app = app
        self._settings = settings
        self._devices = devices

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        guarded = _with_headers(send, scope, own=not _came_by(scope, self._settings.lan_addresses))
        try:
            scope[DEVICE] = self._passed(scope)
        except _RefusedError as refused:
            if scope["type"] == "websocket":
                await refuse_socket(scope, receive, guarded, refused.status, refused.advice)
            else:
                await refuse(guarded, refused.status, refused.advice, head=scope["method"] == "HEAD")
            return
        if scope["type"] == "websocket" and scope[DEVICE] != LAPTOP:
            guarded = self._while_paired(guarded, scope[DEVICE])
        await self._app(scope, receive, guarded)

    def _while_paired(self, send: Send, device: str) -> Send:
        """Closes a device's channel at the first word to it after its pairing was taken back."""
        closed = False

        async def guarded(message: Message) -> None:
            nonlocal closed
            if closed:
                return
            if self._devices.named(device) is None:
                closed = True
                message = {"type": "websocket.close", "code": 1008, "reason": "no longer paired"}
            await send(message)

        return guarded

    def _passed(self, scope: Scope) -> str:
        """The device that asks; raises where it may not."""
        headers = _headers(scope)
        _check_host(headers, self._settings)
        changes = scope["type"] == "websocket" or scope["method"] not in SAFE
        _check_site(scope, headers, changes)
        if scope["type"] == "http" and changes:
            _check_content(headers)
        device = self._device(scope, headers)
        _check_device(scope, device)
        return device

    def _device(self, scope: Scope, headers: dict[str, list[str]]) -> str:
        if _is_loopback(scope) and not _came_by(scope, self._settings.lan_addresses):
            return LAPTOP
        if not self._settings.lan:
            return STRANGER
        for line in headers.get("cookie", ()):
            try:
                found = SimpleCookie(line).get(COOKIE)
            except CookieError:
                continue
            device = self._devices.device_of(found.value) if found is not None else None
            if device is not None:
                return device
        return STRANGER


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return found


def _check_host(headers: dict[str, list[str]], settings: Settings) -> None:
    hosts = headers.get("host", [])
    if len(hosts) != 1 or hosts[0].lower() not in settings.hosts:
        raise _RefusedError(
            403,
            "The workbench does not answer under this name.",
            "Open the address that `dabchick serve` printed.",
            given=", ".join(hosts)[:80] or "no name",
            allowed=", ".join(sorted(settings.hosts)),
        )


def _check_site(scope: Scope, headers: dict[str, list[str]], changes: bool) -> None:
    """No page of another site may change, listen or read; it may only lead here by a link."""
    own = f"http://{headers['host'][0].lower()}"
    origins = headers.get("origin", [])
    in_api = scope["path"].startswith("/api")
    if (changes or in_api) and any(origin.lower() != own for origin in origins):
        raise _RefusedError(
            403,
            "This was asked by a page of another site.",
            "Use the workbench's own pages.",
            given=", ".join(origins)[:80],
            allowed=own,
        )
    sites = headers.get("sec-fetch-site", [])
    allowed = ("same-origin",) if changes else ("same-origin", "none")
    if (changes or in_api) and any(site not in allowed for site in sites):
        raise _RefusedError(
            403,
            "This was asked from another site.",
            "Use the workbench's own pages.",
            given=", ".join(sites)[:80],
            allowed=", ".join(allowed),
        )


def _check_content(headers: dict[str, list[str]]) -> None:
    length = headers.get("content-length", ["0"])
    if length == ["0"] and "transfer-encoding" not in headers and "content-type" not in headers:
        return
    kinds = [kind.split(";")[0].strip().lower() for kind in headers.get("content-type", [])]
    if len(kinds) != 1 or kinds[0] not in CONTENT:
        raise _RefusedError(
            415,
            "Content of this kind is not taken.",
            "Send JSON, or a file as application/octet-stream.",
            given=", ".join(kinds)[:80] or "no content type",
            allowed=", ".join(CONTENT),
        )


def _check_device(scope: Scope, device: str) -> None:
    path = scope["path"]
    if not path.startswith("/api"):
        return
    if device == STRANGER and (scope.get("method", ""), path) not in OPEN_TO_STRANGERS:
        raise _RefusedError(
            401,
            "This device is not paired with the workbench.",
            "On the laptop choose Pair a phone, then scan the code or type it here.",
        )
    if device != LAPTOP and path.startswith(LAPTOP_ONLY):
        raise _RefusedError(
            403,
            "Pairing is looked after on the laptop alone.",
            "Do this on the machine that runs `dabchick serve`.",
        )


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    if client is None:
        return False
    try:
        address = ipaddress.ip_address(client[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return (mapped or address).is_loopback


def _came_by(scope: Scope, addresses: tuple[str, ...]) -> bool:
    """The connection ends at one of these addresses of this machine."""
    server = scope.get("server")
    return server is not None and server[0] in addresses


def _with_headers(send: Send, scope: Scope, *, own: bool) -> Send:
    """Adds the safety headers to whatever answer goes out; `own`: to this machine itself."""
    in_api = scope["path"].startswith("/api")

    async def guarded(message: Message) -> None:
        if message["type"] in ("http.response.start", "websocket.http.response.start"):
            present = {name.lower() for name, _ in message.get("headers", [])}
            extra = [
                (b"x-content-type-options", b"nosniff"),
                (b"referrer-policy", b"no-referrer"),
                (b"cross-origin-resource-policy", b"same-origin"),
                (b"content-security-policy", (ANSWER_POLICY if in_api else PAGE_POLICY).encode()),
            ]
            if own:
                # Over plain HTTP in the network a browser ignores it, and complains of it on every page.
                extra.append((b"cross-origin-opener-policy", b"same-origin"))
            if in_api:
                extra.append((b"cache-control", b"no-store"))
            else:
                extra.append((b"x-frame-options", b"DENY"))
            added = [entry for entry in extra if entry[0] not in present]
            message = {**message, "headers": [*message.get("headers", []), *added]}
        await send(message)

    return guarded


async def refuse(
    send: Send, status: int, advice: Advice, *, head: bool = False, kind: str = "http.response"
) -> None:
    """Send one advice in the API's error shape."""
    # not by the shape's own class: that would bring pydantic, which the first page need not wait for
    content = json.dumps({"advice": [asdict(advice)]}, ensure_ascii=False).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(content)).encode())]
    await send({"type": f"{kind}.start", "status": status, "headers": headers})
    await send({"type": f"{kind}.body", "body": b"" if head else content})


async def refuse_socket(scope: Scope, receive: Receive, send: Send, status: int, advice: Advice) -> None:
    """Refuse a channel before it is open."""
    await receive()  # the wish to connect
    if "websocket.http.response" in scope.get("extensions", {}):
        await refuse(send, status, advice, kind="websocket.http.response")
    else:
        await send({"type": "websocket.close", "code": 1008, "reason": advice.what[:120]})
