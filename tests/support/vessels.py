"""A small invented vessel built straight from arrays, for tests of the studies that need no boat file."""

import math

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Datum, Item, ItemKind, Place, Rail, Tank, Vector, Vessel, Wishes
from dabchick.physics import shapes
from dabchick.physics.skin import skin
from dabchick.physics.solid import Solid

RHO = 998.2
LENGTH = 0.9


def spheroid_mesh(length: float, beam: float, along: int = 60, around: int = 48) -> tuple[NDArray, NDArray]:
    """A closed outward spheroid, x from 0 to length, keel at z = 0."""
    angle = np.linspace(0.0, np.pi, along + 1)[1:-1]
    turn = np.arange(around) * 2.0 * np.pi / around
    x = 0.5 * length * (1.0 - np.cos(angle))
    radius = 0.5 * beam * np.sin(angle)
    ring = np.stack(
        [
            np.repeat(x[:, None], around, 1),
            radius[:, None] * np.cos(turn)[None, :],
            0.5 * beam + radius[:, None] * np.sin(turn)[None, :],
        ],
        axis=-1,
    ).reshape(-1, 3)
    vertices = np.vstack([ring, [[0.0, 0.0, 0.5 * beam], [length, 0.0, 0.5 * beam]]])
    stern, bow = len(vertices) - 2, len(vertices) - 1
    faces = []
    for row in range(along - 2):
        for column in range(around):
            a, b = row * around + column, row * around + (column + 1) % around
            c, d = a + around, b + around
            faces += [(a, d, c), (a, b, d)]
    for column in range(around):
        nxt = (column + 1) % around
        faces.append((stern, nxt, column))
        faces.append((bow, (along - 2) * around + column, (along - 2) * around + nxt))
    vertices, triangles = np.array(vertices), np.array(faces)
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    if np.einsum("ij,ij->i", a, np.cross(b, c)).sum() < 0.0:
        triangles = triangles[:, ::-1]
    return vertices, triangles


def item(
    name: str,
    kind: ItemKind,
    mass: float,
    centre: Vector,
    solid: Solid | None = None,
    *,
    inside: str = "",
    mass_spread: float = 0.0,
    centre_spread: float = 0.0,
    volume_spread: float = 0.0,
    rail: Rail | None = None,
) -> Item:
    placed = solid.moved(np.array(centre)) if solid is not None else None
    displaces = placed if kind != "inside" else None
    volume = displaces.volume if displaces is not None else 0.0
    inertia = mass / placed.volume * placed.inertia() if placed is not None else np.zeros((3, 3))
    return Item(
        name=name,
        kind=kind,
        mass_kg=mass,
        mass_spread_kg=mass_spread,
        centre_m=centre,
        centre_spread_m=(centre_spread,) * 3,
        known="weighed",
        solid=displaces,
        volume_m3=volume,
        volume_spread_m3=volume_spread,
        volume_centre_m=centre,
        inertia_kg_m2=inertia,
        envelope=placed,
        inside=inside,
        rail=rail,
    )


