"""The cut of a quadric of revolution by a plane, exact to rounding: one integral along the axis.

At w along the axis the slice is a disc of radius r, r^2 = q0 + q1 w + q2 w^2, and the water covers the part
of it below the line y = c(w), c linear in w, y measured along the plane's normal as seen in the slice. With
h^2 = r^2 - c^2 (half the chord, squared) and A the half angle under water:

    slice area = r^2 A + h c,   moment along y = -2/3 h^3,   chord = 2 h,   wetted arc = 2 A

h^2 is a quadratic in w; the variable of integration is chosen at its roots so that the square roots become
smooth, and panels that Gauss and Kronrod do not agree on are halved.
"""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]

PIECE_SIZE = 18
"""Point (3), direction (3), w0, w1, q0, q1, q2, largest radius, whether each end is a wetted disc (2), and of
the whole piece with its wetted ends: int dV, int w dV, area, int w dA."""

# Gauss-Kronrod 10/21 on [-1, 1] (QUADPACK qk21; a test checks both rules against polynomials)
_X = np.array(
    [0.9956571630258081, 0.9739065285171717, 0.9301574913557082,
     0.8650633666889845, 0.7808177265864169, 0.6794095682990244,
     0.5627571346686047, 0.4333953941292472, 0.2943928627014602,
     0.14887433898163122, 0.0]
)  # fmt: skip
_K = np.array(
    [0.011694638867371874, 0.032558162307964725, 0.054755896574351995,
     0.07503967481091996, 0.0931254545836976, 0.10938715880229764,
     0.12349197626206584, 0.13470921731147334, 0.14277593857706009,
     0.14773910490133849, 0.1494455540029169]
)  # fmt: skip
_G = np.array(
    [0.0, 0.06667134430868814, 0.0, 0.1494513491505806, 0.0,
     0.21908636251598204, 0.0, 0.26926671930999635, 0.0,
     0.29552422471475287, 0.0]
)  # fmt: skip

_WET, _LINEAR, _LEFT, _RIGHT, _BOTH = 0, 1, 2, 3, 4
_MOST_PANELS = 400
"""Several times what any cut is known to need; a bound all the same."""


@compiled
def segment_share(angle: float, h: float, c: float, r2: float) -> float:
    """Area of a disc below a chord: r^2 (A - sin A cos A), without loss for a small half angle A."""
    if angle > 0.3:
        return r2 * angle + h * c
    x = 2.0 * angle
    y = x * x
    tail = 1.0 - y / 72.0 * (1.0 - y / 110.0 * (1.0 - y / 156.0))
    return r2 * x * y / 12.0 * (1.0 - y / 20.0 * (1.0 - y / 42.0 * tail))


@compiled
def _panel(
    mode: int, low: float, high: float, left: float, right: float,
    h0: float, h1: float, h2: float, c0: float, c1: float, r0: float, r1: float, r2: float,
    wc: float, scale: float, q1: float, q2: float, kronrod: Array, gauss: Array,
) -> None:  # fmt: skip
    """Both rules over [low, high] of the smooth variable t for nine integrals over u, w = wc + scale u.

    area, w area, h^3, h, h u, h u^2, A G, w A G, h G, with G the lateral area per radian and length.
    """
    kronrod[:] = 0.0
    gauss[:] = 0.0
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    for point in range(21):
        k = point if point < 11 else 20 - point
        t = middle - half * _X[k] if point < 11 else middle + half * _X[k]
        jacobian = 1.0
        u = t
        hh = 0.0
        if mode == _LINEAR:
            hh = max(0.0, h0 + u * (h1 + u * h2))
        elif mode == _LEFT:
            u = left + t * t
            jacobian = 2.0 * t
            hh = t * t * abs(h1 + h2 * (u + left))
        elif mode == _RIGHT:
            u = right - t * t
            jacobian = 2.0 * t
            hh = t * t * abs(h1 + h2 * (u + right))
        elif mode == _BOTH:
            sine, cosine = np.sin(0.5 * t), np.cos(0.5 * t)
            span = right - left
            u = left + span * sine * sine
            jacobian = span * sine * cosine
            hh = abs(h2) * jacobian * jacobian
        w = wc + scale * u
        if mode == _WET:
            rr = max(0.0, r0 + u * (r1 + u * r2))
            h, angle = 0.0, np.pi
            area = np.pi * rr
        else:
            h = np.sqrt(hh)
            c = c0 + c1 * u
            rr = hh + c * c
            angle = np.arctan2(h, -c)
            area = segment_share(angle, h, c, rr)
        side = 0.5 * q1 + q2 * w
        lateral = np.sqrt(rr + side * side)
        for rule in range(2):
            weight = half * jacobian * (_K[k] if rule == 0 else _G[k])
            if weight == 0.0:
                continue
            into = kronrod if rule == 0 else gauss
            into[0] += weight * area
            into[1] += weight * area * w
            into[2] += weight * h * hh
            into[3] += weight * h
            into[4] += weight * h * u
            into[5] += weight * h * u * u
            into[6] += weight * angle * lateral
            into[7] += weight * angle * lateral * w
            into[8] += weight * h * lateral


