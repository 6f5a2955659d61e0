"""`compare`: differences by hand, the figures of the other studies, and which boat is which."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Datum, Vessel
from dabchick.physics import shapes
from dabchick.report.compare_words import ROWS, rows, summary
from dabchick.studies import afloat, compare, stability, weights
from dabchick.studies.compare import BoatFigures
from tests.support.vessels import LENGTH, item, small_vessel


def ballasted() -> Vessel:
    vessel = small_vessel(waterline_m=0.09)
    lead = item("keel lead", "lead", 0.25, (0.47, 0.0, 0.006), shapes.box(0.1, 0.02, 0.01))
    return replace(vessel, items=(*vessel.items, lead))


def with_weight(vessel: Vessel, mass_kg: float, at: tuple[float, float, float]) -> Vessel:
    return replace(vessel, items=(*vessel.items, item("more", "inside", mass_kg, at, inside="cylinder")))


def test_a_weight_more_by_hand() -> None:
    """By hand: mass + m; CG moves by m (p - G) / (M + m); lift falls by m; what displaces stays."""
    one = ballasted()
    other = with_weight(one, 0.05, (0.5, -0.01, 0.03))
    result = compare.run(one, other)
    mass, change = result.one.figures.mass_kg, result.difference
    assert change.mass_kg == pytest.approx(0.05, rel=1e-12)
    assert change.lift_dived_kg == pytest.approx(-0.05, rel=1e-9)
    assert change.displaced_m3 == change.tank_m3 == 0.0
    before = np.array(
        [LENGTH - result.one.figures.cg_along_m, result.one.figures.cg_across_m, result.one.figures.cg_up_m]
    )
    moved = 0.05 * (np.array([0.5, -0.01, 0.03]) - before) / (mass + 0.05)
    # the builder measures from the bow, so forward is less
    assert (-change.cg_along_m, change.cg_across_m, change.cg_up_m) == pytest.approx(moved, rel=1e-9)
    assert change.heel_surfaced_deg > 0.0


def test_figures_are_those_of_the_other_studies() -> None:
    vessel = ballasted()
    found = compare.run(vessel, with_weight(vessel, 0.02, (0.4, 0.0, 0.02))).one.figures
    lie = afloat.run(vessel).lie
    under = afloat.run(vessel, 1.0).under
    assert found.mass_kg == pytest.approx(weights.run(vessel).mass_kg.value, rel=1e-14)
    assert (found.draught_bow_m, found.gm_surfaced_m) == (lie.draught_bow_m.value, lie.gm_transverse_m.value)
    assert (found.bg_dived_m, found.lift_dived_kg) == (under.bg_m.value, under.lift_kg.value)
    least = stability.run(vessel).least
    assert found.least_gm_m == least.lie.gm_transverse_m.value
    assert found.least_at_percent == 100.0 * least.progress


def test_a_boat_beside_herself_differs_in_nothing() -> None:
    vessel = ballasted()
    result = compare.run(vessel, vessel)
    assert all(getattr(result.difference, entry.name) == 0.0 for entry in fields(BoatFigures))
    assert {row.difference for row in rows(vessel, result)} == {"same"}
    assert (result.one.title, result.other.title) == ("Test boat, first", "Test boat, second")
    assert "stand up alike" in summary(vessel, result)


def test_turned_round_the_difference_changes_its_sign() -> None:
    one = ballasted()
    other = with_weight(one, 0.03, (0.45, 0.0, 0.02))
    there, back = compare.run(one, other).difference, compare.run(other, one).difference
    for entry in fields(BoatFigures):
        assert getattr(there, entry.name) == pytest.approx(-getattr(back, entry.name), abs=1e-12)


def test_places_speak_from_the_first_ones_zeros() -> None:
    """The same boat measured from her stern and waterline differs in no place from her measured from bow and keel."""
    one = ballasted()
    other = replace(one, datum=Datum("stern", "waterline", 0.0, one.waterline_m))
    change = compare.run(one, other).difference
    assert (change.cg_along_m, change.cg_up_m, change.cb_along_m) == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)


def test_without_a_tank_there_is_no_way_down() -> None:
    vessel = replace(ballasted(), tanks=())
    found = compare.run(vessel, ballasted())
    assert math.isnan(found.one.figures.least_gm_m)
    assert math.isnan(found.difference.least_gm_m)
    assert next(row for row in rows(vessel, found) if row.key == "least_gm_m").one == "–"


def test_a_way_down_that_cannot_be_followed_is_told_beside_the_other_figures(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def lost(*arguments: object, **more: object) -> None:
        raise BoatError(Advice(what="The way is lost.", todo="Look there."))

    monkeypatch.setattr(stability, "run", lost)
    result = compare.run(ballasted(), ballasted())
    assert math.isnan(result.difference.least_gm_m)
    assert result.difference.gm_surfaced_m == 0.0
    assert [(entry.what, entry.where, entry.severity) for entry in result.warnings] == [
        ("The way is lost.", title, "warning") for title in ("Test boat, first", "Test boat, second")
    ]


def test_one_that_sinks_is_named() -> None:
    heavy = with_weight(ballasted(), 5.0, (0.47, 0.0, 0.01))
    result = compare.run(ballasted(), heavy, ("light", "heavy"))
    assert (result.one.holds, result.other.holds) == (True, False)
    assert [entry.what.split(" ")[0] for entry in result.warnings] == ["heavy"]
    assert math.isnan(result.other.figures.draught_bow_m)


def test_every_figure_has_its_row() -> None:
    assert sorted(key for key, _, _ in ROWS) == sorted(entry.name for entry in fields(BoatFigures))
