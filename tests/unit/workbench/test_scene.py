"""What there is to draw: bodies, packed meshes, outlines, dimensions; and where the boat lies in the world."""

import math
import shutil
from dataclasses import replace
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.vessel import Vector, Vessel
from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.report.silhouettes import silhouette
from dabchick.storage.folder import open_boat
from dabchick.studies.glance import dived, surfaced
from dabchick.studies.lie import Lie
from dabchick.studies.loading import highest_m
from dabchick.workbench import errors, routes_scene
from dabchick.workbench.drawn import MOST_TRIANGLES, Forms, outlines
from dabchick.workbench.jobs import Jobs
from dabchick.workbench.pose import UNDER_SHARE, pose
from dabchick.workbench.scene import Scene, scene_of
from dabchick.workbench.shapes.scene import Body, SceneOut
from dabchick.workbench.shelf import Shelf
from dabchick.workbench.words import lie_out
from tests.support.sample_boat import TEXT, write_boat
from tests.support.vessels import small_vessel, spheroid_mesh


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf") / "wren"
    with as_file(files("dabchick.data") / "demo" / "wren") as demo:
        shutil.copytree(demo, folder)
    return folder


@pytest.fixture(scope="module")
def scene(wren: Path) -> tuple[Vessel, Scene]:
    boat = open_boat(wren)
    return boat.vessel, scene_of(boat, 7, Forms())


def _mesh(scene: Scene, body: Body) -> tuple[np.ndarray, np.ndarray]:
    """Vertices and triangles as a page reads them from the packed answer."""
    place = body.mesh
    assert place is not None
    vertices = np.frombuffer(scene.meshes, "<f4", 3 * place.vertices, place.offset).reshape(-1, 3)
    start = place.offset + 12 * place.vertices
    return vertices.astype(float), np.frombuffer(scene.meshes, "<u4", 3 * place.triangles, start).reshape(
        -1, 3
    )


def _volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _by_key(scene: Scene) -> dict[str, Body]:
    return {body.key: body for body in scene.scene.bodies}


def test_every_part_tank_opening_and_the_hull_is_there_once(scene: tuple[Vessel, Scene]) -> None:
    vessel, drawn = scene
    keys = [body.key for body in drawn.scene.bodies]
    assert len(keys) == len(set(keys))
    wanted = {item.key for item in vessel.items if not item.key.endswith(".walls")}
    wanted |= {tank.key for tank in vessel.tanks} | {"hull"}
    wanted |= {f"hull.openings[{number}]" for number in range(1, 8)}
    assert set(keys) == wanted
    assert drawn.scene.revision == 7


def test_the_packed_meshes_are_the_bodies(scene: tuple[Vessel, Scene]) -> None:
    """Volumes as the solids have them, less what 64 sides of a round one leave out (0.16 % of a cylinder)."""
    vessel, drawn = scene
    bodies = _by_key(drawn)
    solids = {item.key: item.envelope for item in vessel.items if item.kind != "skin" and item.envelope}
    solids |= {tank.key: tank.solid for tank in vessel.tanks} | {"hull": vessel.hull}
    assert len(solids) > 25
    for key, solid in solids.items():
        vertices, faces = _mesh(drawn, bodies[key])
        assert _volume(vertices, faces) == pytest.approx(solid.volume, rel=0.005), key
        assert vertices.min(axis=0) == pytest.approx(bodies[key].low_m, abs=2e-4), key
        assert vertices.max(axis=0) == pytest.approx(bodies[key].high_m, abs=2e-4), key
    ends = [
        body.mesh.offset + 12 * (body.mesh.vertices + body.mesh.triangles)
        for body in bodies.values()
        if body.mesh
    ]
    assert max(ends) == drawn.scene.mesh_bytes == len(drawn.meshes)


def test_what_the_builder_wrote_stands_with_each_body(scene: tuple[Vessel, Scene]) -> None:
    bodies = _by_key(scene[1])
    battery = bodies["part[4]"]
    assert (battery.name, battery.kind, battery.inside, battery.row) == ("battery", "inside", "cylinder", 3)
    assert battery.at == ["270 mm", "0", "30 mm"]
    assert battery.mass.text.replace("\u00a0", " ") == "506.0 g"
    # 270 mm from the bow of a boat 900 mm long
    assert battery.centre_m == pytest.approx((0.630, 0.0, 0.030), abs=1e-9)
    assert battery.movable
    assert bodies["tank[1]"].mass.text.replace("\u00a0", " ") == "168.0 g"
    assert bodies["part[1]"].carries[:2] == ["part[2]", "part[3]"]
    assert "tank[1]" in bodies["part[1]"].carries
    assert (bodies["hull"].row, bodies["hull"].movable, bodies["hull.skin"].mesh) == (None, False, None)
    wiring = bodies["part[15]"]
    assert (wiring.name, wiring.mesh, wiring.outlines.side) == ("wiring", None, [])


