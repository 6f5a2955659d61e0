"""What must fit together in a boat file: names, references, one thing or the other; all at once."""

import math
from collections import Counter
from collections.abc import Iterator
from typing import Any

from dabchick.model.advice import Advice
from dabchick.model.boat import (
    Hull,
    KeepOutTable,
    MeasuredFrom,
    Part,
    PlaceTable,
    RailTable,
    SpaceTable,
    TankTable,
    Trim,
    Water,
)
from dabchick.model.break_line import disorder
from dabchick.model.keys import dotted
from dabchick.model.reading import Draft, given
from dabchick.model.units import UnitSet, shown

REST_OF_HULL = "hull"
"""What lies in no [[space]]."""
ON_RAIL_M = 0.002
"""How far `at` may stand off the straight line between the two ends of its rail."""


def mistakes(draft: Draft) -> list[Advice]:
    """Everything that can be told without reading the hull's file, from the tables that are right so far."""
    units = _units(draft)
    found: list[Advice] = [*_names(draft)]
    if draft.measured_from is not None:
        found += _datum(draft.measured_from)
    if draft.water is not None:
        found += _water(draft.water)
    if draft.hull is not None:
        found += _hull(draft.hull)
        found += disorder(draft.hull.break_line, units)
    kinds = _kinds(draft)
    for row, part in draft.parts.items():
        found += _part(part, dotted(("part", row)), kinds, units)
    for row, tank in draft.tanks.items():
        found += _tank(tank, dotted(("tank", row)), kinds)
    for row, place in draft.places.items():
        found += _place(place, dotted(("place", row)))
    for row, keep_out in draft.keep_outs.items():
        key = dotted(("keep_out", row))
        # A box that lost a corner to another mistake is not blamed for having one too few.
        if not any(gone.startswith(f"{key}.") for gone in draft.dropped):
            found += _keep_out(keep_out, key)
    names = [space.name for space in draft.spaces.values()]
    for row, space in draft.spaces.items():
        key = dotted(("space", row))
        if not any(gone.startswith(f"{key}.") for gone in draft.dropped):
            found += _space(space, key, names)
    if draft.trim is not None:
        found += _trim(draft.trim, draft)
    return [entry for entry in found if not draft.is_dropped(entry.key)]


def _units(draft: Draft) -> UnitSet:
    return "inch" if draft.content.get("units") == "inch" else "metric"


def _rows(draft: Draft, key: str) -> list[Any]:
    rows = draft.content.get(key, [])
    return rows if isinstance(rows, list) else []


def _kinds(draft: Draft) -> dict[str, str]:
    """Kind of each part by name, also of parts that have other mistakes."""
    return {
        row["name"]: str(row.get("kind", ""))
        for row in _rows(draft, "part")
        if isinstance(row, dict) and isinstance(row.get("name"), str)
    }


def _names(draft: Draft) -> Iterator[Advice]:
    for keys in (("part", "tank"), ("place",), ("keep_out",), ("space",)):
        seen: dict[str, str] = {}
        for key in keys:
            for row, table in enumerate(_rows(draft, key)):
                name = table.get("name") if isinstance(table, dict) else None
                if not isinstance(name, str) or not name.strip():
                    continue
                here = dotted((key, row))
                if name in seen:
                    yield Advice(
                        what=f'The name "{name}" is taken already, by {seen[name]}.',
                        todo='Give every one its own name, such as "servo fore" and "servo aft".',
                        key=f"{here}.name",
                        given=given(name),
                    )
                seen.setdefault(name, here)


def _datum(table: MeasuredFrom) -> Iterator[Advice]:
    if table.z == "axis" and table.axis_height is None:
        yield Advice(
            what="z is measured from an axis, but nothing says how high that axis lies.",
            todo='Add its height over the keel: { x = "bow", z = "axis", axis_height = "52 mm" }.',
            key="measured_from.axis_height",
        )
    if table.z != "axis" and table.axis_height is not None:
        yield Advice(
            what=f"There is a height of the axis, but z is measured from the {table.z}.",
            todo='Take axis_height out, or write z = "axis".',
            key="measured_from.axis_height",
        )