@compiled
def _integrate(
    mode: int, low: float, high: float, left: float, right: float,
    h0: float, h1: float, h2: float, c0: float, c1: float, r0: float, r1: float, r2: float,
    wc: float, scale: float, q1: float, q2: float, floors: tuple[float, float, float], total: Array,
) -> None:  # fmt: skip
    """Add the nine integrals over [low, high] of t, halving panels until both rules agree.

    Differences below `floors` (of area, chord and lateral area) are lost in the piece as a whole.
    """
    kronrod = np.empty(9)
    gauss = np.empty(9)
    limit = np.empty(3)
    pending = np.empty((_MOST_PANELS, 2))
    pending[0, 0], pending[0, 1] = low, high
    count = 1
    for panel in range(_MOST_PANELS):
        if count == 0:
            break
        count -= 1
        a, b = pending[count, 0], pending[count, 1]
        _panel(mode, a, b, left, right, h0, h1, h2, c0, c1, r0, r1, r2, wc, scale, q1, q2, kronrod, gauss)
        if panel == 0:
            # the higher rule is far better than the difference says: 1e-12 between them leaves about 1e-15
            for i in range(3):
                limit[i] = max(1e-12 * kronrod[3 * i], floors[i])
        agreed = (
            abs(kronrod[0] - gauss[0]) <= limit[0]
            and abs(kronrod[3] - gauss[3]) <= limit[1]
            and abs(kronrod[6] - gauss[6]) <= limit[2]
        )
        if agreed or panel + count + 2 >= _MOST_PANELS:
            for i in range(9):
                total[i] += kronrod[i]
        else:
            split = 0.5 * (a + b)
            pending[count, 0], pending[count, 1] = a, split
            pending[count + 1, 0], pending[count + 1, 1] = split, b
            count += 2


@compiled
def _variable(a: float, b: float, roots: tuple[float, float]) -> tuple[int, float, float, float, float]:
    """For u in [a, b], where h^2 > 0: the kind of variable t, its range, and the roots beside the interval.

    NaN or infinity stands for no root.
    """
    middle, length = 0.5 * (a + b), b - a
    left, right = -np.inf, np.inf
    for root in roots:
        if root <= middle:
            left = max(left, root)
        elif root > middle:
            right = min(right, root)
    near_left, near_right = a - left < 2.0 * length, right - b < 2.0 * length
    if near_left and near_right:
        span = right - left
        low = 2.0 * np.arcsin(min(1.0, np.sqrt(max(0.0, (a - left) / span))))
        high = np.pi - 2.0 * np.arcsin(min(1.0, np.sqrt(max(0.0, (right - b) / span))))
        return _BOTH, low, high, left, right
    if near_left:
        return _LEFT, np.sqrt(max(0.0, a - left)), np.sqrt(b - left), left, right
    if near_right:
        return _RIGHT, np.sqrt(max(0.0, right - b)), np.sqrt(right - a), left, right
    return _LINEAR, a, b, left, right


@compiled
def _add(
    out: Array, weight: float, volume: float, mx: float, my: float, mz: float,
    area_weight: float, area: float, ax: float, ay: float, az: float,
) -> None:  # fmt: skip
    out[0] += weight * volume
    out[1] += weight * mx
    out[2] += weight * my
    out[3] += weight * mz
    out[14] += area_weight * area
    out[15] += area_weight * ax
    out[16] += area_weight * ay
    out[17] += area_weight * az


