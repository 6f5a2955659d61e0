"""Volume of one pocket from the faces round it, cut exactly at the water in it.

With h = n . x - t the height over the pocket's water and N the outward unit normal of the space,

    V = int h (n.N) dA,      int x dV = int (x - n h / 2) h (n.N) dA      over the faces above t,

since the cut itself has h = 0 and adds nothing. So faces need no cap, and every piece of surface above t counts alone.
"""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.columns import Columns, Walls
from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]


def volume_above(
    walls: Walls, space: Columns, up: Array, level: float, label: Index, pocket: int, ends: Array
) -> tuple[float, Array] | None:
    """Volume [m3] and centre (3,) [m] of a pocket above n . x = `level`, or None where its faces do not tell.

    That is so when a piece of surface above the level also bounds another room, when things overlap there, or
    when no face of a piece is met by a column. `label` (n,) is the pocket of each column, `ends` their highest points.
    """
    rise = walls.vertices @ up
    level = max(level, float(rise.min()) - space.spacing)
    tall = rise - level
    piece = _pieces(tall, walls.merged)
    heights = [up[0] * space.x + up[1] * space.y + up[2] * end - level for end in (space.low, space.high)]
    own = np.zeros(0, dtype=np.int64)
    others = np.zeros(0, dtype=np.int64)
    for side, height in enumerate(heights):
        face = space.ends[:, side]
        above = height > 0.0
        mine = above & (label == pocket)
        own = np.union1d(own, piece[face[mine]])
        others = np.union1d(others, piece[face[above & (label != pocket)]])
    if len(own) == 0 or own[0] < 0 or len(np.intersect1d(own, others)):
        return None
    counted = np.isin(piece, own)
    if np.any(space.unclear & counted):
        return None
    sign = np.where(walls.owner == 0, 1.0, -1.0) * walls.weight
    chosen = np.flatnonzero(counted)
    sums = np.zeros(4)
    _integrate(
        np.ascontiguousarray(walls.vertices[walls.faces[chosen]]),
        tall[walls.faces[chosen]],
        sign[chosen],
        up,
        sums,
    )
    if not sums[0] > 0.0:
        return None
    return float(sums[0]), sums[1:4] / sums[0]


@compiled
def _pieces(tall: Array, faces: Index) -> Index:
    """(f,) the piece of surface above the level that each face belongs to; -1 for a face wholly below."""
    parent = np.arange(len(tall))
    for face in range(len(faces)):
        kept = -1
        for corner in range(3):
            node = faces[face, corner]
            if tall[node] <= 0.0:
                continue
            while parent[node] != node:
                parent[node] = parent[parent[node]]
                node = parent[node]
            if kept >= 0 and kept != node:
                parent[node] = kept
            elif kept < 0:
                kept = node
    piece = np.full(len(faces), -1, dtype=np.int64)
    for face in range(len(faces)):
        for corner in range(3):
            node = faces[face, corner]
            if tall[node] > 0.0:
                while parent[node] != node:
                    node = parent[node]
                piece[face] = node
                break
    return piece


@compiled
def _integrate(corners: Array, tall: Array, sign: Array, up: Array, sums: Array) -> None:
    """Add volume and moment of the prisms between each face's part above the level and the level itself."""
    polygon, height = np.empty((4, 3)), np.empty(4)
    for face in range(len(corners)):
        count = 0
        for corner in range(3):
            other = (corner + 1) % 3
            h0, h1 = tall[face, corner], tall[face, other]
            if h0 >= 0.0:
                polygon[count] = corners[face, corner]
                height[count] = h0
                count += 1
            if (h0 > 0.0 and h1 < 0.0) or (h0 < 0.0 and h1 > 0.0):
                share = h0 / (h0 - h1)
                for axis in range(3):
                    start = corners[face, corner, axis]
                    polygon[count, axis] = start + share * (corners[face, other, axis] - start)
                height[count] = 0.0
                count += 1
        for fan in range(1, count - 1):
            a, b, c = polygon[0], polygon[fan], polygon[fan + 1]
            ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
            vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
            facing = (
                (uy * vz - uz * vy) * up[0] + (uz * vx - ux * vz) * up[1] + (ux * vy - uy * vx) * up[2]
            ) * sign[face]
            ha, hb, hc = height[0], height[fan], height[fan + 1]
            sums[0] += facing * (ha + hb + hc) / 6.0
            # int h^2 dA over the triangle, as A (ha^2 + hb^2 + hc^2 + ha hb + hb hc + hc ha) / 6
            square = facing * (ha * ha + hb * hb + hc * hc + ha * hb + hb * hc + hc * ha) / 12.0
            total = ha + hb + hc
            for axis in range(3):
                # int x h dA, as A (sum over corners x_i (h_i + total)) / 12
                linear = (
                    facing * (a[axis] * (ha + total) + b[axis] * (hb + total) + c[axis] * (hc + total)) / 24.0
                )
                # a prism's middle lies half its height below the face
                sums[1 + axis] += linear - 0.5 * up[axis] * square