def _water(table: Water) -> Iterator[Advice]:
    if table.kind is not None and table.salinity is not None:
        yield Advice(
            what="The water has both a kind and a salinity.",
            todo="Keep the salinity if it was measured; take the other out.",
            key="water.kind",
            given=given(table.kind),
        )
    if table.density is not None and table.salinity is not None and table.temperature is not None:
        yield Advice(
            what="The water's density is given, and follows from temperature and salinity too.",
            todo="Keep the density if it was measured, or the salinity; take the other out.",
            key="water.density",
        )


_SAYS_IT = {
    "stations": "a station table says",
    "measures": "a file of hand measures says",
    "trace": "a trace says",
}


def _hull(hull: Hull) -> Iterator[Advice]:
    if len(hull.forms) != 1:
        several = len(hull.forms) > 1
        number = {2: "two", 3: "three"}.get(len(hull.forms), "several")
        yield Advice(
            what=f"The hull has {number} forms: {', '.join(hull.forms)}."
            if several
            else "The hull has no form.",
            todo="Keep one of them."
            if several
            else 'Add stations = "file.csv", measures = "file.csv", trace = "file.toml", or mesh = "file.stl" and '
            "its unit.",
            key=f"hull.{hull.forms[1]}" if several else "hull.stations",
        )
    if hull.mesh is not None and hull.unit is None:
        yield Advice(
            what="A mesh file does not say which unit it is drawn in.",
            todo='Add unit = "mm", or whichever it is.',
            key="hull.unit",
            allowed="mm, cm, m, in, ft",
        )
    if hull.forms and hull.mesh is None:
        for key, value, usual in (
            ("unit", hull.unit, None),
            ("bow", hull.bow, "+x"),
            ("up", hull.up, "+z"),
            ("solid_walled", hull.solid_walled, False),
            ("separate_shells", hull.separate_shells, False),
        ):
            if value != usual:
                yield Advice(
                    what=f'"{key}" goes with a mesh; {_SAYS_IT[hull.forms[0]]} this itself.',
                    todo="Take it out.",
                    key=f"hull.{key}",
                    given=given(value),
                )
    if hull.bow[1] == hull.up[1]:
        yield Advice(
            what="Bow and up lie along the same axis of the mesh.",
            todo='Say which way the bow points and which way is up, such as bow = "-y", up = "+z".',
            key="hull.bow",
            given=f"bow {hull.bow}, up {hull.up}",
        )
    yield from _skin(hull)
    if hull.marks is not None and hull.marks.bow == hull.marks.stern:
        yield Advice(
            what="Both draught marks stand at the same place.",
            todo="Set them well apart, near bow and stern.",
            key="hull.marks",
        )


def _skin(hull: Hull) -> Iterator[Advice]:
    skin = hull.skin
    if hull.solid_walled and (skin.thickness is not None or skin.outside):
        yield Advice(
            what="The mesh is the material itself (solid_walled), so a skin has no thickness or side.",
            todo="Take thickness and outside out, or take solid_walled out if the mesh is the outer form.",
            key="hull.skin.thickness" if skin.thickness is not None else "hull.skin.outside",
        )
    if not hull.solid_walled and skin.thickness is None:
        yield Advice(
            what="Nothing says how thick the skin is.",
            todo='Add skin = { thickness = "1.8 mm", material = "GRP" }, or solid_walled = true if the mesh '
            "is the material itself.",
            key="hull.skin.thickness",
        )
    yield from _one_density(skin.material, skin.density, "hull.skin")


def _one_density(material: str | None, density: float | None, key: str) -> Iterator[Advice]:
    if material is not None and density is not None:
        yield Advice(
            what="There is both a material and a density.",
            todo="Keep the density if you know it; mention the material in a comment.",
            key=f"{key}.density",
        )