@compiled
def _add_plane(
    out: Array, plane: float, first: float, second: float,
    bx: float, by: float, bz: float, dx: float, dy: float, dz: float,
    part: float, xx: float, yy: float, zz: float, xy: float, xz: float, yz: float,
) -> None:  # fmt: skip
    """Add a waterplane of chords with middles b + u D: int dA, u dA, u^2 dA; and `part` of a matrix."""
    out[4] += plane
    out[5] += plane * bx + first * dx
    out[6] += plane * by + first * dy
    out[7] += plane * bz + first * dz
    out[8] += part * xx + plane * bx * bx + 2.0 * first * bx * dx + second * dx * dx
    out[9] += part * yy + plane * by * by + 2.0 * first * by * dy + second * dy * dy
    out[10] += part * zz + plane * bz * bz + 2.0 * first * bz * dz + second * dz * dz
    out[11] += part * xy + plane * bx * by + first * (bx * dy + by * dx) + second * dx * dy
    out[12] += part * xz + plane * bx * bz + first * (bx * dz + bz * dx) + second * dx * dz
    out[13] += part * yz + plane * by * bz + first * (by * dz + bz * dy) + second * dy * dz


@compiled
def cut_piece(
    piece: Array, nx: float, ny: float, nz: float, d: float, weight: float, area_weight: float, out: Array
) -> None:
    """Add the cut of one piece (laid out as at `PIECE_SIZE`) by n.x < d."""
    px, py, pz, ax, ay, az = piece[0], piece[1], piece[2], piece[3], piece[4], piece[5]
    w0, w1, q0, q1, q2, largest = piece[6], piece[7], piece[8], piece[9], piece[10], piece[11]
    s0 = nx * px + ny * py + nz * pz - d
    g = nx * ax + ny * ay + nz * az
    ex, ey, ez = nx - g * ax, ny - g * ay, nz - g * az
    m = np.sqrt(ex * ex + ey * ey + ez * ez)
    half = max(abs(w0), abs(w1))
    reach = abs(g) * half + m * largest
    tolerance = 1e-15 * (half + largest + abs(d))
    if s0 - reach > tolerance:
        return
    if s0 + reach < -tolerance:
        v, vw, s, sw = piece[14], piece[15], piece[16], piece[17]
        _add(
            out, weight, v, v * px + vw * ax, v * py + vw * ay, v * pz + vw * az,
            area_weight, s, s * px + sw * ax, s * py + sw * ay, s * pz + sw * az,
        )  # fmt: skip
        return

    total = np.zeros(9)
    perpendicular = m * largest <= tolerance
    if perpendicular:
        m = 0.0
        ex = ey = ez = 0.0
    else:
        ex, ey, ez = ex / m, ey / m, ez / m
    # w = wc + scale u: about the plane's crossing of the axis when it is steep to the axis, else w itself
    steep = abs(g) >= m
    wc = -s0 / g if steep else 0.0
    if steep and abs(wc - w0) <= tolerance:
        wc = w0
    if steep and abs(wc - w1) <= tolerance:
        wc = w1
    scale = m if steep else 1.0
    c0, c1 = (0.0, -g) if steep else (-s0 / m, -g / m)
    r0, r1, r2 = q0 + wc * (q1 + wc * q2), scale * (q1 + 2.0 * q2 * wc), scale * scale * q2

    edges = np.empty(4)
    count = 2
    h0 = h1 = h2 = 0.0
    roots = (np.nan, np.nan)
    if perpendicular:
        # slices are wholly under or wholly out: one interval over w itself
        edges[0], edges[1] = (w0, min(w1, wc)) if g > 0.0 else (max(w0, wc), w1)
        if w0 < wc <= w1 if g > 0.0 else w0 <= wc < w1:
            plane = weight * np.pi * max(0.0, r0)
            part = 0.25 * plane * r0
            _add_plane(
                out, plane, 0.0, 0.0, px + wc * ax, py + wc * ay, pz + wc * az, 0.0, 0.0, 0.0,
                part, 1.0 - ax * ax, 1.0 - ay * ay, 1.0 - az * az, -ax * ay, -ax * az, -ay * az,
            )  # fmt: skip
        level, wc, c0, c1 = wc, 0.0, np.inf, 0.0
        scale, r0, r1, r2 = 1.0, q0, q1, q2
    else:
        level = wc
        u1 = (w1 - wc) / scale
        edges[0] = (w0 - wc) / scale
        h0, h1, h2 = r0 - c0 * c0, r1 - 2.0 * c0 * c1, r2 - c1 * c1
        inner = h1 * h1 - 4.0 * h2 * h0
        if inner > 0.0:
            q = -0.5 * (h1 + np.sqrt(inner)) if h1 >= 0.0 else -0.5 * (h1 - np.sqrt(inner))
            one, two = q / h2 if h2 != 0.0 else np.nan, h0 / q if q != 0.0 else np.nan
            roots = (two, one) if one > two else (one, two)
        count = 1
        for root in roots:
            if edges[count - 1] < root < u1:
                edges[count] = root
                count += 1
        edges[count] = u1
        count += 1
    floors = (1e-18 * piece[14] / scale, 1e-18 * largest * (half + largest), 1e-18 * piece[16] / scale)
    for row in range(count - 1):
        a, b = edges[row], edges[row + 1]
        middle = 0.5 * (a + b)
        if b <= a:
            continue
        if h0 + middle * (h1 + middle * h2) > 0.0:
            mode, low, high, left, right = _variable(a, b, roots)
        elif c0 + c1 * middle > 0.0:
            mode, low, high, left, right = _WET, a, b, 0.0, 0.0
        else:
            continue
        _integrate(
            mode, low, high, left, right, h0, h1, h2, c0, c1, r0, r1, r2, wc, scale, q1, q2, floors, total
        )  # fmt: skip
    if not perpendicular:
        turn = weight if steep else weight / m
        fx, fy, fz = ay * ez - az * ey, az * ex - ax * ez, ax * ey - ay * ex
        _add_plane(
            out, 2.0 * total[3] * turn, 2.0 * total[4] * turn, 2.0 * total[5] * turn,
            px + wc * ax + c0 * ex, py + wc * ay + c0 * ey, pz + wc * az + c0 * ez,
            scale * ax + c1 * ex, scale * ay + c1 * ey, scale * az + c1 * ez,
            2.0 / 3.0 * total[2] * turn, fx * fx, fy * fy, fz * fz, fx * fy, fx * fz, fy * fz,
        )  # fmt: skip
    volume, along, across = scale * total[0], scale * total[1], -2.0 / 3.0 * scale * total[2]
    area, area_along, area_across = 2.0 * scale * total[6], 2.0 * scale * total[7], -2.0 * scale * total[8]
    for end in range(2):
        if piece[12 + end] > 0.0:
            w = w0 if end == 0 else w1
            rr = max(0.0, q0 + w * (q1 + w * q2))
            if perpendicular:
                disc = np.pi * rr if g * (w - level) < 0.0 else 0.0
                lean = 0.0
            else:
                c = c0 + c1 * (w - wc) / scale
                hh = rr - c * c
                lean = 0.0
                if hh <= 0.0:
                    disc = np.pi * rr if c > 0.0 else 0.0
                else:
                    h = np.sqrt(hh)
                    disc = segment_share(np.arctan2(h, -c), h, c, rr)
                    lean = -2.0 / 3.0 * h * hh
            area += disc
            area_along += disc * w
            area_across += lean
    _add(
        out, weight, volume,
        volume * px + along * ax + across * ex,
        volume * py + along * ay + across * ey,
        volume * pz + along * az + across * ez,
        area_weight, area,
        area * px + area_along * ax + area_across * ex,
        area * py + area_along * ay + area_across * ey,
        area * pz + area_along * az + area_across * ez,
    )  # fmt: skip


