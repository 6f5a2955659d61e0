"""The densities that come with the package against the sources' values."""

import re
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from tests.reference.values import rows

ROWS = rows("materials", "density_kg_m3")
SHIPPED: dict[str, dict[str, Any]] = {
    entry["name"]: entry
    for entry in tomllib.loads((files("dabchick.data") / "materials.toml").read_text(encoding="utf-8"))[
        "material"
    ]
}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["material"])
def test_shipped_density_is_the_source_s(row: dict[str, Any]) -> None:
    shipped = SHIPPED[row["material"]]
    assert (shipped["low"], shipped["typical"], shipped["high"]) == (row["low"], row["typical"], row["high"])
    assert shipped["source"].split(":")[0].split()[0].strip(";") == (
        "READ" if row["known"] == "published" else "MEMORY"
    )


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row["known"] == "published"], ids=lambda row: row["material"]
)
def test_values_that_were_read_lie_in_the_range(row: dict[str, Any]) -> None:
    """Each source ends in the figure that was read, in kg/m3 (filaments in g/cm3)."""
    text = re.sub(
        r"DIN EN 12524:2000|ht 1\.2\.0|periodictable 2\.1\.0|entry called acrylic says 1050",
        "",
        row["source"],
    )
    read = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]
    assert read
    for value in read:
        assert row["low"] <= (1000.0 * value if value < 5.0 else value) <= row["high"]


def test_every_range_holds_its_typical_value_and_none_is_missing() -> None:
    assert set(SHIPPED) >= {row["material"] for row in ROWS}
    for entry in SHIPPED.values():
        assert 0 < entry["low"] <= entry["typical"] <= entry["high"]


def test_ranges_that_a_sum_can_confirm() -> None:
    """Worked by hand: a chopped-mat laminate by the rule of mixtures, a bare cell by its can."""
    laminate = 1.0 / (0.3 / SHIPPED["E-glass fibre"]["typical"] + 0.7 / 1200.0)
    assert laminate == pytest.approx(1429.0, abs=1.0)
    mat = SHIPPED["GRP chopped mat laminate, 30 percent glass by mass"]
    assert mat["low"] <= laminate <= mat["high"]
    can = 3.141592653589793 / 4.0 * 0.018**2 * 0.065
    cell = SHIPPED["18650 Li-ion cell"]
    assert cell["low"] <= 0.0465 / can <= cell["high"]


def test_nothing_shipped_floats_by_mistake() -> None:
    """Names against water: foams and woods below, metals and glass above; catches a slipped digit."""
    light = ("foam", "balsa", "ply", "pine", "EPP", "EVA", "polystyrene bead", "polyprop", "PE, high")
    heavy = ("lead", "brass", "steel", "aluminium", "copper", "tungsten", "glass", "cell", "PVC, rigid")
    for name, entry in SHIPPED.items():
        if any(word in name for word in light):
            assert entry["typical"] < 1000, name
        elif any(name.startswith(word) for word in heavy):
            assert entry["typical"] > 1300, name
