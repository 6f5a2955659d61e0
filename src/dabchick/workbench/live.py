"""The live channel of one boat: what-ifs answered at once, and word of every change and piece of work."""

import asyncio
import json
import logging
from collections.abc import Callable
from typing import Final, TypeVar

import anyio
from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench.answers import answer
from dabchick.workbench.bench import Bench, Change
from dabchick.workbench.errors import OWN_FAULT
from dabchick.workbench.jobs import Job, Jobs
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.live import Answer, Ask, Changed, Hello, JobTold, Refused
from dabchick.workbench.shelf import Shelf

log = logging.getLogger("dabchick.workbench")

Word = TypeVar("Word")
Told = Answer | Refused | Changed | JobTold | Hello

MOST_LETTERS: Final = 100_000
"""Of one message; two hundred changes need about 20,000."""
AT_ONCE: Final = 2
"""Asks worked out at the same time, all boats and pages together."""
NO_SEQ: Final = -1
"""Stands in a refusal of what could not be read, whose number is not known."""
UNKNOWN_BOAT: Final = 4404
"""The code with which a channel to a boat that is not there is closed."""

_TOO_LONG = Advice(
    what="The message is too long to be read.", todo="Load the page again.", allowed=f"{MOST_LETTERS} letters"
)
_NO_TEXT = Advice(what="The message is no text.", todo="Load the page again.", allowed="JSON text")
_NEVER_RIGHT = Advice(
    what="The boat file has not been right yet, so there is nothing to work out.",
    todo="Put right what is marked in it.",
)


def router(shelf: Shelf, jobs: Jobs) -> APIRouter:
    """The live channel."""
    routes = APIRouter(tags=["live"])
    turns = asyncio.Semaphore(AT_ONCE)

    @routes.websocket("/api/boats/{boat}/live")
    async def live(socket: WebSocket, boat: str) -> None:
        await socket.accept()
        try:
            bench = await run_in_threadpool(shelf.bench, boat)
        except BoatError as fault:
            await socket.send_text(_refused(NO_SEQ, 0, *fault.advice).model_dump_json())
            await socket.close(UNKNOWN_BOAT)
            return
        await Channel(socket, bench, turns).run(jobs)

    return routes


class Channel:
    """One page at one boat."""

    def __init__(self, socket: WebSocket, bench: Bench, turns: asyncio.Semaphore) -> None:
        self._socket = socket
        self._bench = bench
        self._turns = turns
        self._loop = asyncio.get_running_loop()
        self._asked: Ask | None = None
        self._something_asked = asyncio.Event()
        self._to_tell: dict[str, Told] = {}
        """The newest word of each kind: a page that is slow to read misses old ones, never the last."""
        self._something_to_tell = asyncio.Event()

    async def run(self, jobs: Jobs) -> None:
        """Until the page goes away."""
        stops: list[Callable[[], None]] = [
            self._bench.subscribe(self._from_any_thread(self._changed)),
            jobs.listen(self._from_any_thread(self._job)),
        ]
        self._tell("hello", Hello(revision=self._bench.revision))
        try:
            async with anyio.create_task_group() as work:
                work.start_soon(self._work_out)
                work.start_soon(self._speak)
                await self._hear()
                work.cancel_scope.cancel()
        finally:
            for stop in stops:
                stop()

    def _from_any_thread(self, heard: Callable[[Word], None]) -> Callable[[Word], None]:
        def pass_on(word: Word) -> None:
            if not self._loop.is_closed():
                self._loop.call_soon_threadsafe(heard, word)

        return pass_on

    def _tell(self, kind: str, word: Told) -> None:
        self._to_tell.pop(kind, None)
        self._to_tell[kind] = word
        self._something_to_tell.set()

    def _changed(self, change: Change) -> None:
        self._tell("changed", Changed(revision=change.revision, what=change.what, by=change.by))

    def _job(self, job: Job) -> None:
        if job.boat == self._bench.name:
            told = JobTold(job=job.job, state=job.state, text=job.text, share=job.share)
            self._tell(f"job {job.job}", told)

    async def _hear(self) -> None:
        while (message := await self._socket.receive())["type"] != "websocket.disconnect":
            text = message.get("text")
            if text is None:
                self._refuse(NO_SEQ, _NO_TEXT)
            elif len(text) > MOST_LETTERS:
                self._refuse(NO_SEQ, _TOO_LONG)
            else:
                self._read(text)

    def _read(self, text: str) -> None:
        try:
            ask = Ask.model_validate_json(text)
        except ValidationError as fault:
            self._refuse(_seq(text), *misfits(fault))
            return
        self._asked = ask
        self._something_asked.set()

    async def _work_out(self) -> None:
        while True:
            await self._something_asked.wait()
            async with self._turns:
                self._something_asked.clear()
                ask, self._asked = self._asked, None
                if ask is not None:
                    self._tell("answer", await run_in_threadpool(self._answered, ask))

    def _answered(self, ask: Ask) -> Told:
        """In a thread of its own, so that the channel stays open meanwhile."""
        now = self._bench.now
        if now.right is None:
            return _refused(ask.seq, now.revision, *(now.advice or (_NEVER_RIGHT,)))
        try:
            return answer(now.right.vessel, ask, now.revision)
        except BoatError as fault:
            return _refused(ask.seq, now.revision, *fault.advice)
        except Exception:
            # One what-if that goes wrong must not close the channel; the page is told, the log has the whole of it.
            log.exception("A what-if could not be worked out.")
            return _refused(ask.seq, now.revision, OWN_FAULT)

    def _refuse(self, seq: int, *advice: Advice) -> None:
        self._tell("refused", _refused(seq, self._bench.revision, *advice))

    async def _speak(self) -> None:
        while True:
            await self._something_to_tell.wait()
            self._something_to_tell.clear()
            while self._to_tell:
                told = self._to_tell.pop(next(iter(self._to_tell)))
                try:
                    await self._socket.send_text(told.model_dump_json())
                except WebSocketDisconnect:
                    return  # the page has gone; `_hear` is told so too


def _seq(text: str) -> int:
    """The number of an ask that does not fit, where it can be read: the page waits for an answer to it."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return NO_SEQ
    seq = found.get("seq") if isinstance(found, dict) else None
    return seq if type(seq) is int and abs(seq) < 2**53 else NO_SEQ


def misfits(fault: ValidationError) -> list[Advice]:
    """What does not fit in a message, as advice that names the field."""
    found = []
    for entry in fault.errors(include_url=False, include_context=False):
        key = ".".join(str(part) for part in entry["loc"])
        given = entry["input"] if isinstance(entry["input"], str | int | float | bool) else ""
        found.append(
            Advice(
                what=f"{key or 'The message'}: {entry['msg'][:1].lower()}{entry['msg'][1:]}.",
                todo=f"Correct {key or 'it'} and ask again.",
                where="message",
                key=key,
                given=str(given)[:80],
            )
        )
    return found[:20]


def _refused(seq: int, revision: int, *advice: Advice) -> Refused:
    return Refused(seq=seq, revision=revision, advice=[AdviceOut.of(entry) for entry in advice])
