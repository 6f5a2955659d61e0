"""Solids go to other processes while threads of this one still work things out from them."""

import pickle
from collections.abc import Callable

import pytest

from dabchick.physics import shapes
from dabchick.physics.surfaces import MeshSurface


class Meanwhile:
    """Does something while it is being pickled, as another thread may at that moment."""

    def __init__(self, act: Callable[[], object]) -> None:
        self.act = act

    def __reduce__(self) -> tuple[type[list[int]], tuple[()]]:
        self.act()
        return list, ()


@pytest.mark.parametrize("of_shape", [False, True], ids=["solid", "shape"])
def test_what_is_worked_out_meanwhile_does_not_disturb_it(of_shape: bool) -> None:
    solid = shapes.box(0.3, 0.2, 0.1)
    surface = solid.surfaces[0]
    assert isinstance(surface, MeshSurface)
    sent = surface.shape if of_shape else solid
    act = (lambda: surface.shape.half_size) if of_shape else (lambda: solid.volume)
    sent.__dict__["meanwhile"] = Meanwhile(act)
    came = pickle.loads(pickle.dumps(sent))
    # half of 300 x 200 x 100 mm; and their product
    if of_shape:
        assert came.half_size == pytest.approx([0.15, 0.1, 0.05], rel=1e-12)
    else:
        assert came.volume == pytest.approx(0.006, rel=1e-12)
