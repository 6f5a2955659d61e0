"""`trim`: both states proven, pieces whole, movable parts first, and honest about what cannot be."""

from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.vessel import Rail, Vessel
from dabchick.studies import afloat, tank, trim
from dabchick.studies.loading import load
from dabchick.studies.sensitivity import sensitivities
from dabchick.studies.trim_apply import with_trim
from dabchick.studies.trim_model import bare, model, rows_of
from tests.support.vessels import small_vessel


def wishing(vessel: Vessel, **wishes: object) -> Vessel:
    return replace(vessel, wishes=replace(vessel.wishes, **wishes))  # type: ignore[arg-type]


def test_sheet_lead_brings_both_states_right() -> None:
    """Checked by `afloat` on the trimmed vessel, which knows nothing of the linear programme."""
    vessel = small_vessel()
    result = trim.run(vessel)
    assert result.feasible
    trimmed = with_trim(bare(vessel), result.pieces, result.moves)
    surfaced, dived = afloat.run(trimmed, 0.0).lie, afloat.run(trimmed, 1.0).under
    assert surfaced.draught_bow_m.value == pytest.approx(vessel.waterline_m, abs=1e-4)
    assert surfaced.draught_stern_m.value == pytest.approx(vessel.waterline_m, abs=1e-4)
    for angle in (surfaced.heel_deg, surfaced.trim_deg, dived.heel_deg, dived.trim_deg):
        assert abs(angle.value) < 0.02
    assert dived.lift_kg.value == pytest.approx(vessel.wishes.lift_dived_kg, abs=1e-4)
    assert dived.bg_m.value >= vessel.wishes.least_bg_m - 1e-5
    assert surfaced.stable
    assert dived.stable
    for lie in (surfaced, dived):
        assert lie.force_residual < 1e-6
        assert lie.moment_residual < 1e-8


def test_every_piece_fits_its_place() -> None:
    vessel = small_vessel()
    places = {place.name: place for place in vessel.wishes.places}
    for piece in trim.run(vessel).pieces:
        place = places[piece.place]
        low = np.subtract(piece.centre_m, 0.5 * np.array(piece.size_m))
        high = np.add(piece.centre_m, 0.5 * np.array(piece.size_m))
        assert np.all(low >= np.array(place.low_m) - 1e-9)
        assert np.all(high <= np.array(place.high_m) + 1e-9)
        assert np.prod(piece.size_m) == pytest.approx(piece.volume_m3, rel=1e-9)


@pytest.mark.parametrize("pieces", [(0.005, 0.010, 0.020), (0.007, 0.012)])
def test_lead_in_pieces_is_whole_and_misses_are_told(pieces: tuple[float, ...]) -> None:
    vessel = wishing(small_vessel(), lead_pieces_kg=pieces)
    result = trim.run(vessel, gap=0.05)
    for piece in result.pieces:
        if piece.material == "lead":
            mass = sum(float(name.split()[0]) / 1000.0 * count for name, count in piece.counts.items())
            assert mass == pytest.approx(piece.mass_kg, abs=1e-9)
            assert all(float(name.split()[0]) / 1000.0 in pieces for name in piece.counts)
    assert result.feasible
    assert abs(result.draught_bow_miss_m) < 1e-3
    assert abs(result.lift_miss_kg) < 2e-3
    assert result.largest_miss <= 0.1 + 1e-6


def test_a_movable_battery_is_moved_before_lead_is_added() -> None:
    """With the same boat, letting the battery slide must not need more lead, and it is used to the full."""
    vessel = small_vessel()
    fixed = replace(vessel, items=tuple(replace(entry, rail=None) for entry in vessel.items))
    free, held = trim.run(vessel), trim.run(fixed)
    assert free.moves
    assert free.added_lead_kg <= held.added_lead_kg + 1e-6
    move = free.moves[0]
    rail = next(entry.rail for entry in vessel.items if entry.name == move.part)
    assert isinstance(rail, Rail)
    shift = float(np.dot(np.subtract(move.to_m, move.from_m), rail.direction))
    assert rail.low_m - 1e-9 <= shift <= rail.high_m + 1e-9


def test_trimming_again_starts_from_the_bare_boat() -> None:
    vessel = small_vessel()
    first = trim.run(vessel)
    again = trim.run(with_trim(bare(vessel), first.pieces, ()))
    assert again.added_lead_kg == pytest.approx(first.added_lead_kg, rel=0.03)
    assert again.before[0].mass_kg.value == pytest.approx(first.before[0].mass_kg.value)


def test_a_fitted_trim_is_told_as_it_stands() -> None:
    """The same pieces and the same proof as when they were found, with nothing chosen afresh."""
    vessel = wishing(small_vessel(), lead_pieces_kg=(0.005, 0.010))
    found = trim.run(vessel, gap=0.05)
    fitted = with_trim(bare(vessel), found.pieces, found.moves)
    assert trim.is_fitted(fitted)
    assert not trim.is_fitted(vessel)
    told = trim.as_fitted(fitted)
    assert [(piece.place, piece.counts) for piece in told.pieces] == [
        (piece.place, piece.counts) for piece in found.pieces
    ]
    assert [piece.mass_kg for piece in told.pieces] == pytest.approx(
        [piece.mass_kg for piece in found.pieces]
    )
    assert told.after[0].draught_bow_m.value == pytest.approx(found.after[0].draught_bow_m.value, abs=1e-9)
    assert told.lift_miss_kg == pytest.approx(found.lift_miss_kg, abs=1e-9)
    assert told.feasible


