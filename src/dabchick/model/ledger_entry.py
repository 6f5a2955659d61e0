"""One part of the boat file as an `Item`: mass, place, what it displaces, each with its spread."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from dabchick.model.boat import Part, RailTable, Skin, TankTable, Walls
from dabchick.model.fields import StatedMass, StatedVolume
from dabchick.model.hull_surface import HullSurface
from dabchick.model.known import THICKNESS_SHARE, mass_spread, place_spread, volume_spread
from dabchick.model.materials import material
from dabchick.model.placed_hull import PlacedHull, vector
from dabchick.model.shape import Shape, rotation
from dabchick.model.units import UnitSet, shown
from dabchick.model.vessel import Datum, Item, Known, Rail, Vector
from dabchick.physics import shapes
from dabchick.physics.skin import skin
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]

DEFAULT_MATERIAL = {"lead": "lead", "foam": "extruded polystyrene foam"}


@dataclass(frozen=True, eq=False)
class Bench:
    """What is needed to place a part: the datum, the mesh files, and the list of all assumptions."""

    datum: Datum
    units: UnitSet
    meshes: Mapping[str, HullSurface]
    foam_density: tuple[float, float]
    """Of the foam at hand, with its spread [kg/m3]."""
    lead_density: tuple[float, float]
    assumptions: list[str] = field(default_factory=list)

    def house(self, point: Vector) -> Vector:
        return self.datum.to_house(point)

    def placed(self, shape: Shape, turn: Vector, at: Vector) -> Solid:
        """A shape's body in the house frame."""
        body = shape.solid(-1.0 if self.datum.x_from == "bow" else 1.0, self.meshes)
        turned = rotation(turn) if any(turn) else None
        return body.moved(np.array(self.house(at)), turned)

    def assume(self, text: str) -> None:
        if text not in self.assumptions:
            self.assumptions.append(text)


def density_of(name: str | None, density: float | None) -> tuple[float, float] | None:
    """Density and its spread [kg/m3], the builder's own (spread 2 %) or from the table; None without."""
    if density is not None:
        return density, 0.02 * density
    if name is not None:
        found = material(name)
        return found.typical_kg_m3, found.spread_kg_m3
    return None


def part_item(part: Part, key: str, bench: Bench) -> Item | None:
    """The item of a part; None while its mass is not known, with nothing invented."""
    at = bench.house(part.at)
    envelope = bench.placed(part.shape, part.turn, part.at) if part.shape is not None else None
    displaces = part.kind != "inside" and part.inside is None
    density = _part_density(part, bench)
    body, room, room_spread = _room(part, envelope, at, density, bench)
    weight = _part_mass(part, density, room, room_spread, bench)
    if weight is None:
        return None
    mass, spread, known = weight
    centre = vector(envelope.centre) if envelope is not None else at
    if part.centre is not None:
        centre = bench.house(part.centre)
    sigma = part.placed.spread if part.placed.spread is not None else place_spread(part.placed.known)
    return Item(
        name=part.name,
        kind=part.kind,
        mass_kg=mass,
        mass_spread_kg=spread,
        centre_m=centre,
        centre_spread_m=(sigma, sigma, sigma),
        known=known,
        solid=body if displaces else None,
        volume_m3=room if displaces else 0.0,
        volume_spread_m3=room_spread if displaces else 0.0,
        volume_centre_m=vector(body.centre) if body is not None and displaces else centre,
        inertia_kg_m2=uniform_inertia(body if envelope is None else envelope, mass),
        envelope=envelope,
        inside=part.inside or "",
        rail=_rail(part.rail, part.at, bench.datum) if part.rail is not None else None,
        key=key,
        from_trim=part.source == "trim",
        outside=part.outside,
        volume_by_mass=displaces and body is not None and envelope is None and part.volume is None,
        moves_m=part.moves or 0.0,
        half=part.half,
    )


