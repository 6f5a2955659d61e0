"""Ways of filling read from the command line: what is meant, and advice for what cannot be."""

import numpy as np
import pytest

from dabchick.cli.dive_way import fills_from, path_from, rates_from, rows_from
from dabchick.model.advice import BoatError
from dabchick.studies.dive_path import at_rates, in_order, through, together
from tests.support.dives import two_tanks

BOAT = two_tanks()


def test_without_a_word_all_tanks_fill_together():
    assert path_from(BOAT, None, [], None, None) == together(BOAT)


def test_in_order_at_rates_and_through_fills_mean_what_the_study_means():
    assert path_from(BOAT, " aft trim , main", [], None, None) == in_order(BOAT, ["aft trim", "main"])
    # 20 ml/s = 2e-5 m3/s; 1.2 l/min = 1.2e-3 / 60 m3/s, by the definitions of litre and minute.
    asked = path_from(BOAT, None, ["main=20ml/s", "aft trim=1.2 l/min"], None, None)
    meant = at_rates(BOAT, {"main": 2e-5, "aft trim": 1.2e-3 / 60.0})
    np.testing.assert_allclose(asked.shares, meant.shares, rtol=1e-12)
    np.testing.assert_allclose(asked.knots, meant.knots, rtol=1e-12)
    assert path_from(BOAT, None, [], "0,main=0.5:aft trim=0,100%", None) == through(
        BOAT, [0.0, {"main": 0.5, "aft trim": 0.0}, 1.0]
    )


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("main=20ml/s", 2e-5),
        ("main = 1 l / min ", 1e-3 / 60),
        ("a=b=3.6 l/h", 1e-6),
        ("main=1 fl oz/s", 2.95735295625e-5),
    ],
)
def test_rates_go_through_the_house_s_units(text, rate):
    # The US fluid ounce is 29.5735295625 ml: NIST SP 811 (2008), B.8.
    assert next(iter(rates_from([text]).values())) == pytest.approx(rate, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["main", "main=20ml", "main=20/s", "main=20 g/s", "main=20ml/day", "=20ml/s", "main=x/s"]
)
def test_a_rate_that_cannot_be_read_is_named_with_what_to_write(text):
    with pytest.raises(BoatError) as caught:
        rates_from(["aft=2ml/s", text])
    (advice,) = caught.value.advice
    assert advice.given == text
    assert advice.where == "command line --rate"
    assert "main=20ml/s" in advice.todo


def test_every_bad_rate_is_named_at_once():
    with pytest.raises(BoatError) as caught:
        rates_from(["main", "aft=2"])
    assert [advice.given for advice in caught.value.advice] == ["main", "aft=2"]


@pytest.mark.parametrize("text", ["", "half", "main=", "main=0.5:0.2", "=0.5", "nan", "main=inf"])
def test_fills_that_cannot_be_read_are_named(text):
    with pytest.raises(BoatError) as caught:
        fills_from(text)
    assert caught.value.advice[0].where == "command line --through"
    assert "0,main=0.5:aft=0,1" in caught.value.advice[0].todo


def test_a_fill_over_the_brim_and_a_tank_that_is_not_there_are_the_study_s_own_advice():
    with pytest.raises(BoatError, match="cannot be filled to 1\\.2"):
        path_from(BOAT, None, [], "0,1.2", None)
    with pytest.raises(BoatError, match="no tank named 'bow'"):
        path_from(BOAT, "bow", [], None, None)


def test_a_table_of_fills(tmp_path):
    table = tmp_path / "way.csv"
    table.write_text("\ufeffmain,aft trim\n0,0\n50%, 0.25\n\n1,1\n", encoding="utf-8")
    assert rows_from(table) == [
        {"main": 0.0, "aft trim": 0.0},
        {"main": 0.5, "aft trim": 0.25},
        {"main": 1.0, "aft trim": 1.0},
    ]
    assert path_from(BOAT, None, [], None, table) == through(BOAT, rows_from(table))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"main\n0\n", "two or more"),
        (b"", "0 moments"),
        (b"main,main\n0,0\n1,1\n", "name of another tank"),
        (b"main,\n0,0\n1,1\n", "name of another tank"),
        (b"main\n0\nfull\n", "Moment 2 is no row of shares"),
        (b"main,aft\n0,0\n1\n", "Moment 2 is no row of shares"),
        (b"main\n\xff\xfe\n1\n", "not a table in UTF-8"),
    ],
)
def test_a_table_that_cannot_be_read_is_told_with_its_name(tmp_path, text, words):
    table = tmp_path / "way.csv"
    table.write_bytes(text)
    with pytest.raises(BoatError, match=words) as caught:
        rows_from(table)
    assert caught.value.advice[0].where == str(table)
    assert "first line" in caught.value.advice[0].todo


def test_two_ways_at_once_are_refused(tmp_path):
    with pytest.raises(BoatError) as caught:
        path_from(BOAT, "main", ["main=2ml/s"], None, tmp_path / "way.csv")
    assert caught.value.advice[0].given == "--order, --rate, --fills"