def test_openings_are_circles_of_their_area(scene: tuple[Vessel, Scene]) -> None:
    opening = _by_key(scene[1])["hull.openings[1]"]
    radius = math.sqrt(60e-6 / math.pi)
    ring = np.array(opening.outlines.side[0])
    away = np.hypot(*(ring - [0.9 - 0.120, 0.006]).T)
    assert away == pytest.approx(np.full(len(ring), radius), abs=1e-5)


def test_outlines_bound_the_bodies(scene: tuple[Vessel, Scene]) -> None:
    for body in scene[1].scene.bodies:
        for view, axes in (("side", (0, 2)), ("top", (0, 1)), ("end", (1, 2))):
            rings = getattr(body.outlines, view)
            if body.mesh is None:
                continue
            points = np.array([point for ring in rings for point in ring])
            assert points.min(axis=0) == pytest.approx([body.low_m[axis] for axis in axes], abs=4e-4), (
                body.key
            )
            assert points.max(axis=0) == pytest.approx([body.high_m[axis] for axis in axes], abs=4e-4), (
                body.key
            )


def test_a_box_seen_from_its_end_is_width_times_height() -> None:
    (ring,) = silhouette(shapes.box(0.3, 0.04, 0.02).moved((0.1, 0.01, 0.05)), "end", 1e-4)
    after = np.roll(ring, -1, axis=0)
    area = 0.5 * abs(float(np.sum(ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1])))
    assert area == pytest.approx(0.04 * 0.02, rel=1e-9)
    assert ring.mean(axis=0) == pytest.approx([0.01, 0.05], abs=1e-9)


def test_dimensions_are_in_the_builders_datum_and_units(scene: tuple[Vessel, Scene]) -> None:
    vessel, drawn = scene
    lines = {line.text.replace("\u00a0", " "): line for line in drawn.scene.dimensions if line.view == "side"}
    assert "900 mm" in lines
    # the marks are measured from the bow, whose x is the boat's length
    mark = lines["bow mark 60 mm"]
    assert mark.start[0] == pytest.approx(vessel.length_m)
    assert mark.end[0] == pytest.approx(vessel.length_m - 0.060)
    waterline = lines["waterline 82 mm"]
    assert (waterline.start[1], waterline.end[1]) == (0.0, pytest.approx(0.082))
    for line in drawn.scene.dimensions:
        axes = {"side": (0, 2), "top": (0, 1), "end": (1, 2)}[line.view]
        for point in (line.start, line.end):
            for axis, value in zip(axes, point, strict=True):
                assert drawn.scene.low_m[axis] <= value <= drawn.scene.high_m[axis]


def test_a_shifted_or_reopened_body_is_not_made_anew() -> None:
    forms = Forms()
    vertices, faces = spheroid_mesh(0.9, 0.11)
    hull, cylinder = shapes.mesh(vertices, faces), shapes.tube(0.3, 0.08, 0.07)
    for solid in (hull, cylinder):
        one, anchor = forms.of(solid)
        other, moved = forms.of(solid.moved((0.0123, -0.001, 1.0 / 3.0)))
        assert other is one
        assert moved - anchor == pytest.approx((0.0123, -0.001, 1.0 / 3.0), abs=1e-12)
    again, _ = forms.of(shapes.mesh(vertices.copy(), faces.copy()))
    assert again is forms.of(hull)[0]
    assert forms.of(shapes.tube(0.3, 0.08, 0.071))[0] is not forms.of(cylinder)[0]


def test_outlines_go_where_the_body_goes() -> None:
    forms = Forms()
    body = shapes.cylinder(0.2, 0.05)
    here = outlines(*forms.of(body))
    there = outlines(*forms.of(body.moved((0.1, 0.02, -0.03))))
    for view, shift in (("side", (0.1, -0.03)), ("top", (0.1, 0.02)), ("end", (0.02, -0.03))):
        one, other = (np.array(getattr(entry, view)[0]) for entry in (here, there))
        assert other - one == pytest.approx(np.tile(shift, (len(one), 1)), abs=1.1e-5)


