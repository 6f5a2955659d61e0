"""Long work in a process of its own: it says how far it is, can be killed at once, and has limits of time and memory.

The work is named by a function of a module, so that a fresh process can find it: `work(tell, *arguments)`, where `tell`
takes a text and a share from 0 to 1. Arguments and result are pickled.
"""

import contextlib
import logging
import multiprocessing
import os
import secrets
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from typing import Any, Final, Literal, TypeVar

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench.errors import NotThere, Refused

log = logging.getLogger("dabchick.workbench")

Tell = Callable[[str, float], None]
State = Literal["running", "done", "failed", "cancelled"]

AT_ONCE: Final = 2
"""Jobs that run at the same time; others wait."""
MOST_WAITING: Final = 12
KEPT: Final = 40
KEPT_S: Final = 1800.0
"""Ended jobs kept: so many, and so long."""
USUAL_SECONDS: Final = 120.0
USUAL_MEMORY_MB: Final = 2000
WARM_UP_S: Final = 2.0
"""The first pages come first."""
PRELOAD: Final = "dabchick.workbench.job_preload"


Answer = TypeVar("Answer")


@dataclass(eq=False)
class Job:
    """One piece of work; `result` is there when it is done."""

    what: str
    seconds: float
    memory_mb: int
    job: str = field(default_factory=lambda: secrets.token_urlsafe(16))
    boat: str = ""
    """The boat it is about; its pages are told how it goes."""
    state: State = "running"
    text: str = "Waiting for its turn"
    share: float = 0.0
    advice: tuple[Advice, ...] = ()
    result: Any = None
    ended: float | None = None
    over: threading.Event = field(default_factory=threading.Event)


