"""From the boat file to the vessel: put into the house frame, with every assumption written down."""

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model import known
from dabchick.model.advice import Advice
from dabchick.model.boat import Boat, KeepOutTable, PlaceTable, SpaceTable, TankTable, Trim, Water
from dabchick.model.break_line import house_line
from dabchick.model.hull_surface import HullSurface
from dabchick.model.ledger_entry import (
    DEFAULT_MATERIAL,
    Bench,
    density_of,
    part_item,
    skin_item,
    walls_item,
)
from dabchick.model.placed_hull import PlacedHull, datum_of, placed_hull, vector
from dabchick.model.shape import axis_turn, rotation
from dabchick.model.units import shown
from dabchick.model.vessel import (
    InnerOpening,
    Item,
    KeepOut,
    Place,
    Space,
    Tank,
    Vector,
    Vessel,
    Wishes,
)
from dabchick.physics import water

Array = NDArray[np.float64]

NO_MESHES: Final[Mapping[str, HullSurface]] = MappingProxyType({})

ASSUMED_TEMPERATURE_C: Final = 15.0
ASSUMED_SALINITY_G_KG: Final = {"fresh": 0.2, "sea": 35.0}
"""Within the usual range of ponds and of the open sea; from memory."""
SALT_WATER_KG_M3: Final = 1010.0
"""A density given alone counts as sea water from here on."""
ASSUMED_LIFT_KG: Final = 0.010
ASSUMED_BG_M: Final = 0.005
ASSUMED_CLEARANCE_M: Final = 0.002
ASSUMED_FOAM_LEAST_M3: Final = 1e-6
MARK_SHARE: Final = 0.10
"""Of the length: how far the draught marks stand in from the ends, when the builder gives none."""


def vessel(
    boat: Boat,
    surface: HullSurface,
    meshes: Mapping[str, HullSurface] = NO_MESHES,
    without_trim: bool = False,
    placed: PlacedHull | None = None,
) -> Vessel:
    """The boat in SI and in the house frame.

    `surface` is the hull as read, `meshes` the part meshes by file name. With `without_trim` the lead and
    foam that an earlier trim put in are left out. `placed` is the hull made ready before. What does not fit
    together is found by `mistakes.py` beforehand; here it raises ValueError.
    """
    hull = placed or placed_hull(boat.hull, surface)
    datum = datum_of(boat.measured_from, boat.hull, hull.length_m)
    bench = Bench(
        datum=datum,
        units=boat.units,
        meshes=meshes,
        lead_density=_stock_density("lead", boat.trim.lead.material, boat.trim.lead.density),
        foam_density=_stock_density("foam", boat.trim.foam.material, boat.trim.foam.density),
    )
    for text in (*surface.assumptions, *hull.assumptions):
        bench.assume(text)
    density, density_spread, temperature, salinity = _water(boat.water, bench)
    items, unweighed, advice = _items(boat, hull, bench, without_trim)
    tanks, wall_items, wall_unweighed, wall_advice = _tanks(boat, hull, bench)
    mark_bow, mark_stern = _marks(boat, hull, bench)
    return Vessel(
        name=boat.name,
        datum=datum,
        units=boat.units,
        water_density_kg_m3=density,
        water_density_spread_kg_m3=density_spread,
        water_temperature_c=temperature,
        water_salinity_g_kg=salinity,
        length_m=hull.length_m,
        low_m=hull.low_m,
        high_m=hull.high_m,
        hull=hull.outer,
        hull_inside=hull.inner,
        waterline_m=boat.hull.waterline,
        mark_bow_m=mark_bow,
        mark_stern_m=mark_stern,
        items=(*items, *wall_items),
        tanks=tanks,
        wishes=_wishes(boat.trim, boat.places, bench),
        openings=tuple((datum.to_house(hole.at), hole.area) for hole in boat.hull.openings),
        keep_outs=tuple(
            _keep_out(table, f"keep_out[{row}]", bench) for row, table in enumerate(boat.keep_outs, start=1)
        ),
        spaces=tuple(_space(table, f"space[{row}]", bench) for row, table in enumerate(boat.spaces, start=1)),
        inner_openings=tuple(
            InnerOpening(
                space=table.name,
                other="" if hole.to is None or hole.to.strip().lower() == "hull" else hole.to,
                at_m=bench.house(hole.at),
                area_m2=hole.area,
                key=f"space[{row}].openings[{number}]",
            )
            for row, table in enumerate(boat.spaces, start=1)
            for number, hole in enumerate(table.openings, start=1)
        ),
        break_line_m=house_line(boat.hull.break_line, datum, hull.length_m),
        unweighed=(*unweighed, *wall_unweighed),
        assumptions=tuple(bench.assumptions),
        advice=(*advice, *wall_advice),
    )


