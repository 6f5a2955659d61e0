"""A new boat's folder: from a hull and a choice of usual gear to a boat file that opens, floats and can be trimmed."""

import math
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Final

import tomlkit

from dabchick.model.advice import Advice, BoatError
from dabchick.model.hull_surface import Direction
from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vessel
from dabchick.storage.atomic import write_atomic
from dabchick.storage.folder import FILE, open_boat, open_text
from dabchick.storage.new_boat_text import BoatText, Opening
from dabchick.storage.starter_parts import StarterPart, size_class, starter_parts
from dabchick.studies import starter, tank
from dabchick.studies.starter import CylinderRoom, Gear

WATERLINES: Final = (0.78, 0.81, 0.84, 0.87, 0.90, 0.93)
"""Shares of the hull's height that are tried, the lowest first that a tank of seemly length goes with."""
TANK_SHARE: Final = 0.34
"""Of the cylinder's length, that the tank may take."""
SKIN_M: Final = (0.0012, 0.0018, 0.002, 0.0025)
"""Thickness of the skin where the builder gives none, by size class; common practice, no source."""
LIFT_KG: Final = (0.002, 0.006, 0.010, 0.020)
PIECES_G: Final = ((0.5, 1, 2, 5), (2, 5, 10), (5, 10, 20), (10, 20, 50))
DRIVE_M: Final = (0.012, 0.035, 0.060, 0.080)
"""Length of the piston's drive abaft the tank."""
DRIVE_KG: Final = (0.006, 0.050, 0.110, 0.200)
ACRYLIC_KG_M3: Final = 1185.0
"""As in data/materials.toml; only for first guesses of mass, which stand in the file as guesses."""


@dataclass(frozen=True)
class HullFile:
    """The file that is to be the hull, and how it is to be read."""

    name: str
    content: bytes
    unit: str | None = None
    """None for a station table."""
    bow: Direction = "+x"
    up: Direction = "+z"
    solid_walled: bool = False
    separate_shells: bool = False


@dataclass(frozen=True)
class Order:
    """What the builder has chosen."""

    name: str
    hull: HullFile
    units: UnitSet = "metric"
    skin_m: float | None = None
    material: str = ""
    waterline_m: float | None = None
    parts: tuple[str, ...] = ()


def write_boat(folder: Path, order: Order) -> None:
    """Write a boat into a folder that is not there yet. Raises BoatError where she would not open."""
    try:
        folder.mkdir()
        write_atomic(folder / order.hull.name, order.hull.content)
        text = _Builder(folder, order).text()
        write_atomic(folder / FILE, text.encode())
    except OSError as fault:
        raise BoatError(_no_room(folder, fault)) from fault
    open_boat(folder)


def write_demo(folder: Path, name: str, units: UnitSet) -> None:
    """Write a copy of the demo boat under another name into a folder that is not there yet."""
    try:
        folder.mkdir()
        for source in (files("dabchick") / "data" / "demo" / "wren").iterdir():
            content = source.read_bytes()
            if source.name == FILE:
                document = tomlkit.parse(content.decode())
                document["name"], document["units"] = name, units
                content = tomlkit.dumps(document).encode()
            write_atomic(folder / source.name, content)
    except OSError as fault:
        raise BoatError(_no_room(folder, fault)) from fault


def _no_room(folder: Path, fault: OSError) -> Advice:
    return Advice(
        what=f"The new boat could not be written: {fault.strerror}.",
        todo="See that the folder may be written to and that the disk has room.",
        where=folder.parent.name,
    )


