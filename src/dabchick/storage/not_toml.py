"""Advice on a text that is not TOML: what is wrong, in the builder's words, and where."""

import re
import tomllib
from typing import Final

from tomlkit.exceptions import ParseError

from dabchick.model.advice import Advice

_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")
_WORDS: Final = (
    (
        r"Illegal character '\\n'|Unterminated string",
        "a text is not closed before its line ends",
        "Add the quote.",
    ),
    (
        "Cannot overwrite|Cannot declare|Cannot mutate|Duplicate inline|already exists",
        "the same key or table stands here a second time",
        "Take one of the two out, or rename it; parts are written as [[part]], each with its own keys.",
    ),
    ("Unclosed array", "a list is not closed", "Add the square bracket, or the comma between its entries."),
    ("Unclosed inline", "a table in braces is not closed", "Add the brace, or the comma between its keys."),
    ("Expected '=' after a key", "there is no equals sign behind the key", "Write it like key = value."),
    (
        "Invalid value",
        "the value can not be read",
        'Put texts and numbers with a unit into quotes, such as "71 mm".',
    ),
)


def not_toml(text: str, fault: Exception, file: str) -> Advice:
    """Advice for a text that could not be parsed; a second parser often tells the line better."""
    message, line, column = _second_opinion(text)
    if not message:
        message = str(fault)
        line = fault.line if isinstance(fault, ParseError) else 1
        column = fault.col if isinstance(fault, ParseError) else 1
    written = text.splitlines()
    line = min(line, max(len(written), 1))
    what, todo = next(
        ((words, advice) for pattern, words, advice in _WORDS if re.search(pattern, message)),
        (
            message.rstrip("."),
            "Look for a missing quote, bracket, comma or equals sign here or in the line before.",
        ),
    )
    return Advice(
        what=f"This is not TOML: {what} (column {column}).",
        todo=todo,
        where=f"{file}:{line}",
        given=written[line - 1].strip() if written else "",
    )


def _second_opinion(text: str) -> tuple[str, int, int]:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        found = _PLACE.search(str(fault))
        lines = text.splitlines() or [""]
        if found is None or found["line"] is None:
            return _PLACE.sub("", str(fault)), len(lines), len(lines[-1]) + 1
        return _PLACE.sub("", str(fault)), int(found["line"]), int(found["column"])
    return "", 0, 0
