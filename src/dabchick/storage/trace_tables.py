"""Plain tables of a trace as a tidy text: what the builder typed stays as typed, points stand six in a row."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from dabchick.storage.toml_words import toml_key, toml_value

POINTS_IN_A_ROW: Final = 6
_WHOLE: Final = ("dabchick_trace", "section", "view", "body")
_VIEW: Final = ("curve",)
"""Keys of the whole and of a view that are tables with headers of their own."""


def tables_text(tables: Mapping[str, Any]) -> str:
    """The whole file. Raises BoatError for a value that TOML cannot say."""
    lines = ["dabchick_trace = 1", *_plain(tables, _WHOLE)]
    if tables.get("section"):
        lines += ["", "[section]", *_plain(tables["section"])]
    for view in tables.get("view", ()):
        lines += ["", "[[view]]", *_plain(view, _VIEW)]
        for curve in view.get("curve", ()):
            lines += ["", "[[view.curve]]", *_plain(curve)]
    for body in tables.get("body", ()):
        lines += ["", "[[body]]", *_plain(body)]
    return "\n".join(lines) + "\n"


def _plain(table: Mapping[str, Any], left_out: Sequence[str] = ()) -> list[str]:
    """The keys of one table, a line each; long lists of points over several."""
    found: list[str] = []
    for key, value in table.items():
        if key in left_out:
            continue
        if key == "points" and value:
            rows = [value[first : first + POINTS_IN_A_ROW] for first in range(0, len(value), POINTS_IN_A_ROW)]
            found += ["points = [", *(f"    {_row(row)}," for row in rows), "]"]
        else:
            found.append(f"{toml_key(key)} = {toml_value(_rounded(value))}")
    return found


def _row(points: Sequence[Sequence[float]]) -> str:
    return ", ".join(toml_value(_rounded(point)) for point in points)


def _rounded(value: Any) -> Any:
    """Pixels to a thousandth."""
    if isinstance(value, float):
        return round(value, 3) + 0.0
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    if isinstance(value, Mapping):
        return {key: _rounded(entry) for key, entry in value.items()}
    return value
