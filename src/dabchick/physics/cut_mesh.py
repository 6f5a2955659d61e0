"""The cut of a triangle mesh by a plane: what lies below it, exactly, with no cap and no jitter.

With s = n.x - d the field s n vanishes on the plane; the divergence theorem then needs submerged faces only:

    int dV   = int s (n.N) dA                                  (1)
    int s dV = int s^2/2 (n.N) dA                              (2)
    int x dV = int x s (n.N) dA,  x across n                   (3)

All are linear in the sums that each cluster carries. Triangles that the plane crosses are worked in the
plane's own frame: u and v along it, s up. The waterplane follows from Green's theorem over the crossing
segments. A vertex on the plane counts as above it (the limit from below); one nearer to it than rounding can
tell counts as on it. A crossing point is reckoned from the vertex below to the one above, so that both faces
of an edge get the same point to the last bit.
"""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]

_MOST_TRIANGLES = 80
_COUNT = np.array([0, 1, 1, 2, 1, 2, 2, 3])
"""How many corners are below, by bits (first corner 1, second 2, third 4)."""
_ODD = np.array([0, 0, 1, 2, 2, 1, 0, 0])
"""Which corner is alone on its side, by the same bits."""
_NEXT = np.array([1, 2, 0])
_LAST = np.array([2, 0, 1])

WORK_SHAPE = (4, 256)
"""Room that `cut_mesh` needs: u, v and s of a leaf's vertices, and the sums of whole clusters."""