def test_a_very_fine_hull_is_thinned_for_drawing_only() -> None:
    vertices, faces = spheroid_mesh(0.9, 0.11, along=120, around=100)
    assert len(faces) > MOST_TRIANGLES
    solid = shapes.mesh(vertices, faces)
    form, anchor = Forms().of(solid)
    assert form.thinned
    assert 0.2 * MOST_TRIANGLES < len(form.indices) <= MOST_TRIANGLES
    assert _volume(form.positions + anchor, form.indices) == pytest.approx(solid.volume, rel=0.002)


WITHOUT_MASS = TEXT.replace('mass = { value = "19 g", known = "catalogue" }\nvolume', "volume")
ON_A_RAIL = """
[[place]]
name = "keel rail"
for = "lead"
size = ["20 mm", "10 mm", "8 mm"]
rail = { from = ["220 mm", 0, "8 mm"], to = ["300 mm", 0, "8 mm"] }

[trim]
"""


def test_what_has_no_mass_is_drawn_but_not_dragged(tmp_path: Path) -> None:
    text = WITHOUT_MASS.replace(
        'name = "servo"\nkind = "solid"\n',
        'name = "servo"\nkind = "solid"\nshape = { box = { size = ["20 mm", "20 mm", "30 mm"] } }\n',
    )
    drawn = scene_of(open_boat(write_boat(tmp_path / "box", text)), 1, Forms())
    servo = _by_key(drawn)["part[3]"]
    assert (servo.name, servo.mass.text, servo.mass.value, servo.movable) == ("servo", "unknown", None, False)
    assert servo.mesh is not None
    assert servo.centre_m == pytest.approx((0.060, -0.012, 0.060), abs=1e-12)
    assert servo.high_m[0] - servo.low_m[0] == pytest.approx(0.020, abs=1e-9)


def test_places_stand_under_their_rows_and_spots(tmp_path: Path) -> None:
    text = TEXT.replace("\n[trim]\n", ON_A_RAIL).replace(
        'places = ["keel fore"]', 'places = ["keel fore", "keel rail"]'
    )
    drawn = scene_of(open_boat(write_boat(tmp_path / "box", text)), 1, Forms())
    places = {body.key: body for body in drawn.scene.bodies if body.kind == "place"}
    # 80 mm of rail hold five spots of 20 mm, the first and last centred on its ends
    assert set(places) == {"place[1]", *(f"place[2].spot[{spot}]" for spot in range(1, 6))}
    assert [places["place[2].spot[1]"].row, places["place[1]"].row] == [1, 0]
    assert places["place[1]"].low_m == pytest.approx((0.400, -0.020, 0.003), abs=1e-9)


def _matrix(vessel: Vessel, lie: Lie) -> np.ndarray:
    return np.array(pose(vessel, lie)).reshape(4, 4).T


def _in_the_world(matrix: np.ndarray, point: np.ndarray) -> np.ndarray:
    return matrix[:3, :3] @ point + matrix[:3, 3]


_SMALL = small_vessel()
_AFLOAT = surfaced(_SMALL)


@settings(max_examples=60, deadline=None)
@given(heel=st.floats(-180.0, 180.0), trim=st.floats(-89.9, 89.9), offset=st.floats(-0.2, 0.3))
def test_the_pose_is_a_turn_that_lays_the_water_at_zero(heel: float, trim: float, offset: float) -> None:
    up = up_vector(heel, trim)
    matrix = _matrix(_SMALL, replace(_AFLOAT, normal=tuple(map(float, up)), offset_m=offset))
    turn = matrix[:3, :3]
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-12)
    assert matrix[3] == pytest.approx([0.0, 0.0, 0.0, 1.0])
    # any point's height over the water is n . x - d
    point = np.array([0.31, -0.02, 0.07])
    assert _in_the_world(matrix, point)[2] == pytest.approx(up @ point - offset, abs=1e-12)
    # the bow points along the world's x, raised by the trim
    bow = turn @ [1.0, 0.0, 0.0]
    assert bow == pytest.approx([math.cos(math.radians(trim)), 0.0, math.sin(math.radians(trim))], abs=1e-9)
    # heeled to starboard, port comes up
    assert (turn @ [0.0, 1.0, 0.0])[2] == pytest.approx(up[1], abs=1e-12)