class Jobs:
    """All the long work of one server."""

    def __init__(self) -> None:
        self._context = _context()
        self._lock = threading.Lock()
        self._turns = threading.BoundedSemaphore(AT_ONCE)
        self._jobs: dict[str, Job] = {}
        self._processes: dict[str, BaseProcess] = {}
        self._threads: set[threading.Thread] = set()
        self._listeners: list[Callable[[Job], None]] = []
        self._closed = False
        self._warming: threading.Timer | None = None

    def warm_up(self, after_s: float = WARM_UP_S) -> None:
        """Soon have the helper ready that new processes come from, so that the first job starts quickly."""
        if self._context.get_start_method() == "forkserver":
            from multiprocessing import forkserver

            self._warming = threading.Timer(after_s, forkserver.ensure_running)
            self._warming.daemon = True
            self._warming.start()

    def start(
        self,
        what: str,
        work: Callable[..., Any],
        *arguments: Any,
        boat: str = "",
        seconds: float = USUAL_SECONDS,
        memory_mb: int = USUAL_MEMORY_MB,
        then: Callable[[Any], Any] | None = None,
    ) -> Job:
        """Begin a piece of work. `then` is called here with the result; what it gives is kept instead.

        Raises Refused when too much work is waiting already.
        """
        job = Job(what, seconds, memory_mb, boat=boat)
        thread = threading.Thread(
            target=self._follow, args=(job, work, arguments, then), name=f"job: {what}", daemon=True
        )
        with self._lock:
            self._forget_old()
            running = sum(entry.state == "running" for entry in self._jobs.values())
            if self._closed or running >= AT_ONCE + MOST_WAITING:
                raise Refused(429, _BUSY)
            self._jobs[job.job] = job
            self._threads.add(thread)
        thread.start()
        return job

    def get(self, job: str) -> Job:
        """The job of this id. Raises NotThere."""
        with self._lock:
            found = self._jobs.get(job)
        if found is None:
            raise NotThere(
                "This piece of work is not known any more.",
                "Start it once more; an answer is kept for half an hour.",
            )
        return found

    def done(self, job: str) -> Any:
        """The result of a job. Raises its advice where it failed, Refused while it still runs."""
        found = self.get(job)
        if found.state == "done":
            return found.result
        if found.state == "failed":
            raise BoatError(*found.advice)
        running = found.state == "running"
        raise Refused(
            409,
            Advice(
                what="This piece of work is not done yet."
                if running
                else "This piece of work was cancelled.",
                todo="Wait for its end." if running else "Start it once more.",
            ),
        )

    def answer(self, job: str, kind: type[Answer]) -> Answer:
        """The result of a job, which must be of this kind. Raises as `done` does, and NotThere for another kind."""
        result = self.done(job)
        if not isinstance(result, kind):
            raise NotThere("This piece of work has no answer of this kind.", "Start it once more.")
        return result

    def cancel(self, job: str) -> Job:
        """Kill a job at once; one that has ended stays as it is."""
        found = self.get(job)
        self._end(found, "cancelled", text="Cancelled")
        self._kill(found)
        return found

    def listen(self, heard: Callable[[Job], None]) -> Callable[[], None]:
        """Have `heard` called, from any thread, whenever a job gets on; returns what stops it."""
        with self._lock:
            self._listeners.append(heard)

        def stop() -> None:
            with self._lock, contextlib.suppress(ValueError):
                self._listeners.remove(heard)

        return stop

    def close(self) -> None:
        """Kill everything; no job outlives the server."""
        if self._warming is not None:
            self._warming.cancel()
        with self._lock:
            self._closed = True
            jobs, threads = list(self._jobs.values()), list(self._threads)
        for job in jobs:
            self._end(job, "cancelled", text="The server was ended")
            self._kill(job)
        for thread in threads:
            thread.join(timeout=5.0)

    def _follow(
        self,
        job: Job,
        work: Callable[..., Any],
        arguments: tuple[Any, ...],
        then: Callable[[Any], Any] | None,
    ) -> None:
        """One job from its turn to its end, in a thread of its own."""
        try:
            with self._turns:
                if job.state == "running":
                    self._run(job, work, arguments, then)
        except Exception:
            # Nobody waits for this thread: a fault left alone here would leave the page waiting for ever.
            log.exception("A job could not be followed.")
            self._end(job, "failed", advice=(_OWN_FAULT,))
        finally:
            with self._lock:
                self._threads.discard(threading.current_thread())

    def _run(
        self,
        job: Job,
        work: Callable[..., Any],
        arguments: tuple[Any, ...],
        then: Callable[[Any], Any] | None,
    ) -> None:
        here, there = self._context.Pipe(duplex=False)
        process = self._context.Process(  # type: ignore[attr-defined]
            target=_in_process, args=(there, job.memory_mb, work, arguments), name=job.what, daemon=True
        )
        with here:
            with there:
                self._move(job, "Starting", 0.0)
                process.start()
            with self._lock:
                self._processes[job.job] = process
            try:
                if job.state != "running":
                    return
                self._hear(job, here, process, time.monotonic() + job.seconds, then)
            finally:
                process.kill()
                process.join()
                with self._lock:
                    del self._processes[job.job]
                process.close()

    def _hear(
        self,
        job: Job,
        here: Connection,
        process: BaseProcess,
        until: float,
        then: Callable[[Any], Any] | None,
    ) -> None:
        while job.state == "running":
            left = until - time.monotonic()
            if left <= 0.0:
                self._end(job, "failed", advice=(_too_long(job),))
                return
            wait([here, process.sentinel], timeout=left)
            if not here.poll():
                if process.exitcode is None:
                    continue
                if not here.poll():  # nothing came between its last word and its end
                    self._end(job, "failed", advice=(_killed(job, process.exitcode),))
                    return
            try:
                word, content = here.recv()
            except EOFError:
                process.join()
                self._end(job, "failed", advice=(_killed(job, process.exitcode),))
                return
            if word == "progress":
                self._move(job, *content)
            elif word == "done":
                self._end(job, "done", text="Done", result=content if then is None else then(content))
            elif word == "wrong":
                self._end(job, "failed", advice=content)
            elif word == "memory":
                self._end(job, "failed", advice=(_too_large(job),))
            else:
                log.error("A job failed by a fault of its own:\n%s", content)
                self._end(job, "failed", advice=(_OWN_FAULT,))

    def _move(self, job: Job, text: str, share: float) -> None:
        with self._lock:
            if job.state != "running":
                return
            job.text, job.share = text, min(max(share, 0.0), 1.0)
        self._tell(job)

    def _end(
        self, job: Job, state: State, *, text: str = "", advice: tuple[Advice, ...] = (), result: Any = None
    ) -> None:
        with self._lock:
            if job.state != "running":
                return
            job.advice, job.result, job.ended = advice, result, time.monotonic()
            job.text = text or (advice[0].what if advice else job.text)
            job.share = 1.0 if state == "done" else job.share
            job.state = state
        job.over.set()
        self._tell(job)

    def _kill(self, job: Job) -> None:
        with self._lock:
            process = self._processes.get(job.job)
            if process is not None:
                process.kill()

    def _tell(self, job: Job) -> None:
        with self._lock:
            listeners = list(self._listeners)
        for heard in listeners:
            heard(job)

    def _forget_old(self) -> None:
        now = time.monotonic()
        ended = sorted(
            (entry for entry in self._jobs.values() if entry.ended is not None),
            key=lambda entry: -(entry.ended or 0.0),
        )
        for place, entry in enumerate(ended):
            if place >= KEPT or now - (entry.ended or 0.0) > KEPT_S:
                del self._jobs[entry.job]


