"""A boat's text checked whole, with every mistake told at once; files that did not change are not read again."""

import hashlib
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from dabchick.model import assemble
from dabchick.model.advice import Advice, BoatError
from dabchick.model.boat import FORMAT_VERSION, HULL_FORMS, Boat, Hull
from dabchick.model.hull_surface import HullSurface, turned
from dabchick.model.keys import Path as Keys
from dabchick.model.keys import dotted, present, value_at
from dabchick.model.misfits import misfits
from dabchick.model.mistakes import mistakes
from dabchick.model.placed_hull import PlacedHull, placed_hull
from dabchick.model.reading import Draft, read
from dabchick.model.vessel import Vessel
from dabchick.storage.locate import key_lines, line_of, located
from dabchick.storage.migrations import migrate
from dabchick.storage.not_toml import not_toml
from dabchick.storage.prepared_hull import PreparedHull, digest, keep, recall
from dabchick.storage.toml_content import content_of

_SETTLED_S = 2.0
"""A file changed more lately than this may change again within one tick of the file system's clock."""


@dataclass(frozen=True, eq=False)
class Checked:
    """A text that is a right boat, with all that was read for it."""

    text: str
    """In the newest format."""
    boat: Boat
    hull: HullSurface
    vessel: Vessel
    meshes: dict[str, HullSurface]
    kept: "Kept"


@dataclass(frozen=True)
class _Read:
    mark: tuple[int, int, int]
    settled: bool
    """It had not changed for so long that another change would show in its mark."""
    digest: str


@dataclass(frozen=True, eq=False)
class Kept:
    """What was read for one text, to be used again for the next."""

    marks: dict[Path, "_Read"] = field(default_factory=dict)
    """Each file as it was when it was read."""
    hulls: dict[str, PreparedHull] = field(default_factory=dict)
    meshes: dict[tuple[str, str], HullSurface] = field(default_factory=dict)
    """By the digest of the file's bytes and the unit."""


def checked(text: str, file: Path, last: Kept | None = None) -> Checked:
    """The boat that a text describes. Raises BoatError with everything that is wrong.

    `last`: what an earlier text of the same folder brought; what is still the same in it is not read again.
    """
    return _Check(file, last or Kept()).run(text)


def file_marks(content: Mapping[str, Any], folder: Path) -> dict[str, tuple[int, int, int]]:
    """The files that plain tables name, each with its size, time and number; also those that are not there."""
    hull = content.get("hull")
    named = [hull.get(key) for key in HULL_FORMS] if isinstance(hull, dict) else []
    for key in ("part", "tank"):
        rows = content.get(key)
        for row in range(len(rows) if isinstance(rows, list) else 0):
            path = (key, row, "shape", "mesh", "file")
            named.append(value_at(path, content) if present(path, content) == path else None)
    return {name: _mark(folder / name) for name in named if isinstance(name, str) and "\0" not in name}


def _newest_format(text: str, content: Mapping[str, Any], file: Path) -> tuple[str, Mapping[str, Any]]:
    version = content.get("dabchick")
    if not isinstance(version, int) or isinstance(version, bool) or version == FORMAT_VERSION:
        return text, content
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as fault:
        raise BoatError(not_toml(text, fault, str(file))) from fault
    if migrate(document, f"{file}:{line_of(('dabchick',), key_lines(text))}"):
        text = tomlkit.dumps(document)
    return text, content_of(text, file)


