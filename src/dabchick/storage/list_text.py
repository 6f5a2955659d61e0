"""Entries put into and taken out of a list that is written in brackets, on one line or over several."""

import re
from typing import Any, Final

from dabchick.model.keys import Path
from dabchick.storage.blocks import ending, line_end, line_start
from dabchick.storage.locate import Places
from dabchick.storage.toml_words import toml_value

_REST: Final = re.compile(r"[ \t]*(,)?[ \t]*(#[^\n]*)?\r?(\n|\Z)")
"""What may stand behind an entry that ends its line."""
_COMMA: Final = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*,")


def insert_entry(text: str, places: Places, path: Path, at: int, value: Any) -> str:
    """Put an entry into a list, before entry `at` or last; on a line of its own where the others have one."""
    entries = _entries(places, path)
    new = toml_value(value)
    if not entries:
        start, end = places.values[path]
        inside = text[start + 1 : end - 1]
        return text[: start + 1] + new + (inside if "#" in inside else "") + text[end - 1 :]
    if at < len(entries):
        start = entries[at][0]
        indent = text[line_start(text, start) : start]
        between = f",{ending(text)}{indent}" if not indent.strip() else ", "
        return text[:start] + new + between + text[start:]
    start, end = entries[-1]
    indent = text[line_start(text, start) : start]
    rest = _REST.match(text, end)
    comma_below = rest is not None and rest[1] is None and _COMMA.match(text, end) is not None
    if indent.strip() or rest is None or comma_below:
        return text[:end] + f", {new}" + text[end:]
    below = line_end(text, end)
    comma = "" if rest[1] else ","
    return text[:end] + comma + text[end:below] + indent + new + "," + ending(text) + text[below:]


def drop_entry(text: str, places: Places, path: Path) -> str:
    """Take an entry out, with its whole line where it has one of its own."""
    entries = _entries(places, path[:-1])
    row = int(path[-1])
    start, end = entries[row]
    rest = _REST.match(text, end)
    last = row + 1 == len(entries)
    alone = not text[line_start(text, start) : start].strip() and rest is not None and rest[0].endswith("\n")
    if alone and rest is not None and (rest[1] is not None or (last and not _COMMA.match(text, end))):
        return text[: line_start(text, start)] + text[rest.end() :]
    if not last:
        return text[:start] + text[entries[row + 1][0] :]
    if row:
        return text[: entries[row - 1][1]] + text[end:]
    comma = _COMMA.match(text, end)
    return text[:start] + text[comma.end() if comma else end :]


def _entries(places: Places, path: Path) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    while (*path, len(found)) in places.values:
        found.append(places.values[*path, len(found)])
    return found