def _context() -> BaseContext:
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([PRELOAD])
    return context


def _in_process(
    there: Connection, memory_mb: int, work: Callable[..., Any], arguments: tuple[Any, ...]
) -> None:
    """The other side: runs the work and sends how it ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then kills this process
    threading.Thread(target=_end_with_parent, daemon=True).start()
    sending = threading.Lock()

    def send(word: str, content: Any) -> None:
        with sending, contextlib.suppress(BrokenPipeError):  # nobody listens any more: it is being cancelled
            there.send((word, content))

    try:
        _limit_memory(memory_mb)
        result = work(lambda text, share: send("progress", (text, share)), *arguments)
        send("done", result)
    except BoatError as wrong:
        send("wrong", wrong.advice)
    except MemoryError:
        send("memory", None)
    except Exception:  # noqa: BLE001 - whatever it was, the server has to hear of it
        send("fault", traceback.format_exc())


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _limit_memory(memory_mb: int) -> None:
    """So much address space on top of what the process holds already; where the system knows no such limit, none."""
    if sys.platform == "win32":
        return
    import resource

    held = 0
    with contextlib.suppress(OSError), open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
        held = int(file.read().split()[0]) * resource.getpagesize()
    limit = held + memory_mb * 1_000_000
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    if hard != resource.RLIM_INFINITY:
        limit = min(limit, hard)
    with contextlib.suppress(ValueError, OSError):  # a system that has the name but not the limit
        resource.setrlimit(resource.RLIMIT_AS, (limit, hard))


_BUSY: Final = Advice(
    what="The workbench has too much to do at once.",
    todo="Wait until something is done, or cancel it, then try again.",
)
_OWN_FAULT: Final = Advice(
    what="The workbench made a mistake in this piece of work; your boat's files are as they were.",
    todo="Try it once more. If it comes back, report it with the lines that the server printed.",
)


def _too_long(job: Job) -> Advice:
    return Advice(
        what=f"{job.what} took longer than {job.seconds:g} s and was stopped.",
        todo="Try it with something smaller, such as a mesh that was exported coarser.",
        allowed=f"up to {job.seconds:g} s",
    )


def _too_large(job: Job) -> Advice:
    return Advice(
        what=f"{job.what} needs more memory than it may have.",
        todo="Try it with something smaller, such as a mesh that was exported coarser.",
        allowed=f"up to {job.memory_mb} MB",
    )


def _killed(job: Job, code: int | None) -> Advice:
    if code is not None and code < 0:
        return Advice(
            what=f"{job.what} was broken off by the system, most likely because it needs too much memory.",
            todo="Try it with something smaller, such as a mesh that was exported coarser.",
            given=f"signal {-code}",
        )
    return Advice(
        what=f"{job.what} ended without an answer.", todo="Try it once more.", given=f"exit code {code}"
    )
