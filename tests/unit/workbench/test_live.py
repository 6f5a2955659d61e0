"""The live channel: the newest ask is answered, a bad one never ends it, and every page hears of every change."""

import shutil
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib.resources import as_file, files
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from dabchick.studies.afloat import run
from dabchick.studies.glance import dived
from dabchick.workbench import errors, live
from dabchick.workbench.answers import answer
from dabchick.workbench.shapes.live import Answer, Ask
from dabchick.workbench.shelf import Shelf

URL = "/api/boats/wren/live"


@dataclass
class Heard:
    """Jobs that a test tells of itself."""

    listeners: list[Callable[[Any], None]] = field(default_factory=list)

    def listen(self, heard: Callable[[Any], None]) -> Callable[[], None]:
        self.listeners.append(heard)
        return lambda: self.listeners.remove(heard)


@dataclass
class Bath:
    client: TestClient
    shelf: Shelf
    jobs: Heard


@pytest.fixture
def bath(tmp_path: Path) -> Iterator[Bath]:
    with as_file(files("dabchick.data") / "demo" / "wren") as demo:
        shutil.copytree(demo, tmp_path / "wren")
    shelf, jobs = Shelf(tmp_path), Heard()
    app = FastAPI()
    errors.install(app)
    app.include_router(live.router(shelf, jobs))  # type: ignore[arg-type]
    with TestClient(app) as client:
        yield Bath(client, shelf, jobs)


def ask(seq: int, share: float = 0.0, *changes: dict[str, Any]) -> dict[str, Any]:
    return {"kind": "ask", "seq": seq, "fills": {"tank[1]": share}, "changes": list(changes)}


def _told(socket: Any, kind: str) -> dict[str, Any]:
    """The next word of a kind; whatever else is said before is passed over."""
    while True:
        word = socket.receive_json()
        if word["kind"] == kind:
            return word


def test_an_ask_is_answered_with_the_figures_of_the_studies(bath: Bath) -> None:
    vessel = bath.shelf.bench("wren").right.vessel
    with bath.client.websocket_connect(URL) as page:
        assert page.receive_json() == {"kind": "hello", "revision": 1}
        page.send_json(ask(3, 0.4))
        told = Answer.model_validate(_told(page, "answer"))
    lie = run(vessel, 0.4).lie
    assert (told.seq, told.revision) == (3, 1)
    assert told.lie.draught_bow.value == lie.draught_bow_m.value
    assert told.lie.trim.value == lie.trim_deg.value
    assert told.now.state == "tank 40 %"
    assert told.dived.rows[0].figure.value == dived(vessel).lift_kg.value
    (tank,) = told.tanks
    assert tank.key == "tank[1]"
    # 76 mm of stroke in a bore of 64 mm, 40 % of it
    assert tank.amount.replace("\u00a0", " ") == "97.8 ml"
    assert len(tank.water.positions) % 3 == 0 == len(tank.water.indices) % 3
    assert max(tank.water.indices) < len(tank.water.positions) / 3


def test_changes_are_tried_and_not_saved(bath: Bath) -> None:
    bench = bath.shelf.bench("wren")
    text = bench.text
    with bath.client.websocket_connect(URL) as page:
        page.send_json(ask(1))
        plain = _told(page, "answer")
        page.send_json(ask(2, 0.0, {"key": "part[4]", "shift_m": [0.0, 0.01, 0.0], "mass": "20 oz"}))
        tried = _told(page, "answer")
        page.send_json(ask(3))
        again = _told(page, "answer")
    # 20 oz for 506 g; 10 mm to port
    gained = tried["lie"]["mass"]["value"] - plain["lie"]["mass"]["value"]
    assert gained == pytest.approx(20 * 0.028349523125 - 0.506, abs=1e-12)
    assert tried["lie"]["heel"]["value"] < plain["lie"]["heel"]["value"]
    assert again["lie"] == plain["lie"]
    assert bench.text == text


