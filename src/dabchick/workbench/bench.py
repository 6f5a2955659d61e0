"""One boat on the bench: her text, her past, and the last right boat that the text made.

Every change is kept in the journal and saved at once, right or faulty; figures and pictures come from the last
right text. What other programs write into the folder is noticed and becomes a step.
"""

import logging
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.checked import file_marks
from dabchick.storage.folder import FILE, MARK, OpenBoat, decoded, open_text
from dabchick.storage.journal import Journal, StaleError, stale
from dabchick.storage.past import Step
from dabchick.storage.toml_content import content_of
from dabchick.workbench.errors import OWN_FAULT, Refused

log = logging.getLogger("dabchick.workbench")

WATCH_S: Final = 0.5
"""How often the folder is looked at while a page listens."""
_LOOK_BACK: Final = 20
"""So many steps are tried for a right boat when a faulty one is opened."""

Changer = Callable[[str], str]
"""From the text as it is to the text as it should be; raises BoatError where that cannot be."""
Later = Callable[[str], Changer | None]
"""For a text that others have changed: the change that can still be made without loss, or None."""


class Stale(Refused):
    """She is no longer as the page has seen her; nothing was changed."""

    def __init__(self, *advice: Advice) -> None:
        super().__init__(409, *advice)


@dataclass(frozen=True)
class Change:
    """Word of a change."""

    revision: int
    what: str
    by: str


@dataclass(frozen=True, eq=False)
class Snapshot:
    """The boat at one revision; all that belongs together."""

    revision: int
    text: str
    """What stands in boat.toml, right or faulty."""
    right: OpenBoat | None
    """The last right boat; None where there never was one."""
    right_revision: int | None
    """The revision that `right` comes from; 0 for one from before the workbench was started."""
    advice: tuple[Advice, ...]
    """On the text as it is: errors, or the warnings of a right boat."""
    content: Mapping[str, Any]
    """The text as plain tables; empty while it is no TOML."""
    undo: str | None
    redo: str | None
    saved: str
    """ISO 8601, UTC."""

    @property
    def faulty(self) -> bool:
        return self.right_revision != self.revision


