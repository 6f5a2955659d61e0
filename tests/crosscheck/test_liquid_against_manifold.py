"""Tank levels at any attitude against another library: cut its body at our level and compare the volumes."""

import manifold3d
import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from dabchick.physics.cut import forest
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import mesh_surface
from tests.support.meshes import UGLY, random_planes


@pytest.mark.parametrize("name", UGLY)
def test_level_and_centre(name: str) -> None:
    vertices, faces = UGLY[name]()
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
    tree, _ = forest([Solid((mesh_surface(vertices, faces),))])
    capacity = body.volume()
    for (normal, _), share in zip(
        random_planes(vertices, 8, 9), np.linspace(1e-4, 1.0 - 1e-4, 8), strict=True
    ):
        d, ours = level(tree, normal, share * capacity)
        assert_allclose(ours.volume, share * capacity, rtol=1e-13)
        assert_allclose(body.trim_by_plane(-normal, -d).volume(), share * capacity, rtol=1e-10)


def test_level_by_bisection_on_the_other_library() -> None:
    vertices, faces = UGLY["comb"]()
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
    tree, _ = forest([Solid((mesh_surface(vertices, faces),))])
    for normal, _ in random_planes(vertices, 5, 10):
        heights = vertices @ normal
        target = 0.37 * body.volume()
        theirs = brentq(
            lambda d, up=normal, wish=target: body.trim_by_plane(-up, -d).volume() - wish,
            heights.min(),
            heights.max(),
            xtol=1e-13,
        )
        assert_allclose(level(tree, normal, target)[0], theirs, atol=1e-10)