class _Builder:
    """One new boat, from bare hull to whole file."""

    def __init__(self, folder: Path, order: Order) -> None:
        self.folder = folder
        self.order = order
        bare = BoatText(order, skin_m=order.skin_m or SKIN_M[1], waterline_m=order.waterline_m)
        self.bare = self._open(bare.whole(waterline_m=order.waterline_m or 0.001))
        self.length = self.bare.length_m
        self.height = self.bare.high_m[2]
        self.size = size_class(self.length)
        self.write = BoatText(order, skin_m=order.skin_m or SKIN_M[self.size], waterline_m=order.waterline_m)
        if order.skin_m is None and not order.hull.solid_walled:
            self.bare = self._open(self.write.whole(waterline_m=order.waterline_m or 0.8 * self.height))
        self.write.length_m = self.length
        self.chosen = self._chosen()

    def text(self) -> str:
        room = starter.cylinder_room(self.bare) if "cylinder" in self.chosen else None
        if "cylinder" in self.chosen and room is None:
            raise BoatError(_NO_CYLINDER)
        self.write.openings = self._openings()
        outside = self._outside(room)
        waterline = self.order.waterline_m or WATERLINES[0] * self.height
        lift, pieces = LIFT_KG[self.size], PIECES_G[self.size]
        if room is None:
            return self.write.whole(waterline, parts=outside, lift_kg=lift, pieces_g=pieces)
        cylinder = self.write.cylinder(room, self._cylinder_mass(room))
        tank_text, ends = "", None
        if "tank" in self.chosen:
            body = self._open(
                self.write.whole(waterline, parts=cylinder + outside, lift_kg=lift, pieces_g=pieces)
            )
            waterline, length, x = self._tank(body, room, fixed=self.order.waterline_m is not None)
            bore = starter.bore(room)
            mass = 1.3 * math.pi * bore * length * 0.05 * bore * ACRYLIC_KG_M3 + DRIVE_KG[self.size]
            tank_text = self.write.tank(room, x, length, bore, mass)
            ends = (x - 0.5 * length - DRIVE_M[self.size], x + 0.5 * length + starter.GAP_M)
        inside = self._inside(room, ends)
        return self.write.whole(
            waterline, parts=cylinder + inside + outside, tanks=tank_text, lift_kg=lift, pieces_g=pieces
        )

    def _open(self, text: str) -> Vessel:
        return open_text(text, self.folder / FILE, b"").vessel

    def _chosen(self) -> dict[str, StarterPart]:
        known = {entry.part: entry for entry in starter_parts(self.length)}
        wrong = [part for part in self.order.parts if part not in known]
        if wrong:
            raise BoatError(
                Advice(
                    what=f"There is no usual part of this name: {', '.join(wrong)}.",
                    todo="Choose from the list.",
                    key="parts",
                    allowed=", ".join(known),
                )
            )
        chosen = {part: known[part] for part in dict.fromkeys(self.order.parts)}
        dry = [entry.name for entry in chosen.values() if not entry.from_hull or entry.part == "tank"]
        if dry and "cylinder" not in chosen:
            raise BoatError(
                Advice(
                    what=f"What must stay dry has nothing to lie in: {', '.join(dry)}.",
                    todo="Choose the watertight cylinder too.",
                    key="parts",
                )
            )
        return chosen

    def _tank(self, body: Vessel, room: CylinderRoom, *, fixed: bool) -> tuple[float, float, float]:
        """Waterline, and length and middle of the tank that goes with it."""
        bore = starter.bore(room)
        tries = [body.waterline_m] if fixed else [share * self.height for share in WATERLINES]
        most = TANK_SHARE * room.length_m
        for waterline in tries:
            need = tank.run(replace(body, waterline_m=waterline), bore_m=bore)
            if need.length_m <= most or waterline == tries[-1]:
                break
        length = min(need.length_m, most if not fixed else 0.5 * room.length_m)
        low = room.aft_m + starter.CAP_M + DRIVE_M[self.size] + 0.5 * length
        high = room.fore_m - starter.CAP_M - starter.GAP_M - 0.5 * length
        return waterline, length, min(max(need.centre_m[0], low), max(low, high))

    def _inside(self, room: CylinderRoom, ends: tuple[float, float] | None) -> str:
        boxed = [entry for entry in self.chosen.values() if not entry.from_hull and entry.size_m is not None]
        gear = [Gear(entry.name, _with_way(entry), entry.end, entry.row) for entry in boxed]
        places = starter.lay_out(room, ends, gear)
        text = "".join(self.write.inside(entry, place) for entry, place in zip(boxed, places, strict=True))
        loose = [entry for entry in self.chosen.values() if not entry.from_hull and entry.size_m is None]
        return text + "".join(self.write.loose(entry, room.centre_m) for entry in loose)

    def _cylinder_mass(self, room: CylinderRoom) -> float:
        wall = starter.wall(room)
        tube = math.pi * room.diameter_m * room.length_m * wall
        caps = 2.0 * 0.25 * math.pi * room.diameter_m**2 * starter.CAP_M
        return ACRYLIC_KG_M3 * (tube + caps)

    def _openings(self) -> list[Opening]:
        """Three along the keel, and one at the highest point of the deck."""
        area = 6e-5 * (self.length / 0.6) ** 2
        along = [share * self.length for share in (0.25, 0.5, 0.75)]
        ends = starter.keel_and_deck(self.bare, along)
        found = [
            Opening((x, 0.0, end[0]), area) for x, end in zip(along, ends, strict=True) if end is not None
        ]
        return [*found, Opening(starter.highest_deck(self.bare), area)]

    def _outside(self, room: CylinderRoom | None) -> str:
        sizes = starter.outside_gear(self.bare, room)
        return "".join(
            self.write.outside(self.chosen[part], sizes[part]) for part in sizes if part in self.chosen
        )


def _with_way(entry: StarterPart) -> tuple[float, float, float]:
    """The room for a part, with the way that it may slide."""
    if entry.size_m is None:
        raise ValueError(f"{entry.name} has no size.")
    length, width, height = entry.size_m
    return (length + 2.0 * starter.SLIDE_M if entry.slides else length, width, height)


_NO_CYLINDER: Final = Advice(
    what="There is hardly room for a watertight cylinder in this hull.",
    todo="Check the hull's size and unit, or leave the cylinder and what goes into it out.",
    key="parts",
)
