"""Looking at and mending uploaded files: what runs in a process of its own, since the file may be anything."""

import contextlib
from dataclasses import dataclass
from pathlib import Path

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.mesh_look import FileLook, look_at
from dabchick.workbench.jobs import Tell


@dataclass(frozen=True, eq=False)
class Mended:
    """A mended mesh beside the one it was."""

    file: Path
    changes: tuple[str, ...]
    before: FileLook
    after: FileLook


def look(tell: Tell, file: Path, unit: str | None, separate_shells: bool, part: bool = False) -> FileLook:
    """Read a file and say what is in it."""
    tell("Reading the file and looking for faults", 0.1)
    return look_at(file, unit, separate_shells=separate_shells, part=part)


def mend(tell: Tell, file: Path, out: Path, unit: str, separate_shells: bool, part: bool = False) -> Mended:
    """Mend a mesh into a new file."""
    from dabchick.storage.repair import repair

    tell("Looking for faults", 0.1)
    before = look_at(file, unit, separate_shells=separate_shells, part=part)
    tell("Mending the mesh", 0.4)
    report = repair(file, unit, out, separate_shells=separate_shells)
    tell("Looking at the mended mesh", 0.8)
    after = look_at(out, unit, separate_shells=separate_shells, part=part)
    return Mended(out, report.changes, before, after)


def try_boat(tell: Tell, folder: Path) -> None:
    """Open a boat's folder; what is wrong with her is hers, as long as the attempt ends within its limits."""
    from dabchick.storage.folder import open_boat

    tell("Reading the boat", 0.1)
    with contextlib.suppress(BoatError):  # a faulty boat may come in too: her page then says what is wrong
        open_boat(folder)


def prove(tell: Tell, file: Path, unit: str | None, separate_shells: bool, solid_walled: bool) -> None:
    """Raise BoatError unless the file can be the hull of a boat."""
    tell("Reading the file", 0.1)
    found = look_at(file, unit, separate_shells=separate_shells)
    wrong = list(found.advice)
    if found.units and unit is None:
        wrong.append(
            Advice(
                what="A mesh does not say in which unit it was drawn.",
                todo="Choose the unit.",
                where=file.name,
                key="unit",
                allowed="mm, cm, m, in, ft",
            )
        )
    if found.solid_walled and not solid_walled:
        wrong.append(
            Advice(
                what="The mesh is all wall: it is the material itself, not the outer form of a hull.",
                todo="Say that it is the material itself, without a skin thickness; or bring in the outer form alone.",
                where=file.name,
                key="solid_walled",
            )
        )
    if wrong:
        raise BoatError(*wrong)
