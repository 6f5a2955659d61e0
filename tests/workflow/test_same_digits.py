"""The same boat by Python and by command gives the same digits, and every number in JSON says its unit."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dabchick.storage.folder import open_boat
from dabchick.studies import (
    afloat,
    air,
    check,
    drain,
    fit,
    fit_cylinder,
    fit_slide,
    heel,
    leak,
    space,
    split,
    squeeze,
    tank,
    trim,
    weights,
)
from dabchick.studies.fit_bodies import Turn
from dabchick.studies.fit_slide import Plane
from dabchick.studies.heel_causes import Side, Torque, Wind
from dabchick.studies.heel_causes import Turn as Turning
from dabchick.studies.leak_source import LeakWay
from dabchick.studies.result import as_json
from tests.support.command import SOON, dabchick

Capsys = pytest.CaptureFixture[str]


@pytest.mark.parametrize(
    ("arguments", "study"),
    [
        (("check",), check.run),
        (("weights",), weights.run),
        (("afloat",), afloat.run),
        (("afloat", "--fill", "main=0.4"), lambda vessel: afloat.run(vessel, {"main": 0.4})),
        (("afloat", "--fill", "40%", "--all"), lambda vessel: afloat.run(vessel, 0.4, every=True)),
        (
            ("afloat", "--dived", "--temperature", "68 degF", "--salinity", "35 g/kg"),
            lambda vessel: afloat.run(vessel, 1.0, temperature_c=20.0, salinity_g_kg=35.0),
        ),
        (("squeeze",), squeeze.run),
        (("fit",), fit.run),
        (
            ("fit", "--clearance", "1/8 in", "--wall", "2.5 mm", "--turn", "aft planes=y 20 deg"),
            lambda vessel: fit.run(
                vessel, clearance_m=0.003175, wall_m=0.0025, turns=[Turn("aft planes", "y", 20.0)]
            ),
        ),
        (("fit", "--slide", "cylinder"), lambda vessel: fit_slide.run(vessel, "cylinder")),
        (
            # The builder measures x from the bow, and her bow lies at x = 900 mm.
            ("fit", "--slide", "cylinder", "--from", "bow", "--opened", "150 mm", "--past", "nothing"),
            lambda vessel: fit_slide.run(
                vessel, "cylinder", way="bow", plane=Plane((1.0, 0.0, 0.0), 0.75), past=False
            ),
        ),
        (("fit", "--cylinder-diameter", "80 mm"), lambda vessel: fit_cylinder.run(vessel, diameter_m=0.08)),
        (
            ("fit", "--cylinder-diameter", "60 mm", "--past", "parts", "--clearance", "1 mm"),
            lambda vessel: fit_cylinder.run(vessel, diameter_m=0.06, past=True, clearance_m=0.001),
        ),
        (("afloat", "--air"), lambda vessel: afloat.run(vessel, air=True)),
        (
            ("air", "--pitch", "10 deg", "--heel", "-2 deg", "--depth", "5 ft"),
            lambda vessel: air.run(vessel, pitch_deg=10.0, heel_deg=-2.0, depth_m=1.524),
        ),
        (("leak",), leak.run),
        (
            ("leak", "--hole", "1/32 in", "--depth", "2 m", "--wall", "2.5 mm", "--fill", "0.25", "--vented"),
            lambda vessel: leak.run(
                vessel,
                leak=LeakWay("hole", diameter_m=0.00079375),
                depth_m=2.0,
                wall_m=0.0025,
                fills=(0.25,),
                vented=True,
            ),
        ),
        (("heel",), heel.run),
        (
            (
                "heel",
                "--power",
                "20 W",
                "--rpm",
                "3000",
                "--efficiency",
                "70%",
                "--turn",
                "32 in",
                "--speed",
                "1 kn",
                "--wind",
                "5 m/s",
                "--gust",
                "8 m/s",
                "--side",
                "50g@20mm",
                "--fill",
                "main=0.5",
            ),
            lambda vessel: heel.run(
                vessel,
                torque=Torque(20.0, 50.0, 0.7),
                turn=Turning(1852 / 3600, 0.8128),
                wind=Wind(5.0, 8.0),
                side=Side(0.05, moved_m=0.02),
                fills=[{"main": 0.5}],
            ),
        ),
        (
            # the builder measures x from the bow, and her bow lies at x = 900 mm
            ("heel", "--rate", "45 deg/s", "--speed", "0.5 m/s", "--side", "1oz@4in,-1in,0", "--least"),
            lambda vessel: heel.run(
                vessel,
                turn=Turning(0.5, 0.5 / np.radians(45.0)),
                least=True,
                side=Side(0.028349523125, at_m=vessel.datum.to_house((0.1016, -0.0254, 0.0))),
            ),
        ),
        (
            ("drain", "--blow", "10 s", "--fill", "0.5 min", "--cd", "0.6"),
            lambda vessel: drain.run(vessel, blow_s=10.0, fill_s=30.0, discharge=0.6),
        ),
        (("tank",), tank.run),
        (
            ("tank", "--bore", "2 in", "--lift", "1 oz"),
            lambda vessel: tank.run(vessel, bore_m=0.0508, lift_kg=0.028349523125),
        ),
        (("space",), space.run),
        (
            ("space", "--cell", "6 mm", "--clearance", "1/8 in"),
            lambda vessel: space.run(vessel, cell_m=0.006, clearance_m=0.003175),
        ),
        (("split",), split.run),
        (("split", "--at", "60 mm"), lambda vessel: split.run(vessel, line_m=((0.0, 0.06), (0.9, 0.06)))),
    ],
)
def test_command_and_python_give_the_same_digits(
    wren: Path, capsys: Capsys, arguments: Any, study: Any
) -> None:
    answer = dabchick(capsys, *arguments, wren, "--json")
    _same(answer.json, as_json(study(open_boat(wren).vessel)))
    assert answer.code in (0, 1)


def test_trim_by_command_and_by_python_gives_the_same_digits(wren: Path, capsys: Capsys) -> None:
    vessel = open_boat(wren).vessel
    answer = dabchick(capsys, "trim", wren, "--json", "--lift", "15 g", *SOON)
    wished = replace(vessel, wishes=replace(vessel.wishes, lift_dived_kg=0.015))
    _same(answer.json, as_json(trim.run(wished, gap=0.3, seconds=60.0)) | {"applied": False})


def _same(one: Any, other: Any) -> None:
    """Equal; numbers to the last digits that a unit's conversion leaves (20 degC from 68 degF, say)."""
    if isinstance(one, dict):
        assert one.keys() == other.keys()
        for key in one:
            _same(one[key], other[key])
    elif isinstance(one, list):
        assert len(one) == len(other)
        for left, right in zip(one, other, strict=True):
            _same(left, right)
    elif isinstance(one, float):
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-12)
    else:
        assert one == other