def test_the_waterline_named_as_nearest_can_be_kept() -> None:
    """The obstacle's own advice, followed, lifts it; a little less does not (proof by solving again)."""
    vessel = small_vessel()
    small_tank = replace(vessel.tanks[0], capacity_m3=0.85 * tank.run(vessel).volume_m3.value)
    # A tank 15 % too small: nothing under the waterline can be left out, so the waterline has to rise.
    short = replace(vessel, tanks=(small_tank,), wishes=replace(vessel.wishes, lead_pieces_kg=()))
    result = trim.run(short)
    assert not result.feasible
    found = {entry.wish: entry for entry in result.obstacles}
    assert {"waterline", "tank"} <= set(found)
    followed = trim.run(replace(short, waterline_m=short.waterline_m + found["waterline"].amount + 2e-5))
    assert followed.feasible
    grown = replace(small_tank, capacity_m3=small_tank.capacity_m3 + found["tank"].amount * 1.001)
    assert trim.run(replace(short, tanks=(grown,))).feasible
    less = replace(small_tank, capacity_m3=small_tank.capacity_m3 + found["tank"].amount * 0.5)
    assert not trim.run(replace(short, tanks=(less,))).feasible


def test_too_heavy_a_boat_says_by_how_much() -> None:
    """By hand: beyond what foam can carry, 1 g more weight is 1 g more to take out."""
    vessel = small_vessel()

    def too_heavy(extra: float) -> float:
        ballast = replace(
            next(entry for entry in vessel.items if entry.name == "piston drive"), name="brick", mass_kg=extra
        )
        result = trim.run(replace(vessel, items=(*vessel.items, ballast)))
        assert not result.feasible
        return next(entry.amount for entry in result.obstacles if entry.wish == "weight")

    assert too_heavy(0.55) - too_heavy(0.45) == pytest.approx(0.1, abs=0.02)


def test_linear_rows_are_the_exact_ones_where_blocks_are_where_they_were_taken() -> None:
    """Independent route: the rows from the full cut of the trimmed vessel.

    Asked for no lift, k in the dived rows is 1 whatever foam is added; else it shifts a little from round to round.
    """
    vessel = bare(wishing(small_vessel(), lift_dived_kg=0.0))
    result = trim.run(vessel)
    places = vessel.wishes.places
    names = [place.name for place in places]
    taken = {(piece.material, names.index(piece.place)): piece.volume_m3 for piece in result.pieces}
    linear = model(vessel, places, vessel.waterline_m, taken, sheet=True)
    amounts = []
    for column in linear.columns:
        if column.kind == "move":
            move = result.moves[0]
            shift = move.to_m[0] - move.from_m[0]
            amounts.append(max(shift / column.shift_per_unit, 0.0))
        else:
            amounts.append(taken.get((column.kind, column.place), 0.0) / column.volume_per_unit)
    trimmed = with_trim(vessel, result.pieces, result.moves)
    exact = rows_of(trimmed, load(trimmed, 0.0), load(trimmed, 1.0), vessel.waterline_m)
    np.testing.assert_allclose(linear.matrix @ np.array(amounts) + linear.base, exact, atol=2e-9)


def test_sensitivities_are_those_of_the_boat_laid_anew() -> None:
    """Independent route: the boat with 1 g more, or a part moved 1 mm, through the full balance."""
    vessel = with_trim(bare(small_vessel()), (result := trim.run(small_vessel())).pieces, result.moves)
    told = sensitivities(vessel)
    gram = replace(vessel.items[-1], name="gram", mass_kg=0.0005, solid=None, volume_m3=0.0, kind="inside")

    def trim_of(x: float, share: float) -> float:
        extra = replace(gram, centre_m=(x, 0.0, 0.0))
        state = afloat.run(replace(vessel, items=(*vessel.items, extra)), share)
        return (state.under if share else state.lie).trim_deg.value

    for x, share, expected in (
        (vessel.mark_bow_m, 0.0, told.pitch_surfaced_deg_per_10g_at_bow),
        (vessel.mark_stern_m, 0.0, told.pitch_surfaced_deg_per_10g_at_stern),
        (vessel.mark_bow_m, 1.0, told.pitch_dived_deg_per_10g_at_bow),
        (vessel.mark_stern_m, 1.0, told.pitch_dived_deg_per_10g_at_stern),
    ):
        base = afloat.run(vessel, share)
        start = (base.under if share else base.lie).trim_deg.value
        # Half a gram at the end of a dived boat is already a third of a degree: 3 % of curvature is allowed for.
        assert 20.0 * (trim_of(x, share) - start) == pytest.approx(expected, rel=0.06)
    warm = afloat.run(vessel, 1.0, temperature_c=21.0).under.lift_kg.value
    cold = afloat.run(vessel, 1.0, temperature_c=19.0).under.lift_kg.value
    assert 1000.0 * (warm - cold) / 2.0 == pytest.approx(told.lift_g_per_degc, rel=0.01)


def test_a_cancel_ends_the_work_and_changes_nothing() -> None:
    class CancelledError(Exception):
        pass

    def stop(text: str, share: float) -> None:
        raise CancelledError

    with pytest.raises(CancelledError):
        trim.run(small_vessel(), progress=stop)


def test_without_any_place_the_answer_says_so() -> None:
    result = trim.run(wishing(small_vessel(), places=()))
    assert not result.feasible
    assert result.obstacles
    assert any("no place" in entry.what for entry in result.warnings)
