"""What the weight list says, in the builder's datum and units, for every face alike."""

from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import across, figure, length_unit, number, with_unit
from dabchick.report.figures import measured
from dabchick.studies.weights import GUESS_MATTERS, LedgerRow, WeightsResult


def summary(vessel: Vessel, result: WeightsResult) -> str:
    """Mass and centre in a sentence."""
    units, datum = vessel.units, vessel.datum
    along, athwart, up = datum.to_builder(
        (result.centre_x_m.value, result.centre_y_m.value, result.centre_z_m.value)
    )
    spreads = (result.centre_x_m.spread, result.centre_z_m.spread)
    x, z = (
        f"{figure(value, 'length', units)} ± {figure(spread, 'length', units)} {length_unit(units)[0]}"
        for value, spread in zip((along, up), spreads, strict=True)
    )
    side = across(athwart, units)
    lateral = "on the centreline" if side == "centre" else f"{side} of the centreline"
    return (
        f"{vessel.name} weighs {measured(result.mass_kg, 'mass', units)} with empty tanks. Her centre "
        f"of gravity lies {x} from the {datum.x_from}, {lateral}, {z} over the {datum.z_from}."
    )


def share(part_of_one: float) -> str:
    """A share in whole percents."""
    return f"{number(100.0 * part_of_one, 0)} %"


def matters(vessel: Vessel, row: LedgerRow) -> str:
    """What the doubt in one mass does to the boat; empty where it makes up little of the doubt in the total."""
    if row.share_of_doubt <= GUESS_MATTERS:
        return ""
    units = vessel.units
    does = [
        f"draught {with_unit(row.matters_draught_m, 'length', units, plus=True)}",
        f"trim {number(row.matters_trim_surfaced_deg, 2, plus=True)} deg surfaced, "
        f"{number(row.matters_trim_dived_deg, 2, plus=True)} deg dived",
        f"dived lift ± {with_unit(row.matters_lift_kg, 'mass', units)}",
    ]
    return f"{share(row.share_of_doubt)} of the doubt in the total: {', '.join(does)}"
