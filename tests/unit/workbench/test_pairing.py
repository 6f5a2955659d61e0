"""Pairing: codes that are good once and for a while, devices that last and can be taken off the list."""

import json
import stat
import sys
from pathlib import Path

import pytest

from dabchick.workbench.guard import COOKIE
from dabchick.workbench.pairing import (
    ALPHABET,
    CODE_LENGTH,
    CODE_SECONDS,
    MOST_DEVICES,
    MOST_TRIES,
    Pairing,
    WrongCodeError,
    devices_file,
)
from dabchick.workbench.site import Site
from tests.support.workbench import LAN, PORT, phone, served, settings, words


class Clock:
    now = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now


def pairing(tmp_path: Path, clock: Clock | None = None) -> Pairing:
    return Pairing(settings(tmp_path, lan=True, devices=tmp_path / "own" / "devices.json"), clock or Clock())


def test_a_code_has_eight_letters_that_nobody_misreads_and_is_never_the_same(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    codes = {keeper.fresh_code().code for _ in range(200)}
    assert len(codes) == 200
    assert all(len(code) == CODE_LENGTH == 8 and set(code) <= set(ALPHABET) for code in codes)
    assert not set(ALPHABET) & set("01ILOU")


def test_a_code_pairs_once_however_it_is_typed(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    code = keeper.fresh_code().code
    device, token = keeper.pair(f" {code[:4].lower()}-{code[4:].lower()} ", "  my phone ")
    assert device.name == "my phone"
    assert keeper.device_of(token) == device.device
    with pytest.raises(WrongCodeError, match="no longer good"):
        keeper.pair(code, "another")


def test_a_code_ends_after_five_minutes(tmp_path: Path) -> None:
    clock = Clock()
    keeper = pairing(tmp_path, clock)
    code = keeper.fresh_code()
    assert code.expires == clock.now + CODE_SECONDS == clock.now + 300
    clock.now += 300
    with pytest.raises(WrongCodeError, match="no longer good"):
        keeper.pair(code.code, "late")


def test_five_wrong_tries_end_a_code(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    code = keeper.fresh_code().code
    for left in range(MOST_TRIES - 1, 0, -1):
        with pytest.raises(WrongCodeError, match=f"{left} tr"):
            keeper.pair("AAAAAAAA", "thief")
    with pytest.raises(WrongCodeError, match="no longer good"):
        keeper.pair("AAAAAAAA", "thief")
    with pytest.raises(WrongCodeError, match="no longer good"):
        keeper.pair(code, "too late")
    keeper.pair(keeper.fresh_code().code, "a fresh one is good again")


def test_a_fresh_code_ends_the_one_before(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    old, new = keeper.fresh_code().code, keeper.fresh_code().code
    with pytest.raises(WrongCodeError):
        keeper.pair(old, "phone")
    keeper.pair(new, "phone")


def test_without_a_code_nobody_pairs(tmp_path: Path) -> None:
    with pytest.raises(WrongCodeError):
        pairing(tmp_path).pair("", "phone")


def test_devices_last_over_a_restart_as_digests_for_the_owner_alone(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    device, token = keeper.pair(keeper.fresh_code().code, "phone")
    file = tmp_path / "own" / "devices.json"
    assert token not in file.read_text()
    if sys.platform != "win32":
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    again = pairing(tmp_path)
    assert again.device_of(token) == device.device
    assert again.device_of(token + "x") is None
    assert again.device_of("") is None


def test_a_device_taken_off_the_list_stays_off(tmp_path: Path) -> None:
    keeper = pairing(tmp_path)
    _, first = keeper.pair(keeper.fresh_code().code, "first")
    device, second = keeper.pair(keeper.fresh_code().code, "second")
    assert keeper.revoke(device.device)
    assert not keeper.revoke(device.device)
    for kept in (keeper, pairing(tmp_path)):
        assert kept.device_of(second) is None
        assert kept.device_of(first) is not None
        assert [entry.name for entry in kept.devices()] == ["first"]


def test_seen_is_the_last_time_and_the_list_is_bounded(tmp_path: Path) -> None:
    clock = Clock()
    keeper = pairing(tmp_path, clock)
    _, token = keeper.pair(keeper.fresh_code().code, "phone")
    clock.now += 50
    keeper.device_of(token)
    assert keeper.devices()[0].seen == clock.now
    for number in range(MOST_DEVICES):
        clock.now += 1
        keeper.pair(keeper.fresh_code().code, f"phone {number}")
    assert len(keeper.devices()) == MOST_DEVICES
    assert keeper.device_of(token) is None, "the oldest goes first"


@pytest.mark.parametrize("content", ["", "{", "[]", '{"devices": [{"device": 1}]}', "\udcff"])
def test_a_damaged_list_lets_nobody_in_and_stops_nothing(tmp_path: Path, content: str) -> None:
    file = tmp_path / "own" / "devices.json"
    file.parent.mkdir()
    file.write_bytes(content.encode("utf-8", "surrogateescape"))
    keeper = pairing(tmp_path)
    assert keeper.devices() == []
    keeper.pair(keeper.fresh_code().code, "phone")
    assert len(json.loads(file.read_text())["devices"]) == 1


def test_where_the_list_is_kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DABCHICK_CONFIG", str(tmp_path))
    assert devices_file() == tmp_path / "devices.json"
    monkeypatch.setenv("DABCHICK_CONFIG", "off")
    assert devices_file() is None


def test_a_phone_is_let_in_and_put_out_again(tmp_path: Path) -> None:
    site = Site(settings(tmp_path, lan=True), tmp_path)
    with served(site) as laptop:
        stranger = phone(laptop)
        assert stranger.get("/api/me").json() == {"laptop": False, "paired": False, "device": "", "lan": True}
        assert stranger.get("/api/jobs/x").status_code == 401
        shown = laptop.get("/api/pairing").json()
        assert shown["address"] == f"http://{LAN}:{PORT}/"
        assert shown["qr_svg"].startswith("<svg")
        wrong = stranger.post("/api/pair", json={"code": "22222222"})
        assert wrong.status_code == 403
        assert "4 tries left" in words(wrong)
        paired = stranger.post("/api/pair", json={"code": shown["code"], "device": "Ann's phone"})
        assert paired.json() == {"laptop": False, "paired": True, "device": "Ann's phone", "lan": True}
        cookie = paired.headers["set-cookie"].lower()
        assert cookie.startswith(COOKIE)
        for word in ("httponly", "samesite=strict", "path=/"):
            assert word in cookie
        assert stranger.get("/api/jobs/x").status_code == 404, "it is in: there is just no such job"
        listed = laptop.get("/api/devices").json()
        assert [entry["name"] for entry in listed] == ["Ann's phone"]
        assert laptop.delete(f"/api/devices/{listed[0]['device']}").json() == []
        assert stranger.get("/api/jobs/x").status_code == 401
        assert laptop.delete(f"/api/devices/{listed[0]['device']}").status_code == 404


def test_without_lan_there_is_nothing_to_pair(tmp_path: Path) -> None:
    with served(Site(settings(tmp_path), tmp_path)) as laptop:
        answer = laptop.get("/api/pairing")
        assert answer.status_code == 409
        assert "--lan" in words(answer)
        assert laptop.post("/api/pair", json={"code": "22222222"}).status_code == 409
