"""Values and keys as TOML, on one line."""

import json
import math
import re
from typing import Any

from dabchick.model.advice import Advice, BoatError

_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


def toml_value(value: Any) -> str:
    """A value on one line, tables in braces with room inside. Raises BoatError for what TOML cannot say."""
    if isinstance(value, dict):
        inner = ", ".join(f"{toml_key(key)} = {toml_value(entry)}" for key, entry in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(toml_value(entry) for entry in value)}]"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else {math.inf: "inf", -math.inf: "-inf"}.get(value, "nan")
    raise BoatError(
        Advice(
            what="A boat file cannot hold an empty value." if value is None else f"{value!r} is no value.",
            todo="Give a text, a number, true or false, a list or a table; take the key out to leave it open.",
            given=str(value),
        )
    )


def toml_key(key: str) -> str:
    """A key, in quotes where it needs them."""
    return key if _BARE.match(key) else _quoted(key)


def _quoted(text: str) -> str:
    if not text.isprintable() and any("\ud800" <= letter <= "\udfff" for letter in text):
        raise BoatError(
            Advice(
                what="The text holds letters that are no letters.",
                todo="Type it anew.",
                given=repr(text)[:60],
            )
        )
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