def _inside(name: str | None, key: str, kinds: dict[str, str]) -> Iterator[Advice]:
    if name is None:
        return
    dry = [entry for entry, kind in kinds.items() if kind == "dry"]
    names = ", ".join(f'"{entry}"' for entry in dry) or "there is no dry part yet"
    if name not in kinds:
        yield Advice(
            what=f'There is no part called "{name}" to be inside of.',
            todo="Correct the name, or add that part.",
            key=f"{key}.inside",
            given=given(name),
            allowed=names,
        )
    elif kinds[name] != "dry":
        yield Advice(
            what=f'"{name}" is not a dry part, so nothing can be inside it.',
            todo=f'Name a dry part, or make "{name}" one: kind = "dry".',
            key=f"{key}.inside",
            given=given(name),
            allowed=names,
        )


def _part(part: Part, key: str, kinds: dict[str, str], units: UnitSet) -> Iterator[Advice]:
    yield from _inside(part.inside, key, kinds)
    yield from _one_density(part.material, part.density, key)
    if part.kind == "inside" and part.inside is None:
        yield Advice(
            what=f'"{part.name}" is inside, but nothing says inside of what.',
            todo='Name the dry part that holds it, such as inside = "cylinder".',
            key=f"{key}.inside",
        )
    if part.kind in {"dry", "solid"} and part.inside is not None:
        yield Advice(
            what=f'"{part.name}" displaces water (kind = "{part.kind}"), yet stands inside a dry part.',
            todo='Write kind = "inside": what is in there only weighs.',
            key=f"{key}.kind",
            given=given(part.kind),
        )
    if part.kind == "dry" and part.density is None and part.material is not None and part.mass is None:
        yield Advice(
            what=f'"{part.name}" is a dry room, not a block of {part.material}.',
            todo="Weigh it, or give its mass as a guess.",
            key=f"{key}.material",
        )
    if not _has_room(part):
        yield Advice(
            what=f'Nothing says how much water "{part.name}" displaces.',
            todo='Give a shape, or a volume such as volume = { value = "12 ml", known = "measured" }.',
            key=f"{key}.shape",
        )
    if (
        part.shape is not None
        and part.shape.mesh is None
        and part.kind == "dry"
        and part.shape.tube is not None
    ):
        yield Advice(
            what=f'"{part.name}" is dry, but a tube is open at both ends.',
            todo="Write cylinder with its outer diameter; the mass says how thick its wall is.",
            key=f"{key}.shape",
        )
    if part.kind == "inside" or part.inside is not None:
        yield from _only_outside(part, key)
    if part.rail is not None:
        yield from _rail(part.rail, part.at, f"{key}.rail", units)


def _only_outside(part: Part, key: str) -> Iterator[Advice]:
    """Keys that say something of the flooded space alone."""
    if part.moves is not None:
        yield Advice(
            what=f'"{part.name}" stands in a dry part, where no lead or foam is looked for.',
            todo="Take moves out, or give it to what moves in the flooded space.",
            key=f"{key}.moves",
        )
    if part.half is not None:
        yield Advice(
            what=f'"{part.name}" stands in a dry part, and goes with that to one half of the hull.',
            todo="Give half to the dry part instead.",
            key=f"{key}.half",
            given=given(part.half),
        )


def _has_room(part: Part) -> bool:
    """A shape, a volume, or mass and density; a part inside needs none, one without a mass is left out."""
    if part.mass is None or part.kind == "inside" or part.inside is not None:
        return True
    if part.shape is not None or part.volume is not None:
        return True
    has_density = part.kind in {"lead", "foam"} or part.material is not None or part.density is not None
    return has_density and part.kind != "dry"


