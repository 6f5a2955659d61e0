"""A boat's folder: opening it with every mistake told at once, and saving it so that nothing is ever lost."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import tomlkit

from dabchick.model import assemble
from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import Boat
from dabchick.model.hull_surface import HullSurface
from dabchick.model.vessel import Vessel
from dabchick.storage.atomic import clear_leftovers, write_atomic
from dabchick.storage.checked import Kept, checked, contents
from dabchick.storage.history import keep

FILE: Final = "boat.toml"
MARK: Final = "\ufeff"
"""What some editors put before the first letter of a file."""


@dataclass(eq=False)
class OpenBoat:
    """A boat as it was opened. Change `text` by `edit.py`, then `save`; the rest is as of the last save."""

    folder: Path
    text: str
    """The boat file; every letter that is not changed is written back as it was."""
    boat: Boat
    hull: HullSurface
    vessel: Vessel
    meshes: Mapping[str, HullSurface] = field(default_factory=dict)
    on_disk: bytes = b""
    """The file as it was read or last written."""
    kept: Kept = field(default_factory=Kept)
    """What was read for it, for the next check."""

    @property
    def file(self) -> Path:
        return self.folder / FILE

    @property
    def document(self) -> tomlkit.TOMLDocument:
        """The text as a document to look at; changing it changes nothing here."""
        return tomlkit.parse(self.text)

    def bare_vessel(self) -> Vessel:
        """The vessel without the lead and foam that an earlier trim put in."""
        return assemble.vessel(self.boat, self.hull, self.meshes, without_trim=True)


def open_boat(path: Path | str) -> OpenBoat:
    """Open the boat in a folder (or by its boat.toml). Raises BoatError with everything that is wrong."""
    file = boat_file(path)
    content = contents(file)
    return open_text(decoded(content, file), file, content)


def open_text(text: str, file: Path, on_disk: bytes, last: OpenBoat | None = None) -> OpenBoat:
    """Open the boat that a text describes, as if it stood in the file. Raises BoatError like `open_boat`.

    `last`: an earlier opening of the same folder; files that have not changed since are not read again.
    """
    opened = checked(text, file, last.kept if last is not None else None)
    return OpenBoat(
        folder=file.parent,
        text=opened.text,
        boat=opened.boat,
        hull=opened.hull,
        vessel=opened.vessel,
        meshes=opened.meshes,
        on_disk=on_disk,
        kept=opened.kept,
    )


def save(open_boat: OpenBoat) -> bool:
    """Write the text back; False when nothing had changed.

    The new text is checked like an opened one first, the old version goes to `.history/`, and the file is
    replaced in one step. Raises BoatError, with the old file kept, when the text is no right boat, when the
    file has been changed by someone else meanwhile, or when it cannot be written.
    """
    file = open_boat.file
    mark = MARK if open_boat.on_disk.startswith(MARK.encode()) else ""
    content = (mark + open_boat.text).encode()
    if content == open_boat.on_disk:
        return False
    if file.exists() and file.read_bytes() != open_boat.on_disk:
        raise BoatError(
            Advice(
                what=f"{file.name} was changed by another program since it was opened; it is left as it is.",
                todo="Open the boat again and make your change once more.",
                where=str(file),
            )
        )
    opened = checked(open_boat.text, file, open_boat.kept)
    if open_boat.on_disk:
        keep(file, open_boat.on_disk)
    write_atomic(file, content)
    clear_leftovers(open_boat.folder)
    open_boat.on_disk = content
    open_boat.boat, open_boat.hull, open_boat.vessel = opened.boat, opened.hull, opened.vessel
    open_boat.meshes, open_boat.kept = opened.meshes, opened.kept
    return True


def boat_file(path: Path | str) -> Path:
    """The boat.toml of a folder, or the file itself; BoatError when it is not there."""
    given = Path(path)
    file = given if given.name.endswith(".toml") and not given.is_dir() else given / FILE
    if not file.is_file():
        there = "does not exist" if not given.exists() else f"has no {FILE}"
        raise BoatError(
            Advice(
                what=f"{given} {there}." if file != given else f"{given} does not exist.",
                todo="Give the boat's folder, or make a new one with `dabchick new`.",
                where=str(given),
            )
        )
    return file


def decoded(content: bytes, file: Path) -> str:
    """The text of a file, without the mark that some editors put first. Raises BoatError when it is none."""
    try:
        return content.decode("utf-8").removeprefix(MARK)
    except UnicodeDecodeError as fault:
        line = content.count(b"\n", 0, fault.start) + 1
        raise BoatError(
            Advice(
                what="The file is not UTF-8 text.",
                todo="Save it as UTF-8 in your editor.",
                where=f"{file}:{line}",
                given=f"byte 0x{content[fault.start]:02x}",
            )
        ) from fault
