"""Published hull forms as radii and closed meshes, written apart from the product's own lofting.

Equations and constants are those of the sources named at each form. All meshes are closed, face outward, and
have x forward (bow at the greatest x), y to port, z up.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

FOOT_M = 0.3048
SUBOFF_LENGTH_FT = 14.291667
SUBOFF_LENGTH_M = SUBOFF_LENGTH_FT * FOOT_M
SUBOFF_RADIUS_FT = 5.0 / 6.0


def suboff_radius(x_ft: Array | float) -> Array:
    """Radius [ft] of the SUBOFF bare hull at x [ft] from the nose; 0 outside 0 to 14.291667 ft.

    Groves, Huang and Chang, Geometric Characteristics of DARPA SUBOFF Models (DTRC Model Nos. 5470 and 5471),
    DTRC/SHD-1298-01, 1989, Table 1; read in a public transcription. K1 / 3 keeps its full precision.
    """
    x = np.atleast_1d(np.asarray(x_ft, np.float64))
    largest, hub, k0, k1 = SUBOFF_RADIUS_FT, 0.1175, 10.0, 44.6244
    radius = np.full(x.shape, largest)
    bow = x < 3.333333
    u = 0.3 * x[bow] - 1.0
    inside = (
        1.126395101 * x[bow] * u**4 + 0.442874707 * x[bow] ** 2 * u**3 + 1.0 - u**4 * (1.2 * x[bow] + 1.0)
    )
    radius[bow] = largest * np.maximum(inside, 0.0) ** (1.0 / 2.1)
    aft = (x > 10.645833) & (x <= 13.979167)
    xi = (13.979167 - x[aft]) / 3.333333
    radius[aft] = largest * np.sqrt(
        hub**2
        + hub * k0 * xi**2
        + (20.0 - 20.0 * hub**2 - 4.0 * hub * k0 - k1 / 3.0) * xi**3
        + (-45.0 + 45.0 * hub**2 + 6.0 * hub * k0 + k1) * xi**4
        + (36.0 - 36.0 * hub**2 - 4.0 * hub * k0 - k1) * xi**5
        + (-10.0 + 10.0 * hub**2 + hub * k0 + k1 / 3.0) * xi**6
    )
    cap = x > 13.979167
    radius[cap] = hub * largest * np.sqrt(np.maximum(1.0 - (3.2 * x[cap] - 44.733333) ** 2, 0.0))
    radius[(x < 0.0) | (x >= SUBOFF_LENGTH_FT)] = 0.0
    return radius


def suboff_mesh(
    length_m: float = SUBOFF_LENGTH_M, n_axial: int = 400, n_around: int = 128
) -> tuple[Array, Indices]:
    """Closed mesh of the bare hull at any length, about 2 n_around n_axial faces, corners on the form.

    The joints of the form are stations; stations crowd where the slope is infinite, at the nose and at the
    tip.
    """
    bow, middle, aft, tip = (max(2, round(share * n_axial)) for share in (0.35, 0.15, 0.35, 0.15))
    x = np.concatenate(
        [
            3.333333 * np.linspace(0.0, 1.0, bow + 1) ** 3,
            np.linspace(3.333333, 10.645833, middle + 1)[1:],
            np.linspace(10.645833, 13.979167, aft + 1)[1:],
            13.979167 + 0.3125 * np.sin(0.5 * np.pi * np.linspace(0.0, 1.0, tip + 1)[1:]),
        ]
    )
    x[-1] = SUBOFF_LENGTH_FT
    scale = length_m / SUBOFF_LENGTH_FT
    return revolved_mesh((SUBOFF_LENGTH_FT - x)[::-1] * scale, suboff_radius(x)[::-1] * scale, n_around)


SERIES58_CP065 = (1.0, 2.1496528, -17.7734954, 36.7165799, -33.5112847, 11.4185475)
"""a1 to a6 for m 0.40, r0 0.50, r1 0.10, Cp 0.65."""


def series58_radius(
    x_over_length: Array | float,
    length: float,
    diameter: float,
    coefficients: tuple[float, ...] = SERIES58_CP065,
) -> Array:
    """Radius of a Series 58 body at x / L from the nose: (r / D)^2 = sum of a_k (x / L)^k, k = 1 to 6.

    Gertler, DTMB Report C-297 (1950); Landweber and Gertler, DTMB Report 719 (1950): form and parameters from
    memory, coefficients computed from the six conditions. Unit of `diameter`; `length` only sets the range.
    """
    if length <= 0.0 or diameter <= 0.0:
        raise ValueError("Length and diameter are above 0.")
    part = np.atleast_1d(np.asarray(x_over_length, np.float64))
    squared = sum(a * part**k for k, a in enumerate(coefficients, start=1))
    return diameter * np.sqrt(np.maximum(squared, 0.0)) * ((part > 0.0) & (part < 1.0))


def series58_mesh(
    length: float,
    diameter: float,
    n_axial: int = 400,
    n_around: int = 128,
    coefficients: tuple[float, ...] = SERIES58_CP065,
) -> tuple[Array, Indices]:
    """Closed mesh of a Series 58 body, corners on the form; both ends are round."""
    part = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, n_axial + 1))
    part[0], part[-1] = 0.0, 1.0
    radius = series58_radius(part, length, diameter, coefficients)
    return revolved_mesh((1.0 - part)[::-1] * length, radius[::-1], n_around)


def spheroid_mesh(
    length: float, diameter: float, n_axial: int = 200, n_around: int = 128
) -> tuple[Array, Indices]:
    """Closed mesh of a spheroid with its axis along x from 0 to `length`, corners on the form."""
    angle = np.pi * np.linspace(0.0, 1.0, n_axial + 1)
    x, radius = 0.5 * length * (1.0 - np.cos(angle)), 0.5 * diameter * np.sin(angle)
    radius[0] = radius[-1] = 0.0
    return revolved_mesh(x, radius, n_around)


def wigley_half_breadth(x: Array, z: Array, length: float, beam: float, draught: float) -> Array:
    """Half-breadth of the Wigley hull, x from its middle, z up from the keel; upright above the waterline.

    y = B/2 (1 - (2 x / L)^2) (1 - (z' / T)^2), z' = z - T from -T to 0. Wigley, Trans. NECIES 58 (1934).
    """
    below = np.minimum(z - draught, 0.0)
    return 0.5 * beam * (1.0 - (2.0 * x / length) ** 2) * (1.0 - (below / draught) ** 2)


def wigley_mesh(
    length: float, beam: float, draught: float, n: int = 200, m: int = 100, freeboard: float | None = None
) -> tuple[Array, Indices]:
    """Closed mesh of the Wigley hull, x from 0 to `length`, keel at z = 0, with upright sides up to a flat
    deck.

    n strips along the length and m over the draught; freeboard is half the draught if not given. Corners on
    the form.
    """
    above = 0.5 * draught if freeboard is None else freeboard
    x = np.linspace(0.0, length, n + 1)
    z = np.append(np.linspace(0.0, draught, m + 1), draught + above)
    y = wigley_half_breadth(x[:, None] - 0.5 * length, z[None, :], length, beam, draught)
    y[0] = y[-1] = 0.0
    y[:, 0] = 0.0
    points = np.empty((n + 1, 2, m + 2, 3))
    points[..., 0] = x[:, None, None]
    points[:, 0, :, 1], points[:, 1, :, 1] = y, -y
    points[..., 2] = z
    number = np.arange(points.size // 3).reshape(points.shape[:3])
    faces = []
    for side, turn in ((0, 1), (1, -1)):
        a, b = number[:-1, side, :-1], number[:-1, side, 1:]
        c, d = number[1:, side, 1:], number[1:, side, :-1]
        faces += [np.stack([a, b, c], -1)[..., ::turn], np.stack([a, c, d], -1)[..., ::turn]]
    port, starboard = number[:, 0, -1], number[:, 1, -1]
    faces += [np.stack([port[:-1], starboard[:-1], port[1:]], -1)]
    faces += [np.stack([port[1:], starboard[:-1], starboard[1:]], -1)]
    return joined(points.reshape(-1, 3), np.concatenate([part.reshape(-1, 3) for part in faces]))


def revolved_mesh(x: Array, radius: Array, n_around: int) -> tuple[Array, Indices]:
    """Closed mesh of a body of revolution through stations in rising x, closed flat where the radius is not
    0.
    """
    angle = 2.0 * np.pi * np.arange(n_around) / n_around
    ring = np.stack([np.zeros(n_around), np.sin(angle), -np.cos(angle)], -1)
    points = radius[:, None, None] * ring
    points[..., 0] = x[:, None]
    number = np.arange(len(x) * n_around).reshape(len(x), n_around)
    here, ahead = number[:-1], number[1:]
    here_next, ahead_next = np.roll(here, -1, 1), np.roll(ahead, -1, 1)
    ends = len(points.reshape(-1, 3)) + np.arange(2)
    faces = [
        np.stack([here, here_next, ahead_next], -1).reshape(-1, 3),
        np.stack([here, ahead_next, ahead], -1).reshape(-1, 3),
        np.stack([np.roll(number[0], -1), number[0], np.full(n_around, ends[0])], -1),
        np.stack([number[-1], np.roll(number[-1], -1), np.full(n_around, ends[1])], -1),
    ]
    middles = [[x[0], 0.0, 0.0], [x[-1], 0.0, 0.0]]
    return joined(np.concatenate([points.reshape(-1, 3), middles]), np.concatenate(faces))


def joined(points: Array, faces: Indices) -> tuple[Array, Indices]:
    """One vertex for all points at one place; faces with a vertex twice and pairs back to back fall away."""
    unique, number = np.unique(points + 0.0, axis=0, return_inverse=True)
    faces = number.reshape(-1)[faces]
    faces = faces[(faces != np.roll(faces, 1, axis=1)).all(axis=1)]
    _, which, count = np.unique(np.sort(faces, axis=1), axis=0, return_inverse=True, return_counts=True)
    return unique, faces[count[which.reshape(-1)] == 1].astype(np.int64)