def _items(
    boat: Boat, hull: PlacedHull, bench: Bench, without_trim: bool
) -> tuple[list[Item], list[str], list[Advice]]:
    items: list[Item] = []
    unweighed: list[str] = []
    advice: list[Advice] = []
    skin = skin_item(boat.hull.skin, boat.hull.solid_walled, hull, bench)
    if skin is None:
        unweighed.append("skin")
        advice.append(_unweighed("skin", "hull.skin"))
    else:
        items.append(skin)
    for row, part in enumerate(boat.parts):
        if without_trim and part.source == "trim":
            continue
        key = f"part[{row + 1}]"
        item = part_item(part, key, bench)
        if item is None:
            unweighed.append(part.name)
            advice.append(_unweighed(part.name, key))
        else:
            items.append(item)
    bench.assume("places: spread by how they are known, measured 1 mm (common practice, no source)")
    return items, unweighed, advice


def _unweighed(name: str, key: str) -> Advice:
    return Advice(
        what=f'"{name}" has no mass yet, so it is left out of every sum, and what it displaces too.',
        todo='Weigh it, or give a guess: mass = { value = "100 g", known = "guess" }.',
        key=key,
        severity="warning",
    )


def _tanks(
    boat: Boat, hull: PlacedHull, bench: Bench
) -> tuple[tuple[Tank, ...], list[Item], list[str], list[Advice]]:
    tanks: list[Tank] = []
    items: list[Item] = []
    unweighed: list[str] = []
    advice: list[Advice] = []
    for row, table in enumerate(boat.tanks):
        key = f"tank[{row + 1}]"
        tank = _tank(table, key, hull, bench)
        tanks.append(tank)
        if table.walls is None:
            if table.inside is None and table.system != "bag":
                bench.assume(
                    f"{table.name}: no walls are given, so its own material weighs and displaces nothing"
                )
            continue
        item = walls_item(table, table.walls, tank.solid, key, bench)
        if item is None:
            unweighed.append(f"{table.name} walls")
            advice.append(_unweighed(f"{table.name} walls", f"{key}.walls"))
        else:
            items.append(item)
    return tuple(tanks), items, unweighed, advice


def _tank(table: TankTable, key: str, hull: PlacedHull, bench: Bench) -> Tank:
    solid = bench.placed(table.shape, table.turn, table.at)
    direction: Vector = (0.0, 0.0, 0.0)
    bore = 0.0
    if table.system == "piston":
        direction, bore = _piston(table, solid.centre[0], hull, bench)
    return Tank(
        name=table.name,
        system=table.system,
        solid=solid,
        capacity_m3=solid.volume,
        centre_m=vector(solid.centre),
        inside=table.inside or "",
        piston_direction=direction,
        bore_area_m2=bore,
        key=key,
    )


def _piston(table: TankTable, middle_x: float, hull: PlacedHull, bench: Bench) -> tuple[Vector, float]:
    """Unit vector from the water's end to the piston, and the bore's area."""
    cylinder = table.shape.cylinder
    if cylinder is None:
        raise ValueError(f'The piston tank "{table.name}" is not a cylinder. Give its bore as a cylinder.')
    axis = rotation(table.turn) @ axis_turn(cylinder.axis) @ np.array([1.0, 0.0, 0.0])
    end = table.water_end
    if end is None and abs(axis[0]) > 0.5:
        end = "bow" if middle_x > 0.5 * hull.length_m else "stern"
        bench.assume(f"{table.name}: water comes in at the end nearer to the {end}; set water_end if not")
    elif end is None:
        end = "bottom" if abs(axis[2]) > 0.5 else "bow"
        bench.assume(f"{table.name}: water comes in at the {end}; set water_end if not")
    towards = {"bow": (0, 1.0), "stern": (0, -1.0), "top": (2, 1.0), "bottom": (2, -1.0)}[end]
    lean = axis[towards[0]] * towards[1]
    direction = -axis if lean > 0.0 else axis
    return vector(direction), 0.25 * math.pi * cylinder.diameter**2


