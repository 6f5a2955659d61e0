"""Invented boats put together by hand, for questions of room and fit."""

from collections.abc import Sequence
from dataclasses import replace

import manifold3d
import numpy as np

from dabchick.model.vessel import Datum, Item, ItemKind, Known, Place, Tank, Vector, Vessel, Wishes
from dabchick.physics import shapes
from dabchick.physics.skin import offset_inward, skin
from dabchick.physics.solid import Solid

LENGTH_M, WIDTH_M, HEIGHT_M = 1.0, 0.12, 0.15
WATERLINE_M = 0.09

WISHES = Wishes(
    lift_dived_kg=0.01,
    least_bg_m=0.005,
    lead_pieces_kg=(),
    lead_density_kg_m3=11340.0,
    foam_density_kg_m3=35.0,
    foam_least_volume_m3=1e-6,
    foam_sheet_m=0.0,
    places=(),
    find_places=True,
    clearance_m=0.002,
)


def item(
    name: str,
    kind: ItemKind,
    solid: Solid | None,
    mass_kg: float = 0.1,
    *,
    at: Vector | None = None,
    known: Known = "weighed",
    inside: str = "",
) -> Item:
    """A part with its shape where it stands; `inside` and shapeless parts displace nothing."""
    centre = at if at is not None else vector(solid.centre) if solid is not None else (0.5, 0.0, 0.05)
    displaces = solid is not None and kind != "inside" and not inside
    return Item(
        name=name,
        kind=kind,
        mass_kg=mass_kg,
        mass_spread_kg=0.05 * abs(mass_kg),
        centre_m=centre,
        centre_spread_m=(0.001, 0.001, 0.001),
        known=known,
        solid=solid if displaces else None,
        volume_m3=solid.volume if displaces and solid is not None else 0.0,
        volume_spread_m3=0.0,
        volume_centre_m=centre,
        inertia_kg_m2=np.zeros((3, 3)),
        envelope=solid,
        inside=inside,
        key=f"part[{name}]",
    )


def tank(name: str, solid: Solid, inside: str = "") -> Tank:
    return Tank(
        name=name,
        system="sealed pump",
        solid=solid,
        capacity_m3=solid.volume,
        centre_m=vector(solid.centre),
        inside=inside,
        piston_direction=(0.0, 0.0, 0.0),
        key=f"tank[{name}]",
    )


def vessel(
    hull: Solid,
    items: Sequence[Item] = (),
    tanks: Sequence[Tank] = (),
    *,
    inside: Solid | None = None,
    waterline_m: float = WATERLINE_M,
    wishes: Wishes = WISHES,
    datum: Datum | None = None,
    openings: tuple[tuple[Vector, float], ...] = (),
) -> Vessel:
    """A boat of the given outer form; without `inside` the room reaches to it."""
    low, high = hull.bounds()
    return Vessel(
        name="Sample",
        datum=datum if datum is not None else Datum("stern", "keel", 0.0, 0.0),
        units="metric",
        water_density_kg_m3=1000.0,
        water_density_spread_kg_m3=0.5,
        water_temperature_c=12.0,
        water_salinity_g_kg=0.2,
        length_m=float(high[0] - low[0]),
        low_m=vector(low),
        high_m=vector(high),
        hull=hull,
        hull_inside=inside if inside is not None else hull,
        waterline_m=waterline_m,
        mark_bow_m=0.9 * float(high[0]),
        mark_stern_m=0.1 * float(high[0]),
        items=tuple(items),
        tanks=tuple(tanks),
        wishes=wishes,
        openings=openings,
    )


def box_hull() -> Solid:
    """1000 x 120 x 150 mm, from x = 0 and z = 0."""
    return shapes.box(LENGTH_M, WIDTH_M, HEIGHT_M).moved((LENGTH_M / 2, 0.0, HEIGHT_M / 2))


def hatched_box() -> Solid:
    """The same as its own material in one shell: walls of 3 mm, and an opening of 200 x 50 mm in the deck amidships."""
    vertices, faces, _ = box_hull().meshes()[0]
    room = manifold3d.Manifold.cube((0.994, 0.114, 0.144)).translate((0.003, -0.057, 0.003))
    hatch = manifold3d.Manifold.cube((0.2, 0.05, 0.1)).translate((0.4, -0.025, 0.1))
    mesh = (
        manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64))) - room - hatch
    ).to_mesh64()
    return shapes.mesh(np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts, dtype=np.int64))


