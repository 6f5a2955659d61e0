"""The energy, its gradient and its Hessian: closed forms and finite differences of the energy itself."""

import math

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.balance import (
    ATMOSPHERE_PA,
    GRAVITY_M_S2,
    Balance,
    TankWater,
    balance,
    evaluate,
    with_air_held,
)
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.equilibrium import find, up_vector
from dabchick.physics.settle import reduced_into, stepped, tangents

RHO = 1000.0


def boat(*tanks: TankWater) -> Balance:
    """A box with a cylinder and a ball on it, so that flat and round surfaces are all crossed."""
    solids = [
        shapes.box(1.0, 0.2, 0.15).moved([0.0, 0.0, 0.075]),
        shapes.cylinder(0.3, 0.08).moved([0.1, 0.01, 0.17]),
        shapes.sphere(0.1).moved([-0.3, -0.02, 0.18]),
    ]
    return balance(solids, 14.0, [0.01, 0.004, 0.05], RHO, tanks)


def tanks() -> tuple[TankWater, ...]:
    return (
        TankWater(shapes.cylinder(0.2, 0.1).moved([0.0, 0.0, 0.07]), 0.0007),
        TankWater(shapes.box(0.15, 0.1, 0.08).moved([0.3, 0.0, 0.06]), 0.0004),
        TankWater(shapes.box(0.15, 0.1, 0.08).moved([-0.3, 0.0, 0.06]), 0.0, shut_air_m3=0.0006),
    )


def energy_at(entry: Balance, normal: np.ndarray, offset: float, *, hanging: bool = False) -> float:
    return evaluate(entry, normal, offset, hanging, np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE))


@pytest.mark.parametrize("hanging", [False, True])
@pytest.mark.parametrize(
    "pose", [(0.0, 0.0, 0.1), (17.0, -6.0, 0.09), (100.0, 40.0, 0.02), (30.0, 85.0, 0.1)]
)
def test_gradient_and_hessian_are_the_energys_own(pose: tuple[float, float, float], hanging: bool) -> None:
    """Expected: central differences of the energy in immersion, pitch and roll (independent of both)."""
    heel, trim, offset = pose
    normal = up_vector(heel, trim)
    entry = with_air_held(boat(*tanks()), normal, offset) if hanging else boat(*tanks())
    gradient, hessian = np.empty(4), np.empty((4, 4))
    evaluate(entry, normal, offset, hanging, gradient, hessian, np.empty(CUT_SIZE))
    pitch, roll = tangents(normal)
    g, h = np.empty(3), np.empty((3, 3))
    reduced_into(normal, gradient, hessian, pitch, roll, 1.0, g, h)

    def energy(step: np.ndarray) -> float:
        return energy_at(entry, stepped(normal, step[1], step[2]), offset + step[0], hanging=hanging)

    free = [1, 2] if hanging else [0, 1, 2]
    small = 2e-4
    for i in free:
        e_i = small * np.eye(3)[i]
        assert g[i] == pytest.approx((energy(e_i) - energy(-e_i)) / (2.0 * small), rel=1e-5, abs=1e-7)
        for j in free:
            e_j = small * np.eye(3)[j]
            difference = energy(e_i + e_j) - energy(e_i - e_j) - energy(e_j - e_i) + energy(-e_i - e_j)
            # A step through a corner differs from two steps by third order only.
            assert h[i, j] == pytest.approx(difference / (4.0 * small**2), rel=2e-3, abs=2e-2)


def test_shut_in_air_obeys_boyle_at_depth() -> None:
    """Closed form: p V = const with p = atmosphere + rho g (depth of the air's lower face); box tank, level.

    A box tank of area A and height h with air V0 at one atmosphere, its floor at z0 and the surface at d: the air
    height a solves (H + d - (z0 + h - a)) a = H V0 / A, H = atmosphere / (rho g). Worked here by the quadratic.
    """
    area, height, floor, air = 0.15 * 0.1, 0.08, 0.02, 0.0006
    room = shapes.box(0.15, 0.1, height).moved([0.0, 0.0, floor + 0.5 * height])
    head = ATMOSPHERE_PA / (RHO * GRAVITY_M_S2)
    for depth in (0.1, 3.0, 30.0):
        b = head + depth - floor - height
        tall = (-b + math.sqrt(b * b + 4.0 * head * air / area)) / 2.0
        water = area * (height - tall)
        entry = boat(TankWater(room, 0.0, shut_air_m3=air))
        gradient = np.empty(4)
        held = with_air_held(entry, np.array([0.0, 0.0, 1.0]), depth)
        assert held.tank_volume[0] == pytest.approx(water, rel=1e-10)
        # Breathing, in the floating balance: dE/dd = rho V - M with the same water.
        evaluate(
            entry,
            np.array([0.0, 0.0, 1.0]),
            depth,
            False,
            gradient,
            np.empty((4, 4)),
            out := np.empty(CUT_SIZE),
        )
        assert RHO * out[0] - gradient[3] == pytest.approx(14.0 + RHO * water, rel=1e-12)


def test_free_surface_takes_its_moment_of_inertia_from_gm() -> None:
    """Closed form: a rectangular free surface costs GM rho l b^3 / 12 / mass, the boat's own BM untouched."""
    room = shapes.box(0.3, 0.1, 0.05).moved([0.0, 0.0, 0.03])
    dry = balance([shapes.box(1.0, 0.2, 0.2).moved([0.0, 0.0, 0.1])], 8.0, [0.0, 0.0, 0.06], RHO)
    wet = balance(
        [shapes.box(1.0, 0.2, 0.2).moved([0.0, 0.0, 0.1])],
        8.0,
        [0.0, 0.0, 0.06],
        RHO,
        [TankWater(room, 0.0006)],
    )
    water = RHO * 0.0006
    mass = 8.0 + water
    draught = mass / RHO / 0.2
    kg = (8.0 * 0.06 + water * 0.015) / mass
    gm_solid = draught / 2.0 + 0.2**2 / 12.0 / draught - kg
    loss = RHO * 0.3 * 0.1**3 / 12.0 / mass
    assert find(wet).gm_transverse_m == pytest.approx(gm_solid - loss, rel=1e-9)
    assert find(dry).gm_transverse_m == pytest.approx(0.02 + 0.2**2 / 12.0 / 0.04 - 0.06, rel=1e-9)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([], 1.0, [0, 0, 0], RHO), "Nothing displaces water"),
        (([shapes.box(1, 1, 1)], -1.0, [0, 0, 0], RHO), "positive mass"),
        (([shapes.box(1, 1, 1)], float("nan"), [0, 0, 0], RHO), "positive mass"),
        (([shapes.box(1, 1, 1)], 1.0, [0, float("inf"), 0], RHO), "finite centre"),
        (([shapes.box(1, 1, 1)], 1.0, [0, 0, 0], 0.0), "positive number"),
    ],
)
def test_bad_input_is_refused_with_advice(arguments: tuple, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        balance(*arguments)
