"""Righting arms, loll and the resting angles of a square log against closed forms."""

import math

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.balance import Balance
from dabchick.physics.equilibrium import all_equilibria, find, up_vector
from dabchick.physics.righting import arm_curve
from tests.reference.values import read, rows
from tests.support.rest import boat

WATER = 1000.0
LONG = 6.0
"""Length over which boxes and logs are cut here, so that they lie and do not stand."""


def wall_sided_box(kg_m: float) -> Balance:
    """The box of the source: beam 2, depth 1, half immersed, ballasted to KG."""
    row = read("wall_sided")["box"]
    mass = row["sg"] * WATER * row["beam"] * row["depth"] * LONG
    return boat([shapes.box(LONG, row["beam"], row["depth"])], mass, (0.0, 0.0, kg_m - 0.5 * row["depth"]))


@pytest.mark.parametrize("free_trim", [True, False])
def test_wall_sided_righting_arms(free_trim: bool) -> None:
    table = rows("wall_sided", "box")
    heels = np.array([row["phi_deg"] for row in table])
    found = arm_curve(wall_sided_box(read("wall_sided")["box"]["KG"]), heels, free_trim=free_trim)
    assert found.settled
    assert found.arms_m == pytest.approx(np.array([row["GZ"] for row in table]), rel=2e-9)
    assert found.trims_deg == pytest.approx(np.zeros(heels.size), abs=1e-9)


def test_wall_sided_formula_up_to_the_deck_edge_and_not_beyond() -> None:
    """Exact to the edge at 26.5651 degrees; past it the box loses waterplane, the formula reads too high."""
    values = read("wall_sided")["box"]
    afloat = wall_sided_box(values["KG"])
    inside = np.linspace(-values["edge_deg"], values["edge_deg"], 41)
    angles = np.radians(inside)
    expected = np.sin(angles) * (values["GM"] + 0.5 * values["BM"] * np.tan(angles) ** 2)
    assert arm_curve(afloat, inside).arms_m == pytest.approx(expected, abs=1e-10)
    beyond = math.radians(40.0)
    formula = math.sin(beyond) * (values["GM"] + 0.5 * values["BM"] * math.tan(beyond) ** 2)
    assert arm_curve(afloat, [40.0]).arms_m[0] < 0.9 * formula


def test_rest_has_the_metacentric_height_of_the_box() -> None:
    values = read("wall_sided")["box"]
    rest = find(wall_sided_box(values["KG"]), up_vector(20.0, 4.0))
    assert rest.heel_deg == pytest.approx(0.0, abs=1e-8)
    assert rest.gm_transverse_m == pytest.approx(values["GM"], rel=1e-9)


@pytest.mark.parametrize("kg_m", [0.93, 0.95, 0.98])
def test_loll(kg_m: float) -> None:
    """With GM below zero she rests at tan(phi) = sqrt(-2 GM / BM) to either side; level is not stable."""
    gm, bm = 0.25 + 2.0 / 3.0 - kg_m, 2.0 / 3.0
    expected = math.degrees(math.atan(math.sqrt(-2.0 * gm / bm)))
    afloat = wall_sided_box(kg_m)
    for side in (-1.0, 1.0):
        rest = find(afloat, up_vector(side * 5.0, 1.0))
        assert rest.stable
        assert rest.heel_deg == pytest.approx(side * expected, abs=1e-7)
        assert rest.trim_deg == pytest.approx(0.0, abs=1e-7)
        # GM at the angle of loll is -2 GM / cos(phi), by deriving the wall-sided formula at its zero
        assert rest.gm_transverse_m == pytest.approx(-2.0 * gm / math.cos(math.radians(expected)), rel=1e-8)
    level = [
        rest
        for rest in all_equilibria(afloat).found
        if abs(rest.heel_deg) < 1e-6 and abs(rest.trim_deg) < 1e-6
    ]
    assert [rest.falling_ways for rest in level] == [1]
    assert level[0].gm_transverse_m == pytest.approx(gm, rel=1e-8)


def test_loll_in_a_shallow_hollow_is_found_among_all_rests() -> None:
    """At KG 0.995 the loll of 25.9 degrees is 0.7 degrees from the deck edge, past which she turns over."""
    afloat = wall_sided_box(0.995)
    expected = math.degrees(math.atan(math.sqrt(2.0 * (0.995 - 0.25 - 2.0 / 3.0) * 1.5)))
    heels = [
        rest.heel_deg for rest in all_equilibria(afloat).found if rest.stable and abs(rest.trim_deg) < 1e-6
    ]
    for side in (-1.0, 1.0):
        assert any(heel == pytest.approx(side * expected, abs=1e-7) for heel in heels)
    assert any(abs(heel) == pytest.approx(180.0, abs=1e-7) for heel in heels)