class Bench:
    """One live boat folder, for any number of threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.name = folder.name
        self._lock = threading.RLock()
        self._journal = Journal(folder / FILE)
        self._listeners: dict[object, Callable[[Change], None]] = {}
        self._quiet = threading.Event()
        self._parsed: tuple[int, Mapping[str, Any]] | None = None
        self._marks: dict[str, tuple[int, int, int]] = {}
        self._now = self._opened(None)
        if self._now.right is None:
            self._look_back()

    @property
    def now(self) -> Snapshot:
        """The boat as of the last look."""
        return self._now

    @property
    def revision(self) -> int:
        return self._now.revision

    @property
    def text(self) -> str:
        return self._now.text

    @property
    def right(self) -> OpenBoat | None:
        return self._now.right

    @property
    def advice(self) -> tuple[Advice, ...]:
        return self._now.advice

    @property
    def faulty(self) -> bool:
        return self._now.faulty

    def refresh(self) -> None:
        """Notice what other programs did to the folder."""
        with self._lock:
            told = self._noticed()
        self._tell(told)

    def edit(
        self, what: str, change: Changer, *, base: int, by: str = "", later: Later | None = None
    ) -> None:
        """Change the text in one step, saved at once. Nothing is changed when this raises.

        Raises Stale when `base` is no longer the boat's revision and `later` finds no way; BoatError when the
        change cannot be made or saved.
        """
        with self._changing(what, by) as journal:
            text = _read(journal.text, self.folder)
            if base != journal.revision:
                late = later(text) if later is not None else None
                if late is None:
                    raise stale()
                change = late
            new = change(text)
            if new != text:
                mark = MARK if journal.text.startswith(MARK) else ""
                journal.change(what, mark + new, journal.revision, by)

    def undo(self, *, base: int, by: str = "") -> None:
        """Take the last step back. Raises Stale or BoatError."""
        with self._changing("Undo", by) as journal:
            journal.undo(base, by)

    def redo(self, *, base: int, by: str = "") -> None:
        """Bring the step taken back again. Raises Stale or BoatError."""
        with self._changing("Redo", by) as journal:
            journal.redo(base, by)

    def restore(self, number: int, *, base: int, by: str = "") -> None:
        """Take up the text of any step again, as a new step. Raises Stale or BoatError."""
        with self._changing("Restore", by) as journal:
            journal.restore(number, base, by)

    def name_step(self, number: int, name: str) -> None:
        """Name a step; an empty name takes it away."""
        with self._changing("Name a version", "") as journal:
            journal.name(number, name)

    def steps(self) -> tuple[list[Step], int]:
        """Every step, oldest first, and the number of the one where the boat stands."""
        with self._lock:
            return list(self._journal.steps.values()), self._journal.step.number

    def text_of(self, number: int) -> str:
        """The text at a step. Raises BoatError when there is none."""
        with self._lock, self._at_home():
            return self._journal.text_of(number)

    def subscribe(self, callback: Callable[[Change], None]) -> Callable[[], None]:
        """Have every change told, from whatever thread makes it; the folder is watched meanwhile.

        Gives back what ends it.
        """
        token = object()
        with self._lock:
            if not self._listeners:
                self._quiet = threading.Event()
                threading.Thread(
                    target=self._watch, args=(self._quiet,), name=f"watch {self.name}", daemon=True
                ).start()
            self._listeners[token] = callback

        def end() -> None:
            with self._lock:
                self._listeners.pop(token, None)
                if not self._listeners:
                    self._quiet.set()

        return end

    @property
    def listened_to(self) -> bool:
        """Whether a page is open on her."""
        return bool(self._listeners)

    def _watch(self, quiet: threading.Event) -> None:
        while not quiet.wait(WATCH_S):
            try:
                self.refresh()
            except BoatError as fault:
                log.warning("%s", fault)

    @contextmanager
    def _changing(self, what: str, by: str) -> Iterator[Journal]:
        told: list[Change] = []
        try:
            with self._lock, self._at_home():
                told += self._noticed()
                before = self._journal.revision
                try:
                    yield self._journal
                finally:
                    if self._journal.revision != before:
                        self._now = self._opened(self._now.right)
                        step = self._journal.step
                        mine = step.by == by and what not in ("Undo", "Redo")
                        told.append(Change(self._now.revision, step.what if mine else what, by))
                    elif what == "Name a version":
                        told.append(Change(self._now.revision, what, by))
        finally:
            self._tell(told)

    def _noticed(self) -> list[Change]:
        """Take in what happened from outside; the boat is opened anew where something did."""
        with self._at_home():
            news = self._journal.refresh()
            marks = file_marks(self._content(), self.folder)
            files = (
                () if news else tuple(sorted(name for name in marks if marks[name] != self._marks.get(name)))
            )
            if files:
                self._journal.files_changed(files)
            if not news and not files:
                return []
            self._now = self._opened(self._now.right)
            what = f"Changed outside: {', '.join(files)}" if files else self._journal.step.what
            return [Change(self._now.revision, what, "")]

    def _opened(self, right: OpenBoat | None) -> Snapshot:
        """The boat of the journal's text, or the last right one with advice on the text."""
        journal = self._journal
        file = self.folder / FILE
        right_revision = None if right is None else self._now.right_revision
        self._marks = file_marks(self._content(), self.folder)
        try:
            text = _read(journal.text, self.folder)
            right = open_text(text, file, journal.text.encode(), right)
            right_revision, advice = journal.revision, right.vessel.advice
        except BoatError as fault:
            advice = fault.advice
        except Exception:
            # The text is saved already; whatever goes wrong with it here must not keep the builder from it.
            log.exception("%s could not be opened.", file)
            advice = (OWN_FAULT,)
        undo, redo = journal.undo_step, journal.redo_step
        return Snapshot(
            revision=journal.revision,
            text=journal.text.removeprefix(MARK)
            .encode("utf-8", "surrogateescape")
            .decode("utf-8", "replace"),
            right=right,
            right_revision=right_revision,
            content=self._content(),
            advice=tuple(self._homely(entry) for entry in advice),
            undo=None if undo is None else undo.what,
            redo=None if redo is None else redo.what,
            saved=_saved(file),
        )

    def _content(self) -> Mapping[str, Any]:
        """The text as plain tables; empty while it is no TOML."""
        if self._parsed is None or self._parsed[0] != self._journal.revision:
            try:
                content: Mapping[str, Any] = content_of(_read(self._journal.text, self.folder))
            except BoatError:
                content = {}  # the advice on the text says so
            self._parsed = (self._journal.revision, content)
        return self._parsed[1]

    def _look_back(self) -> None:
        """The last right boat of the past, for a boat that is faulty when she is opened."""
        step: Step | None = self._journal.step
        for _ in range(_LOOK_BACK):
            step = None if step is None or step.parent is None else self._journal.steps.get(step.parent)
            if step is None:
                return
            try:
                text = _read(self._journal.text_of(step.number), self.folder)
                right = open_text(text, self.folder / FILE, text.encode())
            except BoatError:
                continue  # faulty too: one further back
            self._now = replace(self._now, right=right, right_revision=0)
            return

    @contextmanager
    def _at_home(self) -> Iterator[None]:
        """Advice without the path of the folder, which is nobody's business on a phone."""
        try:
            yield
        except StaleError as fault:
            raise Stale(*fault.advice) from fault
        except Refused:
            raise
        except BoatError as fault:
            raise BoatError(*(self._homely(entry) for entry in fault.advice)) from fault

    def _homely(self, advice: Advice) -> Advice:
        return replace(
            advice, where=advice.where.replace(f"{self.folder}/", "").replace(f"{self.folder}\\", "")
        )

    def _tell(self, changes: list[Change]) -> None:
        for change in changes:
            for listener in list(self._listeners.values()):
                try:
                    listener(change)
                except Exception:
                    # The change is made and saved; a page that is just closing must not make it fail.
                    log.exception("%s could not be told of a change.", listener)


def _read(text: str, folder: Path) -> str:
    """The text without its mark. Raises BoatError when the file is no UTF-8."""
    return decoded(text.encode("utf-8", "surrogateescape"), folder / FILE)


def _saved(file: Path) -> str:
    try:
        when = datetime.fromtimestamp(file.stat().st_mtime, UTC)
    except OSError:
        return ""  # taken away just now; the next look says so
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")
