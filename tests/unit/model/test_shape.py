"""Shapes as the file writes them: volumes in closed form, axes, ends, turns, and what makes no shape."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from dabchick.model.hull_surface import HullSurface
from dabchick.model.shape import Shape, rotation
from dabchick.physics import shapes


def solid_of(table: dict[str, Any], x_sign: float = 1.0, meshes: dict[str, HullSurface] | None = None) -> Any:
    return Shape.model_validate(table).solid(x_sign, meshes or {})


@pytest.mark.parametrize(
    ("table", "volume"),
    [
        ({"box": {"size": ["10 cm", "20 cm", "30 cm"]}}, 0.006),
        ({"cylinder": {"length": "1 m", "diameter": "20 cm"}}, math.pi * 0.01),
        ({"tube": {"length": "1 m", "outer": "20 cm", "inner": "10 cm"}}, math.pi * 0.0075),
        ({"sphere": {"diameter": "20 cm"}}, 4 / 3 * math.pi * 0.001),
        ({"capsule": {"length": "1 m", "diameter": "20 cm"}}, math.pi * 0.01 * 0.8 + 4 / 3 * math.pi * 0.001),
        ({"cone": {"length": "30 cm", "base": "20 cm"}}, math.pi * 0.01 * 0.1),
        ({"cone": {"length": "30 cm", "base": 0, "top": "20 cm"}}, math.pi * 0.01 * 0.1),
        ({"prism": {"outline": [[0, 0], ["20 cm", 0], [0, "10 cm"]], "length": "1 m"}}, 0.01),
        ({"extrusion": {"outline": [[0, 0], ["20 cm", 0], [0, "10 cm"]], "height": "1 m"}}, 0.01),
    ],
)
def test_volume_in_closed_form(table: dict[str, Any], volume: float) -> None:
    assert solid_of(table).volume == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize("kind", ["cylinder", "capsule", "tube", "cone"])
@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_axis_says_where_the_length_lies(kind: str, axis: str) -> None:
    sizes = {
        "cylinder": {"diameter": "10 cm"},
        "capsule": {"diameter": "10 cm"},
        "tube": {"outer": "10 cm", "inner": "8 cm"},
        "cone": {"base": "10 cm", "top": "2 cm"},
    }[kind]
    low, high = solid_of({kind: {"length": "40 cm", "axis": axis, **sizes}}).bounds()
    expected = [0.1, 0.1, 0.1]
    expected["xyz".index(axis)] = 0.4
    assert high - low == pytest.approx(np.array(expected), abs=1e-9)
    assert high + low == pytest.approx(np.zeros(3), abs=1e-9)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
@pytest.mark.parametrize("wide_base", [True, False])
def test_cone_base_is_towards_stern_starboard_keel(axis: str, wide_base: bool) -> None:
    """Centroid of a cone: a quarter of its length from the base (closed form), 0.1 m off the middle here."""
    ends = {"base": "20 cm"} if wide_base else {"base": 0, "top": "20 cm"}
    centre = solid_of({"cone": {"length": "40 cm", "axis": axis, **ends}}).centre
    expected = np.zeros(3)
    expected["xyz".index(axis)] = -0.1 if wide_base else 0.1
    assert centre == pytest.approx(expected, abs=1e-12)


def test_outline_runs_the_builders_way() -> None:
    """Measured from the bow, an outline's +x is aft; the triangle's centroid is at a third."""
    table = {"extrusion": {"outline": [[0, 0], ["30 cm", 0], [0, "30 cm"]], "height": "10 cm"}}
    assert solid_of(table).centre == pytest.approx([0.1, 0.1, 0.0], abs=1e-12)
    flipped = solid_of(table, -1.0)
    assert flipped.centre == pytest.approx([-0.1, 0.1, 0.0], abs=1e-12)
    assert flipped.volume == pytest.approx(0.0045, rel=1e-12)


def test_mesh_is_placed_by_the_middle_of_its_box() -> None:
    ((vertices, faces, _),) = shapes.box(0.1, 0.2, 0.3).moved([5.0, 6.0, 7.0]).meshes()
    surface = HullSurface(vertices, faces, "lump.stl")
    solid = solid_of({"mesh": {"file": "lump.stl", "unit": "mm"}}, meshes={"lump.stl": surface})
    assert solid.centre == pytest.approx(np.zeros(3), abs=1e-12)
    assert solid.volume == pytest.approx(0.006, rel=1e-12)


def test_turn_signs() -> None:
    """Roll + starboard down, pitch + bow up, yaw + bow to port, as heel and trim are signed."""
    quarter = math.pi / 2.0
    port, bow = np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0])
    assert rotation((quarter, 0.0, 0.0)) @ port == pytest.approx([0.0, 0.0, 1.0], abs=1e-15)
    assert rotation((0.0, quarter, 0.0)) @ bow == pytest.approx([0.0, 0.0, 1.0], abs=1e-15)
    assert rotation((0.0, 0.0, quarter)) @ bow == pytest.approx([0.0, 1.0, 0.0], abs=1e-15)
    rolled_then_pitched = rotation((quarter, quarter, 0.0)) @ port
    assert rolled_then_pitched == pytest.approx([-1.0, 0.0, 0.0], abs=1e-15)


@given(st.tuples(*[st.floats(-7.0, 7.0)] * 3))
def test_turns_are_proper_rotations(turn: tuple[float, float, float]) -> None:
    matrix = rotation(turn)
    assert matrix @ matrix.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(matrix) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("kind", "sizes"),
    [
        ("box", {"size": ["10 cm", "20 cm", "30 cm"]}),
        ("cylinder", {"length": "30 cm", "diameter": "10 cm"}),
        ("sphere", {"diameter": "10 cm"}),
        ("capsule", {"length": "30 cm", "diameter": "10 cm"}),
    ],
)
def test_grown_adds_a_margin_on_every_side(kind: str, sizes: dict[str, Any]) -> None:
    shape = Shape.model_validate({kind: sizes})
    grown = shape.grown(0.01)
    assert grown is not None
    low, high = shape.solid(1.0, {}).bounds()
    grown_low, grown_high = grown.bounds()
    assert low - grown_low == pytest.approx([0.01] * 3, abs=1e-9)
    assert grown_high - high == pytest.approx([0.01] * 3, abs=1e-9)


def test_other_shapes_do_not_simply_grow() -> None:
    assert Shape.model_validate({"cone": {"length": "30 cm", "base": "10 cm"}}).grown(0.01) is None


@pytest.mark.parametrize(
    ("table", "word"),
    [
        ({}, "one key"),
        ({"box": {"size": ["1 mm"] * 3}, "sphere": {"diameter": "1 mm"}}, "one key"),
        ({"box": {"size": ["1 mm", "1 mm"]}}, "Field required"),
        ({"box": {"size": ["1 mm", "1 mm", 0]}}, "zero"),
        ({"cylinder": {"length": "-1 mm", "diameter": "1 mm"}}, "below zero"),
        ({"tube": {"length": "1 mm", "outer": "1 mm", "inner": "2 mm"}}, "inner"),
        ({"capsule": {"length": "1 mm", "diameter": "2 mm"}}, "shorter"),
        ({"cone": {"length": "1 mm", "base": 0}}, "line"),
        ({"ball": {"diameter": "1 mm"}}, "not permitted"),
    ],
)
def test_no_shape(table: dict[str, Any], word: str) -> None:
    with pytest.raises(ValidationError, match=word):
        Shape.model_validate(table)
