"""Where each key of a TOML text stands: a walk over text that is already known to be right.

The parser that keeps comments does not keep line numbers, so this walks the text once more and notes them.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from dabchick.model.advice import Advice
from dabchick.model.keys import Path, path_of

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'(?:.)*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'',
    re.DOTALL,
)
_PLAIN = re.compile(r"[^,\]}#\n]+")


@dataclass(frozen=True)
class Assignment:
    """One `key = value`."""

    path: Path
    container: Path
    """The table that it is written in: that of the header above, or the inline table round it."""
    start: int
    """First letter of the key."""
    end: int
    """Behind the last letter of the value."""
    inline: bool
    """Written in braces."""


@dataclass(frozen=True)
class Places:
    """Where everything stands in a text."""

    lines: dict[Path, int] = field(default_factory=dict)
    """Line, from 1, of every key and list entry; tables stand at their header."""
    values: dict[Path, tuple[int, int]] = field(default_factory=dict)
    """First and past-the-last letter of every written value."""
    headers: list[tuple[Path, int]] = field(default_factory=list)
    """Every `[table]` and `[[table]]` line in turn, with its first letter."""
    assignments: list[Assignment] = field(default_factory=list)
    """Every `key = value`, in the order in which they end."""


@lru_cache(maxsize=4)
def places(text: str) -> Places:
    """Lines and letters of everything in a right TOML text; to look at, not to change."""
    return _Walk(text).places


def key_lines(text: str) -> dict[Path, int]:
    """Line, from 1, of every key and list entry of a right TOML text; tables stand at their header."""
    return places(text).lines


def line_of(path: Path, lines: dict[Path, int]) -> int:
    """Line of a path, or of the nearest table round it that stands in the text; 1 for the whole file."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 1


def located(advice: Iterable[Advice], file: str, lines: dict[Path, int]) -> tuple[Advice, ...]:
    """Advice with `file:line` from its key, sorted by line; what has a place already keeps it."""
    placed = []
    for entry in advice:
        line = line_of(path_of(entry.key), lines)
        placed.append((line, replace(entry, where=entry.where or f"{file}:{line}")))
    return tuple(entry for _, entry in sorted(placed, key=lambda pair: pair[0]))


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places = Places()
        self.lines = self.places.lines
        self._counted_to = 0
        self._line = 1
        self._rows: dict[Path, int] = {}
        self._document()

    def _document(self) -> None:
        table: Path = ()
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._assignment(table)

    def _header(self) -> Path:
        line, start = self._here(), self.at
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        names = self._dotted()
        self.at += 2 if many else 1
        path: Path = ()
        for name in names[:-1]:
            path = self._newest((*path, name))
            self.lines.setdefault(path, line)
        path = (*path, names[-1])
        if many:
            row = self._rows.get(path, -1) + 1
            self._forget_rows_below(path)
            self._rows[path] = row
            self.lines.setdefault(path, line)
            path = (*path, row)
        else:
            path = self._newest(path)
        self.lines[path] = line
        self.places.headers.append((path, start))
        return path

    def _newest(self, path: Path) -> Path:
        """The path itself, or its latest row where it is a list of tables."""
        return (*path, self._rows[path]) if path in self._rows else path

    def _forget_rows_below(self, path: Path) -> None:
        for other in [key for key in self._rows if len(key) > len(path) and key[: len(path)] == path]:
            if other[len(path)] == self._rows.get(path):
                del self._rows[other]

    def _assignment(self, table: Path, inline: bool = False) -> None:
        line, start = self._here(), self.at
        path = table
        for name in self._dotted():
            path = (*path, name)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)
        self.places.assignments.append(Assignment(path, table, start, self.at, inline))

    def _value(self, path: Path) -> None:
        self.lines.setdefault(path, self._here())
        start = self.at
        first = self.text[start]
        if first == "[":
            self._list(path)
        elif first == "{":
            self._inline_table(path)
        elif first in "\"'":
            self._take(_STRING)
        else:
            self.at = start + len(self._take(_PLAIN).rstrip())
        self.places.values[path] = (start, self.at)

    def _list(self, path: Path) -> None:
        self.at += 1
        row = 0
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "]":
                self.at += 1
                return
            self._value((*path, row))
            row += 1
            self._comma()

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "}":
                self.at += 1
                return
            self._assignment(path, inline=True)
            self._comma()

    def _comma(self) -> None:
        self._skip(_BLANK)
        if self.text[self.at] == ",":
            self.at += 1

    def _dotted(self) -> list[str]:
        names = []
        while True:
            self._skip(_SPACE)
            if self.text[self.at] in "\"'":
                names.append(_unquoted(self._take(_STRING)))
            else:
                names.append(self._take(_BARE))
            self._skip(_SPACE)
            if self.text[self.at] != ".":
                return names
            self.at += 1

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found is not None:
            self.at = found.end()

    def _take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise ValueError(f"The text is not right TOML at line {self._here()}.")
        self.at = found.end()
        return found.group()

    def _here(self) -> int:
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line


def _unquoted(quoted: str) -> str:
    return str(tomllib.loads(f"key = {quoted}")["key"])
