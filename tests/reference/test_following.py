"""Rests followed as curves against closed forms: square and rectangular log, sphere, loll, free surfaces."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.arm_range import arms_about, free_surface_m
from dabchick.physics.balance import Balance, TankWater
from dabchick.physics.equilibrium import find, heel_and_trim_deg, up_vector
from dabchick.physics.filling import filling
from dabchick.physics.passage import Passage, begin, follow
from dabchick.physics.track import Track
from tests.reference.test_stability import LONG, WATER, folded, log, square_log_angle_deg
from tests.reference.values import read, rows
from tests.support.rest import UP, boat, level_cut

HEELS = np.arange(-180.0, 181.0, 5.0)


def track_of(sample: Callable[[float], Balance]) -> Track:
    """A way of mass or of centre of gravity: the same machinery as for tanks."""
    start = sample(0.0)
    depth = float(np.linalg.norm(start.middle)) + start.radius
    return Track(start, filling([0.0, 1.0], sample, depth))


def both_ways(track: Track, stages: int, normal: np.ndarray = UP) -> tuple[Passage, Passage]:
    down = follow(track, begin(track, normal), np.linspace(0.0, 1.0, stages).tolist())
    return down, follow(track, down.stages[-1], np.linspace(1.0, 0.0, stages).tolist())


LEAST, MOST = 0.05, 0.95


def test_square_log_through_all_its_forks() -> None:
    """Gilbert 1991, Delbourgo 1987 (from memory): flat up to (3 - sqrt 3)/6, corner down from 9/32, and so back.

    The log is made heavier without a break from s = 0.05 to 0.95, then lighter again.
    """
    track = track_of(lambda progress: log(LEAST + (MOST - LEAST) * progress))
    flat = (3.0 - math.sqrt(3.0)) / 6.0
    limits = [flat, 9.0 / 32.0, 23.0 / 32.0, 1.0 - flat]
    for passage, expected in zip(both_ways(track, 31), (limits, limits[::-1]), strict=True):
        assert [happening.kind for happening in passage.happenings] == ["fork"] * 4
        found = [LEAST + (MOST - LEAST) * happening.before.progress for happening in passage.happenings]
        assert found == pytest.approx(expected, abs=1e-6)
        for point in passage.stages:
            heel, trim = heel_and_trim_deg(point.normal)
            s = LEAST + (MOST - LEAST) * point.progress
            assert folded(heel) == pytest.approx(square_log_angle_deg(s), abs=1e-5)
            assert trim == pytest.approx(0.0, abs=1e-6)


def test_square_log_rows_on_one_path() -> None:
    """The rows of the reference file, each met on the way."""
    table = [row for row in rows("square_log", "log") if 0.1 < row["s"] < 0.75]
    track = track_of(lambda progress: log(0.1 + 0.65 * progress))
    stages = [0.0, *((row["s"] - 0.1) / 0.65 for row in table), 1.0]
    passage = follow(track, begin(track, UP), stages)
    for row, point in zip(table, passage.stages[1:-1], strict=True):
        assert folded(heel_and_trim_deg(point.normal)[0]) == pytest.approx(row["heel_deg"], abs=0.01)


@pytest.mark.parametrize("beam", [1.05, 1.15])
def test_rectangular_log_forks_where_its_metacentre_says(beam: float) -> None:
    """By hand, depth 1: GM = s/2 + B^2/(12 s) - 1/2 is zero where s (1 - s) = B^2/6."""
    first = 0.5 * (1.0 - math.sqrt(1.0 - 4.0 * beam**2 / 6.0))
    body = shapes.box(LONG, beam, 1.0)
    low, high = first - 0.05, first + 0.02
    track = track_of(lambda progress: boat([body], (low + (high - low) * progress) * WATER * LONG * beam))
    passage = follow(track, begin(track, UP), [0.0, 1.0])
    assert passage.happenings[0].kind == "fork"
    assert low + (high - low) * passage.happenings[0].before.progress == pytest.approx(first, abs=1e-7)
    before = [point for point in passage.points if point.progress < passage.happenings[0].before.progress]
    for point in before:
        s = low + (high - low) * point.progress
        assert point.gm == pytest.approx(0.5 * s + beam**2 / (12.0 * s) - 0.5, abs=1e-9)


def test_sphere_keeps_her_gm_all_the_way_under() -> None:
    """A ball with G 0.2 R below its middle has GM = 0.2 R afloat at every draught (KM = R) and BG = 0.2 R under.

    She goes under exactly where mass = rho V, and comes out there again.
    """
    radius = 0.31
    volume = 4.0 / 3.0 * math.pi * radius**3
    ball = shapes.sphere(2.0 * radius)

    def sample(progress: float) -> Balance:
        return boat([ball], (0.3 + progress) * WATER * volume, (0.0, 0.0, -0.2 * radius))

    down, up = both_ways(track_of(sample), 14, up_vector(40.0, 10.0))
    assert [happening.kind for happening in down.happenings] == ["under"]
    assert [happening.kind for happening in up.happenings] == ["out"]
    for passage in (down, up):
        assert passage.happenings[0].before.progress == pytest.approx(0.7, abs=1e-6)
        for point in passage.stages:
            assert point.gm == pytest.approx(0.2 * radius, rel=1e-6)
            assert point.normal == pytest.approx(UP, abs=1e-7)
            assert point.hanging == (point.progress > 0.7)


def test_arms_of_the_sphere() -> None:
    """GZ = 0.2 R sin(heel): held through 180 degrees, 0.4 R m rad under it, greatest 0.2 R at 90 degrees."""
    radius = 0.31
    body = shapes.sphere(2.0 * radius)
    afloat = boat([body], 0.6 * WATER * body.volume, (0.0, 0.0, -0.2 * radius))
    rest = find(afloat)
    curve = arms_about(afloat, rest.normal, rest.offset_m, HEELS)
    for side in (curve.starboard, curve.port):
        assert side.range_deg == pytest.approx(180.0, abs=1e-5)
        assert side.area_m_rad == pytest.approx(0.4 * radius, rel=1e-8)
        assert side.greatest_m == pytest.approx(0.2 * radius, rel=1e-9)
        assert abs(side.greatest_at_deg) == pytest.approx(90.0, abs=1e-3)
    assert curve.upright_holds


def wall_sided(kg_m: float) -> Balance:
    values = read("wall_sided")["box"]
    mass = values["sg"] * WATER * values["beam"] * values["depth"] * LONG
    body = shapes.box(LONG, values["beam"], values["depth"])
    return boat([body], mass, (0.0, 0.0, kg_m - 0.5 * values["depth"]))


def test_wall_sided_box_lolls_as_her_weight_is_raised() -> None:
    """Fork at KG = KB + BM = 11/12; then tan(phi) = sqrt(-2 GM / BM) (from memory), to starboard by our choice."""
    low, high = 0.85, 0.98
    track = track_of(lambda progress: wall_sided(low + (high - low) * progress))
    down, up = both_ways(track, 14)
    for passage in (down, up):
        assert [happening.kind for happening in passage.happenings] == ["fork"]
        assert low + (high - low) * passage.happenings[0].before.progress == pytest.approx(
            11.0 / 12.0, abs=1e-7
        )
        for point in passage.stages:
            gm = 11.0 / 12.0 - (low + (high - low) * point.progress)
            expected = math.degrees(math.atan(math.sqrt(-3.0 * gm))) if gm < 0.0 else 0.0
            assert heel_and_trim_deg(point.normal)[0] == pytest.approx(expected, abs=1e-5)


def test_arms_of_a_box_at_her_loll() -> None:
    """From loll back to upright the wall-sided formula can be integrated by hand.

    area = -GM (1 - cos phi) - BM/2 (sec phi + cos phi - 2); the arm to port is lost upright.
    """
    gm, bm = 11.0 / 12.0 - 0.96, 2.0 / 3.0
    phi = math.atan(math.sqrt(-2.0 * gm / bm))
    afloat = wall_sided(0.96)
    rest = find(afloat, up_vector(10.0, 0.0))
    curve = arms_about(afloat, rest.normal, rest.offset_m, HEELS)
    assert not curve.upright_holds
    assert curve.port.range_deg == pytest.approx(math.degrees(phi), abs=1e-6)
    area = -gm * (1.0 - math.cos(phi)) - 0.5 * bm * (1.0 / math.cos(phi) + math.cos(phi) - 2.0)
    assert curve.port.area_m_rad == pytest.approx(area, rel=1e-7)
    greatest = max(
        -math.sin(heel) * (gm + 0.5 * bm * math.tan(heel) ** 2) for heel in np.linspace(0.0, phi, 20001)
    )
    assert curve.port.greatest_m == pytest.approx(greatest, rel=1e-3)


def test_vanishing_angle_lies_between_the_heels_of_the_grid() -> None:
    """The same heel from a grid of 5 and of 2 degrees, and by hand no arm is left there."""
    afloat = wall_sided(0.80)
    rest = find(afloat)
    coarse = arms_about(afloat, rest.normal, rest.offset_m, HEELS)
    fine = arms_about(afloat, rest.normal, rest.offset_m, np.arange(-180.0, 180.1, 2.0))
    assert coarse.starboard.range_deg == pytest.approx(fine.starboard.range_deg, abs=1e-7)
    assert coarse.starboard.area_m_rad == pytest.approx(fine.starboard.area_m_rad, rel=1e-9)
    assert coarse.starboard.range_deg == pytest.approx(coarse.port.range_deg, abs=1e-6)
    lost = find_arm(afloat, coarse.starboard.range_deg)
    assert lost == pytest.approx(0.0, abs=1e-9)


def find_arm(afloat: Balance, heel_deg: float) -> float:
    """The arm by hand, which the curve does not use: lever of B about G at a held heel, in the level plane."""
    normal = up_vector(heel_deg, 0.0)
    part = level_cut(afloat, normal)
    lever = part.moment / part.volume - afloat.moment / afloat.mass
    level = np.array([0.0, math.cos(math.radians(heel_deg)), -math.sin(math.radians(heel_deg))])
    return float(-lever @ level)


@pytest.mark.parametrize(
    "row", rows("free_surface", "model"), ids=lambda row: f"{row['n']} of {row['l_m']} m"
)
def test_gm_lost_to_free_surfaces(row: dict[str, float]) -> None:
    """Constructed: rho i / M for n tanks side by side, half full, the boat upright."""
    count = int(row["n"])
    width = row["b_m"] / count
    middles = [(0.0, (index - 0.5 * (count - 1)) * width, -0.03) for index in range(count)]
    half = 0.5 * row["l_m"] * width * 0.04
    tanks = [TankWater(shapes.box(row["l_m"], width, 0.04).moved(middle), half) for middle in middles]
    dry = row["boat_mass_kg"] - count * row["rho"] * half
    afloat = boat([shapes.box(0.9, 0.3, 0.2)], dry, (0.0, 0.0, -0.05), row["rho"], tanks)
    rest = find(afloat)
    assert rest.normal == pytest.approx(UP, abs=1e-9)
    assert free_surface_m(afloat, rest.normal, rest.offset_m) == pytest.approx(row["GM_loss_m"], rel=1e-6)


def test_free_surface_moment_of_153_t_m() -> None:
    """Read: 10 m by 6 m of oil at 0.85 t/m3; loss of GM times displacement is 153 t m. She floats in the same oil."""
    values = read("free_surface")["moment_153"]
    density = 1000.0 * values["rho_t_m3"]
    room = shapes.box(values["length_m"], values["breadth_m"], 2.0)
    afloat = boat(
        [shapes.box(40.0, 12.0, 8.0)], 1.2e6, (0.0, 0.0, -1.0), density, [TankWater(room, 0.4 * room.volume)]
    )
    rest = find(afloat)
    lost = free_surface_m(afloat, rest.normal, rest.offset_m)
    assert lost * rest.mass_kg / 1000.0 == pytest.approx(values["fsm_tm"], rel=1e-9)
