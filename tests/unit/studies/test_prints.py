"""The prints study: walls or outer form, scale, thickness figures, and the mass against the scales."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.pile import Piece, Pile
from dabchick.model.prints_ask import Filling, PrintsAsk, PrintsTexts, ask_of
from dabchick.studies.prints import run
from dabchick.studies.prints_wall import band_numbers
from dabchick.studies.result import as_json
from tests.support.broken import Mesh, box, egg, together, without
from tests.support.prints import hollow_ball, tube, tube_volume


def pile_of(mesh: Mesh, unit: str = "mm") -> Pile:
    vertices = mesh[0] / 1000.0
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    piece = Piece("hull.stl", unit, len(mesh[1]), 1e-4, 1e-2, tuple(low), tuple(high), (0.0, 0.0, 0.0), False)
    return Pile("hull.stl", vertices, mesh[1], (piece,), ())


TUBE = pile_of(tube(0.0, 300.0))


def keys(result) -> set[str]:
    return {entry.key for entry in result.warnings} - {"caution"}


# --- Walls or an outer form.


def test_a_tube_is_walls_by_its_mean_thickness() -> None:
    result = run(TUBE)
    finding = result.finding
    assert (finding.kind, finding.inner_shells, finding.confirmed) == ("walls", 0, None)
    # Twice the volume over both walls and two rims, in closed form for 64 sides.
    area = 2.0 * np.sin(np.pi / 64) * 64 * (47.0 + 50.0) * 300.0 + 2.0 * tube_volume(1.0)
    assert finding.mean_thickness_m == pytest.approx(2e-3 * tube_volume(300.0) / area, rel=1e-6)
    assert "below 10 %" in finding.reasons[0]
    assert keys(result) == {"walled"}
    assert any("not confirmed" in text for text in result.assumptions)


def test_a_hollow_ball_is_walls_by_its_inner_shell() -> None:
    finding = run(pile_of(hollow_ball(80.0, 100.0))).finding
    assert (finding.kind, finding.inner_shells) == ("walls", 1)
    # A ball of 5120 facets holds a little less than 4/3 pi r^3.
    assert finding.inner_volume_m3 == pytest.approx(4.0 / 3.0 * np.pi * 0.08**3, rel=0.003)
    assert "inner shell faces inward" in finding.reasons[0]


def test_a_full_hull_is_an_outer_form_and_a_thick_tube_is_left_open() -> None:
    assert run(pile_of(egg())).finding.kind == "surface"
    # 12 mm of wall in 100 mm: mean thickness near 12 % of the smallest side.
    assert run(pile_of(tube(0.0, 300.0, inner=38.0, outer=50.0))).finding.kind == "unclear"


@pytest.mark.parametrize("said", [True, False])
def test_the_builders_word_counts_and_is_questioned_where_the_figures_differ(said: bool) -> None:
    result = run(TUBE, PrintsAsk(walled=said))
    assert result.finding.is_wall is said
    assert keys(result) == (set() if said else {"walled"})
    assert not any("not confirmed" in text for text in result.assumptions)
    hull = run(pile_of(egg()), PrintsAsk(walled=said))
    assert keys(hull) == ({"walled"} if said else set())


# --- Thickness.


def test_the_figures_of_a_wall_with_two_thicknesses() -> None:
    # Two plates side by side, 2 and 4 mm thick, with equal faces: the shares are known by hand.
    plates = together(box((0.0, 0.0, 0.0), (300.0, 300.0, 2.0)), box((400.0, 0.0, 0.0), (300.0, 300.0, 4.0)))
    wall = run(pile_of(plates)).wall
    assert wall.low_m == pytest.approx(0.002, rel=1e-6)
    assert wall.high_m == pytest.approx(0.004, rel=1e-6)
    assert sum(band.share for band in wall.bands) == pytest.approx(1.0)
    thin = sum(band.share for band in wall.bands if band.high_m <= 0.003)
    assert thin == pytest.approx(0.5, abs=0.01)
    assert wall.thinnest[0].thickness_m == pytest.approx(0.002, rel=1e-6)
    assert 0.0 < wall.thinnest[0].at_m[0] < 0.3  # on the thin plate
    assert len(wall.bands) <= 6


def test_a_wall_of_one_thickness_is_one_band_with_round_ends() -> None:
    wall = run(TUBE).wall
    full = [band for band in wall.bands if band.share > 0.0]
    assert len(full) == 1
    assert (full[0].low_m, full[0].high_m) == (pytest.approx(0.0025), pytest.approx(0.0035))
    assert wall.median_m == pytest.approx(0.003, rel=0.01)
    assert [entry.thickness_m for entry in wall.thinnest] == pytest.approx([0.003] * 5, rel=0.01)
    places = np.array([entry.at_m for entry in wall.thinnest])
    apart = np.linalg.norm(places[:, None] - places[None], axis=2)[np.triu_indices(5, 1)]
    assert apart.min() > 0.015


def test_every_triangle_has_a_thickness_and_a_band() -> None:
    result = run(TUBE)
    assert result.map is not None
    assert len(result.map.thickness_m) == len(TUBE.faces)
    np.testing.assert_allclose(result.map.thickness_m, 0.003, rtol=0.01)
    assert set(result.map.band) == {1}
    assert list(band_numbers(result.wall.bands, np.array([0.001, 0.003, 0.01, np.nan]))) == [0, 1, 2, -1]


def test_few_readings_of_many_triangles_are_said() -> None:
    result = run(pile_of(hollow_ball(80.0, 100.0, subdivisions=3)), most_samples=500)
    assert any("500 of 2560 triangles" in text for text in result.assumptions)


# --- Scale.


@pytest.mark.parametrize("factor", [0.5, 1.5])
def test_a_known_length_scales_volume_by_the_cube_and_walls_by_the_factor(factor: float) -> None:
    plain = run(TUBE)
    scaled = run(TUBE, PrintsAsk(length_m=0.3 * factor))
    assert scaled.scale.factor == pytest.approx(factor)
    assert scaled.volume_m3 == pytest.approx(plain.volume_m3 * factor**3, rel=1e-9)
    assert scaled.area_m2 == pytest.approx(plain.area_m2 * factor**2, rel=1e-9)
    assert scaled.wall.median_m == pytest.approx(plain.wall.median_m * factor, rel=1e-6)
    assert scaled.scale.axis == "x"
    assert "length" in keys(scaled)


def test_a_length_between_two_points() -> None:
    between = ((0.0, 0.0, 0.05), (0.3, 0.4, 0.05))  # 0.5 m apart, by Pythagoras
    scale = run(TUBE, PrintsAsk(length_m=0.505, between_m=between)).scale
    assert scale.factor == pytest.approx(1.01)
    assert (scale.measured_m, scale.axis) == (pytest.approx(0.5), "")


@pytest.mark.parametrize(
    ("unit", "length_m", "said"),
    [
        ("mm", 0.3 * 25.4, "in for mm"),
        ("mm", 0.3 * 25.4 * 1.01, "in for mm"),
        ("in", 0.3 / 25.4, "mm for in"),
        ("m", 0.0003, "mm for m"),
        ("mm", 300.0, "m for mm"),
        ("mm", 3.0, "cm for mm"),
        ("mm", 0.3 * 304.8, "ft for mm"),
        ("mm", 0.3 * 20.0, ""),
        ("mm", 0.301, ""),
    ],
)
def test_a_factor_that_looks_like_a_mistaken_unit_is_said(unit: str, length_m: float, said: str) -> None:
    result = run(pile_of(tube(0.0, 300.0), unit), PrintsAsk(length_m=length_m))
    assert result.scale.unit_mistake == said
    assert ("unit" in keys(result)) == bool(said)


# --- Mass. PLA in the table: 1240 kg/m3, spread (high - low) / 4.

VOLUME_M3 = tube_volume(300.0) * 1e-9


def weighed(kg: float | None, **filling: object):
    ask = PrintsAsk(walled=True, material="PLA", weighed_kg=kg, filling=Filling(**filling))  # type: ignore[arg-type]
    result = run(TUBE, ask)
    assert result.mass is not None
    return result, result.mass


def test_a_solid_dry_print_weighs_material_times_volume() -> None:
    result, mass = weighed(1240.0 * VOLUME_M3, infill=1.0, water=0.0, water_spread=0.0)
    assert mass.solid_kg.value == pytest.approx(1240.0 * VOLUME_M3, rel=1e-9)
    assert mass.expected_kg.value == pytest.approx(mass.solid_kg.value)
    assert mass.expected_kg.spread == pytest.approx(mass.solid_kg.spread)
    assert (mass.ratio_to_solid, mass.ratio_to_expected) == (pytest.approx(1.0), pytest.approx(1.0))
    assert mass.explaining_density_kg_m3 == pytest.approx(1240.0)
    assert keys(result) == set()


def test_what_is_not_known_of_filling_and_water_is_never_silently_nothing() -> None:
    result, mass = weighed(None)
    assert (mass.filled_share.value, mass.filled_share.spread) == (
        pytest.approx(0.8),
        pytest.approx(0.4 / math.sqrt(12)),
    )
    assert (mass.water_share.value, mass.water_share.spread) == (
        pytest.approx(0.01),
        pytest.approx(0.02 / math.sqrt(12)),
    )
    assert mass.expected_kg.value == pytest.approx(1240.0 * VOLUME_M3 * 0.8 * 1.01)
    assert math.isnan(mass.ratio_to_solid)
    told = " ".join(result.assumptions)
    assert "infill is not given" in told
    assert "absorbed water is not given" in told


def test_outer_lines_fill_their_part_of_the_wall() -> None:
    # 2 lines of 0.4 mm on both faces of 3 mm: 1.6 of 3 mm (2.9964 between the flats); 20 % of the rest.
    wall = 3.0 * math.cos(math.pi / 64)
    crust = 1.6 / wall
    filled = crust + 0.2 * (1.0 - crust)
    kg = 1240.0 * VOLUME_M3 * filled
    _, mass = weighed(
        kg, infill=0.2, infill_spread=0.05, lines=2, line_width_m=0.0004, water=0.0, water_spread=0.0
    )
    assert mass.crust_share == pytest.approx(crust, rel=1e-3)
    assert mass.filled_share.value == pytest.approx(filled, rel=1e-3)
    assert mass.filled_share.spread == pytest.approx(0.05 * (1.0 - crust), rel=1e-3)
    # And back: the weighed mass is explained by just that infill.
    assert mass.explaining_infill.value == pytest.approx(0.2, abs=0.002)
    assert mass.explaining_filled_share.value == pytest.approx(filled, rel=1e-3)


def test_spreads_add_in_quadrature() -> None:
    _, mass = weighed(None, infill=0.5, infill_spread=0.1, water=0.02, water_spread=0.01)
    density = mass.density_kg_m3
    relative = math.sqrt((density.spread / density.value) ** 2 + 0.2**2 + (0.01 / 1.02) ** 2)
    assert mass.expected_kg.spread / mass.expected_kg.value == pytest.approx(relative)


def test_prints_heavier_than_solid_are_not_explained_by_infill() -> None:
    result, mass = weighed(2.0 * 1240.0 * VOLUME_M3)
    assert keys(result) == {"weighed"}
    assert "no infill explains that" in next(
        entry.what for entry in result.warnings if entry.key == "weighed"
    )
    assert mass.explaining_density_kg_m3 == pytest.approx(2480.0)


def test_a_mass_without_material_or_walls_is_said_not_guessed() -> None:
    assert keys(run(TUBE, PrintsAsk(walled=True, weighed_kg=0.3))) == {"material"}
    form = run(pile_of(egg()), PrintsAsk(walled=False, material="PLA", weighed_kg=0.3))
    assert form.mass is None
    assert keys(form) == {"weighed"}


# --- What was asked.


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (PrintsAsk(length_m=-1.0), "not above zero"),
        (PrintsAsk(length_m=math.nan), "not above zero"),
        (PrintsAsk(between_m=((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))), "no length"),
        (PrintsAsk(length_m=1.0, between_m=((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))), "one and the same"),
        (PrintsAsk(length_m=1.0, between_m=((0.0, math.nan, 0.0), (0.0, 0.0, 0.0))), "no number"),
        (PrintsAsk(material="PLAA"), 'Did you mean "PLA'),
        (PrintsAsk(weighed_kg=-0.1), "not above zero"),
        (PrintsAsk(filling=Filling(infill=1.2)), "between nothing and all"),
        (PrintsAsk(filling=Filling(water_spread=-0.1)), "spread"),
        (PrintsAsk(filling=Filling(lines=3)), "Give both, or neither"),
        (PrintsAsk(filling=Filling(lines=300, line_width_m=0.0004)), "So many lines"),
        (PrintsAsk(filling=Filling(lines=3, line_width_m=0.4)), "out of range"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_advice(ask: PrintsAsk, told: str) -> None:
    with pytest.raises(BoatError) as mistake:
        run(TUBE, ask)
    assert told in str(mistake.value)


def test_an_open_mesh_is_refused() -> None:
    with pytest.raises(BoatError, match="not closed"):
        run(pile_of(without(egg(), 3)))


def test_texts_are_read_with_their_units_and_all_mistakes_told_at_once() -> None:
    ask = ask_of(
        PrintsTexts(
            length="3 ft",
            between=("0, 0, 0", "10 in, 0, 2 mm"),
            weighed="2 lb",
            infill="30 %",
            water="0.01",
            line_width="0.45 mm",
        )
    )
    assert ask.length_m == pytest.approx(0.9144)
    assert ask.between_m is not None
    assert ask.between_m[1] == pytest.approx((0.254, 0.0, 0.002))
    assert ask.weighed_kg == pytest.approx(2 * 0.45359237)
    assert (ask.filling.infill, ask.filling.water) == (pytest.approx(0.3), 0.01)
    bad = PrintsTexts(length="900", between=("0,0", "1 m, 0, 0"), weighed="a lot", infill="thirty")
    with pytest.raises(BoatError) as mistake:
        ask_of(bad)
    assert [entry.key for entry in mistake.value.advice] == ["between", "length", "weighed", "infill"]


def test_the_result_says_method_source_and_caution_and_is_plain_json() -> None:
    result = run(TUBE, PrintsAsk(walled=True, material="PLA"))
    assert result.method
    assert result.sources
    assert result.validity
    (caution,) = (entry for entry in result.warnings if entry.key == "caution")
    assert "dust" in caution.what
    text = json.dumps(as_json(replace(result, map=None)), allow_nan=False)
    assert json.loads(text)["finding"]["kind"] == "walls"
