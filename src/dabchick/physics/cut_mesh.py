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
from dabchick.physics.prefetch import prefetch

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Packed = NDArray[np.uint32]

_CROSSED = np.array([0, 1, 1, 1, 1, 1, 1, 0])
"""Whether the plane crosses a triangle, by which corners are below (first corner 1, second 2, third 4)."""
_LOW_1 = np.array([0, 0, 6, 0, 12, 12, 6, 0])
_HIGH_1 = np.array([0, 12, 0, 12, 6, 6, 0, 0])
_LOW_2 = np.array([0, 0, 6, 6, 12, 0, 12, 0])
_HIGH_2 = np.array([0, 6, 12, 12, 0, 6, 0, 0])
"""By the same bits, as shifts into the packed corners: the ends below and above of both sides that the plane
crosses, p on the first and q on the second, such that p to q runs anticlockwise round the waterplane."""
_LONE = np.array([0.0, 1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0])
"""Whether one corner alone is below."""

_MOST = 64
"""Room for the vertices of a leaf, and for its triangles; one bit each of an integer."""
_AHEAD = 3
"""How many leaves ahead memory is fetched."""
_BATCH = 64
"""Crossed triangles that are worked together, so that the compiler can do several in one instruction."""
_ROW = 72
"""From one row of the batch to the next; no power of two, or the rows would crowd one part of the cache."""
_U, _V, _S, _WHOLE = 0, _MOST, 2 * _MOST, 3 * _MOST
_TALLY = _WHOLE + 34
"""Volume x 6, moments u and v x 24, s x 48; wetted area, its moments x 3; waterplane area x 2, its moments x 6,
second moments uu, vv, uv x 24; u and v of the base that the waterplane is reckoned from."""
_IN = _TALLY + 16
_OUT = _IN + 15 * _ROW
WORK_SIZE = _OUT + 14 * _ROW
"""Room that `cut_mesh` needs: u, v, s of a leaf's vertices, sums of whole clusters, a batch and its sums."""


@compiled
def _fetch(points: Array, packed: Packed, areas: Array, links: Index, node: int) -> None:
    """Have a leaf's vertices and triangles fetched."""
    for i in range(3 * links[node, 3], 3 * links[node, 4], 8):
        prefetch(points, i)
    for i in range(links[node, 1], links[node, 2], 16):
        prefetch(packed, i)
    for i in range(links[node, 1], links[node, 2], 8):
        prefetch(areas, i)


@compiled
def _open_lanes(w: Array, lanes: int, count: int) -> int:
    """Empty the batch's own sums when they are first used: as many places as the first batch fills."""
    if lanes == 0:
        lanes = count
        for row in range(14):
            start = _OUT + row * _ROW
            for i in range(start, start + lanes):
                w[i] = 0.0
    return lanes


