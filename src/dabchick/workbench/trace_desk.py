"""The traced plan of one boat as it lies in her folder: read, kept, and where it is.

The boat file names it under `[hull] trace`; until then it has the boat's own name. Every text that is replaced goes
to `.history/` first. The mark of the text says which one a page has seen; a change on another one is refused.
"""

import hashlib
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

from dabchick.model.advice import Advice, BoatError
from dabchick.storage import history
from dabchick.storage.atomic import write_atomic
from dabchick.storage.folder import FILE
from dabchick.storage.toml_content import content_of
from dabchick.storage.trace_file import trace_of, trace_text_of
from dabchick.storage.trace_tables import tables_text
from dabchick.workbench.bench import Bench, Stale

_ENDING: Final = "-trace.toml"


@dataclass(frozen=True)
class Found:
    """A trace as it stands on disk."""

    file: Path
    used: bool
    """The boat file names it."""
    mark: str
    """Of its text; empty where there is no file yet."""
    tables: Mapping[str, Any]


class TraceDesk:
    """The traces of all boats; one change of a boat's trace at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._locks: WeakKeyDictionary[Bench, threading.Lock] = WeakKeyDictionary()

    def found(self, bench: Bench) -> Found:
        """The trace as it stands. Raises BoatError with all that is wrong in its file."""
        file, used = _place(bench)
        if not file.is_file():
            return Found(file, used, "", {})
        text = trace_text_of(file)
        tables = content_of(text, file.name)
        trace_of(tables, file.name, text)
        return Found(file, used, _mark(text), tables)

    def keep(self, bench: Bench, tables: Mapping[str, Any], base: str) -> Found:
        """Write the trace in one step.

        Raises Stale where it is no longer as at `base`, BoatError with what is wrong.
        """
        trace_of({"dabchick_trace": 1, **tables})
        text = tables_text(tables)
        with self._lock:
            lock = self._locks.setdefault(bench, threading.Lock())
        with lock:
            file, used = _place(bench)
            there = file.read_bytes() if file.is_file() else None
            if base != ("" if there is None else _mark_of(there)):
                raise Stale(_CHANGED)
            if there != text.encode():
                if there is not None:
                    history.keep(file, there)
                write_atomic(file, text.encode())
        return Found(file, used, _mark(text), content_of(text, file.name))


def _place(bench: Bench) -> tuple[Path, bool]:
    """Where the trace lies or will lie, and whether the boat file says so."""
    hull = bench.now.content.get("hull")
    named = hull.get("trace") if isinstance(hull, dict) else None
    if not isinstance(named, str) or not named:
        return bench.folder / f"{bench.folder.name}{_ENDING}", False
    file = bench.folder / named
    if file == bench.folder / FILE:
        raise BoatError(
            Advice(
                what="The boat's own file is named as her trace.",
                todo="Name the trace file, or take the key out.",
                key="hull.trace",
                given=named,
            )
        )
    if "\0" in named or not file.resolve().is_relative_to(bench.folder.resolve()):
        raise BoatError(
            Advice(
                what="The trace lies outside the boat's folder.",
                todo="Copy it into the folder and give its name alone: a boat is passed on as one folder.",
                key="hull.trace",
                given=named[:80],
            )
        )
    return file, True


def _mark(text: str) -> str:
    return _mark_of(text.encode())


def _mark_of(content: bytes) -> str:
    return hashlib.sha256(content.removeprefix(b"\xef\xbb\xbf")).hexdigest()[:24]


_CHANGED: Final = Advice(
    what="The trace was changed elsewhere meanwhile: in another window, on another device or in an editor.",
    todo="Look at how it is now; yours is kept here until you choose.",
)
