"""A TOML text as plain tables."""

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from dabchick.model.advice import BoatError
from dabchick.storage.not_toml import not_toml


def content_of(text: str, file: Path | str = "boat.toml") -> Mapping[str, Any]:
    """A text as plain tables; to look at, not to change. Raises BoatError when it is not TOML."""
    try:
        return _loaded(text)
    except tomllib.TOMLDecodeError as fault:
        raise BoatError(not_toml(text, fault, str(file))) from fault


@lru_cache(maxsize=4)
def _loaded(text: str) -> Mapping[str, Any]:
    """One change looks at the same text several times."""
    return tomllib.loads(text)
