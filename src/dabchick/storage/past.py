"""What the lines of a journal say, put together: every step, where the boat stands, and each step's text."""

from dataclasses import dataclass, replace
from typing import Final

from dabchick.storage.journal_lines import Kept, Record

_TEXTS_AT_HAND: Final = 8


@dataclass(frozen=True)
class Step:
    """One step of the boat's past."""

    number: int
    parent: int | None
    when: str
    """ISO 8601, UTC."""
    what: str
    by: str
    name: str = ""
    """Of a named version."""


class Past:
    """Every step of one boat, as far as the lines were read."""

    def __init__(self) -> None:
        self.steps: dict[int, Step] = {}
        """By number, oldest first."""
        self.here: int | None = None
        self.before: int | None = None
        """Where the boat stood before the last change."""
        self.done = True
        """The last change is known to be in the boat file."""
        self.revision = 0
        self.kept: dict[int, Kept] = {}
        self._texts: dict[int, str] = {}

    def take_in(self, record: Record) -> None:
        """What one line says, in memory."""
        if "step" in record:
            number = record["step"]
            parent = record["parent"] if record["parent"] in self.steps else None
            self.kept[number] = Kept.of(record)
            self.steps[number] = Step(number, parent, record["when"], record["what"], record["by"])
            self._move(number, bool(record.get("done")))
        elif "to" in record and record["to"] in self.steps:
            self._move(record["to"], False)
        elif "of" in record and record["of"] in self.steps:
            self.steps[record["of"]] = replace(self.steps[record["of"]], name=record["name"])
        elif "files" in record:
            self.revision += 1
        elif "done" in record:
            self.done = True

    def text(self, number: int) -> str | None:
        """The text of a step that there is, put together from the last whole one."""
        if number in self._texts:
            return self._texts[number]
        chain = [number]
        while self.kept[chain[-1]].keep is not None and chain[-1] not in self._texts:
            parent = self.steps[chain[-1]].parent
            if parent is None:
                return None
            chain.append(parent)
        text: str | None = self._texts.get(chain[-1], "")
        if chain[-1] in self._texts:
            chain.pop()
        for step in reversed(chain):
            text = self.kept[step].text(text or "")
            if text is None:
                return None
        if text is not None:
            for old in [step for step in self._texts if step != self.here][: 1 - _TEXTS_AT_HAND]:
                del self._texts[old]
            self._texts[number] = text
        return text

    def _move(self, number: int, done: bool) -> None:
        self.before, self.here, self.done = self.here, number, done
        self.revision += 1