def _rail(rail: RailTable, at: tuple[float, float, float], key: str, units: UnitSet) -> Iterator[Advice]:
    wanted = 1 if rail.direction is not None else 3
    if len(rail.start) != wanted or len(rail.end) != wanted:
        yield Advice(
            what="The ends of the rail are neither two values along a direction nor two points.",
            todo='Write { direction = "x", from = "200 mm", to = "320 mm" }, or two points '
            '{ from = ["200 mm", 0, "26 mm"], to = ["320 mm", 0, "26 mm"] }.',
            key=key,
        )
        return
    if rail.start == rail.end:
        yield Advice(what="The rail has no length.", todo="Give it two different ends.", key=key)
        return
    if rail.direction is not None:
        value = at["xyz".index(rail.direction)]
        low, high = sorted((rail.start[0], rail.end[0]))
        if not low <= value <= high:
            yield Advice(
                what=f"The part stands at {rail.direction} = {shown(value, 'length', units)}, off its rail.",
                todo="Move the part or lengthen the rail.",
                key=key,
                allowed=f"{shown(low, 'length', units)} to {shown(high, 'length', units)}",
            )
        return
    span = [end - start for start, end in zip(rail.start, rail.end, strict=True)]
    reach = [value - start for start, value in zip(rail.start, at, strict=True)]
    along = sum(a * b for a, b in zip(span, reach, strict=True)) / sum(a * a for a in span)
    along = min(max(along, 0.0), 1.0)
    off = math.dist(at, [start + along * step for start, step in zip(rail.start, span, strict=True)])
    if off > ON_RAIL_M:
        yield Advice(
            what=f"The part stands {shown(off, 'length', units)} off its rail.",
            todo="Move the part or correct the ends of the rail.",
            key=key,
            allowed=f"at most {shown(ON_RAIL_M, 'length', units)}",
        )


def _tank(tank: TankTable, key: str, kinds: dict[str, str]) -> Iterator[Advice]:
    yield from _inside(tank.inside, key, kinds)
    if tank.shape.tube is not None:
        yield Advice(
            what=f'The tank "{tank.name}" is a tube, which is open at both ends.',
            todo="Give the room for water as a cylinder with the inner diameter.",
            key=f"{key}.shape",
        )
    if tank.system == "piston" and tank.shape.cylinder is None and tank.shape.tube is None:
        yield Advice(
            what=f'A piston runs in a cylinder, but "{tank.name}" is none.',
            todo='Write shape = { cylinder = { length = "120 mm", diameter = "40 mm" } }.',
            key=f"{key}.shape",
        )
    if tank.water_end is not None and tank.system != "piston":
        yield Advice(
            what="water_end goes with a piston; in other tanks the water lies where it finds its level.",
            todo="Take it out.",
            key=f"{key}.water_end",
            given=given(tank.water_end),
        )
    if tank.water_end is not None and tank.shape.cylinder is not None and tank.turn == (0.0, 0.0, 0.0):
        axis = tank.shape.cylinder.axis
        ends = {"x": ("bow", "stern"), "y": (), "z": ("top", "bottom")}[axis]
        if tank.water_end not in ends:
            yield Advice(
                what=f"The cylinder lies along {axis}, so its water cannot come in at the {tank.water_end}.",
                todo="Name one of its ends, or give the cylinder another axis.",
                key=f"{key}.water_end",
                given=given(tank.water_end),
                allowed=" or ".join(ends),
            )
    if tank.walls is not None:
        yield from _one_density(tank.walls.material, tank.walls.density, f"{key}.walls")
        if tank.walls.thickness is not None and tank.walls.volume is not None:
            yield Advice(
                what="The walls have both a thickness and a volume.",
                todo="Keep the one you know better.",
                key=f"{key}.walls.volume",
            )


def _place(place: PlaceTable, key: str) -> Iterator[Advice]:
    given_keys = {name for name in ("low", "high", "at", "size", "rail") if getattr(place, name) is not None}
    point = given_keys == {"at"} and place.most is not None and place.holds != "foam"
    if given_keys not in ({"low", "high"}, {"at", "size"}, {"rail", "size"}) and not point:
        yield Advice(
            what=f'The place "{place.name}" is not one box, point or rail.',
            todo='Give two opposite corners, low = ["100 mm", "-20 mm", 0] and high = [...]; or its middle '
            'and size, at = [...] and size = ["60 mm", "40 mm", "10 mm"]; or a point for lead, at = [...] and '
            'most = "50 g"; or a rail = { from = [...], to = [...] } with the size of one spot.',
            key=key,
        )
    else:
        yield from _flat(place, f'place "{place.name}"', key)


