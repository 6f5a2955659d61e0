"""The lines of a boat's journal: each with a mark of its own, so that a torn one is known, and texts as changes."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

Record = dict[str, Any]

_MARK: Final = 16
_LONGEST_CHAIN: Final = 40
"""After so many changes upon changes a text is kept whole again, so that damage does not reach far."""


def line(record: Record) -> bytes:
    """One line, in ASCII, with the mark in front of it."""
    body = json.dumps(record, separators=(",", ":")).encode("ascii")
    return _marked(body) + b" " + body + b"\n"


def records(content: bytes) -> Iterator[Record]:
    """What the whole lines say; a torn or damaged one is passed over."""
    for entry in content.split(b"\n"):
        mark, _, body = entry.partition(b" ")
        if len(mark) == _MARK and mark == _marked(body):
            record = json.loads(body)
            if isinstance(record, dict):
                yield record


def _marked(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest()[:_MARK].encode()


def digest(text: str) -> str:
    """A short name for a text."""
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:32]


@dataclass(frozen=True)
class Kept:
    """A text as it is kept: whole, or as what differs from the text of the step before."""

    put: str
    keep: tuple[int, int] | None
    """Letters kept at the start and at the end of the text before; None: `put` is the whole text."""
    digest: str
    chain: int = 0
    """Changes upon changes since a whole text."""

    def record(self) -> Record:
        kept: Record = {"put": self.put, "digest": self.digest}
        return kept if self.keep is None else kept | {"keep": list(self.keep), "chain": self.chain}

    @classmethod
    def of(cls, record: Record) -> "Kept":
        keep = record.get("keep")
        return cls(
            record["put"],
            None if keep is None else (keep[0], keep[1]),
            record["digest"],
            record.get("chain", 0),
        )

    def text(self, before: str) -> str | None:
        """The text again; None when it does not come out as it was."""
        text = self.put
        if self.keep is not None:
            start, end = self.keep
            text = before[:start] + self.put + before[len(before) - end :]
        return text if digest(text) == self.digest else None


def whole(text: str) -> Kept:
    """A text kept by itself."""
    return Kept(text, None, digest(text))


def change(before: str, after: str, chain: int) -> Kept:
    """A text kept as what differs from one that itself hangs on `chain` others; whole where that is better."""
    if chain >= _LONGEST_CHAIN:
        return whole(after)
    start = _alike(before, after)
    end = _alike(before[start:][::-1], after[start:][::-1])
    put = after[start : len(after) - end]
    return whole(after) if 2 * len(put) > len(after) else Kept(put, (start, end), digest(after), chain + 1)


def _alike(one: str, other: str) -> int:
    """How many letters two texts have in common from their start, by halving."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low
