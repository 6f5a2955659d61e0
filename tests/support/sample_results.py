"""Invented boats and trim answers, put together by hand, for tests of what is printed; no study is run."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.vessel import Datum, Item, Tank, Vector, Vessel, Wishes
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.trim_result import Move, Obstacle, Piece, Sensitivities, TrimResult

NO_SPREAD: Vector = (0.0, 0.0, 0.0)
NAN = float("nan")


def lofted_hull(
    length: float, beam: float, depth: float, stations: int = 61, around: int = 48
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """A closed hull with a blunt bow and a fine stern, keel at z = 0, as vertices and outward faces."""
    share = np.linspace(0.004, 0.996, stations)
    fullness = np.minimum(1.0, (1.0 - share) / 0.16) ** 0.5 * np.minimum(1.0, share / 0.34) ** 0.72
    angle = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    rings = [
        np.column_stack(
            [
                np.full(around, x * length),
                0.5 * beam * full * np.cos(angle),
                0.5 * depth * (1.0 + full * np.sin(angle)),
            ]
        )
        for x, full in zip(share, fullness, strict=True)
    ]
    tips = [[0.0, 0.0, 0.5 * depth], [length, 0.0, 0.5 * depth]]
    vertices = np.concatenate([*rings, np.array(tips)])
    faces = []
    for ring in range(stations - 1):
        for step in range(around):
            a, b = ring * around + step, ring * around + (step + 1) % around
            faces += [[a, b, b + around], [a, b + around, a + around]]
    stern, bow = len(vertices) - 2, len(vertices) - 1
    last = (stations - 1) * around
    for step in range(around):
        following = (step + 1) % around
        faces += [[stern, following, step], [bow, last + step, last + following]]
    return vertices, np.array(faces, dtype=np.int64)


def sail(x: float, length: float, foot: float, height: float, thickness: float) -> Solid:
    """An upright sail of lens-shaped section."""
    turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
    outline = np.column_stack(
        [0.5 * length * np.cos(turn), 0.5 * thickness * np.sin(turn) * np.abs(np.sin(turn)) ** 0.4]
    )
    return shapes.extruded(outline, height).moved((x, 0.0, foot))


def item(name: str, kind: str, grams: float, centre: Vector, solid: Solid | None, inside: str = "") -> Item:
    """One part; a part inside a cylinder has its room as an envelope and displaces nothing."""
    hidden = kind == "inside"
    volume = 0.0 if solid is None or hidden else solid.volume
    return Item(
        name=name, kind=kind, mass_kg=grams / 1000.0, mass_spread_kg=0.002, centre_m=centre,
        centre_spread_m=NO_SPREAD, known="weighed", solid=None if hidden else solid, volume_m3=volume,
        volume_spread_m3=0.0, volume_centre_m=centre, inertia_kg_m2=np.zeros((3, 3)), envelope=solid,
        inside=inside,
    )  # fmt: skip


def sample_vessel(
    name: str = "Moorhen",
    *,
    length: float = 0.84,
    beam: float = 0.105,
    depth: float = 0.112,
    units: str = "metric",
    datum: Datum | None = None,
) -> Vessel:
    """A free-flooding boat with a cylinder, a piston tank and a dozen parts, sized by its hull."""
    vertices, faces = lofted_hull(length, beam, depth)
    top = 1.5 * depth
    hull = shapes.mesh(vertices, faces) + sail(
        0.58 * length, 0.2 * length, 0.9 * depth, 0.6 * depth, 0.3 * beam
    )
    inner = (vertices - [0.5 * length, 0.0, 0.5 * depth]) * [0.995, 0.962, 0.962] + [
        0.5 * length,
        0.0,
        0.5 * depth,
    ]
    inner_sail = sail(0.58 * length, 0.193 * length, 0.9 * depth, 0.585 * depth, 0.27 * beam)
    axis = 0.52 * depth
    dry = shapes.cylinder(0.5 * length, 0.76 * depth).moved((0.53 * length, 0.0, axis))

    def box(x: float, z: float, size: Vector, y: float = 0.0) -> tuple[Vector, Solid]:
        centre = (x * length, y * beam, z * depth)
        return centre, shapes.box(size[0] * length, size[1] * beam, size[2] * depth).moved(centre)

    battery, radio = box(0.60, 0.34, (0.13, 0.32, 0.2)), box(0.70, 0.62, (0.06, 0.3, 0.12))
    motor, servo = box(0.34, 0.5, (0.07, 0.26, 0.28)), box(0.40, 0.66, (0.045, 0.2, 0.2), 0.12)
    shaft = shapes.cylinder(0.24 * length, 0.05 * depth).moved((0.14 * length, 0.0, 0.5 * depth))
    planes, mast = box(0.07, 0.5, (0.05, 0.9, 0.03)), box(0.6, 1.46, (0.012, 0.08, 0.36))
    tank_solid = shapes.cylinder(0.16 * length, 0.68 * depth).moved((0.49 * length, 0.0, axis))
    return Vessel(
        name=name,
        datum=datum or Datum("bow", "keel", length, 0.0),
        units=units,
        water_density_kg_m3=999.66,
        water_density_spread_kg_m3=0.3,
        water_temperature_c=12.0,
        water_salinity_g_kg=0.2,
        length_m=length,
        low_m=(0.0, -0.5 * beam, 0.0),
        high_m=(length, 0.5 * beam, top),
        hull=hull,
        hull_inside=shapes.mesh(inner, faces) + inner_sail,
        waterline_m=0.72 * depth,
        mark_bow_m=0.9 * length,
        mark_stern_m=0.12 * length,
        items=(
            item("cylinder", "dry", 640.0, (0.53 * length, 0.0, axis), dry),
            item("battery", "inside", 310.0, *battery, inside="cylinder"),
            item("receiver", "inside", 22.0, *radio, inside="cylinder"),
            item("motor", "inside", 96.0, *motor, inside="cylinder"),
            item("servo", "inside", 28.0, *servo, inside="cylinder"),
            item("shaft", "solid", 40.0, (0.14 * length, 0.0, 0.5 * depth), shaft),
            item("stern planes", "solid", 12.0, *planes),
            item("mast", "solid", 6.0, *mast),
            item("aerial lead", "inside", 3.0, (0.66 * length, 0.0, 0.8 * depth), None, inside="cylinder"),
        ),
        tanks=(Tank("main", "piston", tank_solid, tank_solid.volume, (0.49 * length, 0.0, axis), "cylinder",
                    (1.0, 0.0, 0.0), 0.0045),),
        wishes=Wishes(0.012, 0.005, (0.005, 0.01, 0.02), 11340.0, 35.0, 5e-6, 0.0, (), True, 0.002),
        assumptions=("Skin thickness 1.8 mm is a guess; its spread is 0.3 mm.",),
    )  # fmt: skip


def lie(vessel: Vessel, name: str) -> Lie:
    """How she lies with the answer fitted: surfaced on her marks or dived and hanging."""
    afloat = name == "surfaced"
    length, depth = vessel.length_m, vessel.waterline_m / 0.72
    draught = vessel.waterline_m
    return Lie(
        name=name,
        condition="floats" if afloat else "hangs",
        fills={tank.name: 0.0 if afloat else 0.94 for tank in vessel.tanks},
        draught_bow_m=Figure(draught + 0.0002 if afloat else NAN, 0.0011 if afloat else NAN),
        draught_stern_m=Figure(draught - 0.0001 if afloat else NAN, 0.0014 if afloat else NAN),
        freeboard_m=Figure(1.5 * depth - draught if afloat else NAN, 0.0012 if afloat else NAN),
        heel_deg=Figure(0.0 if afloat else 0.04, 0.4 if afloat else 0.9),
        trim_deg=Figure(0.02 if afloat else -0.13, 0.15 if afloat else 1.2),
        lift_kg=Figure(0.5136 if afloat else 0.0121, 0.006),
        mass_kg=Figure(3.2184 if afloat else 3.7199, 0.005),
        displaced_m3=0.0032195 if afloat else 0.0037212,
        cg_m=(0.541 * length, 0.0, (0.40 if afloat else 0.417) * depth),
        cb_m=(0.5412 * length, 0.0, (0.41 if afloat else 0.492) * depth),
        gm_transverse_m=Figure(0.0093 if afloat else 0.0081, 0.0006),
        gm_longitudinal_m=Figure(0.41 if afloat else 0.0084, 0.01),
        bg_m=Figure(0.0011 if afloat else 0.0084, 0.0005),
        stable=True,
        force_residual=2e-9,
        moment_residual=3e-11,
        normal=(0.0, 0.0, 1.0),
        offset_m=draught if afloat else NAN,
    )


def sample_pieces(vessel: Vessel, count: int) -> tuple[Piece, ...]:
    """Lead along the keel and foam under the deck, taking turns, spread along the boat."""
    length, depth, beam = vessel.length_m, vessel.waterline_m / 0.72, vessel.high_m[1] * 2
    pieces = []
    for index in range(count):
        share = 0.2 + 0.62 * ((index * 0.381966) % 1.0)
        x = round(share * length, 3)
        if index % 2 == 0:
            grams = 25.0 + 10.0 * (index % 4)
            volume = grams / 1000.0 / 11340.0
            size = (0.03 * length, 0.24 * beam, volume / (0.03 * length * 0.24 * beam))
            z = 0.05 * depth + 0.5 * size[2]
            counts = {"20 g": int(grams // 20), "5 g": int(grams % 20 // 5)}
            pieces.append(
                Piece("lead", f"keel {index // 2 + 1}", grams / 1000.0, volume, size, (x, 0.0, z),
                      {name: times for name, times in counts.items() if times})
            )  # fmt: skip
        else:
            volume = (12.0 + 7.0 * (index % 3)) * 1e-6
            size = (0.07 * length, 0.26 * beam, volume / (0.07 * length * 0.26 * beam))
            z = 0.93 * depth - 0.5 * size[2]
            pieces.append(
                Piece("foam", f"under deck {index // 2 + 1}", 35.0 * volume, volume, size, (x, 0.0, z), {})
            )
    return tuple(pieces)


def sample_result(vessel: Vessel, *, pieces: int = 6, feasible: bool = True, moves: int = 1) -> TrimResult:
    """A whole answer of `trim` for the vessel."""
    chosen = sample_pieces(vessel, pieces)
    after = (lie(vessel, "surfaced"), lie(vessel, "dived"))
    before = tuple(replace(state, trim_deg=Figure(state.trim_deg.value + 2.4, 0.8)) for state in after)
    movable = [part for part in vessel.items if part.kind == "inside"][:moves]
    foam = sum(piece.volume_m3 for piece in chosen if piece.material == "foam")
    obstacles = (
        Obstacle("weight", "She is 14 g too heavy for this waterline: raise it 1.1 mm, or take 14 g out, "
                 "or give the tank 3.5 ml more.", 14.0, "g"),
        Obstacle("bg", "BG dived is 3.2 mm, 1.8 mm short of the 5.0 mm asked for: lower the battery 6 mm.",
                 1.8, "mm"),
    )  # fmt: skip
    return TrimResult(
        boat=vessel.name,
        method="mixed-integer linear programme, proven by full equilibrium",
        sources=(),
        validity="statics",
        assumptions=(
            "Foam does not shrink at depth.",
            "The skin floods freely and holds no air.",
            *vessel.assumptions,
        ),
        warnings=(
            Advice("The receiver's mass is a guess.", "Weigh it: it moves the dived trim by 0.6 deg.",
                   severity="warning"),
        ),
        feasible=feasible,
        pieces=chosen,
        moves=tuple(
            Move(part.name, part.centre_m, (part.centre_m[0] - 0.016 * vessel.length_m, *part.centre_m[1:]))
            for part in movable
        ),
        before=(before[0], before[1]),
        after=after,
        wished_draught_bow_m=vessel.waterline_m,
        wished_draught_stern_m=vessel.waterline_m,
        wished_lift_kg=vessel.wishes.lift_dived_kg,
        wished_bg_m=vessel.wishes.least_bg_m,
        draught_bow_miss_m=0.0002,
        draught_stern_miss_m=-0.0001,
        lift_miss_kg=0.0001,
        added_lead_kg=sum(piece.mass_kg for piece in chosen if piece.material == "lead"),
        added_foam_m3=foam,
        added_foam_kg=35.0 * foam,
        place_count=len(chosen),
        gap=0.004,
        gaps={"misses": 0.0, "mass": 0.004},
        largest_miss=0.8,
        rounds=2,
        obstacles=() if feasible else obstacles,
        sensitivities=Sensitivities(
            pitch_surfaced_deg_per_10g_at_bow=-0.31,
            pitch_surfaced_deg_per_10g_at_stern=0.36,
            pitch_dived_deg_per_10g_at_bow=-6.6,
            pitch_dived_deg_per_10g_at_stern=7.4,
            pitch_dived_deg_per_10g_moved_100mm=-1.84,
            pitch_surfaced_deg_per_10g_moved_100mm=-0.09,
            heel_surfaced_deg_per_10g_moved_10mm=0.19,
            heel_dived_deg_per_10g_moved_10mm=0.21,
            draught_mm_per_10g=0.24,
            lift_g_per_degc=-0.45,
            lift_g_per_g_kg_salt=2.9,
        ),
    )  # fmt: skip