def skinned(hull: Solid, thickness_m: float) -> tuple[Solid, Item]:
    """The inner face of a mesh hull, and its skin of 1450 kg/m3."""
    vertices, faces, _ = hull.meshes()[0]
    inner = shapes.mesh(offset_inward(vertices, faces, thickness_m), faces)
    material = skin(vertices, faces, thickness_m)
    return inner, item("skin", "skin", material, 1450.0 * material.volume)


def fat_spindle(rings: int = 120, sides: int = 96) -> Solid:
    """A closed round mesh 1 m long and 150 mm thick, r = 75 mm sin(pi x / L)^0.6."""
    x = np.linspace(0.0, LENGTH_M, rings + 1)[1:-1]
    radius = 0.075 * np.sin(np.pi * x / LENGTH_M) ** 0.6
    # Angles from the top down one side, and the same mirrored: the halves are alike to the last digit.
    angle = 2.0 * np.pi * (np.arange(sides // 2) + 0.5) / sides
    y = np.concatenate([-np.sin(angle), np.sin(angle)[::-1]])
    z = np.concatenate([np.cos(angle), np.cos(angle)[::-1]])
    body = np.stack(
        [
            np.repeat(x, sides),
            np.outer(radius, y).ravel(),
            np.outer(radius, z).ravel() + 0.075,
        ],
        axis=1,
    )
    vertices = np.vstack([body, [[0.0, 0.0, 0.075], [LENGTH_M, 0.0, 0.075]]])
    here = np.arange(sides)
    ahead = (here + 1) % sides
    faces = []
    for ring in range(rings - 2):
        low, high = ring * sides, (ring + 1) * sides
        faces += [
            np.stack([low + here, low + ahead, high + ahead], axis=1),
            np.stack([low + here, high + ahead, high + here], axis=1),
        ]
    last = (rings - 2) * sides
    stern, bow = len(body), len(body) + 1
    faces += [
        np.stack([np.full(sides, stern), ahead, here], axis=1),
        np.stack([np.full(sides, bow), last + here, last + ahead], axis=1),
    ]
    triangles = np.concatenate(faces)
    return shapes.mesh(vertices, triangles)


def mirrored(boat: Vessel) -> Vessel:
    """The same boat with port and starboard exchanged."""
    flip = np.diag([1.0, -1.0, 1.0])

    def over(solid: Solid | None) -> Solid | None:
        return None if solid is None else solid.moved((0.0, 0.0, 0.0), flip)

    def across(point: Vector) -> Vector:
        return (point[0], -point[1], point[2])

    def place_over(place: Place) -> Place:
        (x0, y0, z0), (x1, y1, z1) = place.low_m, place.high_m
        return replace(place, low_m=(x0, -y1, z0), high_m=(x1, -y0, z1))

    def part(one: Item) -> Item:
        return replace(one, solid=over(one.solid), envelope=over(one.envelope), centre_m=across(one.centre_m))

    hull = boat.hull.moved((0.0, 0.0, 0.0), flip)
    return replace(
        boat,
        hull=hull,
        hull_inside=hull if boat.hull_inside is boat.hull else boat.hull_inside.moved((0.0, 0.0, 0.0), flip),
        items=tuple(part(one) for one in boat.items),
        tanks=tuple(
            replace(one, solid=one.solid.moved((0.0, 0.0, 0.0), flip), centre_m=across(one.centre_m))
            for one in boat.tanks
        ),
        keep_outs=tuple(
            replace(
                box,
                low_m=(box.low_m[0], -box.high_m[1], box.low_m[2]),
                high_m=(box.high_m[0], -box.low_m[1], box.high_m[2]),
            )
            for box in boat.keep_outs
        ),
        wishes=replace(boat.wishes, places=tuple(place_over(place) for place in boat.wishes.places)),
    )


def vector(values: object) -> Vector:
    """Three plain floats."""
    x, y, z = (float(value) for value in np.asarray(values))
    return (x, y, z)
