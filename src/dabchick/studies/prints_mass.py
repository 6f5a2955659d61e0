"""The mass of a printed or cast shell from its material, and what a weighed mass says about it."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.materials import Material, material
from dabchick.model.prints_ask import Filling
from dabchick.physics.thickness import Thickness
from dabchick.studies.result import Figure

RECTANGLE: Final = 1.0 / math.sqrt(12.0)
"""One standard deviation of an even spread, as part of its width."""
UNKNOWN_FILLED: Final = (0.6, 1.0)
"""Share of a print's walls that is plastic when nothing is said: a guess, no source."""
UNKNOWN_WATER: Final = (0.0, 0.02)
"""Water in the material, as a share of its mass, when nothing is said: common plastics and resins take up to about
two hundredths (from memory)."""
USUAL_INFILL_SPREAD: Final = 0.05
USUAL_WATER_SPREAD: Final = 0.005


@dataclass(frozen=True)
class ShellMass:
    """The shell's mass from its material, and beside it the weighed one."""

    material: str
    density_kg_m3: Figure
    volume_m3: float
    solid_kg: Figure
    """Material times volume: filled to the last corner, and dry."""
    crust_share: float
    """Part of the volume within the outer lines of a wall; NaN where no lines were given."""
    filled_share: Figure
    """Part of the volume that is material."""
    water_share: Figure
    """Of the dry mass."""
    expected_kg: Figure
    """With filling and water."""
    weighed_kg: float
    """NaN where it was not weighed; so are the figures below."""
    ratio_to_solid: float
    ratio_to_expected: float
    explaining_density_kg_m3: float
    """Weighed mass over measured volume."""
    explaining_filled_share: Figure
    """What share of the volume would be material, with this material and water."""
    explaining_infill: Figure
    """The same for the room inside the outer lines; NaN where no lines were given."""
    assumptions: tuple[str, ...]
    advice: tuple[Advice, ...]


def check_filling(filling: Filling, weighed_kg: float | None) -> list[Advice]:
    """All that cannot be."""
    wrong = []
    for key, share in (("infill", filling.infill), ("water", filling.water)):
        if share is not None and not 0.0 <= share <= 1.0:
            wrong.append(
                Advice(
                    f"The share of {key} is not between nothing and all.",
                    "Give a share such as 30 %.",
                    key=key,
                    given=f"{share:g}",
                    allowed="0 to 100 %",
                )
            )
    for key, spread in (("infill_spread", filling.infill_spread), ("water_spread", filling.water_spread)):
        if spread is not None and not 0.0 <= spread <= 1.0:
            wrong.append(
                Advice(
                    "A spread is not between nothing and all.",
                    "Give a share such as 5 %.",
                    key=key,
                    given=f"{spread:g}",
                )
            )
    if filling.lines is not None and not 0 <= filling.lines <= 50:
        wrong.append(
            Advice(
                "So many lines has no wall.",
                "Give a count.",
                key="lines",
                given=f"{filling.lines}",
                allowed="0 to 50",
            )
        )
    width = filling.line_width_m
    if width is not None and not (math.isfinite(width) and 0.0 < width < 0.01):
        wrong.append(
            Advice(
                "The width of a line is out of range.",
                "Give it as it was sliced, such as 0.45 mm.",
                key="line_width",
                given=f"{width} m",
                allowed="above 0, below 10 mm",
            )
        )
    if (filling.lines is None) != (width is None):
        wrong.append(
            Advice("Lines need their width, and a width their count.", "Give both, or neither.", key="lines")
        )
    if weighed_kg is not None and not (math.isfinite(weighed_kg) and weighed_kg > 0.0):
        wrong.append(
            Advice(
                "The weighed mass is not above zero.",
                "Give what the scales say.",
                key="weighed",
                given=f"{weighed_kg} kg",
            )
        )
    return wrong


def shell_mass(
    name: str, volume_m3: float, read: Thickness, filling: Filling, weighed_kg: float | None
) -> ShellMass:
    """The mass of walls of this volume. Raises UnknownMaterialError for a material that is not in the table.

    Filled share f = s + (1 - s) infill with s the part of the volume within the outer lines, and
    expected = density V f (1 + water); spreads are added in quadrature.
    """
    wrong = check_filling(filling, weighed_kg)
    if wrong:
        raise BoatError(*wrong)
    stuff = material(name)
    density = Figure(stuff.typical_kg_m3, stuff.spread_kg_m3)
    crust = _crust_share(read, filling)
    filled, said = _filled(filling, crust)
    water, said_water = _water(filling)
    solid = Figure(density.value * volume_m3, density.spread * volume_m3)
    expected_value = solid.value * filled.value * (1.0 + water.value)
    expected = Figure(
        expected_value,
        expected_value
        * math.hypot(
            density.spread / density.value,
            filled.spread / filled.value if filled.value > 0.0 else 0.0,
            water.spread / (1.0 + water.value),
        ),
    )
    nan = Figure(math.nan, math.nan)
    weighed = math.nan if weighed_kg is None else weighed_kg
    explained = nan
    inside = nan
    if weighed_kg is not None:
        share = weighed_kg / (solid.value * (1.0 + water.value))
        explained = Figure(
            share, share * math.hypot(density.spread / density.value, water.spread / (1.0 + water.value))
        )
        if math.isfinite(crust) and crust < 1.0:
            inside = Figure((share - crust) / (1.0 - crust), explained.spread / (1.0 - crust))
    return ShellMass(
        material=stuff.name,
        density_kg_m3=density,
        volume_m3=volume_m3,
        solid_kg=solid,
        crust_share=crust,
        filled_share=filled,
        water_share=water,
        expected_kg=expected,
        weighed_kg=weighed,
        ratio_to_solid=weighed / solid.value,
        ratio_to_expected=weighed / expected.value if expected.value > 0.0 else math.nan,
        explaining_density_kg_m3=weighed / volume_m3,
        explaining_filled_share=explained,
        explaining_infill=inside,
        assumptions=(
            f"density of {stuff.name}: {density.value:g} +/- {density.spread:.3g} kg/m3, from the table of materials",
            "the prints have the volume of their mesh: neither shrunk nor swollen, without supports and paint",
            *said,
            *said_water,
        ),
        advice=tuple(_advice(stuff, expected, explained, weighed, weighed / volume_m3)),
    )