@pytest.mark.parametrize(
    ("message", "seq", "word"),
    [
        ("no json", -1, "json"),
        ("[1, 2]", -1, "message"),
        ('{"kind": "ask", "seq": 8}', 8, "fills"),
        ('{"kind": "ask", "seq": 8, "fills": {"tank[1]": 1.5}}', 8, "fills.tank[1]"),
        ('{"kind": "ask", "seq": 8, "fills": {"tank[1]": NaN}}', 8, "finite"),
        ('{"kind": "ask", "seq": 8, "fills": {}, "more": 1}', 8, "more"),
        ('{"kind": "ask", "seq": 8, "fills": {"bilge": 0.5}}', 8, "no tank named 'bilge'"),
        ('{"kind": "ask", "seq": 8, "fills": {}, "changes": [{"key": "part[99]"}]}', 8, "part[99]"),
        (
            '{"kind": "ask", "seq": 8, "fills": {}, "changes": [{"key": "part[4]", "mass": "7 mm"}]}',
            8,
            "mass",
        ),
        (
            '{"kind": "ask", "seq": 8, "fills": {}, "changes": [{"key": "part[4]", "mass": "-7 g"}]}',
            8,
            "mass",
        ),
        (
            '{"kind": "ask", "seq": 8, "fills": {}, "changes": [{"key": "part[4]"}, {"key": "part[4]"}]}',
            8,
            "twice",
        ),
        ('{"kind": "ask", "seq": 8, "fills": {"' + "x" * live.MOST_LETTERS + '": 0.5}}', -1, "too long"),
        ("[" * 5000, -1, "json"),
    ],
)
def test_what_cannot_be_is_refused_and_the_channel_lives_on(
    bath: Bath, message: str, seq: int, word: str
) -> None:
    with bath.client.websocket_connect(URL) as page:
        page.send_text(message)
        told = _told(page, "refused")
        assert told["advice"]
        assert all(entry["what"] and entry["todo"] for entry in told["advice"])
        assert word in " ".join(f"{entry['what']} {entry['key']}" for entry in told["advice"]).lower()
        if seq >= 0:
            assert told["seq"] == seq
        page.send_json(ask(9))
        assert _told(page, "answer")["seq"] == 9


def test_bytes_are_refused_and_the_channel_lives_on(bath: Bath) -> None:
    with bath.client.websocket_connect(URL) as page:
        page.send_bytes(b"\x00\x01")
        assert _told(page, "refused")["seq"] == -1
        page.send_json(ask(1))
        assert _told(page, "answer")["seq"] == 1


