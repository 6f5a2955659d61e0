"""The hull's surface: turned to the house's axes, and split into its shells."""

import numpy as np
import pytest

from dabchick.model.hull_surface import HullSurface, shells, turned
from dabchick.physics import shapes


def surface_of(*bodies: tuple[float, float, float]) -> HullSurface:
    """Boxes about the origin as one mesh; the second one is a cavity."""
    vertices, faces, count = [], [], 0
    for row, size in enumerate(bodies):
        ((points, triangles, _),) = shapes.box(*size).meshes()
        vertices.append(points)
        faces.append((triangles if row == 0 else triangles[:, ::-1]) + count)
        count += len(points)
    return HullSurface(np.vstack(vertices), np.vstack(faces), "boxes")


def test_shells_of_a_hollow_box() -> None:
    """Closed form: 6 l outside, a cavity of 2 l."""
    outer, cavity = shells(surface_of((0.3, 0.2, 0.1), (0.2, 0.1, 0.1 - 1e-9)))
    assert outer[2] == pytest.approx(0.006, rel=1e-12)
    assert cavity[2] == pytest.approx(-0.002, rel=1e-6)
    assert len(outer[0]) == len(cavity[0]) == 8


@pytest.mark.parametrize(
    ("bow", "up"), [("+x", "+z"), ("-x", "+z"), ("+y", "+z"), ("-y", "+z"), ("+z", "-y")]
)
def test_turned_puts_bow_forward_and_up_up(bow: str, up: str) -> None:
    surface = surface_of((0.3, 0.2, 0.1))
    directions = {"x": [1.0, 0.0, 0.0], "y": [0.0, 1.0, 0.0], "z": [0.0, 0.0, 1.0]}
    forward, upward = (
        np.array(directions[name[1]]) * (1.0 if name[0] == "+" else -1.0) for name in (bow, up)
    )
    result = turned(surface, bow, up)  # type: ignore[arg-type]
    assert result.vertices[:, 0] == pytest.approx(surface.vertices @ forward, abs=0.0)
    assert result.vertices[:, 2] == pytest.approx(surface.vertices @ upward, abs=0.0)
    assert shapes.mesh(result.vertices, result.faces).volume == pytest.approx(0.006, rel=1e-12)


def test_turned_refuses_one_axis_for_both() -> None:
    with pytest.raises(ValueError, match="same axis"):
        turned(surface_of((0.3, 0.2, 0.1)), "+x", "-x")