def _crust_share(read: Thickness, filling: Filling) -> float:
    """Part of the volume within the outer lines: area-weighted, the lesser of wall and both crusts over the wall."""
    if filling.lines is None or filling.line_width_m is None:
        return math.nan
    known = read.walls & np.isfinite(read.readings)
    known = known if known.any() else np.isfinite(read.readings)
    thick, areas = read.readings[known], read.areas[known]
    if len(thick) == 0:
        return math.nan
    crust = np.minimum(thick, 2.0 * filling.lines * filling.line_width_m)
    return float((areas * crust).sum() / (areas * thick).sum())


def _filled(filling: Filling, crust: float) -> tuple[Figure, list[str]]:
    if filling.infill is None:
        low, high = UNKNOWN_FILLED
        low = max(low, crust) if math.isfinite(crust) else low
        figure = Figure(0.5 * (low + high), RECTANGLE * (high - low))
        return figure, [
            f"infill is not given: between {100.0 * low:.0f} and {100.0 * high:.0f} % of the walls' volume is taken as "
            "material (a guess, no source)"
        ]
    spread = filling.infill_spread
    said = []
    if spread is None:
        spread = 0.0 if filling.infill == 1.0 else USUAL_INFILL_SPREAD
        said.append(
            f"spread of the infill is not given: {100.0 * spread:.0f} % taken (common practice, no source)"
        )
    if not math.isfinite(crust):
        said.append(
            f"infill: {100.0 * filling.infill:g} % of the walls' whole volume, lines not counted apart"
        )
        return Figure(filling.infill, spread), said
    said.append(
        f"outer lines: {filling.lines} of {(filling.line_width_m or 0.0) * 1000.0:g} mm on each face, which is "
        f"{100.0 * crust:.1f} % of the walls' volume; {100.0 * filling.infill:g} % of the rest is infill"
    )
    return Figure(crust + (1.0 - crust) * filling.infill, (1.0 - crust) * spread), said


def _water(filling: Filling) -> tuple[Figure, list[str]]:
    if filling.water is None:
        low, high = UNKNOWN_WATER
        return Figure(0.5 * (low + high), RECTANGLE * (high - low)), [
            f"absorbed water is not given: {100.0 * low:g} to {100.0 * high:g} % of the dry mass taken (from memory)"
        ]
    if filling.water_spread is None:
        return Figure(filling.water, USUAL_WATER_SPREAD), [
            f"absorbed water: {100.0 * filling.water:g} % of the dry mass, its spread taken as "
            f"{100.0 * USUAL_WATER_SPREAD:g} % (a guess, no source)"
        ]
    return Figure(filling.water, filling.water_spread), [
        f"absorbed water: {100.0 * filling.water:g} % of the dry mass"
    ]


def _advice(stuff: Material, expected: Figure, share: Figure, weighed: float, density: float) -> list[Advice]:
    if not math.isfinite(weighed):
        return []
    if share.value > 1.0 + 2.0 * share.spread:
        return [
            Advice(
                what=f"The prints weigh {100.0 * (share.value - 1.0):.0f} % more than {stuff.name} filling them whole "
                "could: no infill explains that.",
                todo="Look for paint, filler, glue, fittings left in, water inside the walls, another material, or a "
                "mesh that is smaller than the print.",
                key="weighed",
                given=f"{weighed * 1000.0:.4g} g, {density:.0f} kg/m3 over the mesh's volume",
                severity="warning",
            )
        ]
    if abs(weighed - expected.value) > 2.0 * expected.spread:
        way = "lighter" if weighed < expected.value else "heavier"
        return [
            Advice(
                what=f"The prints are {way} than expected by more than twice its spread.",
                todo="Look at the infill and the unit first; the weighed mass is the one to use.",
                key="weighed",
                given=f"{weighed * 1000.0:.4g} g against {expected.value * 1000.0:.4g} +/- "
                f"{expected.spread * 1000.0:.2g} g",
                severity="warning",
            )
        ]
    return []
