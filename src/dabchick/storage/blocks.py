"""Where tables stand in a text: each with its header, its keys and the comments that belong to it."""

import re

from dabchick.model.keys import Path
from dabchick.storage.locate import Places

Span = tuple[int, int]


def ending(text: str) -> str:
    """The line end of a text."""
    return "\r\n" if "\r\n" in text else "\n"


def with_ends(new: str, text: str) -> str:
    """New text with the line ends of the old."""
    return new.replace("\n", ending(text))


def line_start(text: str, at: int) -> int:
    """First letter of the line that a letter stands in."""
    return text.rfind("\n", 0, at) + 1


def line_end(text: str, at: int) -> int:
    """Behind the line end of the line that a letter stands in."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def comment_start(text: str, header: int) -> int:
    """Start of the comment lines that stand directly above a header, without a blank line between."""
    start = line_start(text, header)
    while start > 0:
        before = line_start(text, start - 1)
        if not text[before:start].lstrip().startswith("#"):
            break
        start = before
    return start


def spans(text: str, places: Places, path: Path, with_comment: bool = True) -> list[Span]:
    """The stretches of text that make up a table with all below it, in turn; empty for one without headers.

    With the comment directly above each, and that directly below its last line; comments that stand by
    themselves belong to nobody and stay.
    """
    headers = places.headers
    found: list[Span] = []
    index = 0
    while index < len(headers):
        if headers[index][0][: len(path)] != path:
            index += 1
            continue
        first = index
        while index < len(headers) and headers[index][0][: len(path)] == path:
            index += 1
        limit = headers[index][1] if index < len(headers) else len(text)
        start = headers[first][1]
        start = comment_start(text, start) if with_comment else line_start(text, start)
        found.append((start, _end(text, places, headers[index - 1][1], limit)))
    return found


def body_end(text: str, places: Places, header: int, limit: int) -> int:
    """Behind the last line of keys between a header and the next one; behind the header where there are none."""
    ends = [entry.end for entry in places.assignments if header < entry.end <= limit and not entry.inline]
    if not ends:
        return line_end(text, header)
    return line_end(text, ends[-1])


def _end(text: str, places: Places, header: int, limit: int) -> int:
    end = body_end(text, places, header, limit)
    limit = comment_start(text, limit) if limit < len(text) else limit
    while end < limit and text[end : line_end(text, end)].lstrip(" \t").startswith("#"):
        end = line_end(text, end)
    while end < limit and not text[end : line_end(text, end)].strip():
        end = line_end(text, end)
    return end


def joined(text: str, at: int, new: str) -> str:
    """New tables put in at a place, a blank line before and behind, line ends like the file's own."""
    if not new:
        return text
    before, behind = text[:at], text[at:]
    if before and not before.endswith("\n"):
        before += ending(text)
    if before and not re.search(r"\n\r?\n\Z", before) and before.strip():
        before += ending(text)
    block = with_ends(new.rstrip("\n") + "\n", text)
    return before + block + (ending(text) + behind if behind.strip() else behind)


def without(text: str, cuts: list[Span]) -> str:
    """A text with stretches taken out."""
    for start, end in sorted(cuts, reverse=True):
        text = text[:start] + text[end:]
    return text
