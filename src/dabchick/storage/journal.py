"""A boat file with its whole past: every step is kept, undo goes to the step before, redo to the newest after.

`.history/journal` is only ever added to. A change goes there first and is flushed to the disk, then the boat file
is replaced in one step, then a line says that this was done. So whoever is killed where he may: the next opening
finds the change unfinished and finishes it, or finds nothing of it. What other programs did to the boat file is
noticed by its text and becomes a step of its own.
"""

import contextlib
import time
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from io import FileIO
from pathlib import Path
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.atomic import clear_leftovers, write_atomic
from dabchick.storage.checked import unreadable
from dabchick.storage.exclusive import add, cut, exclusive
from dabchick.storage.history import FOLDER
from dabchick.storage.journal_lines import Kept, Record, change, line, records, whole
from dabchick.storage.past import Past, Step

NAME: Final = "journal"
OUTSIDE: Final = "Changed outside the workbench"
FOUND: Final = "As found"
_SETTLED_NS: Final = 2_000_000_000
"""A file changed more lately than this may change again within one tick of the file system's clock."""


class StaleError(BoatError):
    """The boat is no longer as whoever asks has seen her; nothing was changed."""


class Journal:
    """One boat file and its past. Not for several threads at once; several programs are kept apart."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.path = file.parent / FOLDER / NAME
        self._seen: tuple[int, ...] = ()
        self._forget()
        clear_leftovers(file.parent)
        self.refresh()

    def _forget(self) -> None:
        self._past = Past()
        self._lines: list[bytes] = []
        """All lines as read, should the file be lost meanwhile."""
        self._pending: list[Record] = []
        """Noticed, but not written: the disk is full, or the folder may not be written to."""
        self._size = 0
        self._number = 0
        """Of the file in the file system."""

    @property
    def steps(self) -> Mapping[int, Step]:
        """By number, oldest first."""
        return self._past.steps

    @property
    def here(self) -> int | None:
        """Number of the step where the boat stands."""
        return self._past.here

    @property
    def revision(self) -> int:
        """Grows by one with each change of the text, or of a file that belongs to it, and never falls."""
        return self._past.revision

    @property
    def text(self) -> str:
        """What stands in the boat file; bytes that are no UTF-8 stand in it as lone surrogates."""
        return self.text_of(self._current.number)

    @property
    def step(self) -> Step:
        """Where the boat stands."""
        return self._current

    @property
    def _current(self) -> Step:
        if self.here is None:
            raise _gone(self.file)
        return self.steps[self.here]

    @property
    def undo_step(self) -> Step | None:
        """The step that undo takes back; None at the first."""
        return self._current if self._current.parent is not None else None

    @property
    def redo_step(self) -> Step | None:
        """The step that redo goes to: the newest after this one."""
        after = [step for step in self.steps.values() if step.parent == self.here]
        return after[-1] if after else None

    def text_of(self, number: int) -> str:
        """The text at a step. Raises BoatError when there is no such step or it cannot be read any more."""
        if number not in self.steps:
            raise _no_step(number)
        text = self._past.text(number)
        if text is None:
            raise BoatError(
                Advice(
                    what=f"Step {number} cannot be read any more: the journal is damaged there.",
                    todo="Take a step before or after it; those that can be read are all right.",
                    where=str(self.path),
                )
            )
        return text

    def refresh(self) -> bool:
        """Take in what happened since: by other programs to the boat file, or to its journal. True for news."""
        seen = self._look()
        if seen == self._seen and seen:
            return False
        before = self.revision
        try:
            with self._held() as handle:
                self._notice(handle)
        except _UnwritableError:
            self._catch_up(None)
            self._notice(None)
        self._seen = self._look()
        return self.revision != before

    def change(self, what: str, text: str, base: int, by: str = "") -> None:
        """Make a text the boat's. Raises StaleError when she is no longer at `base`, BoatError when it cannot be
        written; then nothing is changed."""
        with self._held_at(base) as handle:
            number = max(self.steps) + 1
            kept = change(self.text, text, self._past.kept[self._current.number].chain)
            step = Step(number, self._current.number, _now(), what, by)
            self._carry_out(handle, _step_record(step, kept), text)

    def undo(self, base: int, by: str = "") -> None:
        """Go to the step before. Raises like `change`, and when there is none."""
        with self._held_at(base) as handle:
            parent = self._current.parent
            if parent is None:
                raise BoatError(
                    Advice(what="There is nothing to undo.", todo="This is the first text that was kept.")
                )
            self._go(handle, parent, by)

    def redo(self, base: int, by: str = "") -> None:
        """Go to the newest step after this one. Raises like `change`, and when there is none."""
        with self._held_at(base) as handle:
            step = self.redo_step
            if step is None:
                raise BoatError(
                    Advice(what="There is nothing to redo.", todo="Redo brings back what undo took away.")
                )
            self._go(handle, step.number, by)

    def restore(self, number: int, base: int, by: str = "") -> None:
        """Take up the text of any step again, as a new step. Raises like `change`."""
        text = self.text_of(number)
        step = self.steps[number]
        what = f'Back to "{step.name or step.what}" of {step.when[:16].replace("T", " ")}'
        self.change(what, text, base, by)

    def name(self, number: int, name: str) -> None:
        """Name a step, or take its name away with an empty one. Raises BoatError when it cannot be written."""
        name = name.strip()
        with self._held() as handle:
            self._notice(handle)
            if number not in self.steps:
                raise _no_step(number)
            taken = next((step for step in self.steps.values() if name and step.name == name), None)
            if taken is not None and taken.number != number:
                raise BoatError(
                    Advice(
                        what=f'The name "{name}" is taken already, by the version of {taken.when[:10]}.',
                        todo="Choose another one, or take it away there first.",
                        given=name,
                    )
                )
            self._write(handle, [{"of": number, "name": name}])
        self._seen = self._look()

    def files_changed(self, names: tuple[str, ...]) -> None:
        """Note that files which the boat file names have changed: figures are new though the text is not."""
        record: Record = {"files": list(names), "when": _now()}
        try:
            with self._held() as handle:
                self._write(handle, [record])
        except _UnwritableError:
            self._put_by(record)
        self._seen = self._look()

    @contextlib.contextmanager
    def _held(self) -> Iterator[FileIO]:
        """The journal opened, with what others added, and held against them."""
        try:
            self.path.parent.mkdir(exist_ok=True)
            held = exclusive(self.path)
            handle = held.__enter__()
        except OSError as fault:
            raise _unwritable(self.path, fault) from fault
        with contextlib.ExitStack() as stack:
            stack.push(held)
            self._catch_up(handle)
            yield handle

    @contextlib.contextmanager
    def _held_at(self, base: int) -> Iterator[FileIO]:
        with self._held() as handle:
            self._notice(handle)
            if base != self.revision:
                self._seen = self._look()
                raise stale()
            yield handle
        self._seen = self._look()

    def _go(self, handle: FileIO, number: int, by: str) -> None:
        self._carry_out(handle, {"to": number, "when": _now(), "by": by}, self.text_of(number))

    def _carry_out(self, handle: FileIO, record: Record, text: str) -> None:
        """Journal first, then the boat file, then the word that it was done."""
        self._write(handle, [])
        size = self._write(handle, [record], take_in=False)
        try:
            write_atomic(self.file, _bytes(text))
        except BaseException:
            # Still as before; where even this fails, the next opening finishes the change instead.
            with contextlib.suppress(OSError):
                cut(handle, size)
                self._lines.pop()
                self._size = size
            raise
        self._past.take_in(record)
        self._confirm(handle)

    def _confirm(self, handle: FileIO) -> None:
        self._past.done = True
        # Without this word the next opening looks at the boat file itself, and comes to the same.
        with contextlib.suppress(BoatError):
            self._write(handle, [{"done": True}], lasting=False)

    def _notice(self, handle: FileIO | None) -> None:
        """Compare the boat file with what the journal says of it."""
        found = _read(self.file)
        if found is None:
            if self.here is None:
                raise _gone(self.file)
            return  # some editors take a file away for a moment; what is in memory is not lost
        expected = None if self.here is None else self._past.text(self.here)
        if found == expected:
            if handle is not None and not self._past.done:
                self._confirm(handle)
            return
        unfinished = (
            not self._past.done
            and self._past.before is not None
            and found == self._past.text(self._past.before)
        )
        if unfinished and handle is not None and expected is not None:
            # On a full disk it stays to be done: the text is the journal's, and the next look tries again.
            with contextlib.suppress(BoatError):
                write_atomic(self.file, _bytes(expected))
                self._confirm(handle)
            return
        number = max(self.steps, default=0) + 1
        step = Step(number, self.here, _now(), FOUND if self.here is None else OUTSIDE, "")
        kept = (
            whole(found)
            if expected is None
            else change(expected, found, self._past.kept[self._current.number].chain)
        )
        record = _step_record(step, kept) | {"done": True}
        if handle is not None:
            with contextlib.suppress(_UnwritableError):
                self._write(handle, [record])
                return
        self._put_by(record)

    def _put_by(self, record: Record) -> None:
        self._pending.append(record)
        self._past.take_in(record)

    def _write(self, handle: FileIO, new: list[Record], take_in: bool = True, lasting: bool = True) -> int:
        """Add lines to the journal; its size before. Raises BoatError, with nothing added."""
        lines = [line(record) for record in (*self._pending, *new)]
        size = self._size
        if not lines:
            return size
        try:
            add(handle, b"".join(lines), lasting)
        except OSError as fault:
            raise _unwritable(self.path, fault) from fault
        self._lines += lines
        self._size = handle.tell()
        self._pending = []
        if take_in:
            for record in new:
                self._past.take_in(record)
        return size

    def _catch_up(self, handle: FileIO | None) -> None:
        """Read what was added to the journal since."""
        try:
            facts = self.path.stat()
        except OSError:
            return
        lost = self._number not in (0, facts.st_ino) or facts.st_size < self._size
        if lost and handle is not None and facts.st_size == 0:
            # Someone cleared the history away while the boat is open: what is known is written again.
            with contextlib.suppress(OSError):
                add(handle, b"".join(self._lines))
                self._size, self._number = handle.tell(), facts.st_ino
            return
        if lost or (self._pending and facts.st_size > self._size):
            revision = self.revision
            self._forget()
            self._read_on(facts.st_ino)
            self._past.revision = max(self.revision, revision + 1)
        elif facts.st_size > self._size:
            self._read_on(facts.st_ino)
        self._number = facts.st_ino

    def _read_on(self, number: int) -> None:
        with self.path.open("rb") as file:
            file.seek(self._size)
            content = file.read()
        for record in records(content):
            self._lines.append(line(record))
            self._past.take_in(record)
        self._size += len(content)
        self._number = number

    def _look(self) -> tuple[int, ...]:
        """Marks of the boat file and of the journal; empty when they cannot be relied upon."""
        try:
            boat, journal = self.file.stat(), self.path.stat()
        except OSError:
            return ()
        if time.time_ns() - boat.st_mtime_ns < _SETTLED_NS:
            return ()
        return boat.st_size, boat.st_mtime_ns, boat.st_ino, journal.st_size, journal.st_ino


class _UnwritableError(BoatError):
    """The journal cannot be written."""


def stale() -> StaleError:
    """The advice for one who asks from an older state of the boat."""
    return StaleError(
        Advice(
            what="The boat was changed elsewhere meanwhile: in another window, on another device or in an editor.",
            todo="Look at how she is now, then make your change once more.",
        )
    )


def _step_record(step: Step, kept: Kept) -> Record:
    return {
        "step": step.number,
        "parent": step.parent,
        "when": step.when,
        "what": step.what,
        "by": step.by,
    } | kept.record()


def _read(file: Path) -> str | None:
    try:
        return file.read_bytes().decode("utf-8", "surrogateescape")
    except FileNotFoundError:
        return None
    except OSError as fault:
        raise unreadable(file, fault) from fault


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogateescape")


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _gone(file: Path) -> BoatError:
    return BoatError(
        Advice(what=f"There is no {file.name} here any more.", todo="Put it back.", where=str(file))
    )


def _no_step(number: int) -> BoatError:
    return BoatError(
        Advice(what=f"There is no step {number}.", todo="Take one of the list.", given=str(number))
    )


def _unwritable(path: Path, fault: OSError) -> _UnwritableError:
    reason = (fault.strerror or str(fault)).rstrip(".")
    return _UnwritableError(
        Advice(
            what=f"The change could not be kept: {reason}. The boat is as she was before.",
            todo="See that the boat's folder may be written to and that the disk has room, then try again.",
            where=str(path),
        )
    )
