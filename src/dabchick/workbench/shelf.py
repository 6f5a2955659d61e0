"""The boats of one folder. A boat's id is its folder's name, and an id is only ever looked for among those names."""

import re
import threading
import time
import unicodedata
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.mistakes import mistakes
from dabchick.model.reading import read
from dabchick.model.units import shown
from dabchick.storage.checked import contents, file_marks
from dabchick.storage.folder import FILE, OpenBoat, decoded, open_text
from dabchick.storage.toml_content import content_of
from dabchick.workbench.bench import Bench
from dabchick.workbench.errors import NotThere

MOST_OPEN: Final = 8
"""So many boats that no page listens to stay open; the one unused longest goes first."""
LIST_S: Final = 1.5
"""After so long the rest of a list is told from the boat files alone."""
_LONGEST_NAME: Final = 60


@dataclass(frozen=True)
class Summary:
    """One boat in a few words."""

    boat: str
    name: str
    changed: str
    """ISO 8601, UTC."""
    errors: int
    about: str


class Shelf:
    """The boats of a folder, each opened when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.RLock()
        self._open: OrderedDict[str, Bench] = OrderedDict()
        self._opening: dict[str, threading.Lock] = {}
        self._told: dict[str, tuple[object, Summary]] = {}

    def names(self) -> list[str]:
        """The boats that there are, by the names of their folders."""
        try:
            entries = sorted(self.folder.iterdir(), key=lambda entry: entry.name.casefold())
        except OSError as fault:
            raise NotThere(
                f"The folder of the boats cannot be read: {fault.strerror}.",
                "Start the workbench on another one.",
            ) from fault
        return [
            entry.name for entry in entries if not entry.name.startswith(".") and (entry / FILE).is_file()
        ]

    def bench(self, boat: str) -> Bench:
        """The bench of a boat, as her folder is now. Raises NotThere for a boat that is not on the shelf."""
        if boat not in self.names():
            with self._lock:
                self._open.pop(boat, None)
            raise NotThere("There is no such boat on this shelf.", "Go back to the shelf and choose one.")
        with self._lock:
            opening = self._opening.setdefault(boat, threading.Lock())
        with opening:  # one boat is opened once; others need not wait for it
            with self._lock:
                bench = self._open.get(boat)
            if bench is None:
                bench = Bench(self.folder / boat)
            else:
                bench.refresh()
        with self._lock:
            self._open[boat] = bench
            self._open.move_to_end(boat)
            idle = [name for name, other in self._open.items() if not other.listened_to and name != boat]
            for name in idle[: max(0, len(idle) + 1 - MOST_OPEN)]:
                del self._open[name]
        return bench

    def summaries(self) -> list[Summary]:
        """Every boat in a few words."""
        started = time.monotonic()
        return [self._summary(boat, whole=time.monotonic() - started < LIST_S) for boat in self.names()]

    def free_folder_name(self, name: str) -> str:
        """A folder name for a new boat, made of her name, that nothing has yet."""
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
        stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST_NAME] or "boat"
        stem = f"{stem}-boat" if stem in _RESERVED else stem
        taken = {entry.name.casefold() for entry in self.folder.iterdir()}
        count, free = 1, stem
        while free in taken:
            count += 1
            free = f"{stem}-{count}"
        return free

    def take_in(self, folder: Path, name: str) -> str:
        """Give a finished folder on the same disk a free name on the shelf; that name. Raises BoatError."""
        while True:
            free = self.free_folder_name(name)
            try:
                folder.rename(self.folder / free)
            except FileExistsError:
                continue  # taken this very moment; an empty folder of that name is looked for again
            except OSError as fault:
                if (self.folder / free).exists():
                    continue
                raise BoatError(
                    Advice(
                        what=f"The boat could not be put on the shelf: {fault.strerror}.",
                        todo="See that the shelf may be written to.",
                    )
                ) from fault
            return free

    def _summary(self, boat: str, whole: bool) -> Summary:
        file = self.folder / boat / FILE
        try:
            facts = file.stat()
            changed = (
                datetime.fromtimestamp(facts.st_mtime, UTC)
                .isoformat(timespec="seconds")
                .replace("+00:00", "Z")
            )
            content = contents(file)
            text = decoded(content, file)
            tables = content_of(text)
        except (BoatError, OSError):
            return Summary(boat, boat, "", 1, "Her file cannot be read as it is.")
        mark = (facts.st_mtime_ns, facts.st_size, facts.st_ino, file_marks(tables, file.parent))
        known = self._told.get(boat)
        if known is not None and known[0] == mark:
            return known[1]
        name = tables.get("name")
        name = name if isinstance(name, str) and name.strip() else boat
        if not whole:
            draft, advice = read(tables)
            errors = sum(entry.severity == "error" for entry in (*advice, *mistakes(draft)))
            return Summary(boat, name, changed, errors, _about(tables, None))
        right, errors = None, 0
        try:
            right = open_text(text, file, content)
        except BoatError as fault:
            errors = sum(entry.severity == "error" for entry in fault.advice)
        summary = Summary(boat, name, changed, errors, _about(tables, right))
        self._told[boat] = (mark, summary)
        return summary


_RESERVED: Final = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{port}{number}" for port in ("com", "lpt") for number in range(10)),
}
"""Names that no folder can have on Windows; boats are passed on."""


def _about(tables: Mapping[str, Any], right: OpenBoat | None) -> str:
    words = [] if right is None else [f"{shown(right.vessel.length_m, 'length', right.vessel.units)} long"]
    for key, word in (("part", "part"), ("tank", "tank")):
        rows = tables.get(key)
        count = len(rows) if isinstance(rows, list) else 0
        words.append(f"{count or 'no'} {word}{'' if count == 1 else 's'}")
    return ", ".join(words)