def skin_item(table: Skin, solid_walled: bool, hull: PlacedHull, bench: Bench) -> Item | None:
    """The skin as an item; None while neither a mass nor a material is known."""
    volume = hull.material.volume
    if solid_walled or table.thickness is None:
        room_spread = volume_spread(volume, "drawing")
    elif table.spread is not None:
        room_spread = volume * table.spread / table.thickness
    else:
        room_spread = volume * THICKNESS_SHARE
        bench.assume(f"skin: spread of the thickness {THICKNESS_SHARE:.0%} (common practice, no source)")
    density = density_of(table.material, table.density)
    if table.mass is not None:
        mass, spread, known = _stated_mass(table.mass, "skin", bench)
    elif density is not None:
        mass, spread = _from_density(volume, room_spread, density)
        known = "computed"
        how = "volume of the mesh" if solid_walled else "area x thickness"
        bench.assume(
            f"skin: not weighed; {how} x {shown(density[0], 'density', bench.units)} = "
            f"{shown(mass, 'mass', bench.units)}"
        )
    else:
        return None
    centre = vector(hull.material.centre)
    sigma = place_spread("drawing")
    return Item(
        name="skin",
        kind="skin",
        mass_kg=mass,
        mass_spread_kg=spread,
        centre_m=centre,
        centre_spread_m=(sigma, sigma, sigma),
        known=known,
        solid=hull.material,
        volume_m3=volume,
        volume_spread_m3=room_spread,
        volume_centre_m=centre,
        inertia_kg_m2=uniform_inertia(hull.material, mass),
        envelope=hull.outer,
        key="hull.skin",
    )


def walls_item(tank: TankTable, walls: Walls, room: Solid, key: str, bench: Bench) -> Item | None:
    """A tank's own material as an item; None while its mass is not known."""
    name = f"{tank.name} walls"
    displaces = tank.inside is None
    density = density_of(walls.material, walls.density)
    body, volume, room_spread = _wall_body(tank, walls, room, density, bench)
    if walls.mass is not None:
        mass, spread, known = _stated_mass(walls.mass, name, bench)
    elif density is not None and body is not None:
        mass, spread = _from_density(volume, room_spread, density)
        known = "computed"
        bench.assume(f"{name}: not weighed; volume x {shown(density[0], 'density', bench.units)}")
    else:
        return None
    if displaces and body is None:
        bench.assume(f"{name}: neither volume nor thickness is given, so they displace nothing")
    centre = vector(room.centre)
    sigma = place_spread("measured")
    return Item(
        name=name,
        kind="solid" if displaces else "inside",
        mass_kg=mass,
        mass_spread_kg=spread,
        centre_m=centre,
        centre_spread_m=(sigma, sigma, sigma),
        known=known,
        solid=body if displaces else None,
        volume_m3=volume if displaces else 0.0,
        volume_spread_m3=room_spread if displaces else 0.0,
        volume_centre_m=vector(body.centre) if body is not None and displaces else centre,
        inertia_kg_m2=uniform_inertia(room, mass),
        inside=tank.inside or "",
        key=f"{key}.walls",
    )


def uniform_inertia(body: Solid | None, mass_kg: float) -> Array:
    """(3, 3) inertia about its own centre of an even body of this mass [kg m2]; zeros for a point."""
    if body is None:
        return np.zeros((3, 3))
    inertia: Array = body.inertia() * (mass_kg / body.volume)
    return inertia


def _part_density(part: Part, bench: Bench) -> tuple[float, float] | None:
    found = density_of(part.material, part.density)
    if found is None and part.kind == "lead":
        bench.assume(
            f"lead: {shown(bench.lead_density[0], 'density', bench.units)} where no density is given"
        )
        return bench.lead_density
    if found is None and part.kind == "foam":
        bench.assume(
            f"foam: {shown(bench.foam_density[0], 'density', bench.units)} where no density is given"
        )
        return bench.foam_density
    return found


def _room(
    part: Part, envelope: Solid | None, at: Vector, density: tuple[float, float] | None, bench: Bench
) -> tuple[Solid | None, float, float]:
    """The body that displaces, its volume and the spread of that [m3]."""
    if part.volume is not None:
        volume, spread = _stated_volume(part.volume, part.name, bench)
        if envelope is not None:
            return envelope.weighted(volume / envelope.volume), volume, spread
        return _cube(volume, at, part, bench), volume, spread
    if envelope is not None:
        bench.assume("volumes from shapes: spread 2 %, at least 0.5 ml (common practice, no source)")
        return envelope, envelope.volume, volume_spread(envelope.volume, "measured")
    if part.mass is not None and density is not None and part.kind != "inside" and part.inside is None:
        volume = part.mass.value / density[0]
        share = math.hypot(density[1] / density[0], _mass_share(part.mass))
        return _cube(volume, at, part, bench), volume, volume * share
    return None, 0.0, 0.0