# --- JSON: keys that carry their unit.

UNIT = re.compile(
    r"_(s|m3_s|pa|m|m2|m3|kg|g|deg|kg_m|kg_m2|kg_m3|g_kg|c|mm|n_m|w|m_s|per_s|percent)(_per_\w+)?$|_per_(10g|degc|g_kg_salt|\w+_moved_\d+mm)\w*$"
)
PURE_NUMBERS = {
    "share_of_mass", "share_of_doubt", "fills", "gap", "gaps", "largest_miss", "rounds", "place_count",
    "counts", "overlap_count", "touch_count", "close_count",
    "tried_count", "outward", "force_residual", "moment_residual", "normal", "error_count", "warning_count",
    "exit_code", "amount", "opening", "small_count", "power", "reynolds", "touching_times", "drops_per_min",
    "bears", "drag", "train_share",
    "discharge", "factor", "smaller_factor", "opening_count",
}  # fmt: skip


@pytest.mark.parametrize(
    "name",
    [
        "check",
        "weights",
        "afloat",
        "tank",
        "fit",
        "space",
        "air",
        "heel",
        "compare",
        "split",
        "leak",
        "drain",
        "trim",
    ],
)
def test_every_number_in_json_has_its_unit_in_the_key(wren: Path, capsys: Capsys, name: str) -> None:
    more: tuple[str, ...] = SOON if name == "trim" else ()
    if name == "compare":
        more = (str(wren),)
    if name == "heel":
        more = ("--power", "9 W", "--rpm", "2000", "--turn", "1 m", "--speed", "0.4 m/s", "--gust", "4 m/s")
    answer = dabchick(capsys, name, wren, "--json", *more)
    assert answer.err == ""
    numbers = list(_numbers(answer.json, ""))
    assert len(numbers) > (0 if name == "check" else 10)
    for key in numbers:
        assert UNIT.search(key) or key in PURE_NUMBERS, key


def _numbers(value: Any, key: str) -> Any:
    if isinstance(value, dict):
        for name, entry in value.items():
            inherits = key in ("fills", "gaps", "counts") or name in ("value", "spread")
            yield from _numbers(entry, key if inherits else name)
    elif isinstance(value, list):
        for entry in value:
            yield from _numbers(entry, key)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield key
