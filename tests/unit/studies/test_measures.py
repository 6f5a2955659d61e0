"""The study of hand measures: figures, words on slips, what was assumed."""

from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.measures import HandMeasures
from dabchick.studies.measures import run
from tests.support.measured import series58, taken


def without_girth(hand: HandMeasures, *stations: int) -> HandMeasures:
    return replace(
        hand,
        stations=tuple(
            replace(one, girth_m=None) if k in stations else one for k, one in enumerate(hand.stations)
        ),
    )


def test_a_slip_is_a_warning_with_the_value_in_line() -> None:
    found = run(taken(series58, 5, height={4: -0.007}))
    (slip,) = found.slips
    (warning,) = found.warnings
    assert (slip.station, slip.measure) == (4, "height")
    assert warning.key == "station[5].height"
    assert warning.severity == "warning"
    # The true height there by the body's published radii, within two spreads of the calliper and the lines round it.
    true = 2.0 * float(series58(np.array([0.28]))[0])
    assert slip.in_line_m == pytest.approx(true, abs=0.0015)
    assert f"{1000.0 * slip.in_line_m:.1f} mm" in warning.todo


def test_half_girths_are_spoken_of_as_halves() -> None:
    whole = taken(series58, 5, girth={6: 0.020})
    half = replace(
        whole,
        girth="half",
        tape_m=0.0005,
        stations=tuple(
            replace(one, girth_m=None if one.girth_m is None else 0.5 * one.girth_m) for one in whole.stations
        ),
    )
    one, other = run(whole), run(half)
    assert other.volume_m3.value == pytest.approx(one.volume_m3.value, rel=1e-9)
    assert other.slips[0].in_line_m == pytest.approx(0.5 * one.slips[0].in_line_m)
    assert other.slips[0].measured_m == pytest.approx(0.5 * one.slips[0].measured_m)


def test_missing_girths_are_assumed_an_ellipse_and_listed() -> None:
    some = run(without_girth(taken(series58, 2), 3, 4))
    assert any(text.startswith("an ellipse at 160.0 mm, 280.0 mm from the bow") for text in some.assumptions)
    every = run(without_girth(taken(series58, 2), *range(11)))
    assert any(text.startswith("an ellipse at every station") for text in every.assumptions)
    assert every.volume_m3.spread > 3.0 * some.volume_m3.spread


def test_missing_lowest_points_lay_the_middles_on_a_line() -> None:
    hand = taken(series58, 2)
    bare = replace(hand, stations=tuple(replace(one, keel_m=None) for one in hand.stations))
    found = run(bare)
    assert any("one level line" in text for text in found.assumptions)
    middles = [one.lowest_m + 0.5 * one.height_m for one in found.stations]
    assert np.ptp(middles) == pytest.approx(0.0, abs=1e-6)
    assert found.volume_m3.value == pytest.approx(run(hand).volume_m3.value, rel=1e-6)


def test_measuring_from_the_stern_is_the_same_hull() -> None:
    hand = taken(series58, 9)
    turned = replace(
        hand,
        measured_from="stern",
        stations=tuple(replace(one, x_m=1.0 - one.x_m) for one in reversed(hand.stations)),
    )
    one, other = run(hand), run(turned)
    assert other.lcb_m.value == pytest.approx(one.lcb_m.value, abs=1e-9)
    assert [entry.beam_m for entry in other.stations] == pytest.approx(
        [entry.beam_m for entry in reversed(one.stations)]
    )


def test_a_boxy_section_is_taken_at_the_limit_and_said() -> None:
    hand = taken(series58, 1)
    # Two thirds of the way from the girth of n = 10 to the box's.
    stations = tuple(
        replace(one, girth_m=3.93 * 0.5 * (one.beam_m + one.height_m)) if one.girth_m else one
        for one in hand.stations
    )
    found = run(replace(hand, stations=stations))
    assert all(one.measured_exponent == 10.0 for one in found.stations[1:-1])
    assert sum("is a box" in entry.what for entry in found.warnings) == 9


def test_measures_of_no_hull_are_refused_with_all_reasons() -> None:
    hand = taken(series58, 1, girth={3: 0.2, 5: -0.3})
    with pytest.raises(BoatError) as caught:
        run(hand)
    assert [entry.key for entry in caught.value.advice] == ["station[4].girth", "station[6].girth"]
