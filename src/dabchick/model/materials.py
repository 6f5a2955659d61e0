"""Materials: densities by name, each with its range and source."""

import difflib
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Material:
    """A density [kg/m3] with its usual range; `source` says where the typical value was read."""

    name: str
    low_kg_m3: float
    typical_kg_m3: float
    high_kg_m3: float
    source: str

    @property
    def spread_kg_m3(self) -> float:
        """One standard deviation: a quarter of the range, which takes low to high as two either side."""
        return 0.25 * (self.high_kg_m3 - self.low_kg_m3)


class UnknownMaterialError(ValueError):
    """No such material; `near` holds the names that look like it."""

    def __init__(self, name: str) -> None:
        names = {spelling.lower(): spelling for spelling in _table()[1]}
        close = difflib.get_close_matches(name.lower(), names, n=3, cutoff=0.5)
        self.near = tuple(dict.fromkeys(names[entry] for entry in close))
        super().__init__(f'The material "{name}" is not in the table.')


def material(name: str) -> Material:
    """The material of this name or of one of its short names; capitals do not matter.

    Raises UnknownMaterialError.

    >>> material("GRP").typical_kg_m3
    1450.0
    """
    found = _table()[0].get(" ".join(name.lower().split()))
    if found is None:
        raise UnknownMaterialError(name)
    return found


def materials() -> tuple[Material, ...]:
    """The whole table, in its own order."""
    return tuple(dict.fromkeys(_table()[0].values()))


@cache
def _table() -> tuple[dict[str, Material], tuple[str, ...]]:
    """Materials by lower-case name, and every name as it is spelt."""
    content = tomllib.loads(files("dabchick.data").joinpath("materials.toml").read_text("utf-8"))
    by_name: dict[str, Material] = {}
    spelt: list[str] = []
    for row in content["material"]:
        entry = Material(
            name=row["name"],
            low_kg_m3=float(row["low"]),
            typical_kg_m3=float(row["typical"]),
            high_kg_m3=float(row["high"]),
            source=row["source"],
        )
        for spelling in (row["name"], *row.get("also", ())):
            by_name[spelling.lower()] = entry
            spelt.append(spelling)
    return by_name, tuple(spelt)
