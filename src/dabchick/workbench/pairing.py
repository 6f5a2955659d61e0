"""Letting a phone in: a code shown on the laptop and used once, and a cookie that can be taken back.

Kept on disk are digests of the cookies, never the cookies; the code is kept nowhere.
"""

import hashlib
import hmac
import json
import logging
import os
import secrets
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.atomic import write_atomic
from dabchick.workbench.settings import Settings

log = logging.getLogger("dabchick.workbench")

ALPHABET: Final = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Without 0, 1, I, L, O and U, which are misread."""
CODE_LENGTH: Final = 8
CODE_SECONDS: Final = 300.0
MOST_TRIES: Final = 5
MOST_DEVICES: Final = 40
SEEN_EACH_S: Final = 600.0
"""`seen` goes to disk this often at most."""


@dataclass(frozen=True)
class PairedDevice:
    """A device that was let in; times in seconds since 1970."""

    device: str
    name: str
    digest: str
    """Of its cookie."""
    paired: float
    seen: float


@dataclass(frozen=True)
class FreshCode:
    """A code as it is shown on the laptop."""

    code: str
    expires: float


class WrongCodeError(BoatError):
    """The code is wrong, used, expired, or was tried too often."""

    status = 403


class Pairing:
    """The one code that is good now, and the devices."""

    def __init__(self, settings: Settings, clock: Callable[[], float] = time.time) -> None:
        self._settings = settings
        self._clock = clock
        self._lock = threading.Lock()
        self._code: FreshCode | None = None
        self._tries = 0
        self._devices = _read(settings.devices_file)
        self._written = 0.0

    def fresh_code(self) -> FreshCode:
        """A new code; the one before is good no longer."""
        code = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        with self._lock:
            self._code = FreshCode(code, self._clock() + CODE_SECONDS)
            self._tries = 0
            return self._code

    def link(self, code: str) -> str:
        """What the QR code holds."""
        return f"{self._settings.lan_address}#/pair?code={code}"

    def pair(self, typed: str, name: str) -> tuple[PairedDevice, str]:
        """A new device and its cookie. Raises WrongCodeError."""
        given = "".join(typed.upper().split()).replace("-", "")
        with self._lock:
            now = self._clock()
            self._tries += 1
            good = self._code
            if good is None or now >= good.expires or self._tries > MOST_TRIES:
                self._code = None
                raise WrongCodeError(_STALE)
            if not hmac.compare_digest(given.encode(), good.code.encode()):
                if self._tries >= MOST_TRIES:
                    self._code = None
                    raise WrongCodeError(_STALE)
                raise WrongCodeError(_wrong(MOST_TRIES - self._tries))
            self._code = None
            token = secrets.token_urlsafe(32)
            device = PairedDevice(secrets.token_urlsafe(9), name.strip() or "phone", _digest(token), now, now)
            self._devices = [*self._devices, device][-MOST_DEVICES:]
            self._write()
            return device, token

    def device_of(self, token: str) -> str | None:
        """The device with this cookie, marked as seen now."""
        digest = _digest(token)
        with self._lock:
            found = None
            for device in self._devices:  # all of them, so that the time taken tells nothing
                if hmac.compare_digest(device.digest, digest):
                    found = device
            if found is None:
                return None
            now = self._clock()
            self._devices = [replace(d, seen=now) if d is found else d for d in self._devices]
            if now - self._written > SEEN_EACH_S:
                self._write()
            return found.device

    def devices(self) -> list[PairedDevice]:
        """Every paired device, the newest first."""
        with self._lock:
            return sorted(self._devices, key=lambda device: -device.paired)

    def named(self, device: str) -> PairedDevice | None:
        """The device of this id."""
        with self._lock:
            return next((entry for entry in self._devices if entry.device == device), None)

    def revoke(self, device: str) -> bool:
        """Let a device in no longer; False when there is none of this id."""
        with self._lock:
            left = [entry for entry in self._devices if entry.device != device]
            gone = len(left) < len(self._devices)
            self._devices = left
            if gone:
                self._write()
            return gone

    def _write(self) -> None:
        file = self._settings.devices_file
        self._written = self._clock()
        if file is None:
            return
        text = json.dumps({"devices": [asdict(device) for device in self._devices]}, indent=1)
        try:
            file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            if not file.exists():
                os.close(os.open(file, os.O_CREAT | os.O_WRONLY, 0o600))
            write_atomic(file, text.encode())
        except (OSError, BoatError) as fault:
            log.warning("The list of paired devices could not be kept: %s", fault)


_STALE: Final = Advice(
    what="This code is no longer good.",
    todo="Choose Pair a phone on the laptop once more: a code is good for five minutes, once, and for five tries.",
    where="code",
    key="code",
)


def _wrong(left: int) -> Advice:
    return Advice(
        what="This is not the code that the laptop shows.",
        todo=f"Type it once more; {left} {'try' if left == 1 else 'tries'} left.",
        where="code",
        key="code",
        allowed=f"{CODE_LENGTH} letters and digits",
    )


def devices_file() -> Path | None:
    """Where paired devices are kept for this user; `DABCHICK_CONFIG` names another folder, or `off`."""
    chosen = os.environ.get("DABCHICK_CONFIG", "")
    if chosen == "off":
        return None
    if chosen:
        return Path(chosen) / "devices.json"
    if sys.platform == "win32":
        base = os.environ.get("APPDATA")
        return Path(base) / "dabchick" / "devices.json" if base else None
    home = Path.home() / ("Library/Application Support" if sys.platform == "darwin" else ".config")
    return Path(os.environ.get("XDG_CONFIG_HOME") or home) / "dabchick" / "devices.json"


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _read(file: Path | None) -> list[PairedDevice]:
    if file is None or not file.exists():
        return []
    try:
        rows = json.loads(file.read_text("utf-8"))["devices"]
        return [PairedDevice(**row) for row in rows]
    except (OSError, ValueError, TypeError, KeyError) as fault:
        log.warning(
            "The list of paired devices cannot be read, so every phone has to be paired again: %s", fault
        )
        return []
