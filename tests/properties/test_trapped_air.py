"""What holds of trapped air in any hull, at any attitude: a truth each, over random egg-shaped hulls and openings."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from tests.support.air_spaces import Space
from tests.support.vessels import spheroid_mesh

LENGTH, BEAM = 0.30, 0.08
VERTICES, FACES = spheroid_mesh(LENGTH, BEAM, along=24, around=24)
HULL = shapes.mesh(VERTICES, FACES)
INSIDE = (
    shapes.box(0.10, 0.03, 0.02).moved((0.16, 0.0, 0.055)),
    shapes.box(0.002, 0.05, 0.03).moved((0.08, 0.0, 0.06)),
)
SPACE = Space(HULL, INSIDE, spacing=2.5e-3)
WHOLE = SPACE.air(np.array([0.0, 0.0, 1.0])).volume_m3
ANGLES = st.tuples(st.floats(-180.0, 180.0), st.floats(-80.0, 80.0))
SOME = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@st.composite
def holes(draw: st.DrawFn) -> list[tuple[tuple[float, float, float], float]]:
    """Openings in the middle of some faces."""
    faces = draw(st.lists(st.integers(0, len(FACES) - 1), min_size=1, max_size=4, unique=True))
    middles = VERTICES[FACES[faces]].mean(axis=1)
    wide = draw(st.sampled_from((0.0, 0.002, 0.006)))
    return [((float(x), float(y), float(z)), wide) for x, y, z in middles if BEAM / 2 - abs(y) > 0.002]


@SOME
@given(some=holes(), more=holes(), angles=ANGLES)
def test_more_openings_never_trap_more(
    some: list[tuple[tuple[float, float, float], float]],
    more: list[tuple[tuple[float, float, float], float]],
    angles: tuple[float, float],
) -> None:
    up = up_vector(*angles)
    few, many = SPACE.air(up, *some).volume_m3, SPACE.air(up, *some, *more).volume_m3
    # a pocket measured by faces may be measured by columns once another opening divides it: up to one spacing's worth
    assert 0.0 <= many <= few + 0.02 * WHOLE
    assert few <= WHOLE * 1.02


@SOME
@given(some=holes(), angles=ANGLES)
def test_a_mirrored_boat_keeps_as_much(
    some: list[tuple[tuple[float, float, float], float]], angles: tuple[float, float]
) -> None:
    """The hull and what is in it are the same on both sides, so only the openings and the heel change sides."""
    heel, trim = angles
    air = SPACE.air(up_vector(heel, trim), *some)
    mirrored = SPACE.air(up_vector(-heel, trim), *(((x, -y, z), wide) for (x, y, z), wide in some))
    assert abs(air.volume_m3 - mirrored.volume_m3) <= 0.01 * WHOLE


@SOME
@given(some=holes(), angles=ANGLES, shift=st.tuples(*[st.floats(-2.0, 2.0)] * 2))
def test_it_does_not_matter_where_the_boat_stands(
    some: list[tuple[tuple[float, float, float], float]],
    angles: tuple[float, float],
    shift: tuple[float, float],
) -> None:
    """Along and up; across, the lines are laid about the middle plane, which then is another."""
    away = np.array([shift[0], 0.0, shift[1]])
    moved = Space(HULL.moved(away), tuple(thing.moved(away) for thing in INSIDE), spacing=2.5e-3)
    up = up_vector(*angles)
    here = SPACE.air(up, *some)
    there = moved.air(up, *((tuple(np.array(place) + away), wide) for place, wide in some))
    assert abs(here.volume_m3 - there.volume_m3) <= 0.01 * WHOLE


@SOME
@given(some=holes(), angles=ANGLES)
def test_every_pocket_lies_over_its_water_and_its_opening_at_or_under_it(
    some: list[tuple[tuple[float, float, float], float]], angles: tuple[float, float]
) -> None:
    up = up_vector(*angles)
    mouths = SPACE.mouths(*some)
    for pocket in SPACE.air(up, *some).pockets:
        if pocket.mouth < 0:
            continue
        assert float(pocket.centre_m @ up) >= pocket.level - 1e-9
        highest = float((mouths[pocket.mouth].rim @ up).max())
        if pocket.by_passage:
            assert highest >= pocket.level - 1e-9
        else:
            assert pocket.level <= highest + 1e-9