class _Check:
    """One check of one text."""

    def __init__(self, file: Path, last: Kept) -> None:
        self.file = file
        self.folder = file.parent
        self.last = last
        self.kept = Kept()
        self.advice: list[Advice] = []

    def run(self, text: str) -> Checked:
        text, content = _newest_format(text, content_of(text, self.file), self.file)
        draft, self.advice = read(content)
        self.advice += mistakes(draft)
        hull = self._hull(draft)
        surface = hull.surface if hull is not None else None
        meshes = self._part_meshes(draft)
        errors, warnings = misfits(draft, surface, meshes)
        self.advice += errors
        lines = key_lines(text)
        where = str(self.file)
        if any(entry.severity == "error" for entry in self.advice) or draft.boat is None or hull is None:
            raise BoatError(*located(self.advice + warnings, where, lines))
        try:
            placed = hull.placed or placed_hull(draft.boat.hull, hull.surface)
            vessel = assemble.vessel(draft.boat, hull.surface, meshes, placed=placed)
        except ValueError as fault:
            unfit = Advice(
                what=str(fault), todo="See that the skin is thinner than the hull.", key="hull.skin"
            )
            raise BoatError(*located([*self.advice, unfit], where, lines)) from fault
        prepared = PreparedHull(hull.surface, placed)
        if hull.placed is None:
            keep(hull.name, prepared)
        self.kept.hulls[hull.name] = prepared
        told = located([*self.advice, *vessel.advice, *warnings], where, lines)
        vessel = replace(vessel, advice=told)
        return Checked(text, draft.boat, hull.surface, vessel, meshes, self.kept)

    def _digest(self, file: Path) -> str:
        """Digest of a file's bytes; the file is not read when it is as it was the last time."""
        mark, known = _mark(file), self.last.marks.get(file)
        if known is None or known.mark != mark or not known.settled:
            settled = time.time_ns() - mark[1] > _SETTLED_S * 1e9
            known = _Read(mark, settled, hashlib.sha256(contents(file)).hexdigest())
        self.kept.marks[file] = known
        return known.digest

    def _hull(self, draft: Draft) -> "_HullRead | None":
        hull = draft.hull
        if hull is None or len(hull.forms) != 1:
            return None
        (key,) = hull.forms
        name = getattr(hull, key)
        file = _inner_file(self.folder, str(name), ("hull", key), self.advice)
        if file is None or (hull.mesh is not None and (hull.unit is None or hull.bow[1] == hull.up[1])):
            return None
        try:
            name = digest(hull, self._digest(file))
            known = self.last.hulls.get(name) or recall(name)
            if known is not None:
                return _HullRead(name, known.surface, known.placed)
            return _HullRead(name, _read_hull(hull, file), None)
        except BoatError as fault:
            self.advice += [
                replace(entry, where="" if entry.key else entry.where, key=entry.key or f"hull.{key}")
                for entry in fault.advice
            ]
            return None

    def _part_meshes(self, draft: Draft) -> dict[str, HullSurface]:
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
                self.advice.append(
                    Advice(
                        what=f"{mesh.file} is read in {units[mesh.file]} elsewhere and in {mesh.unit} here.",
                        todo="Give one unit for one file.",
                        key=dotted((*path[:-1], "unit")),
                    )
                )
                continue
            file = _inner_file(self.folder, mesh.file, path, self.advice)
            if file is None or mesh.file in meshes:
                continue
            try:
                meshes[mesh.file] = self._part_mesh(file, mesh.unit)
            except BoatError as fault:
                self.advice += [replace(entry, key=entry.key or dotted(path)) for entry in fault.advice]
        return meshes

    def _part_mesh(self, file: Path, unit: str) -> HullSurface:
        name = (self._digest(file), unit)
        known = self.last.meshes.get(name)
        if known is None:
            from dabchick.storage.mesh_file import read_mesh

            known = read_mesh(file, unit, part=True)
        self.kept.meshes[name] = known
        return known


def _mark(file: Path) -> tuple[int, int, int]:
    """Size, time of the last change and number of a file."""
    try:
        facts = file.stat()
    except OSError:
        return (-1, 0, 0)  # gone, or out of reach: not as it was, whatever it was
    return facts.st_size, facts.st_mtime_ns, facts.st_ino


def unreadable(file: Path, fault: OSError) -> BoatError:
    """What is said of a file that cannot be read."""
    return BoatError(
        Advice(
            what=f"{file.name} cannot be read: {fault.strerror}.",
            todo="See that you may read it.",
            where=str(file),
        )
    )


def contents(file: Path) -> bytes:
    """The bytes of a file. Raises BoatError when it cannot be read."""
    try:
        return file.read_bytes()
    except OSError as fault:
        raise unreadable(file, fault) from fault


@dataclass(frozen=True, eq=False)
class _HullRead:
    name: str
    surface: HullSurface
    placed: PlacedHull | None
    """Where it was made ready before."""


def _read_hull(hull: Hull, file: Path) -> HullSurface:
    if hull.trace is not None:
        from dabchick.storage.traced_surface import read_traced  # brings the search for faults

        return read_traced(file, None if hull.solid_walled else hull.skin.thickness)
    if hull.measures is not None:
        from dabchick.storage.measures_file import read_measured_hull

        return read_measured_hull(file)
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
