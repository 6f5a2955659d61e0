"""Figures and sentences: worked by hand from a made-up state."""

from dataclasses import replace

import pytest

from dabchick.cli.afloat import fills_from
from dabchick.cli.lies import table
from dabchick.cli.options import si_values
from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.report.figures import angle, measured
from dabchick.report.lie_words import sentence
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from tests.support.vessels import small_vessel

NAN = Figure(float("nan"), float("nan"))


def figure(value: float, spread: float = 0.0) -> Figure:
    return Figure(value, spread)


@pytest.fixture(scope="module")
def vessel() -> Vessel:
    return replace(small_vessel(), name="Wren", waterline_m=0.082, units="metric")


@pytest.fixture
def afloat() -> Lie:
    return Lie(
        name="surfaced",
        condition="floats",
        fills={"main": 0.0},
        draught_bow_m=figure(0.0843, 0.0012),
        draught_stern_m=figure(0.081, 0.0009),
        freeboard_m=figure(0.022, 0.002),
        heel_deg=figure(0.21, 0.5),
        trim_deg=figure(-0.26, 0.1),
        lift_kg=figure(0.25, 0.02),
        mass_kg=figure(2.7, 0.012),
        displaced_m3=0.0027,
        cg_m=(0.4, 0.0, 0.04),
        cb_m=(0.4, 0.0, 0.045),
        gm_transverse_m=figure(0.005, 0.001),
        gm_longitudinal_m=figure(0.25, 0.01),
        bg_m=figure(0.005, 0.001),
        stable=True,
        force_residual=0.0,
        moment_residual=0.0,
        normal=(0.0, 0.0, 1.0),
        offset_m=0.082,
    )


def test_a_figure_has_its_spread_and_its_unit_once() -> None:
    assert measured(figure(0.0781, 0.0009), "length", "metric") == "78.1 ± 0.9 mm"
    assert measured(figure(0.0254, 0.00254), "length", "inch") == "1.000 ± 0.100 in"
    assert measured(figure(10.5, 0.012), "mass", "metric") == "10.500 kg ± 12.0 g"
    assert measured(NAN, "length", "metric") == "–"
    assert measured(Figure(0.012, float("nan")), "mass", "metric").replace("\u00a0", " ") == "12.0 g"


def test_an_angle_has_its_sign() -> None:
    assert angle(figure(0.2, 0.05)) == "+0.20 ± 0.05 deg"
    assert angle(figure(-1.234, 0.05)) == "−1.23 ± 0.05 deg"
    assert angle(NAN) == "–"


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_surfaced_she_is_compared_with_her_waterline(vessel: Vessel, afloat: Lie) -> None:
    """84.3 - 82.0 = 2.3 mm; 81.0 - 82.0 = -1.0 mm; -0.26 deg is bow down, +0.21 deg to starboard."""
    assert plain(sentence(vessel, afloat)) == (
        "Wren floats 2.3 mm too deep at the bow and 1.0 mm too high at the stern, 0.3 deg bow down and 0.2 "
        "deg over to starboard."
    )


def test_on_her_waterline_it_says_so(vessel: Vessel, afloat: Lie) -> None:
    right = replace(
        afloat,
        draught_bow_m=figure(0.082),
        draught_stern_m=figure(0.08202),
        trim_deg=figure(0.0),
        heel_deg=figure(0.0),
    )
    assert plain(sentence(vessel, right)) == "Wren floats on her waterline, bow and stern."


def test_hanging_sinking_and_unstable_are_named(vessel: Vessel, afloat: Lie) -> None:
    hanging = replace(
        afloat, condition="hangs", lift_kg=figure(0.0119), trim_deg=figure(0.0), heel_deg=figure(0.0)
    )
    assert plain(sentence(vessel, hanging)) == "Wren hangs in the water with 11.9 g of lift, level."
    sinking = replace(afloat, condition="sinks", lift_kg=figure(-0.032))
    assert plain(sentence(vessel, sinking)).startswith("Wren sinks: 32.0 g heavier")
    assert "does not stay like this" in sentence(vessel, replace(afloat, stable=False))


def test_dived_with_only_the_mast_out_both_are_told(vessel: Vessel, afloat: Lie) -> None:
    hanging = replace(
        afloat, condition="hangs", lift_kg=figure(0.0119), trim_deg=figure(0.0), heel_deg=figure(0.0)
    )
    awash = replace(afloat, fills={"main": 1.0}, freeboard_m=figure(-0.0254))
    told = plain(sentence(vessel, awash, hanging))
    assert told.startswith("Wren hangs in the water with 11.9 g of lift, level.")
    assert "25.4 mm of water over the highest point of the hull" in told


def test_states_stand_side_by_side(vessel: Vessel, afloat: Lie) -> None:
    shown = table([afloat, replace(afloat, name="dived", fills={"main": 1.0})], "metric")
    assert [column.header for column in shown.columns] == ["", "surfaced", "dived"]
    assert shown.row_count == 13


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [
        ([], 0.0),
        (["0.5"], 0.5),
        (["50%"], 0.5),
        (["main=0.25", "aft = 1"], {"main": 0.25, "aft": 1.0}),
    ],
)
def test_fills_in_words(texts: list[str], wanted: float | dict[str, float]) -> None:
    assert fills_from(texts, False) == wanted


def test_dived_is_all_tanks_full_and_stands_alone() -> None:
    assert fills_from([], True) == 1.0
    with pytest.raises(BoatError, match="already fills"):
        fills_from(["0.5"], True)
    with pytest.raises(BoatError, match="beside another"):
        fills_from(["0.5", "main=1"], False)


def test_options_are_read_in_the_builders_units() -> None:
    """2 in = 0.0508 m and 1 oz = 0.028349523125 kg by definition; 68 degF = 20 degC."""
    bore, lift, warm, none = si_values(
        ("--bore", "2 in", "length"),
        ("--lift", "1 oz", "mass"),
        ("--temperature", "68 degF", "temperature"),
        ("--salinity", None, "salinity"),
    )
    assert (bore, lift, none) == (pytest.approx(0.0508), pytest.approx(0.028349523125), None)
    assert warm == pytest.approx(20.0)
