"""Older formats of the boat file, brought up to date step by step, with the builder's comments kept."""

from collections.abc import Callable
from typing import Final

import tomlkit

from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import FORMAT_VERSION

Migration = Callable[[tomlkit.TOMLDocument], None]

MIGRATIONS: Final[dict[int, Migration]] = {}
"""From version n to n + 1, in place. Version 1 is the first, so there is none yet."""


def migrate(
    document: tomlkit.TOMLDocument,
    file: str,
    migrations: dict[int, Migration] = MIGRATIONS,
    newest: int = FORMAT_VERSION,
) -> bool:
    """Bring a document up to the newest format in place; True when something changed.

    A version that is missing or no number is left for the reading to complain of. Raises BoatError for a
    version from the future and for one that no migration starts from.
    """
    version = document.get("dabchick")
    if not isinstance(version, int) or isinstance(version, bool) or version == newest:
        return False
    if version > newest:
        raise BoatError(
            Advice(
                what=f"This boat file has format {version}; this Dabchick reads up to {newest}.",
                todo="Update Dabchick. Do not lower the number: the file may say things that would be lost.",
                where=file,
                key="dabchick",
                given=str(int(version)),
                allowed=f"{newest}",
            )
        )
    while version < newest:
        step = migrations.get(int(version))
        if step is None:
            raise BoatError(
                Advice(
                    what=f"There is no format {version} of the boat file.",
                    todo=f"Write dabchick = {newest} as the first line; the file is then checked as such.",
                    where=file,
                    key="dabchick",
                    given=str(int(version)),
                    allowed=f"{newest}",
                )
            )
        step(document)
        version = int(version) + 1
        document["dabchick"] = version
    return True