@compiled
def cut_mesh(
    points: Array, triples: Bytes, areas: Array, boxes: Array, links: Index, sums: Array,
    first: int, last: int,
    nx: float, ny: float, nz: float, d: float, cx: float, cy: float, cz: float, size: float,
    weight: float, area_weight: float, work: Array, out: Array,
) -> None:  # fmt: skip
    """Add the cut by n.x < d of nodes first:last, a mesh whose middle stands at c, into out (18,).

    `size` is the reach of its coordinates [m]; `work` is room of `WORK_SHAPE`.
    """
    offset = d - (nx * cx + ny * cy + nz * cz)
    tolerance = 1e-15 * (size + abs(d))
    ex, ey, ez = abs(nx), abs(ny), abs(nz)
    # a plane far above would only add rounding: any that clears the mesh tells the same
    top = nx * boxes[first, 0] + ny * boxes[first, 1] + nz * boxes[first, 2]
    top += ex * boxes[first, 3] + ey * boxes[first, 4] + ez * boxes[first, 5]
    offset = min(offset, top + 4.0 * tolerance)
    # u is square to n and to the axis that n leans on least; v completes u, v, n
    if ex <= ey and ex <= ez:
        length = np.sqrt(ny * ny + nz * nz)
        ux, uy, uz = 0.0, nz / length, -ny / length
    elif ey <= ez:
        length = np.sqrt(nx * nx + nz * nz)
        ux, uy, uz = -nz / length, 0.0, nx / length
    else:
        length = np.sqrt(nx * nx + ny * ny)
        ux, uy, uz = ny / length, -nx / length, 0.0
    vx, vy, vz = ny * uz - nz * uy, nz * ux - nx * uz, nx * uy - ny * ux

    hu, hv, hs, whole = work[0], work[1], work[2], work[3]
    seats = np.empty((3, _MOST_TRIANGLES), dtype=np.int64)
    turns = np.empty((2, _MOST_TRIANGLES), dtype=np.int64)
    for i in range(34):
        whole[i] = 0.0
    volume = moment_u = moment_v = moment_s = 0.0
    wetted = wetted_u = wetted_v = wetted_s = 0.0
    base_u = base_v = 0.0
    dry = True
    twice = first_u = first_v = second_uu = second_vv = second_uv = 0.0

    node = first
    while node < last:
        middle = nx * boxes[node, 0] + ny * boxes[node, 1] + nz * boxes[node, 2] - offset
        reach = ex * boxes[node, 3] + ey * boxes[node, 4] + ez * boxes[node, 5]
        if middle - reach > tolerance:
            node = links[node, 0]
            continue
        if middle + reach < -2.0 * tolerance:
            for i in range(34):
                whole[i] += sums[node, i]
            node = links[node, 0]
            continue
        start = links[node, 3]
        held = links[node, 4] - start
        for i in range(held):
            x, y, z = points[0, start + i], points[1, start + i], points[2, start + i]
            s = nx * x + ny * y + nz * z - offset
            hs[i] = 0.0 if abs(s) <= tolerance else s
            hu[i] = ux * x + uy * y + uz * z
            hv[i] = vx * x + vy * y + vz * z
        # sorted by how many corners are below, the triangles run through loops without branches
        ones = twos = threes = 0
        for triangle in range(links[node, 1], links[node, 2]):
            a, b, c = triples[triangle, 0], triples[triangle, 1], triples[triangle, 2]
            code = int(hs[a] < 0.0) + 2 * int(hs[b] < 0.0) + 4 * int(hs[c] < 0.0)
            below = int(_COUNT[code])
            seats[0, ones] = triangle
            turns[0, ones] = _ODD[code]
            seats[1, twos] = triangle
            turns[1, twos] = _ODD[code]
            seats[2, threes] = triangle
            ones += below == 1
            twos += below == 2
            threes += below == 3
        for row in range(threes):
            triangle = seats[2, row]
            a, b, c = triples[triangle, 0], triples[triangle, 1], triples[triangle, 2]
            au, av, sa, bu, bv, sb, cu, cv, sc = hu[a], hv[a], hs[a], hu[b], hv[b], hs[b], hu[c], hv[c], hs[c]
            flux = (bu - au) * (cv - av) - (cu - au) * (bv - av)
            total = sa + sb + sc
            tu, tv = au + bu + cu, av + bv + cv
            volume += flux * total
            moment_u += flux * (tu * total + au * sa + bu * sb + cu * sc)
            moment_v += flux * (tv * total + av * sa + bv * sb + cv * sc)
            moment_s += flux * (total * total + sa * sa + sb * sb + sc * sc)
            area = areas[triangle]
            wetted += area
            wetted_u += area * tu
            wetted_v += area * tv
            wetted_s += area * total
        for row in range(ones):
            triangle = seats[0, row]
            turn = turns[0, row]
            a, b, c = triples[triangle, turn], triples[triangle, _NEXT[turn]], triples[triangle, _LAST[turn]]
            au, av, sa, bu, bv, sb, cu, cv, sc = hu[a], hv[a], hs[a], hu[b], hv[b], hs[b], hu[c], hv[c], hs[c]
            # only a is below: the plane cuts a-b at p and a-c at q
            t, r = sa / (sa - sb), sa / (sa - sc)
            pu, pv = au + t * (bu - au), av + t * (bv - av)
            qu, qv = au + r * (cu - au), av + r * (cv - av)
            flux = ((bu - au) * (cv - av) - (cu - au) * (bv - av)) * (t * r)
            tu, tv = au + pu + qu, av + pv + qv
            volume += flux * sa
            moment_u += flux * sa * (tu + au)
            moment_v += flux * sa * (tv + av)
            moment_s += flux * (2.0 * sa * sa)
            area = areas[triangle] * (t * r)
            wetted += area
            wetted_u += area * tu
            wetted_v += area * tv
            wetted_s += area * sa
            if dry:
                # any point serves as base of the waterplane; one on its rim keeps small waterplanes exact
                dry = False
                base_u, base_v = qu, qv
            pu -= base_u
            pv -= base_v
            qu -= base_u
            qv -= base_v
            cross = qu * pv - qv * pu
            mu, mv = pu + qu, pv + qv
            twice += cross
            first_u += cross * mu
            first_v += cross * mv
            second_uu += cross * (pu * pu + qu * qu + mu * mu)
            second_vv += cross * (pv * pv + qv * qv + mv * mv)
            second_uv += cross * (pu * pv + qu * qv + mu * mv)
        for row in range(twos):
            triangle = seats[1, row]
            turn = turns[1, row]
            a, b, c = triples[triangle, turn], triples[triangle, _NEXT[turn]], triples[triangle, _LAST[turn]]
            au, av, sa, bu, bv, sb, cu, cv, sc = hu[a], hv[a], hs[a], hu[b], hv[b], hs[b], hu[c], hv[c], hs[c]
            # only a is above: the plane cuts b-a at p and c-a at q; below lie b, c, q and b, q, p
            t, r = sb / (sb - sa), sc / (sc - sa)
            pu, pv = bu + t * (au - bu), bv + t * (av - bv)
            qu, qv = cu + r * (au - cu), cv + r * (av - cv)
            rest = t * (sa / (sa - sc))
            flux = (bu - au) * (cv - av) - (cu - au) * (bv - av)
            total = sb + sc
            tu, tv = bu + cu + qu, bv + cv + qv
            wu, wv = bu + pu + qu, bv + pv + qv
            volume += flux * (r * total + rest * sb)
            moment_u += flux * (r * (tu * total + bu * sb + cu * sc) + rest * sb * (wu + bu))
            moment_v += flux * (r * (tv * total + bv * sb + cv * sc) + rest * sb * (wv + bv))
            moment_s += flux * (r * (total * total + sb * sb + sc * sc) + 2.0 * rest * sb * sb)
            area = areas[triangle]
            wetted += area * (r + rest)
            wetted_u += area * (r * tu + rest * wu)
            wetted_v += area * (r * tv + rest * wv)
            wetted_s += area * (r * total + rest * sb)
            if dry:
                dry = False
                base_u, base_v = pu, pv
            pu -= base_u
            pv -= base_v
            qu -= base_u
            qv -= base_v
            cross = pu * qv - pv * qu
            mu, mv = pu + qu, pv + qv
            twice += cross
            first_u += cross * mu
            first_v += cross * mv
            second_uu += cross * (pu * pu + qu * qu + mu * mu)
            second_vv += cross * (pv * pv + qv * qv + mv * mv)
            second_uv += cross * (pu * pv + qu * qv + mu * mv)
        node += 1

    # the sums of whole clusters through equations (1) to (3), in the plane's frame
    n_a = nx * whole[0] + ny * whole[1] + nz * whole[2]
    tx = nx * whole[3] + ny * whole[4] + nz * whole[5]
    ty = nx * whole[6] + ny * whole[7] + nz * whole[8]
    tz = nx * whole[9] + ny * whole[10] + nz * whole[11]
    xx = nx * whole[12] + ny * whole[13] + nz * whole[14]
    yy = nx * whole[15] + ny * whole[16] + nz * whole[17]
    zz = nx * whole[18] + ny * whole[19] + nz * whole[20]
    xy = nx * whole[21] + ny * whole[22] + nz * whole[23]
    xz = nx * whole[24] + ny * whole[25] + nz * whole[26]
    yz = nx * whole[27] + ny * whole[28] + nz * whole[29]
    sx, sy, sz = nx * xx + ny * xy + nz * xz, nx * xy + ny * yy + nz * yz, nx * xz + ny * yz + nz * zz
    tn = nx * tx + ny * ty + nz * tz
    sn = nx * sx + ny * sy + nz * sz
    volume = volume / 6.0 + tn - offset * n_a
    moment_u = moment_u / 24.0 + ux * sx + uy * sy + uz * sz - offset * (ux * tx + uy * ty + uz * tz)
    moment_v = moment_v / 24.0 + vx * sx + vy * sy + vz * sz - offset * (vx * tx + vy * ty + vz * tz)
    moment_s = moment_s / 48.0 + 0.5 * (sn - 2.0 * offset * tn + offset * offset * n_a)
    wetted_u, wetted_v, wetted_s = wetted_u / 3.0, wetted_v / 3.0, wetted_s / 3.0

    # back to the body's axes and origin; s = 0 stands at `offset` along n from the middle
    moment_s += volume * offset
    out[0] += weight * volume
    out[1] += weight * (moment_u * ux + moment_v * vx + moment_s * nx + volume * cx)
    out[2] += weight * (moment_u * uy + moment_v * vy + moment_s * ny + volume * cy)
    out[3] += weight * (moment_u * uz + moment_v * vz + moment_s * nz + volume * cz)
    wetted_s += wetted * offset
    wetted_x = wetted_u * ux + wetted_v * vx + wetted_s * nx + whole[31]
    wetted_y = wetted_u * uy + wetted_v * vy + wetted_s * ny + whole[32]
    wetted_z = wetted_u * uz + wetted_v * vz + wetted_s * nz + whole[33]
    wetted += whole[30]
    out[14] += area_weight * wetted
    out[15] += area_weight * (wetted_x + wetted * cx)
    out[16] += area_weight * (wetted_y + wetted * cy)
    out[17] += area_weight * (wetted_z + wetted * cz)

    plane = weight * 0.5 * twice
    bx = cx + base_u * ux + base_v * vx + offset * nx
    by = cy + base_u * uy + base_v * vy + offset * ny
    bz = cz + base_u * uz + base_v * vz + offset * nz
    first_u, first_v = weight * first_u / 6.0, weight * first_v / 6.0
    px, py, pz = first_u * ux + first_v * vx, first_u * uy + first_v * vy, first_u * uz + first_v * vz
    uu, vv, uv = weight * second_uu / 24.0, weight * second_vv / 24.0, weight * second_uv / 24.0
    out[4] += plane
    out[5] += px + plane * bx
    out[6] += py + plane * by
    out[7] += pz + plane * bz
    out[8] += uu * ux * ux + vv * vx * vx + 2.0 * uv * ux * vx + 2.0 * px * bx + plane * bx * bx
    out[9] += uu * uy * uy + vv * vy * vy + 2.0 * uv * uy * vy + 2.0 * py * by + plane * by * by
    out[10] += uu * uz * uz + vv * vz * vz + 2.0 * uv * uz * vz + 2.0 * pz * bz + plane * bz * bz
    out[11] += uu * ux * uy + vv * vx * vy + uv * (ux * vy + uy * vx) + px * by + py * bx + plane * bx * by
    out[12] += uu * ux * uz + vv * vx * vz + uv * (ux * vz + uz * vx) + px * bz + pz * bx + plane * bx * bz
    out[13] += uu * uy * uz + vv * vy * vz + uv * (uy * vz + uz * vy) + py * bz + pz * by + plane * by * bz


