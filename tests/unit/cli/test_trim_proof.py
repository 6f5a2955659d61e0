"""What `trim` says about its proof."""

from dataclasses import replace

import pytest

from dabchick.report.trim_words import proof
from dabchick.studies import trim
from dabchick.studies.trim_result import PLACES_STAGE
from tests.support.vessels import small_vessel


def test_unproven_count_of_places_is_said_only_where_a_whole_place_is_in_doubt() -> None:
    """By hand, 5 places: a gap of 10 % leaves half a place in doubt, so 5 is least; 40 % leaves two."""
    vessel = small_vessel()
    result = replace(trim.run(vessel), place_count=5)
    assert "fewer places" not in proof(replace(result, gaps={PLACES_STAGE: 0.10}))
    assert "fewer places" in proof(replace(result, gaps={PLACES_STAGE: 0.40}))


@pytest.mark.parametrize(("rounds", "words"), [(2, "Proven gap of lead and foam"), (0, "As it stands")])
def test_a_fitted_trim_is_not_called_searched_for(rounds: int, words: str) -> None:
    vessel = small_vessel()
    assert words in proof(replace(trim.run(vessel), rounds=rounds))