def _water(table: Water, bench: Bench) -> tuple[float, float, float, float]:
    """Density, its spread, temperature, salt."""
    temperature, temperature_spread = table.temperature, known.TEMPERATURE_GIVEN_C
    if temperature is None:
        temperature, temperature_spread = ASSUMED_TEMPERATURE_C, known.TEMPERATURE_ASSUMED_C
        bench.assume(f"water: {shown(temperature, 'temperature', bench.units)}")
    kind: Literal["fresh", "sea"] = table.kind or "fresh"
    if table.kind is None and table.density is not None and table.density >= SALT_WATER_KG_M3:
        kind = "sea"
    salinity = table.salinity
    if salinity is None:
        salinity, salinity_spread = ASSUMED_SALINITY_G_KG[kind], known.SALINITY_ASSUMED_G_KG[kind]
        use = ", only for what warmer or saltier water does" if table.density is not None else ""
        bench.assume(f"water: {kind}, {shown(salinity, 'salinity', bench.units)} of salt{use}")
    else:
        salinity_spread = max(known.SALINITY_GIVEN_G_KG, known.SALINITY_GIVEN_SHARE * salinity)
    if table.density is not None:
        return table.density, known.DENSITY_GIVEN_KG_M3, temperature, salinity
    by_temperature = float(water.d_density_d_temperature(temperature, salinity)) * temperature_spread
    low, high = max(salinity - 0.5, 0.0), min(salinity + 0.5, water.MOST_SALINITY_G_KG)
    by_salt = (
        float(water.density_kg_m3(temperature, high)) - float(water.density_kg_m3(temperature, low))
    ) / (high - low)
    spread = math.hypot(by_temperature, by_salt * salinity_spread)
    return float(water.density_kg_m3(temperature, salinity)), spread, temperature, salinity


def _marks(boat: Boat, hull: PlacedHull, bench: Bench) -> tuple[float, float]:
    marks = boat.hull.marks
    if marks is not None:
        return bench.house((marks.bow, 0.0, 0.0))[0], bench.house((marks.stern, 0.0, 0.0))[0]
    bench.assume(f"draught marks: {MARK_SHARE:.0%} of the length in from bow and stern")
    return (1.0 - MARK_SHARE) * hull.length_m, MARK_SHARE * hull.length_m


def _stock_density(
    stuff: Literal["lead", "foam"], name: str | None, density: float | None
) -> tuple[float, float]:
    found = density_of(name if name is not None or density is not None else DEFAULT_MATERIAL[stuff], density)
    if found is None:
        raise ValueError(f"The {stuff} has neither density nor material. Give one of them.")
    return found


def _wishes(trim: Trim, places: tuple[PlaceTable, ...], bench: Bench) -> Wishes:
    lift, least_bg, clearance = trim.lift_dived, trim.least_bg, trim.clearance
    if lift is None:
        lift = ASSUMED_LIFT_KG
        bench.assume(f"trim: lift wanted when dived {shown(lift, 'mass', bench.units)}")
    if least_bg is None:
        least_bg = ASSUMED_BG_M
        bench.assume(
            f"trim: BG of at least {shown(least_bg, 'length', bench.units)} (common practice, no source)"
        )
    if clearance is None:
        clearance = ASSUMED_CLEARANCE_M
    if trim.lead.density is None and trim.lead.material is None:
        bench.assume(f"trim: lead of {shown(bench.lead_density[0], 'density', bench.units)}")
    if trim.foam.density is None and trim.foam.material is None:
        bench.assume(f"trim: foam of {shown(bench.foam_density[0], 'density', bench.units)}")
    rooms, find = _places(trim, places, bench)
    return Wishes(
        lift_dived_kg=lift,
        least_bg_m=least_bg,
        lead_pieces_kg=() if trim.lead.sheet else tuple(sorted(set(trim.lead.pieces))),
        lead_density_kg_m3=bench.lead_density[0],
        foam_density_kg_m3=bench.foam_density[0],
        foam_least_volume_m3=trim.foam.least if trim.foam.least is not None else ASSUMED_FOAM_LEAST_M3,
        foam_sheet_m=trim.foam.sheet or 0.0,
        places=rooms,
        find_places=find,
        clearance_m=clearance,
    )


