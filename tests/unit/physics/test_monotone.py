"""The monotone cubic against scipy's, which shares no code with it."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from dabchick.physics.monotone import monotone_cubic


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("count", [2, 3, 4, 9])
def test_same_curve_as_scipys(seed: int, count: int) -> None:
    """Random points, some level and some turning, alone and three abreast."""
    generator = np.random.default_rng(seed)
    at = np.cumsum(generator.uniform(0.1, 2.0, count))
    value = np.round(generator.normal(size=(count, 3)), int(generator.integers(0, 4)))
    where = np.concatenate([at, generator.uniform(at[0], at[-1], 50)])
    np.testing.assert_allclose(
        monotone_cubic(at, value, where), PchipInterpolator(at, value, axis=0)(where), rtol=1e-12, atol=1e-13
    )
    np.testing.assert_allclose(
        monotone_cubic(at, value[:, 0], where),
        PchipInterpolator(at, value[:, 0])(where),
        rtol=1e-12,
        atol=1e-13,
    )
