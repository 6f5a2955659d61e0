"""Coot, an invented test boat with a gas blown tank: a plain box of a hull, a cylinder, and a flat tank over it."""

from pathlib import Path

from dabchick.model.vessel import Vessel
from dabchick.storage.folder import open_boat
from tests.support.sample_boat import write_box_stl

TEXT = """\
# An invented test boat with a tank that is open at the bottom and blown by gas.
dabchick = 1
name = "Coot"
scale = 50
measured_from = { x = "bow", z = "keel" }
units = "metric"

[water]
where = "test basin"
temperature = "12 degC"
salinity = "0.2 g/kg"

[hull]
mesh = "hull.stl"
unit = "mm"
skin = { thickness = "2 mm", spread = "0.005 mm", material = "GRP", mass = { value = "920 g", known = "weighed" } }
waterline = "95 mm"
marks = { bow = "50 mm", stern = "550 mm" }
openings = [
  { at = ["150 mm", 0, "0 mm"], area = "60 mm^2" },
  { at = ["450 mm", 0, "0 mm"], area = "60 mm^2" },
  { at = ["300 mm", 0, "120 mm"], area = "20 mm^2" },
]

[[part]]
name = "cylinder"
kind = "dry"
shape = { cylinder = { length = "400 mm", diameter = "76 mm" } }
at = ["300 mm", 0, "46 mm"]
mass = { value = "612 g", known = "weighed" }
volume = { value = "1815 ml", known = "measured", spread = "1 ml" }

[[part]]
name = "battery"
kind = "inside"
inside = "cylinder"
at = ["300 mm", 0, "26 mm"]
mass = { value = "400 g", known = "weighed" }

[[part]]
name = "keel lead"
kind = "lead"
at = ["300 mm", 0, "4 mm"]
mass = { value = "LEAD g", known = "weighed" }

# The tank: no floor, and a tube from the gas bottle into its roof.
[[tank]]
name = "main"
system = "gas blown"
shape = { box = { size = ["100 mm", "80 mm", "25 mm"] } }
at = ["300 mm", 0, "101 mm"]
walls = { mass = { value = "30 g", known = "weighed" }, thickness = "1 mm" }

[trim]
lift_dived = "12 g"
least_bg = "4 mm"
"""


def write_gas_boat(
    folder: Path, *, lead_g: float = 527.0, tank_x: str = "300 mm", tank_long: str = "100 mm"
) -> Path:
    """Write Coot into a new folder; returns it. Flooded, she is some 40 g too heavy."""
    folder.mkdir(parents=True, exist_ok=True)
    write_box_stl(folder / "hull.stl")
    text = TEXT.replace("LEAD g", f"{lead_g:g} g").replace(
        '["300 mm", 0, "101 mm"]', f'["{tank_x}", 0, "101 mm"]'
    )
    (folder / "boat.toml").write_text(text.replace('"100 mm", "80', f'"{tank_long}", "80'), encoding="utf-8")
    return folder


def gas_vessel(
    folder: Path, *, lead_g: float = 527.0, tank_x: str = "300 mm", tank_long: str = "100 mm"
) -> Vessel:
    """Coot as the studies see her."""
    return open_boat(write_gas_boat(folder, lead_g=lead_g, tank_x=tank_x, tank_long=tank_long)).vessel