def test_a_fault_of_our_own_is_told_and_the_channel_lives_on(
    bath: Bath, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> Answer:
        raise ZeroDivisionError

    with bath.client.websocket_connect(URL) as page:
        with monkeypatch.context() as patch:
            patch.setattr(live, "answer", broken)
            page.send_json(ask(1))
            told = _told(page, "refused")
        assert (told["seq"], told["advice"][0]["what"]) == (1, errors.OWN_FAULT.what)
        page.send_json(ask(2))
        assert _told(page, "answer")["seq"] == 2


def test_of_asks_that_wait_only_the_newest_is_worked_out(bath: Bath, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on, worked_out = threading.Event(), threading.Event(), []

    def slow(vessel: Any, asked: Ask, revision: int) -> Answer:
        worked_out.append(asked.seq)
        begun.set()
        assert go_on.wait(20.0)
        return answer(vessel, asked, revision)

    monkeypatch.setattr(live, "answer", slow)
    with bath.client.websocket_connect(URL) as page:
        page.send_json(ask(1))
        assert begun.wait(20.0)
        for seq in (2, 3, 4):
            page.send_json(ask(seq, 0.1 * seq))
        # the channel stays open while it works: this one is refused at once, and read after the three
        page.send_text("no json")
        assert _told(page, "refused")["seq"] == -1
        go_on.set()
        seen = []
        while 4 not in seen:
            seen.append(_told(page, "answer")["seq"])
    assert worked_out == [1, 4]


def test_every_page_hears_of_a_change(bath: Bath) -> None:
    bench = bath.shelf.bench("wren")
    with bath.client.websocket_connect(URL) as one, bath.client.websocket_connect(URL) as other:
        _told(one, "hello"), _told(other, "hello")
        bench.edit("Weigh battery", lambda text: text.replace('"506 g"', '"510 g"'), base=1, by="phone")
        for page in (one, other):
            assert _told(page, "changed") == {
                "kind": "changed", "revision": 2, "what": "Weigh battery", "by": "phone"
            }  # fmt: skip
        one.send_json(ask(1))
        told = _told(one, "answer")
        assert told["revision"] == 2
        assert told["lie"]["mass"]["value"] == pytest.approx(run(bench.right.vessel, 0.0).lie.mass_kg.value)


def test_a_faulty_text_is_answered_from_the_last_right_one(bath: Bath) -> None:
    bench = bath.shelf.bench("wren")
    mass = run(bench.right.vessel, 0.0).lie.mass_kg.value
    bench.edit("Slip", lambda text: text.replace('"506 g"', '"506 mm"'), base=1)
    assert bench.faulty
    with bath.client.websocket_connect(URL) as page:
        page.send_json(ask(1))
        assert _told(page, "answer")["lie"]["mass"]["value"] == mass


def test_a_boat_that_never_was_right_says_what_is_wrong(bath: Bath, tmp_path: Path) -> None:
    (tmp_path / "dud").mkdir()
    (tmp_path / "dud" / "boat.toml").write_text("dabchick = 1\n")
    with bath.client.websocket_connect("/api/boats/dud/live") as page:
        page.send_json(ask(4))
        told = _told(page, "refused")
    assert told["seq"] == 4
    assert any(entry["severity"] == "error" for entry in told["advice"])


def test_a_boat_that_is_not_there_is_refused_and_closed(bath: Bath) -> None:
    with bath.client.websocket_connect("/api/boats/nobody/live") as page:
        assert page.receive_json()["kind"] == "refused"
        with pytest.raises(WebSocketDisconnect) as closed:
            page.receive_json()
    assert closed.value.code == live.UNKNOWN_BOAT


def test_only_the_jobs_of_this_boat_are_told(bath: Bath) -> None:
    def job(name: str, boat: str) -> SimpleNamespace:
        return SimpleNamespace(job=name, boat=boat, state="running", text="Working", share=0.5)

    with bath.client.websocket_connect(URL) as page:
        _told(page, "hello")
        for entry in (job("a", "other"), job("b", "wren")):
            for listener in list(bath.jobs.listeners):
                listener(entry)
        told = _told(page, "job")
    assert (told["job"], told["text"], told["share"]) == ("b", "Working", 0.5)


def test_a_page_that_left_is_told_nothing_more(bath: Bath) -> None:
    bench = bath.shelf.bench("wren")
    with bath.client.websocket_connect(URL) as page:
        _told(page, "hello")
        assert bench.listened_to
        assert len(bath.jobs.listeners) == 1
    with bath.client.websocket_connect(URL) as page:  # the first one's end has been dealt with by now
        _told(page, "hello")
    with bath.client.websocket_connect(URL) as page:
        _told(page, "hello")
        assert len(bath.jobs.listeners) == 1


def test_eight_pages_ask_at_once_and_each_hears_its_last(bath: Bath) -> None:
    last: dict[int, dict[str, Any]] = {}

    def page(number: int) -> None:
        with bath.client.websocket_connect(URL) as socket:
            for seq in range(1, 13):
                socket.send_json(ask(seq, (seq + number) / 30.0))
            told = {"seq": 0}
            while told["seq"] < 12:
                told = _told(socket, "answer")
            last[number] = told

    threads = [threading.Thread(target=page, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60.0)
    assert sorted(last) == list(range(8))
    for number, told in last.items():
        assert told["tanks"][0]["share"] == pytest.approx((12 + number) / 30.0)
