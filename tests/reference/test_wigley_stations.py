"""The order at which a lofted station table comes to the Wigley hull, whose volume is known in closed form.

Below the waterline the volume is 4/9 L B T (Wigley, Trans. NECIES 58 (1934), the form; the integral by hand).
Measured here and stated in docs/hull-files.md: second order in the rings, between which the surface is flat. In the
stations: its parabolic waterlines are met exactly by the monotone cubic wherever stations stand evenly, and
at third order or better where they do not.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from dabchick.physics.loft import Section, lofted
from dabchick.physics.surface import faults
from tests.support.forms import wigley_half_breadth

LENGTH, BEAM, DRAUGHT = 1.0, 0.1, 0.0625
EXACT = 4.0 / 9.0 * LENGTH * BEAM * DRAUGHT
HEIGHTS = np.linspace(0.0, DRAUGHT, 25)


def volume(stations: NDArray[np.float64], axial: int) -> float:
    loft = lofted(
        [
            Section(
                float(x),
                HEIGHTS,
                wigley_half_breadth(np.full(len(HEIGHTS), x), HEIGHTS, LENGTH, BEAM, DRAUGHT),
            )
            for x in stations
        ],
        axial=axial,
        around=96,
    )
    return faults(loft.vertices, loft.faces, seek_crossings=False).volume


def test_rings_bring_it_nearer_with_the_square_of_their_number() -> None:
    """Each doubling adds a quarter of what the one before added, to 1 %."""
    volumes = [volume(np.linspace(-0.5, 0.5, 5), axial) for axial in (8, 16, 32, 64)]
    steps = np.diff(volumes)
    assert steps[:-1] / steps[1:] == pytest.approx([4.0, 4.0], rel=0.01)
    assert volumes[-1] == pytest.approx(EXACT, rel=3e-4)


@pytest.mark.parametrize("count", [5, 9, 17])
def test_even_stations_give_the_whole_volume_however_few(count: int) -> None:
    assert volume(np.linspace(-0.5, 0.5, count), 640) == pytest.approx(EXACT, rel=1e-5)


def test_uneven_stations_come_near_at_third_order_or_better() -> None:
    errors = []
    for count in (5, 9, 17):
        even = np.linspace(-1.0, 1.0, count)
        errors.append(abs(volume(0.5 * np.sign(even) * np.abs(even) ** 1.5, 640) / EXACT - 1.0))
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert (orders > 2.8).all()
    assert errors[-1] < 1e-4