@compiled
def _work_batch(w: Array, count: int, base_u: float, base_v: float) -> None:
    """Add what lies below of a batch of crossed triangles into the batch's own sums, place by place.

    Side 1 runs from a below to b above, side 2 from c below to e above (a = c or b = e), crossed at p and q.
    """
    for i in range(_IN, _IN + count):
        au, av, sa = w[i], w[i + _ROW], w[i + 2 * _ROW]
        bu, bv, sb = w[i + 3 * _ROW], w[i + 4 * _ROW], w[i + 5 * _ROW]
        cu, cv, sc = w[i + 6 * _ROW], w[i + 7 * _ROW], w[i + 8 * _ROW]
        eu, ev, se = w[i + 9 * _ROW], w[i + 10 * _ROW], w[i + 11 * _ROW]
        flux, area, lone = w[i + 12 * _ROW], w[i + 13 * _ROW], w[i + 14 * _ROW]
        t, r = sa / (sa - sb), sc / (sc - se)
        pu, pv = au + t * (bu - au), av + t * (bv - av)
        qu, qv = cu + r * (eu - cu), cv + r * (ev - cv)
        # below lie the triangles a, c, q (nothing when a = c) and a, q, p, as shares of the whole triangle
        one = (1.0 - lone) * r
        two = t * (lone * r + (1.0 - lone) * (1.0 - r))
        total = sa + sc
        tu, tv = au + cu + qu, av + cv + qv
        yu, yv = au + pu + qu, av + pv + qv
        o = i + (_OUT - _IN)
        w[o] += flux * (one * total + two * sa)
        w[o + _ROW] += flux * (one * (tu * total + au * sa + cu * sc) + two * sa * (yu + au))
        w[o + 2 * _ROW] += flux * (one * (tv * total + av * sa + cv * sc) + two * sa * (yv + av))
        w[o + 3 * _ROW] += flux * (one * (total * total + sa * sa + sc * sc) + 2.0 * two * sa * sa)
        w[o + 4 * _ROW] += area * (one + two)
        w[o + 5 * _ROW] += area * (one * tu + two * yu)
        w[o + 6 * _ROW] += area * (one * tv + two * yv)
        w[o + 7 * _ROW] += area * (one * total + two * sa)
        # one side of the waterplane, from p to q, anticlockwise about n
        pu -= base_u
        pv -= base_v
        qu -= base_u
        qv -= base_v
        cross = pu * qv - pv * qu
        mu, mv = pu + qu, pv + qv
        w[o + 8 * _ROW] += cross
        w[o + 9 * _ROW] += cross * mu
        w[o + 10 * _ROW] += cross * mv
        w[o + 11 * _ROW] += cross * (pu * pu + qu * qu + mu * mu)
        w[o + 12 * _ROW] += cross * (pv * pv + qv * qv + mv * mv)
        w[o + 13 * _ROW] += cross * (pu * pv + qu * qv + mu * mv)


