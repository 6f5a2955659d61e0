"""From the pixels of a picture to lengths: scale, turn, and skew without perspective, for many noisy readings at once.

A level line gives the direction of the first axis, a square line that of the second (without one: at right angles).
Along these two directions a picture's points have oblique coordinates a and b in pixels; with one scale for
both, two points whose true distance is l stand sqrt(a^2 + b^2) = s l apart, s in pixels for one unit of length. A
length along the square line gives the second axis a scale of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_ANGLE = 0.1
"""Sine of the angle of level and square line, and of scale and square line, below which they say nothing."""


@dataclass(frozen=True, eq=False)
class PictureFrame:
    """How d readings of one picture turn into lengths."""

    origin: Array
    """(d, 2) pixels"""
    matrix: Array
    """(d, 2, 2) lengths per pixel"""

    def lengths(self, pixels: Array) -> Array:
        """(d, n, 2) along the level line and square to it, from pixels (d, n, 2)."""
        return np.asarray(np.einsum("dij,dnj->dni", self.matrix, pixels - self.origin[:, None]))

    def pixels(self, lengths: Array) -> Array:
        """The inverse of `lengths`."""
        back = np.linalg.inv(self.matrix)
        return np.asarray(np.einsum("dij,dnj->dni", back, lengths) + self.origin[:, None])

    def scaled(self, factor: Array) -> "PictureFrame":
        """With all lengths times factor (d,)."""
        return PictureFrame(self.origin, self.matrix * factor[:, None, None])

    def mirrored(self) -> "PictureFrame":
        """With the second axis the other way."""
        return PictureFrame(self.origin, self.matrix * np.array([[1.0], [-1.0]]))


def picture_frame(
    level: Array,
    scale: Array | None = None,
    scale_length: float = 1.0,
    square: Array | None = None,
    square_length: float | None = None,
) -> PictureFrame:
    """The frame of d readings; level, scale and square each (d, 2, 2): two points in pixels.

    The first axis runs from the first to the second point of `level`, where the origin lies; the second to the
    left of it as seen in a picture whose y runs down. Without a scale lengths come out in pixels. Raises
    ValueError where points coincide or directions do not fit together.
    """
    along = _unit(level, "level")
    left = np.stack([along[:, 1], -along[:, 0]], axis=1)
    across = left
    if square is not None:
        across = _unit(square, "square")
        lean = np.einsum("di,di->d", across, left)
        if (np.abs(lean) < LEAST_ANGLE).any():
            raise ValueError("The square line runs nearly along the level line. Set it across.")
        across = across * np.sign(lean)[:, None]
    oblique = np.linalg.inv(np.stack([along, across], axis=2))
    first = second = np.ones(len(level))
    if square is not None and square_length is not None:
        second = np.linalg.norm(square[:, 1] - square[:, 0], axis=1) / square_length
        first = second
    if scale is not None:
        apart = scale[:, 1] - scale[:, 0]
        if (np.linalg.norm(apart, axis=1) <= 0.0).any():
            raise ValueError("The two points of the scale lie at one place. Set them apart.")
        a, b = np.einsum("dij,dj->id", oblique, apart)
        if square is not None and square_length is not None:
            rest = scale_length**2 - (b / second) ** 2
            if (rest < (LEAST_ANGLE * scale_length) ** 2).any():
                raise ValueError(
                    "The scale runs along the square line, so nothing says how long the picture is. "
                    "Set the scale along the level line."
                )
            first = np.abs(a) / np.sqrt(rest)
        else:
            first = second = np.hypot(a, b) / scale_length
    return PictureFrame(level[:, 0], oblique / np.stack([first, second], axis=1)[:, :, None])


def _unit(points: Array, name: str) -> Array:
    apart = points[:, 1] - points[:, 0]
    size = np.linalg.norm(apart, axis=1)
    if not (size > 0.0).all():
        raise ValueError(f"The two points of the {name} line lie at one place. Set them apart.")
    return np.asarray(apart / size[:, None])
