"""Reads the values of one source: the folders beside this file, each with SOURCE.md and values.toml."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@cache
def read(source: str) -> dict[str, dict[str, Any]]:
    """All tables of a source."""
    return tomllib.loads((FOLDER / source / "values.toml").read_text(encoding="utf-8"))


def rows(source: str, table: str) -> list[dict[str, Any]]:
    """The rows of a table, each by the names of its columns."""
    content = read(source)[table]
    return [dict(zip(content["columns"], row, strict=True)) for row in content["rows"]]
