"""Groups of things that hang together through pairwise links."""

import numpy as np
from numpy.typing import NDArray

Indices = NDArray[np.int64]


def groups(first: Indices, second: Indices, size: int) -> tuple[int, Indices]:
    """Number of groups among `size` things of which first[i] hangs on second[i], and the group (size,) of each."""
    from scipy.sparse import (
        coo_array,  # slow to load, and a short command on a station table needs none of it
    )
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(first), np.int8), (first, second)), shape=(size, size))
    number, label = connected_components(links, directed=False)
    return int(number), np.asarray(label, dtype=np.int64)
