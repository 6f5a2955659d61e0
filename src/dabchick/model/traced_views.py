"""The views of a trace as arrays: pixels, read once as they are or many times with the noise of tracing."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from dabchick.model.trace import TracedView
from dabchick.physics.picture_scale import PictureFrame, picture_frame

Array = NDArray[np.float64]
Mark = tuple[tuple[float, float], ...]


@dataclass(eq=False)
class Reader:
    """Reads pixels: as they stand, or `count` times with normal noise of `noise` pixels on both coordinates."""

    count: int = 1
    noise: float = 0.0
    random: np.random.Generator = field(default_factory=lambda: np.random.default_rng(0))

    def __call__(self, points: Mark) -> Array:
        """(count, n, 2)"""
        plain = np.broadcast_to(np.array(points, np.float64).reshape(1, -1, 2), (self.count, len(points), 2))
        return plain if self.noise == 0.0 else plain + self.random.normal(0.0, self.noise, plain.shape)


PLAIN = Reader()


def framed(view: TracedView, reader: Reader = PLAIN, ends: Mark = ()) -> PictureFrame:
    """The view's frame; `ends` is a line that takes the place of a level line where there is none.

    Without either the picture itself is taken as level, the bow on the side it is said to be on. Without a scale
    lengths are pixels. Raises ValueError as `picture_frame` does.
    """
    if view.level is not None:
        level = reader((view.level.start, view.level.end))
    elif ends:
        level = reader(ends)
    else:
        side = -1.0 if view.bow == "left" else 1.0
        level = np.broadcast_to([[[0.0, 0.0], [side, 0.0]]], (reader.count, 2, 2)).astype(np.float64)
    return picture_frame(
        level,
        None if view.scale is None else reader((view.scale.start, view.scale.end)),
        1.0 if view.scale is None else view.scale.length,
        None if view.square is None else reader((view.square.start, view.square.end)),
        None if view.square is None else view.square.length,
    )
