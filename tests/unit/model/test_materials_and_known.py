"""Materials by name, and the spreads that go with how a number is known."""

from typing import get_args

import pytest

from dabchick.model.known import mass_spread, place_spread, volume_spread
from dabchick.model.materials import UnknownMaterialError, material, materials
from dabchick.model.vessel import Known


def test_short_names_and_capitals() -> None:
    assert material("grp") is material("GRP chopped mat laminate, 30 percent glass by mass")
    assert material(" Lead ").typical_kg_m3 == 11350.0


def test_unknown_material_offers_near_ones() -> None:
    with pytest.raises(UnknownMaterialError) as caught:
        material("fibreglas")
    assert caught.value.near[0] == "fibreglass"


def test_every_row_is_in_order_and_sourced() -> None:
    assert len(materials()) > 40
    for row in materials():
        assert 0.0 < row.low_kg_m3 <= row.typical_kg_m3 <= row.high_kg_m3
        assert row.source
        assert row.spread_kg_m3 >= 0.0


def test_no_name_is_used_twice() -> None:
    import tomllib
    from importlib.resources import files

    rows = tomllib.loads(files("dabchick.data").joinpath("materials.toml").read_text("utf-8"))["material"]
    names = [name.lower() for row in rows for name in (row["name"], *row.get("also", ()))]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("known", get_args(Known))
def test_spreads_grow_with_the_value_and_never_vanish(known: Known) -> None:
    assert 0.0 < mass_spread(0.001, known) <= mass_spread(1.0, known) < mass_spread(100.0, known)
    assert 0.0 < volume_spread(1e-6, known) <= volume_spread(1e-3, known) < volume_spread(1.0, known)
    assert place_spread(known) > 0.0


def test_a_guess_is_the_worst() -> None:
    others = [known for known in get_args(Known) if known != "guess"]
    assert all(mass_spread(0.5, "guess") > mass_spread(0.5, known) for known in others)
    assert all(volume_spread(1e-4, "guess") > volume_spread(1e-4, known) for known in others)
    assert all(place_spread("guess") > place_spread(known) for known in others)


def test_stated_defaults() -> None:
    """As documented: weighed 0.5 g or 0.2 %, whichever is more; a guess 25 %."""
    assert mass_spread(0.1, "weighed") == pytest.approx(0.0005)
    assert mass_spread(1.0, "weighed") == pytest.approx(0.002)
    assert mass_spread(1.0, "guess") == pytest.approx(0.25)