def log(density_ratio: float) -> Balance:
    return boat([shapes.box(LONG, 1.0, 1.0)], density_ratio * WATER * LONG)


def folded(heel_deg: float) -> float:
    """Heel from the nearest flat face, 0 to 45: the log has four faces and two hands."""
    turned = heel_deg % 90.0
    return min(turned, 90.0 - turned)


def square_log_angle_deg(s: float) -> float:
    """Hand-worked resting angle of a homogeneous square log; s and 1 - s rest alike.

    Waterline through two opposite faces: wall-sided loll with KB = s/2, BM = 1/(12 s), KG = 1/2, so
    tan^2 = 12 s (1 - s) - 2. Waterline round one corner, legs a and b: a b = 2 s, and G over B asks
    a (1/2 - a/3) = b (1/2 - b/3), so a = b (45 degrees) or a + b = 3/2.
    """
    s = min(s, 1.0 - s)
    square = 12.0 * s * (1.0 - s) - 2.0
    if square <= 0.0:
        return 0.0
    if s <= 0.25:
        return math.degrees(math.atan(math.sqrt(square)))
    root = 2.25 - 8.0 * s
    if root <= 0.0:
        return 45.0
    return math.degrees(math.atan((1.5 - math.sqrt(root)) / (1.5 + math.sqrt(root))))


@pytest.mark.parametrize("row", rows("square_log", "log"), ids=lambda row: f"s {row['s']}")
def test_square_log_rows(row: dict[str, float]) -> None:
    assert square_log_angle_deg(row["s"]) == pytest.approx(row["heel_deg"], abs=1e-4)
    rest = find(log(row["s"]), up_vector(22.0, 2.0))
    assert rest.stable
    assert folded(rest.heel_deg) == pytest.approx(row["heel_deg"], abs=1e-4)
    assert rest.trim_deg == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    "s", [0.205, 0.2115, 0.23, 0.249, 0.251, 0.265, 0.281, 0.2815, 0.35, 0.6, 0.72, 0.76, 0.785]
)
def test_square_log_between_the_rows(s: float) -> None:
    """Independent closed form; near the limits the stiffness is nearly gone and the angle runs fast."""
    for heel in (3.0, 40.0, 130.0, -70.0):
        rest = find(log(s), up_vector(heel, -1.0))
        assert rest.stable
        assert folded(rest.heel_deg) == pytest.approx(square_log_angle_deg(s), abs=1e-5)


def test_half_angle_is_exact() -> None:
    """tan = 1/2 at s = 1/4, where the waterline runs through a corner: a vertex lies in the plane."""
    rest = find(log(0.25), up_vector(22.0, 0.0))
    assert math.tan(math.radians(folded(rest.heel_deg))) == pytest.approx(0.5, rel=1e-9)


def test_log_limits_of_stability() -> None:
    """Flat is stable below (3 - sqrt 3)/6, corner down from 9/32; tested 1e-4 to each side."""
    flat = (3.0 - math.sqrt(3.0)) / 6.0
    corner = 9.0 / 32.0

    def kind(s: float, heel_deg: float) -> bool:
        near = [
            rest
            for rest in all_equilibria(log(s)).found
            if abs(rest.heel_deg - heel_deg) < 1e-6 and abs(rest.trim_deg) < 1e-6
        ]
        assert len(near) == 1
        return near[0].stable

    assert kind(flat - 1e-4, 0.0)
    assert not kind(flat + 1e-4, 0.0)
    assert not kind(corner - 1e-4, 45.0)
    assert kind(corner + 1e-4, 45.0)


def test_all_the_ways_a_tilted_log_can_lie() -> None:
    """At s = 1/4 there are eight: four faces, two hands; the count of all rests closes (Morse)."""
    everything = all_equilibria(log(0.25))
    stable = [rest for rest in everything.found if rest.stable]
    assert len(stable) == 8
    assert all(folded(rest.heel_deg) == pytest.approx(26.565051, abs=1e-5) for rest in stable)
    assert len({round(rest.energy_kg_m, 6) for rest in stable}) == 1
