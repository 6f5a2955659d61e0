"""A boat's folder: opening it with every mistake told at once, and saving it so that nothing is ever lost."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import tomlkit
from tomlkit.exceptions import TOMLKitError

from dabchick.model import assemble
from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import Boat, Hull
from dabchick.model.hull_surface import HullSurface, turned
from dabchick.model.keys import Path as Keys
from dabchick.model.keys import dotted
from dabchick.model.misfits import misfits
from dabchick.model.mistakes import mistakes
from dabchick.model.placed_hull import PlacedHull, placed_hull
from dabchick.model.reading import Draft, read
from dabchick.model.vessel import Vessel
from dabchick.storage.atomic import clear_leftovers, write_atomic
from dabchick.storage.history import keep
from dabchick.storage.locate import key_lines, line_of, located
from dabchick.storage.migrations import migrate
from dabchick.storage.not_toml import not_toml
from dabchick.storage.prepared_hull import PreparedHull, digest, recall
from dabchick.storage.prepared_hull import keep as keep_prepared

FILE: Final = "boat.toml"
_MARK: Final = "\ufeff"
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


@dataclass(frozen=True, eq=False)
class _Opened:
    boat: Boat
    hull: HullSurface
    vessel: Vessel
    meshes: dict[str, HullSurface]


def open_boat(path: Path | str) -> OpenBoat:
    """Open the boat in a folder (or by its boat.toml). Raises BoatError with everything that is wrong."""
    file = boat_file(path)
    content = _bytes(file)
    text = _decoded(content, file)
    document = _parsed(text, file)
    if migrate(document, f"{file}:{line_of(('dabchick',), key_lines(text))}"):
        text = tomlkit.dumps(document)
    opened = _checked(text, file)
    return OpenBoat(
        folder=file.parent,
        text=text,
        boat=opened.boat,
        hull=opened.hull,
        vessel=opened.vessel,
        meshes=opened.meshes,
        on_disk=content,
    )


def save(open_boat: OpenBoat) -> bool:
    """Write the text back; False when nothing had changed.

    The new text is checked like an opened one first, the old version goes to `.history/`, and the file is
    replaced in one step. Raises BoatError, with the old file kept, when the text is no right boat, when the
    file has been changed by someone else meanwhile, or when it cannot be written.
    """
    file = open_boat.file
    mark = _MARK if open_boat.on_disk.startswith(_MARK.encode()) else ""
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
    opened = _checked(open_boat.text, file)
    if open_boat.on_disk:
        keep(file, open_boat.on_disk)
    write_atomic(file, content)
    clear_leftovers(open_boat.folder)
    open_boat.on_disk = content
    open_boat.boat, open_boat.hull, open_boat.vessel = opened.boat, opened.hull, opened.vessel
    open_boat.meshes = opened.meshes
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


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as fault:
        raise BoatError(
            Advice(
                what=f"{file.name} cannot be read: {fault.strerror}.",
                todo="See that you may read it.",
                where=str(file),
            )
        ) from fault


def _decoded(content: bytes, file: Path) -> str:
    try:
        return content.decode("utf-8").removeprefix(_MARK)
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


def _parsed(text: str, file: Path) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except TOMLKitError as fault:
        raise BoatError(not_toml(text, fault, str(file))) from fault


def _checked(text: str, file: Path) -> _Opened:
    """Everything checked; the vessel put together when nothing is wrong."""
    draft, advice = read(_parsed(text, file).unwrap())
    advice += mistakes(draft)
    prepared = _hull_surface(draft, file.parent, advice)
    surface = prepared.surface if prepared is not None else None
    meshes = _part_meshes(draft, file.parent, advice)
    errors, warnings = misfits(draft, surface, meshes)
    advice += errors
    lines = key_lines(text)
    if (
        any(entry.severity == "error" for entry in advice)
        or draft.boat is None
        or prepared is None
        or surface is None
    ):
        raise BoatError(*located(advice + warnings, str(file), lines))
    try:
        placed = prepared.placed or placed_hull(draft.boat.hull, surface)
        vessel = assemble.vessel(draft.boat, surface, meshes, placed=placed)
    except ValueError as fault:
        unfit = Advice(what=str(fault), todo="See that the skin is thinner than the hull.", key="hull.skin")
        raise BoatError(*located([*advice, unfit], str(file), lines)) from fault
    if prepared.placed is None:
        keep_prepared(prepared.name, PreparedHull(surface, placed))
    told = located([*advice, *vessel.advice, *warnings], str(file), lines)
    return _Opened(draft.boat, surface, replace(vessel, advice=told), meshes)


@dataclass(frozen=True, eq=False)
class _HullRead:
    name: str
    surface: HullSurface
    placed: PlacedHull | None
    """Where it was made ready before."""


def _hull_surface(draft: Draft, folder: Path, advice: list[Advice]) -> _HullRead | None:
    hull = draft.hull
    if hull is None or (hull.stations is None) == (hull.mesh is None):
        return None
    name, key = (hull.mesh, "mesh") if hull.mesh is not None else (hull.stations, "stations")
    file = _inner_file(folder, str(name), ("hull", key), advice)
    if file is None or (hull.mesh is not None and (hull.unit is None or hull.bow[1] == hull.up[1])):
        return None
    try:
        name = digest(hull, _bytes(file))
        known = recall(name)
        if known is not None:
            return _HullRead(name, known.surface, known.placed)
        return _HullRead(name, _read_hull(hull, file), None)
    except BoatError as fault:
        advice += [
            replace(entry, where="" if entry.key else entry.where, key=entry.key or f"hull.{key}")
            for entry in fault.advice
        ]
        return None


def _read_hull(hull: Hull, file: Path) -> HullSurface:
    if hull.mesh is None or hull.unit is None:
        from dabchick.storage.station_table import read_stations  # brings splines, which are slow to load

        return read_stations(file)
    from dabchick.storage.mesh_file import read_mesh  # brings the search for faults, which is slow to load

    surface = read_mesh(file, hull.unit, separate_shells=hull.separate_shells)
    if surface.solid_walled and not hull.solid_walled:
        raise BoatError(
            Advice(
                what="The mesh is all wall: it is the material itself, not the outer form of a hull.",
                todo="Write solid_walled = true without a skin thickness; or give the outer form alone.",
                key="hull.mesh",
                given=hull.mesh,
            )
        )
    surface = replace(surface, solid_walled=hull.solid_walled)
    return surface if (hull.bow, hull.up) == ("+x", "+z") else turned(surface, hull.bow, hull.up)


def _part_meshes(draft: Draft, folder: Path, advice: list[Advice]) -> dict[str, HullSurface]:
    meshes: dict[str, HullSurface] = {}
    wanted = [
        *((("part", row, "shape", "mesh", "file"), part.shape) for row, part in draft.parts.items()),
        *((("tank", row, "shape", "mesh", "file"), tank.shape) for row, tank in draft.tanks.items()),
    ]
    units: dict[str, str] = {}
    for path, shape in wanted:
        mesh = shape.mesh if shape is not None else None
        if mesh is None:
            continue
        if units.setdefault(mesh.file, mesh.unit) != mesh.unit:
            advice.append(
                Advice(
                    what=f"{mesh.file} is read in {units[mesh.file]} elsewhere and in {mesh.unit} here.",
                    todo="Give one unit for one file.",
                    key=dotted((*path[:-1], "unit")),
                )
            )
            continue
        file = _inner_file(folder, mesh.file, path, advice)
        if file is None or mesh.file in meshes:
            continue
        try:
            from dabchick.storage.mesh_file import read_mesh

            meshes[mesh.file] = read_mesh(file, mesh.unit, part=True)
        except BoatError as fault:
            advice += [replace(entry, key=entry.key or dotted(path)) for entry in fault.advice]
    return meshes


def _inner_file(folder: Path, name: str, path: Keys, advice: list[Advice]) -> Path | None:
    """A file in the boat's folder; advice and None when it is not there or lies outside."""
    file = folder / name
    if not file.resolve().is_relative_to(folder.resolve()):
        advice.append(
            Advice(
                what=f"{name} lies outside the boat's folder.",
                todo="Copy it into the folder and give its name alone: a boat is passed on as one folder.",
                key=dotted(path),
                given=name,
            )
        )
        return None
    if not file.is_file():
        kin = sorted(
            entry.name
            for entry in folder.iterdir()
            if entry.suffix.lower() in {file.suffix.lower(), ".stl", ".obj", ".ply", ".3mf"}
            and entry.is_file()
        )
        advice.append(
            Advice(
                what=f"The file {name} is not in the boat's folder.",
                todo="Put it there, or correct the name.",
                key=dotted(path),
                given=name,
                allowed=", ".join(kin),
            )
        )
        return None
    return file