def _cube(volume: float, at: Vector, part: Part, bench: Bench) -> Solid:
    if part.kind != "inside" and part.inside is None:
        bench.assume(f"{part.name}: has no shape; its volume is taken as a cube at its place")
    side = volume ** (1.0 / 3.0)
    return shapes.box(side, side, side).moved(np.array(at))


def _part_mass(
    part: Part, density: tuple[float, float] | None, room: float, room_spread: float, bench: Bench
) -> tuple[float, float, Known] | None:
    if part.mass is not None:
        return _stated_mass(part.mass, part.name, bench)
    if density is None or room == 0.0 or part.kind == "dry":
        return None
    mass, spread = _from_density(room, room_spread, density)
    bench.assume(
        f"{part.name}: not weighed; volume x {shown(density[0], 'density', bench.units)} = "
        f"{shown(mass, 'mass', bench.units)}"
    )
    return mass, spread, "computed"


def _stated_mass(stated: StatedMass, name: str, bench: Bench) -> tuple[float, float, Known]:
    known = stated.known_how
    spread = stated.spread if stated.spread is not None else mass_spread(stated.value, known)
    if stated.known is None:
        bench.assume(
            f"{name}: no word on how its mass {shown(stated.value, 'mass', bench.units)} is known, so it is "
            f"a guess, spread {shown(spread, 'mass', bench.units)}"
        )
    elif stated.spread is None:
        bench.assume(
            "masses without a spread of their own: by how they are known (common practice, no source)"
        )
    return stated.value, spread, known


def _stated_volume(stated: StatedVolume, name: str, bench: Bench) -> tuple[float, float]:
    known = stated.known_how
    spread = stated.spread if stated.spread is not None else volume_spread(stated.value, known)
    if stated.known is None:
        bench.assume(
            f"{name}: no word on how its volume {shown(stated.value, 'volume', bench.units)} is known, so it "
            f"is a guess, spread {shown(spread, 'volume', bench.units)}"
        )
    return stated.value, spread


def _mass_share(stated: StatedMass) -> float:
    spread = stated.spread if stated.spread is not None else mass_spread(stated.value, stated.known_how)
    return spread / stated.value


def _from_density(volume: float, spread: float, density: tuple[float, float]) -> tuple[float, float]:
    mass = volume * density[0]
    return mass, mass * math.hypot(spread / volume, density[1] / density[0])


def _wall_body(
    tank: TankTable, walls: Walls, room: Solid, density: tuple[float, float] | None, bench: Bench
) -> tuple[Solid | None, float, float]:
    """The tank's material as a body, its volume and the spread of that [m3]."""
    if walls.volume is not None:
        volume, spread = _stated_volume(walls.volume, f"{tank.name} walls", bench)
        return room.weighted(volume / room.volume), volume, spread
    if walls.thickness is not None:
        body = _shell(tank, walls.thickness, room, bench)
        return body, body.volume, body.volume * THICKNESS_SHARE
    if walls.mass is not None and density is not None:
        volume = walls.mass.value / density[0]
        share = math.hypot(density[1] / density[0], _mass_share(walls.mass))
        return room.weighted(volume / room.volume), volume, volume * share
    return None, 0.0, 0.0


def _shell(tank: TankTable, thickness: float, room: Solid, bench: Bench) -> Solid:
    grown = tank.shape.grown(thickness)
    if grown is not None:
        turned = rotation(tank.turn) if any(tank.turn) else None
        return grown.moved(np.array(bench.house(tank.at)), turned) - room
    parts = [skin(vertices, faces, thickness, outside=True) for vertices, faces, _ in room.meshes()[:1]]
    return parts[0]


def _rail(table: RailTable, at: Vector, datum: Datum) -> Rail:
    """Ends of the rail as shifts from `at`, in the house frame."""
    if table.direction is not None:
        axis = "xyz".index(table.direction)
        ends = []
        for value in (table.start[0], table.end[0]):
            point = list(at)
            point[axis] = value
            ends.append((point[0], point[1], point[2]))
    else:
        ends = [(end[0], end[1], end[2]) for end in (table.start, table.end)]
    here = np.array(datum.to_house(at))
    low, high = (np.array(datum.to_house(end)) - here for end in ends)
    span = high - low
    length = float(np.linalg.norm(span))
    direction = span / length
    first, last = float(low @ direction), float(high @ direction)
    return Rail(direction=vector(direction), low_m=min(first, last), high_m=max(first, last))