def _keep_out(table: KeepOutTable, key: str) -> Iterator[Advice]:
    given_keys = {name for name in ("low", "high", "at", "size") if getattr(table, name) is not None}
    if given_keys not in ({"low", "high"}, {"at", "size"}):
        yield Advice(
            what=f'The keep-out "{table.name}" is not one box.',
            todo='Give two opposite corners, low = ["100 mm", "-20 mm", 0] and high = [...]; or its middle '
            'and size, at = [...] and size = ["60 mm", "40 mm", "10 mm"].',
            key=key,
        )
    else:
        yield from _flat(table, f'keep-out "{table.name}"', key)


def _space(table: SpaceTable, key: str, names: list[str]) -> Iterator[Advice]:
    given_keys = {name for name in ("low", "high", "at", "size") if getattr(table, name) is not None}
    if given_keys not in ({"low", "high"}, {"at", "size"}):
        yield Advice(
            what=f'The space "{table.name}" is not one box.',
            todo='Give two opposite corners, low = ["100 mm", "-20 mm", "90 mm"] and high = [...]; or its middle '
            'and size, at = [...] and size = ["600 mm", "40 mm", "14 mm"].',
            key=key,
        )
    else:
        yield from _flat(table, f'space "{table.name}"', key)
    if table.name.strip().lower() == REST_OF_HULL:
        yield Advice(
            what=f'"{REST_OF_HULL}" is what all that lies in no space is called.',
            todo="Give this space another name, such as casing.",
            key=f"{key}.name",
            given=given(table.name),
        )
    for number, hole in enumerate(table.openings):
        if hole.to is None or hole.to.strip().lower() == REST_OF_HULL:
            continue
        others = [name for name in names if name != table.name]
        if hole.to not in others:
            yield Advice(
                what=f'The opening of "{table.name}" leads to "{hole.to}", which is no other space.',
                todo="Name another [[space]], or take `to` out: then it leads into the rest of the hull.",
                key=f"{key}.openings[{number + 1}].to",
                given=given(hole.to),
                allowed=", ".join(f'"{name}"' for name in [REST_OF_HULL, *others]),
            )


def _flat(table: PlaceTable | KeepOutTable | SpaceTable, label: str, key: str) -> Iterator[Advice]:
    """A box between two corners that share a coordinate holds nothing."""
    if table.low is None or table.high is None:
        return
    flat = [name for name, a, b in zip("xyz", table.low, table.high, strict=True) if a == b]
    if flat:
        yield Advice(
            what=f"The {label} has no extent along {' and '.join(flat)}.",
            todo="Set its two corners apart on every axis.",
            key=f"{key}.high",
        )


def _trim(trim: Trim, draft: Draft) -> Iterator[Advice]:
    known = [
        row["name"]
        for row in _rows(draft, "place")
        if isinstance(row, dict) and isinstance(row.get("name"), str)
    ]
    for stuff, names in (("lead", trim.lead.places), ("foam", trim.foam.places)):
        for row, name in enumerate(names or ()):
            if name != "auto" and name not in known:
                yield Advice(
                    what=f'There is no [[place]] called "{name}".',
                    todo='Correct the name, add that place, or write places = "auto".',
                    key=dotted(("trim", stuff, "places", row)),
                    given=given(name),
                    allowed=", ".join(f'"{entry}"' for entry in known) or '"auto"; there are no places yet',
                )
    yield from _one_density(trim.lead.material, trim.lead.density, "trim.lead")
    yield from _one_density(trim.foam.material, trim.foam.density, "trim.foam")
    if trim.lead.sheet and trim.lead.pieces:
        yield Advice(
            what="The lead is both sheet that is cut to mass and pieces of a fixed mass.",
            todo="Keep pieces, or sheet = true.",
            key="trim.lead.sheet",
        )
    doubled = [value for value, count in Counter(trim.lead.pieces).items() if count > 1]
    if doubled:
        yield Advice(
            what=f"The piece of {shown(doubled[0], 'mass', _units(draft))} is listed twice.",
            todo="List each mass once; as many of each are taken as are needed.",
            key="trim.lead.pieces",
        )
