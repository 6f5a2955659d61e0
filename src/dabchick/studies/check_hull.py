"""The hull itself: her waterline, her skin, her openings, and the air that cannot get out."""

import math
from collections.abc import Iterator

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.physics.distance import distance_to_triangles
from dabchick.physics.free_space import Array
from dabchick.physics.inside import turns_at
from dabchick.studies.check_figures import displacing_volume
from dabchick.studies.room import hull_grid, is_one_shell, water_room
from dabchick.studies.speech import Speech

OPENING_OFF_M = 3e-3
"""An opening further than this from both faces of the skin is not in it."""
WRONG_SHARE = 5e-3
"""Share of the hull's area that may be too thin for the skin unmentioned, as at every sharp end."""
JUST_WITHIN_M = 1e-6
LEAST_AIR_M3 = 1e-6


def hull_findings(vessel: Vessel) -> list[Advice]:
    """The waterline off the hull, a skin too thick, openings missing or off the skin, shut-in air."""
    say = Speech(vessel)
    waterline = list(_waterline(vessel, say))
    if not math.isfinite(vessel.waterline_m):
        return [*waterline, *_openings(vessel, say)]
    return [*waterline, *_skin(vessel, say), *_openings(vessel, say), *_air(vessel, say)]


def _waterline(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    low, high = vessel.low_m[2], vessel.high_m[2]
    allowed = f"between {say.height(low)} and {say.height(high)}"
    if not low < vessel.waterline_m < high:
        side = "above the highest" if vessel.waterline_m >= high else "not above the lowest"
        yield Advice(
            what=f"The waterline is {side} point of the hull.",
            todo="Give the height at which she should float, from where the boat file measures.",
            where=say.height(vessel.waterline_m),
            key="hull.waterline",
            given=say.height(vessel.waterline_m),
            allowed=allowed,
        )
        return
    whole, under = displacing_volume(vessel)
    above_m3 = whole - under
    wished = vessel.wishes.lift_dived_kg / vessel.water_density_kg_m3
    if above_m3 <= wished or above_m3 <= 1e-9:
        nothing = above_m3 <= 1e-9
        amount = "No material" if nothing else f"Only {say.volume(above_m3)} of material"
        lift = say.mass(vessel.wishes.lift_dived_kg)
        yield Advice(
            what=f"{amount} stands above the waterline: no tank brings her from there to a lift of {lift}.",
            todo="Lower the waterline, put foam above it, or ask for less lift.",
            where=say.height(vessel.waterline_m),
            key="hull.waterline",
            given=f"{say.volume(max(above_m3, 0.0))} above the waterline",
            allowed=f"more than {say.volume(max(wished, 0.0))}",
            severity="error" if nothing else "warning",
        )


def _skin(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    """Facets of the inner face that have turned over, or passed through the face on the other side."""
    if is_one_shell(vessel):
        return
    wrong: list[Array] = []
    wrong_area = whole_area = 0.0
    count = 0
    for vertices, faces, _ in vessel.hull_inside.meshes():
        corners = vertices[faces]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        areas = np.linalg.norm(normals, axis=1)
        flat = areas <= 0.0
        normals /= np.where(flat, 1.0, areas)[:, None]
        within = corners.mean(axis=1) - JUST_WITHIN_M * normals
        crossed = (turns_at(vertices, faces, within) != 1) & ~flat
        wrong.append(within[crossed])
        wrong_area += float(areas[crossed].sum())
        whole_area += float(areas.sum())
        count += len(faces)
    points = np.concatenate(wrong)
    if wrong_area <= WRONG_SHARE * whole_area:
        return
    ends = [say.along(float(end)) for end in (points[:, 0].min(), points[:, 0].max())]
    middle = points.mean(axis=0)
    yield Advice(
        what="The skin is thicker than half the hull in places, so its material counts wrongly there.",
        todo="Give a thinner skin, or make the thin part a solid part and take it out of the hull.",
        where=say.at((float(middle[0]), float(middle[1]), float(middle[2]))),
        key="hull.skin.thickness",
        given=f"{len(points)} of {count} facets of the inner face crossed, between {ends[0]} and {ends[1]}",
        allowed="less than half the local thickness of the hull",
        severity="warning",
    )


def _is_flooding(vessel: Vessel) -> bool:
    return any(item.kind == "skin" for item in vessel.items)


def _openings(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    if not vessel.openings:
        if _is_flooding(vessel):
            yield Advice(
                what="The hull has no openings, so water cannot get in nor air out.",
                todo="List the flooding holes and vents with place and area.",
                key="hull.openings",
                given="none",
                allowed="one at the lowest and one at the highest point, at least",
                severity="warning",
            )
        return
    faces = [
        vertices[triangles]
        for solid in {id(solid): solid for solid in (vessel.hull, vessel.hull_inside)}.values()
        for vertices, triangles, _ in solid.meshes()
    ]
    for index, (place, area_m2) in enumerate(vessel.openings):
        distance = min(distance_to_triangles(corners, np.array(place)) for corners in faces)
        if distance > OPENING_OFF_M:
            yield Advice(
                what=f"Opening {index + 1} lies {say.length(distance)} off the skin.",
                todo="Move it onto the skin; check where it is measured from.",
                where=say.at(place),
                key=f"hull.openings[{index + 1}].at",
                given=say.length(distance),
                allowed=f"up to {say.length(OPENING_OFF_M)}",
                severity="warning",
            )
        if not area_m2 > 0.0:
            yield Advice(
                what=f"Opening {index + 1} has no area.",
                todo="Give the area that water can pass.",
                where=say.at(place),
                key=f"hull.openings[{index + 1}].area",
                given=f"{area_m2 * 1e6:g} mm^2",
                allowed="above 0",
            )


def _air(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    """Air above the highest opening with the boat level: it stays in, whatever the openings lower down do."""
    if not vessel.openings or not _is_flooding(vessel):
        return
    cells = hull_grid(vessel)
    water = water_room(vessel, cells)
    top = max(place[2] for place, _ in vessel.openings)
    heights = cells.centres(2)
    above = water & (heights > top)
    volume = float(above.sum()) * cells.volume_m3
    if volume <= LEAST_AIR_M3:
        return
    sections, _, layers = np.nonzero(above)
    highest = int(layers.max())
    at = cells.centres(0)[sections[layers == highest]]
    yield Advice(
        what=f"About {say.volume(volume)} of air stays in above the highest opening when she dives level.",
        todo="Make a vent at the highest point of the flooded space.",
        where=say.at((float(np.median(at)), 0.0, cells.side(2, highest + 1))),
        key="hull.openings",
        given=f"highest opening at {say.height(top)}",
        allowed=f"an opening at {say.height(cells.side(2, highest + 1))}",
        severity="warning",
    )