def test_a_level_boat_is_drawn_where_she_stands() -> None:
    matrix = _matrix(_SMALL, replace(_AFLOAT, normal=(0.0, 0.0, 1.0), offset_m=0.07))
    assert matrix == pytest.approx(
        np.array([[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, -0.07], [0, 0, 0, 1.0]]), abs=1e-12
    )


@pytest.mark.parametrize("up", [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)])
def test_on_end_she_is_still_turned_and_not_squashed(up: Vector) -> None:
    turn = _matrix(_SMALL, replace(_AFLOAT, normal=up, offset_m=0.0))[:3, :3]
    assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-12)
    assert turn[2] == pytest.approx(up)


def test_a_hanging_boat_is_drawn_wholly_under() -> None:
    lie = dived(_SMALL)
    assert math.isnan(lie.offset_m)
    matrix = _matrix(_SMALL, lie)
    solids = [_SMALL.hull, *(item.solid for item in _SMALL.items if item.solid is not None)]
    points = np.vstack([vertices for solid in solids for vertices, _, _ in solid.meshes(200)])
    top = (points @ matrix[2, :3]).max() + matrix[2, 3]
    assert top == pytest.approx(-UNDER_SHARE * _SMALL.length_m, abs=1e-4)
    assert highest_m(_SMALL, np.array([0.0, 0.0, 1.0])) == pytest.approx(0.130 + 0.5 * 0.045, abs=1e-9)


def test_a_lie_is_shown_in_the_builders_units() -> None:
    shown = lie_out(_SMALL, _AFLOAT)
    assert shown.draught_bow.text.endswith("\u00a0mm")
    assert shown.draught_bow.value == _AFLOAT.draught_bow_m.value
    assert shown.heel.text.endswith("to port")
    under = lie_out(_SMALL, dived(_SMALL))
    assert (under.draught_bow.text, under.draught_bow.value, under.draught_bow.spread) == (
        "unknown",
        None,
        "",
    )


@pytest.fixture(scope="module")
def client(wren: Path):
    shelf = Shelf(wren.parent)
    app = FastAPI()
    errors.install(app)
    app.include_router(routes_scene.router(shelf, Jobs()))
    with TestClient(app) as client:
        yield client, shelf


def test_scene_and_meshes_by_http(client) -> None:
    ask, shelf = client
    scene = SceneOut.model_validate(ask.get("/api/boats/wren/scene").json())
    answer = ask.get("/api/boats/wren/meshes", params={"revision": scene.revision})
    assert answer.headers["content-type"] == "application/octet-stream"
    assert len(answer.content) == scene.mesh_bytes
    same = ask.get("/api/boats/wren/meshes", headers={"If-None-Match": answer.headers["etag"]})
    assert (same.status_code, same.content) == (304, b"")
    bench = shelf.bench("wren")
    bench.edit("Weigh battery", lambda text: text.replace('"506 g"', '"507 g"'), base=bench.revision)
    newer = SceneOut.model_validate(ask.get("/api/boats/wren/scene").json())
    assert newer.revision == scene.revision + 1
    # the meshes of the scene that a page has just fetched are still there, and another mass leaves them as they are
    older = ask.get("/api/boats/wren/meshes", params={"revision": scene.revision})
    assert older.headers["etag"] == answer.headers["etag"]
    weighed = next(body for body in newer.bodies if body.key == "part[4]")
    assert weighed.mass.text.replace("\u00a0", " ") == "507.0 g"
    bench.edit(
        "Move battery",
        lambda text: text.replace('at = ["270 mm", 0, "30 mm"]', 'at = ["271 mm", 0, "30 mm"]'),
        base=bench.revision,
    )
    moved = ask.get("/api/boats/wren/meshes", headers={"If-None-Match": answer.headers["etag"]})
    assert moved.status_code == 200


def test_what_is_not_there_is_advice(client) -> None:
    ask, _ = client
    gone = ask.get("/api/boats/wren/meshes", params={"revision": 10_000})
    assert (gone.status_code, gone.json()["advice"][0]["todo"]) == (409, "Fetch the scene again.")
    for boat in ("nobody", "..", "%2e%2e", "wren%2f.."):
        assert ask.get(f"/api/boats/{boat}/scene").status_code == 404