@compiled
def cut_mesh(
    points: Array, packed: Packed, areas: Array, boxes: Array, links: Index, sums: Array,
    first: int, last: int, nx: float, ny: float, nz: float, d: float,
    cx: float, cy: float, cz: float, size: float, weight: float, area_weight: float, work: Array, out: Array,
) -> None:  # fmt: skip
    """Add the cut by n.x < d of nodes first:last, a mesh whose middle stands at c, into out (18,).

    `size` is the reach of its coordinates [m]; `work` is room of `WORK_SIZE`.
    """
    offset = d - (nx * cx + ny * cy + nz * cz)
    tolerance = 1e-15 * (size + abs(d))
    middle = nx * boxes[first, 0] + ny * boxes[first, 1] + nz * boxes[first, 2]
    reach = abs(nx) * boxes[first, 3] + abs(ny) * boxes[first, 4] + abs(nz) * boxes[first, 5]
    if middle - reach - offset > tolerance:
        return
    # a plane far above would only add rounding: any that clears the mesh tells the same
    offset = min(offset, middle + reach + 4.0 * tolerance)
    # u is square to n and to the axis that n leans on least; v completes u, v, n
    if abs(nx) <= abs(ny) and abs(nx) <= abs(nz):
        length = np.sqrt(ny * ny + nz * nz)
        ux, uy, uz = 0.0, nz / length, -ny / length
    elif abs(ny) <= abs(nz):
        length = np.sqrt(nx * nx + nz * nz)
        ux, uy, uz = -nz / length, 0.0, nx / length
    else:
        length = np.sqrt(nx * nx + ny * ny)
        ux, uy, uz = ny / length, -nx / length, 0.0
    vx, vy, vz = ny * uz - nz * uy, nz * ux - nx * uz, nx * uy - ny * ux
    whole, tally = work[_WHOLE:_TALLY], work[_TALLY:_IN]
    tally[:] = 0.0
    if middle + reach - offset < -2.0 * tolerance:
        whole[:] = sums[first]
    else:
        whole[:] = 0.0
        # of k nodes at most (k + 1) / 2 are leaves
        leaves = np.empty((last - first + 1) // 2, dtype=np.int64)
        found = _walk(boxes, links, sums, first, last, nx, ny, nz, offset, tolerance, whole, leaves)
        _tally_leaves(
            points, packed, areas, links, sums, leaves, found,
            ux, uy, uz, vx, vy, vz, nx, ny, nz, offset, tolerance, work, tally, whole,
        )  # fmt: skip
    _finish(
        whole, tally, ux, uy, uz, vx, vy, vz, nx, ny, nz, offset, cx, cy, cz, weight, area_weight, out
    )  # fmt: skip


@compiled
def _walk(
    boxes: Array, links: Index, sums: Array, first: int, last: int,
    nx: float, ny: float, nz: float, offset: float, tolerance: float, whole: Array, leaves: Index,
) -> int:  # fmt: skip
    """Add the sums of clusters wholly below into `whole`; list the leaves that the plane may cross."""
    ex, ey, ez = abs(nx), abs(ny), abs(nz)
    found = 0
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
        if links[node, 4] > links[node, 3]:
            leaves[found] = node
            found += 1
        node += 1
    return found


@compiled
def _tally_leaves(
    points: Array, packed: Packed, areas: Array, links: Index, sums: Array, leaves: Index, found: int,
    ux: float, uy: float, uz: float, vx: float, vy: float, vz: float, nx: float, ny: float, nz: float,
    offset: float, tolerance: float, work: Array, tally: Array, whole: Array,
) -> None:  # fmt: skip
    """Tally what lies below of the triangles of the leaves found, in the plane's frame, as at `_TALLY`.

    Leaves that lie wholly below after all are added to `whole`.
    """
    hu, hv, hs = work[_U:_V], work[_V:_S], work[_S:_WHOLE]
    codes = np.empty(_MOST, dtype=np.int64)
    crossed = np.empty(_MOST, dtype=np.int64)
    drowned = np.empty(_MOST, dtype=np.int64)
    lanes = waiting = 0
    volume = moment_u = moment_v = moment_s = 0.0
    wetted = wetted_u = wetted_v = wetted_s = 0.0
    base_u = base_v = 0.0
    dry = True
    for ahead in range(min(found, _AHEAD)):
        _fetch(points, packed, areas, links, leaves[ahead])
    for order in range(found):
        if order + _AHEAD < found:
            _fetch(points, packed, areas, links, leaves[order + _AHEAD])
        node = leaves[order]
        start, stop = links[node, 3], links[node, 4]
        px = points[3 * start : 2 * start + stop]
        py = points[2 * start + stop : start + 2 * stop]
        pz = points[start + 2 * stop : 3 * stop]
        for i in range(stop - start):
            x, y, z = px[i], py[i], pz[i]
            s = nx * x + ny * y + nz * z - offset
            hs[i] = 0.0 if abs(s) <= tolerance else s
            hu[i] = ux * x + uy * y + uz * z
            hv[i] = vx * x + vy * y + vz * z
        under = 0
        for i in range(stop - start):
            under |= (1 if hs[i] < 0.0 else 0) << i
        if under == 0:
            continue
        if under == (1 << (stop - start)) - 1:
            # the box was crossed, the triangles in it are not
            for i in range(34):
                whole[i] += sums[node, i]
            continue
        begin = links[node, 1]
        held = packed[begin : links[node, 2]]
        for i in range(len(held)):
            three = np.int64(held[i])
            codes[i] = (
                ((under >> (three & 63)) & 1)
                | ((under >> ((three >> 6) & 63)) & 1) << 1
                | ((under >> (three >> 12)) & 1) << 2
            )
        # sorted first, the triangles of either kind then run through loops without branches
        crossings = drownings = 0
        for i in range(len(held)):
            crossed[crossings] = i
            drowned[drownings] = i
            crossings += _CROSSED[codes[i]]
            drownings += 1 if codes[i] == 7 else 0
        for row in range(drownings):
            three = np.int64(held[drowned[row]])
            a, b, c = three & 63, (three >> 6) & 63, three >> 12
            au, av, sa, bu, bv, sb, cu, cv, sc = hu[a], hv[a], hs[a], hu[b], hv[b], hs[b], hu[c], hv[c], hs[c]
            flux = (bu - au) * (cv - av) - (cu - au) * (bv - av)
            total = sa + sb + sc
            tu, tv = au + bu + cu, av + bv + cv
            volume += flux * total
            moment_u += flux * (tu * total + au * sa + bu * sb + cu * sc)
            moment_v += flux * (tv * total + av * sa + bv * sb + cv * sc)
            moment_s += flux * (total * total + sa * sa + sb * sb + sc * sc)
            area = areas[begin + drowned[row]]
            wetted += area
            wetted_u += area * tu
            wetted_v += area * tv
            wetted_s += area * total
        for row in range(crossings):
            three, code = np.int64(held[crossed[row]]), codes[crossed[row]]
            a, b, c = three & 63, (three >> 6) & 63, three >> 12
            flux = (hu[b] - hu[a]) * (hv[c] - hv[a]) - (hu[c] - hu[a]) * (hv[b] - hv[a])
            a, b = (three >> _LOW_1[code]) & 63, (three >> _HIGH_1[code]) & 63
            c, e = (three >> _LOW_2[code]) & 63, (three >> _HIGH_2[code]) & 63
            at = _IN + waiting
            work[at], work[at + _ROW], work[at + 2 * _ROW] = hu[a], hv[a], hs[a]
            work[at + 3 * _ROW], work[at + 4 * _ROW], work[at + 5 * _ROW] = hu[b], hv[b], hs[b]
            work[at + 6 * _ROW], work[at + 7 * _ROW], work[at + 8 * _ROW] = hu[c], hv[c], hs[c]
            work[at + 9 * _ROW], work[at + 10 * _ROW], work[at + 11 * _ROW] = hu[e], hv[e], hs[e]
            work[at + 12 * _ROW], work[at + 13 * _ROW], work[at + 14 * _ROW] = (
                flux,
                areas[begin + crossed[row]],
                _LONE[code],
            )
            if dry:
                # any point serves as base of the waterplane; one beside its rim keeps small waterplanes exact
                dry = False
                base_u, base_v = hu[a], hv[a]
            waiting += 1
            if waiting == _BATCH:
                # the size as a constant, not as `waiting`: the compiler makes much quicker code of that
                lanes = _open_lanes(work, lanes, _BATCH)
                _work_batch(work, _BATCH, base_u, base_v)
                waiting = 0
    lanes = _open_lanes(work, lanes, waiting)
    _work_batch(work, waiting, base_u, base_v)
    tally[0], tally[1], tally[2], tally[3] = volume, moment_u, moment_v, moment_s
    tally[4], tally[5], tally[6], tally[7] = wetted, wetted_u, wetted_v, wetted_s
    tally[14], tally[15] = base_u, base_v
    for row in range(14):
        start = _OUT + row * _ROW
        total = 0.0
        for i in range(start, start + lanes):
            total += work[i]
        tally[row] += total


@compiled
def _finish(
    whole: Array, tally: Array,
    ux: float, uy: float, uz: float, vx: float, vy: float, vz: float, nx: float, ny: float, nz: float,
    offset: float, cx: float, cy: float, cz: float, weight: float, area_weight: float, out: Array,
) -> None:  # fmt: skip
    """Bring the sums of whole clusters and the tally together, and to the body's axes and origin; add to out."""
    volume, moment_u, moment_v, moment_s = tally[0], tally[1], tally[2], tally[3]
    wetted, wetted_u, wetted_v, wetted_s = tally[4], tally[5], tally[6], tally[7]
    twice, first_u, first_v = tally[8], tally[9], tally[10]
    second_uu, second_vv, second_uv, base_u, base_v = tally[11], tally[12], tally[13], tally[14], tally[15]
    # the sums of whole clusters through equations (1) to (3)
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

    # s = 0 stands at `offset` along n from the middle
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
            start, held = 3 * links[node, 3], links[node, 4] - links[node, 3]
            for i in range(start, start + held):
                best = min(best, nx * points[i] + ny * points[i + held] + nz * points[i + 2 * held])
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
