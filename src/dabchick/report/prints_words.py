"""What the prints study says, in the builder's units, for every face alike."""

import math
from typing import NamedTuple

from dabchick.model.units import UnitSet
from dabchick.model.vessel import Vector
from dabchick.report.builder_units import NO_VALUE, number, with_unit
from dabchick.studies.prints import PrintsResult
from dabchick.studies.prints_mass import ShellMass
from dabchick.studies.prints_wall import Band, WallFinding
from dabchick.studies.result import Figure

INCH_M = 0.0254


class PrintsRow(NamedTuple):
    """One figure: text with its unit, one standard deviation with its unit or nothing, the SI value."""

    label: str
    text: str
    spread: str
    value: float
    note: str = ""


def fine_length(value_m: float, units: UnitSet) -> str:
    """A wall's thickness: hundredths of a millimetre, or thousandths of an inch."""
    if not math.isfinite(value_m):
        return NO_VALUE
    return (
        f"{number(value_m * 1000.0, 2)}\u00a0mm"
        if units == "metric"
        else f"{number(value_m / INCH_M, 3)}\u00a0in"
    )


def percent(share: float, decimals: int = 1) -> str:
    """A share in hundredths."""
    amount = number(100.0 * share, decimals)
    return amount if amount == NO_VALUE else f"{amount}\u00a0%"


def place(point: Vector, units: UnitSet) -> str:
    """A point in the axes of the files: `(120.0, 4.0, −30.0) mm`."""
    unit, size, decimals = ("mm", 0.001, 1) if units == "metric" else ("in", INCH_M, 2)
    return f"({', '.join(number(value / size, decimals) for value in point)})\u00a0{unit}"


def summary(result: PrintsResult, units: UnitSet) -> str:
    """The answer in a sentence or two."""
    count = len(result.pieces)
    pieces = "One piece is" if count == 1 else f"{count} pieces make"
    sides = " × ".join(with_unit(side, "length", units) for side in sorted(result.sides_m, reverse=True))
    text = f"{pieces} one closed mesh of {sides} with {with_unit(result.volume_m3, 'volume', units)} in it. "
    text += finding_words(result.finding)
    if result.finding.is_wall and math.isfinite(result.wall.median_m):
        text += (
            f" The walls are {fine_length(result.wall.median_m, units)} thick in the middle of all, "
            f"{fine_length(result.wall.low_m, units)} to {fine_length(result.wall.high_m, units)} over nine tenths."
        )
    if result.mass is not None and math.isfinite(result.mass.weighed_kg):
        text += f" {weighed_words(result.mass, units)}"
    return text


def finding_words(finding: WallFinding) -> str:
    """What the mesh is, and who says so."""
    if finding.confirmed is not None:
        return (
            "You say that it is the material itself."
            if finding.confirmed
            else "You say that it is an outer form."
        )
    return {
        "walls": "The figures say that it is the material itself; please confirm.",
        "surface": "The figures say that it is an outer form; please confirm.",
        "unclear": "The figures leave open whether it is the material itself; please say.",
    }[finding.kind]


def weighed_words(mass: ShellMass, units: UnitSet) -> str:
    """The weighed mass against the material."""
    return (
        f"Weighed {with_unit(mass.weighed_kg, 'mass', units)}, {percent(mass.ratio_to_solid, 0)} of "
        f"{mass.material} filling the walls whole: explained by {percent(mass.explaining_filled_share.value, 0)} ± "
        f"{percent(mass.explaining_filled_share.spread, 0)} of material in them, or by a density of "
        f"{with_unit(mass.explaining_density_kg_m3, 'density', units)}."
    )


def rows(result: PrintsResult, units: UnitSet) -> list[PrintsRow]:
    """All figures, in reading order."""
    plain = PrintsRow
    sides = result.sides_m
    found = [
        plain(f"Along {axis}", with_unit(side, "length", units), "", side)
        for axis, side in zip("xyz", sides, strict=True)
    ]
    found.append(
        plain(
            "Volume of the material" if result.finding.is_wall else "Volume of the form",
            with_unit(result.volume_m3, "volume", units),
            "",
            result.volume_m3,
        )
    )
    found.append(
        plain("Surface, inside and outside", with_unit(result.area_m2, "area", units), "", result.area_m2)
    )
    scale = result.scale
    if math.isfinite(scale.known_m):
        found.append(
            plain(
                "Factor on all lengths",
                number(scale.factor, 5),
                "",
                scale.factor,
                f"{with_unit(scale.measured_m, 'length', units)} in the files "
                + (f"along {scale.axis}" if scale.axis else "between the points"),
            )
        )
    wall = result.wall
    mean = result.finding.mean_thickness_m
    found += [
        plain("Mean thickness", fine_length(mean, units), "", mean, "twice the volume over the surface"),
        plain(
            "Thickness, median",
            fine_length(wall.median_m, units),
            "",
            wall.median_m,
            "by area, without edges",
        ),
        plain("5 % is thinner than", fine_length(wall.low_m, units), "", wall.low_m),
        plain("5 % is thicker than", fine_length(wall.high_m, units), "", wall.high_m),
        plain("Left out as edges", percent(wall.edge_share), "", wall.edge_share, "of the surface"),
    ]
    if result.mass is not None:
        found += _mass_rows(result.mass, units)
    return found


def _mass_rows(mass: ShellMass, units: UnitSet) -> list[PrintsRow]:
    def weight(label: str, figure: Figure, note: str = "") -> PrintsRow:
        return PrintsRow(
            label,
            with_unit(figure.value, "mass", units),
            with_unit(figure.spread, "mass", units),
            figure.value,
            note,
        )

    def share(label: str, figure: Figure, note: str = "") -> PrintsRow:
        return PrintsRow(label, percent(figure.value), percent(figure.spread), figure.value, note)

    found = [
        weight("Mass if solid and dry", mass.solid_kg, mass.material),
        share("Filled share of the walls", mass.filled_share),
        share("Absorbed water", mass.water_share, "of the dry mass"),
        weight("Mass expected", mass.expected_kg, "with filling and water"),
    ]
    if math.isfinite(mass.weighed_kg):
        density = mass.explaining_density_kg_m3
        found += [
            PrintsRow("Weighed", with_unit(mass.weighed_kg, "mass", units), "", mass.weighed_kg),
            PrintsRow("Weighed over solid", percent(mass.ratio_to_solid), "", mass.ratio_to_solid),
            PrintsRow("Weighed over expected", percent(mass.ratio_to_expected), "", mass.ratio_to_expected),
            PrintsRow(
                "Density that explains it",
                with_unit(density, "density", units),
                "",
                density,
                "weighed mass over measured volume",
            ),
            share("Filled share that explains it", mass.explaining_filled_share),
        ]
        if 0.0 <= mass.explaining_infill.value <= 1.0:
            found.append(share("Infill that explains it", mass.explaining_infill, "inside the outer lines"))
    return found


def band_words(band: Band, units: UnitSet) -> str:
    """The range of a band: `below 2.00 mm`, `2.00 to 2.50 mm`, `3.00 mm and more`."""
    low, high = fine_length(band.low_m, units), fine_length(band.high_m, units)
    if math.isinf(band.high_m):
        return f"{low} and more"
    if band.low_m <= 0.0:
        return f"below {high}"
    return f"{low.partition(chr(0xA0))[0]} to {high}"