def _places(trim: Trim, tables: tuple[PlaceTable, ...], bench: Bench) -> tuple[tuple[Place, ...], bool]:
    """The builder's places, each for what the lists of names allow; and whether more are to be found."""
    given = tuple(place for table in tables for place in _spots(table, bench))
    spots_of = {place.name: table.name for table in tables for place in _spots(table, bench)}
    wanted = {"lead": trim.lead.places, "foam": trim.foam.places}
    find = any(
        names == ("auto",) or (names is None and not any(place.holds in (stuff, "both") for place in given))
        for stuff, names in wanted.items()
    )
    kept = []
    for place in given:
        lead, foam = (
            place.holds in (stuff, "both")
            and (names is None or "auto" in names or spots_of[place.name] in names)
            for stuff, names in wanted.items()
        )
        if lead or foam:
            kept.append(replace(place, holds="both" if lead and foam else "lead" if lead else "foam"))
    return tuple(kept), find


def _spots(table: PlaceTable, bench: Bench) -> tuple[Place, ...]:
    """One box, or the boxes along a rail."""
    if table.rail is None:
        return (_place(table, bench),)
    if table.size is None:
        raise ValueError(f'The rail "{table.name}" has no size for its spots. Give size.')
    start, end = np.array(bench.house(table.rail.start)), np.array(bench.house(table.rail.end))
    size = np.array(table.size)
    span = np.abs(end - start)
    # Spots stand side by side when they clear each other along the axis on which the rail runs farthest.
    axis = int(np.argmax(span / size))
    count = int(span[axis] / size[axis] + 1e-9) + 1
    return tuple(
        Place(
            name=f"{table.name} {number + 1}" if count > 1 else table.name,
            holds=table.holds,
            low_m=vector(middle - 0.5 * size),
            high_m=vector(middle + 0.5 * size),
            most_kg=table.most if table.most is not None else math.inf,
        )
        for number, middle in enumerate(np.linspace(start, end, count))
    )


def _keep_out(table: KeepOutTable, key: str, bench: Bench) -> KeepOut:
    box = _box(table, bench)
    if box is None:
        raise ValueError(f'The keep-out "{table.name}" has no room. Give low and high, or at and size.')
    return KeepOut(table.name, vector(box[0]), vector(box[1]), key)


def _space(table: SpaceTable, key: str, bench: Bench) -> Space:
    box = _box(table, bench)
    if box is None:
        raise ValueError(f'The space "{table.name}" has no room. Give low and high, or at and size.')
    return Space(table.name, vector(box[0]), vector(box[1]), key)


def _box(table: PlaceTable | KeepOutTable | SpaceTable, bench: Bench) -> tuple[Array, Array] | None:
    """Lowest and highest corner of a box given by two corners or round its middle; None for any other form."""
    if table.low is not None and table.high is not None:
        corners = np.array([bench.house(table.low), bench.house(table.high)])
        return corners.min(axis=0), corners.max(axis=0)
    if table.at is not None and table.size is not None:
        middle, half = np.array(bench.house(table.at)), 0.5 * np.array(table.size)
        return middle - half, middle + half
    return None


def _place(table: PlaceTable, bench: Bench) -> Place:
    box = _box(table, bench)
    if box is not None:
        low, high = box
    elif table.at is not None and table.most is not None:
        # A point is a cube of just the most lead that may hang there.
        middle, half = (
            np.array(bench.house(table.at)),
            0.5 * (table.most / bench.lead_density[0]) ** (1.0 / 3.0),
        )
        low, high = middle - half, middle + half
        return Place(table.name, "lead", vector(low), vector(high), table.most)
    else:
        raise ValueError(f'The place "{table.name}" has no room. Give low and high, or at and size.')
    return Place(
        name=table.name,
        holds=table.holds,
        low_m=vector(low),
        high_m=vector(high),
        most_kg=table.most if table.most is not None else math.inf,
    )
