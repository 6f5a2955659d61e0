"""The same boat in other water than her file names."""

from dataclasses import replace

from dabchick.model.vessel import Vessel
from dabchick.physics.water import density_kg_m3


def in_water(
    vessel: Vessel, temperature_c: float | None = None, salinity_g_kg: float | None = None
) -> Vessel:
    """The vessel with her water at this temperature [degC] and salinity [g/kg]; None keeps the boat file's."""
    if temperature_c is None and salinity_g_kg is None:
        return vessel
    warmth = vessel.water_temperature_c if temperature_c is None else temperature_c
    salt = vessel.water_salinity_g_kg if salinity_g_kg is None else salinity_g_kg
    return replace(
        vessel,
        water_density_kg_m3=float(density_kg_m3(warmth, salt)),
        water_temperature_c=warmth,
        water_salinity_g_kg=salt,
    )