@compiled
def highest_of_piece(piece: Array, nx: float, ny: float, nz: float) -> float:
    """Largest n.x over the piece, in the body frame."""
    w0, w1, q0, q1, q2 = piece[6], piece[7], piece[8], piece[9], piece[10]
    g = nx * piece[3] + ny * piece[4] + nz * piece[5]
    ex, ey, ez = nx - g * piece[3], ny - g * piece[4], nz - g * piece[5]
    mm = ex * ex + ey * ey + ez * ez
    m = np.sqrt(mm)
    best = max(
        g * w0 + m * np.sqrt(max(0.0, q0 + w0 * (q1 + w0 * q2))),
        g * w1 + m * np.sqrt(max(0.0, q0 + w1 * (q1 + w1 * q2))),
    )
    # stationary where g + m r' = 0, that is m^2 (q1 + 2 q2 w)^2 = 4 g^2 r^2
    a = 4.0 * q2 * (mm * q2 - g * g)
    b = 4.0 * q1 * (mm * q2 - g * g)
    c = mm * q1 * q1 - 4.0 * g * g * q0
    inner = b * b - 4.0 * a * c
    if a != 0.0 and inner >= 0.0:
        for sign in (-1.0, 1.0):
            w = (-b + sign * np.sqrt(inner)) / (2.0 * a)
            if w0 < w < w1:
                best = max(best, g * w + m * np.sqrt(max(0.0, q0 + w * (q1 + w * q2))))
    return best + nx * piece[0] + ny * piece[1] + nz * piece[2]