@compiled
def _least(boxes: Array, node: int, nx: float, ny: float, nz: float) -> float:
    """Lower bound of n.x over a cluster."""
    return (
        nx * boxes[node, 0] + ny * boxes[node, 1] + nz * boxes[node, 2]
        - abs(nx) * boxes[node, 3] - abs(ny) * boxes[node, 4] - abs(nz) * boxes[node, 5]
    )  # fmt: skip


@compiled
def lowest_of_mesh(
    points: Array, boxes: Array, links: Index, first: int, last: int, nx: float, ny: float, nz: float
) -> float:
    """Least n.x over the vertices, in the mesh's own coordinates."""
    best = np.inf
    # first down the more promising children to one leaf for a good bound, then all that can still beat it
    for search in range(2):
        node = first
        while node < last:
            end = links[node, 0]
            if search == 1 and _least(boxes, node, nx, ny, nz) >= best:
                node = end
                continue
            for i in range(links[node, 3], links[node, 4]):
                best = min(best, nx * points[0, i] + ny * points[1, i] + nz * points[2, i])
            left = node + 1
            if search == 1:
                node = left
            elif left >= end:
                break
            else:
                right = links[left, 0]
                node = left
                if right < end and _least(boxes, right, nx, ny, nz) < _least(boxes, left, nx, ny, nz):
                    node = right
    return best