def small_vessel(**changes: object) -> Vessel:
    """Spheroid hull 900 x 110 mm, 1.8 mm skin, a dry cylinder with a piston tank, a sail and 10 or so weights."""
    vertices, faces = spheroid_mesh(LENGTH, 0.11)
    hull = shapes.mesh(vertices, faces)
    shell = skin(vertices, faces, 0.0018)
    shell_item = Item(
        name="skin",
        kind="skin",
        mass_kg=shell.volume * 1600.0,
        mass_spread_kg=0.004,
        centre_m=tuple(map(float, shell.centre)),
        centre_spread_m=(0.002, 0.0005, 0.001),
        known="computed",
        solid=shell,
        volume_m3=shell.volume,
        volume_spread_m3=8e-6,
        volume_centre_m=tuple(map(float, shell.centre)),
        inertia_kg_m2=np.zeros((3, 3)),
    )
    axis = 0.050
    bore = 0.070
    tank_length = 0.075
    tank_centre = (0.47, 0.0, axis)
    items = (
        shell_item,
        item("cylinder", "dry", 0.42, (0.45, 0.0, axis), shapes.cylinder(0.40, 0.080), mass_spread=0.001),
        item("sail", "solid", 0.050, (0.52, 0.0, 0.130), shapes.box(0.10, 0.018, 0.045), mass_spread=0.002),
        item("casing", "solid", 0.10, (0.45, 0.0, 0.1005), shapes.box(0.40, 0.025, 0.009), volume_spread=2e-6),
        item(
            "battery", "inside", 0.40, (0.42, 0.0, 0.022), shapes.box(0.12, 0.04, 0.02), inside="cylinder",
            rail=Rail((1.0, 0.0, 0.0), -0.04, 0.04), mass_spread=0.001, centre_spread=0.001,
        ),
        item("piston drive", "inside", 0.20, (0.55, 0.0, 0.045), inside="cylinder", mass_spread=0.005),
        item("electronics", "inside", 0.10, (0.60, 0.004, 0.050), inside="cylinder", mass_spread=0.01),
        item("motor", "inside", 0.18, (0.30, 0.0, 0.040), inside="cylinder", mass_spread=0.001),
        item("shaft", "solid", 0.045, (0.12, 0.0, 0.055), shapes.cylinder(0.16, 0.004), mass_spread=0.001),
        item("propeller", "solid", 0.020, (0.03, 0.0, 0.055), shapes.cylinder(0.006, 0.02), mass_spread=0.0005),
        item("planes", "solid", 0.030, (0.08, 0.0, 0.055), shapes.box(0.03, 0.08, 0.003), mass_spread=0.0005),
    )  # fmt: skip
    tank = Tank(
        name="main",
        system="piston",
        solid=shapes.cylinder(tank_length, bore).moved(np.array(tank_centre)),
        capacity_m3=0.25 * math.pi * bore**2 * tank_length,
        centre_m=tank_centre,
        inside="cylinder",
        piston_direction=(-1.0, 0.0, 0.0),
        bore_area_m2=0.25 * math.pi * bore**2,
    )
    places = tuple(
        Place(f"keel {x} {side}", "lead", (x / 1000 - 0.03, low, 0.006), (x / 1000 + 0.03, high, 0.010))
        for x in (200, 300, 450, 600, 700)
        for side, low, high in (("port", 0.002, 0.014), ("starboard", -0.014, -0.002))
    ) + tuple(
        Place(f"{name} {x} {side}", "foam", (x / 1000 - 0.03, low, z), (x / 1000 + 0.03, high, z + tall))
        for name, z, tall in (("high", 0.0925, 0.008), ("flank", 0.070, 0.020))
        for x in (180, 260, 640, 720)
        for side, low, high in (("port", 0.004, 0.024), ("starboard", -0.024, -0.004))
    )
    wishes = Wishes(
        lift_dived_kg=0.012,
        least_bg_m=0.004,
        lead_pieces_kg=(),
        lead_density_kg_m3=11340.0,
        foam_density_kg_m3=33.0,
        foam_least_volume_m3=2e-6,
        foam_sheet_m=0.0,
        places=places,
        find_places=False,
        clearance_m=0.002,
    )
    values: dict[str, object] = {
        "name": "Test boat",
        "datum": Datum("bow", "keel", LENGTH, 0.0),
        "units": "metric",
        "water_density_kg_m3": RHO,
        "water_density_spread_kg_m3": 0.1,
        "water_temperature_c": 20.0,
        "water_salinity_g_kg": 0.0,
        "length_m": LENGTH,
        "low_m": (0.0, -0.055, 0.0),
        "high_m": (LENGTH, 0.055, 0.11),
        "hull": hull,
        "hull_inside": hull,
        "waterline_m": 0.092,
        "mark_bow_m": 0.81,
        "mark_stern_m": 0.09,
        "items": items,
        "tanks": (tank,),
        "wishes": wishes,
    }
    return Vessel(**{**values, **changes})  # type: ignore[arg-type]
