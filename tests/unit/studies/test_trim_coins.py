"""Sums of pieces against every combination counted out."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dabchick.studies.trim_coins import fewest_pieces, piece_step

GRAMS = st.lists(st.integers(1, 12), min_size=1, max_size=3, unique=True)


@given(GRAMS)
def test_every_step_from_the_least_up_can_be_made_and_the_one_below_not(grams: list[int]) -> None:
    """Brute force over all counts up to 60 pieces of each."""
    pieces = tuple(gram / 1000.0 for gram in grams)
    found = piece_step(pieces, most_least_kg=1.0)
    assert found is not None
    step, least = round(found.step_kg * 1000), round(found.least_kg * 1000)
    totals = {
        sum(count * gram for count, gram in zip(counts, grams, strict=True))
        for counts in product(range(0, 60 if len(grams) < 3 else 30), repeat=len(grams))
    }
    assert all(total in totals for total in range(least, least + 12 * step, step))
    assert least - step <= 0 or least - step not in totals


@given(GRAMS, st.integers(0, 60))
def test_fewest_pieces_are_fewest(grams: list[int], total: int) -> None:
    counts = (
        [
            sum(numbers)
            for numbers in product(range(0, total + 1 if len(grams) < 3 else 25), repeat=len(grams))
            if sum(count * gram for count, gram in zip(numbers, grams, strict=True)) == total
        ]
        if len(grams) < 3 or total < 25
        else None
    )
    pieces = tuple(gram / 1000.0 for gram in grams)
    if counts is None:
        return
    if not counts:
        with pytest.raises(ValueError, match="cannot be made"):
            fewest_pieces(pieces, total / 1000.0)
        return
    made = fewest_pieces(pieces, total / 1000.0)
    assert sum(made.values()) == min(counts)
    assert sum(float(name.split()[0]) * count for name, count in made.items()) == pytest.approx(total)


def test_pieces_that_make_only_large_totals_are_counted_one_by_one() -> None:
    """7 g and 12 g make every gram only from 66 g up (Frobenius: 7 x 12 - 7 - 12 = 65)."""
    assert piece_step((0.007, 0.012)) is None
    every = piece_step((0.007, 0.012), most_least_kg=1.0)
    assert every is not None
    assert every.least_kg == pytest.approx(0.066)
