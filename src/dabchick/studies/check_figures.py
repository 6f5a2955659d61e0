"""Figures: masses, densities and sums that cannot be right, or that rest on guesses."""

import math
from collections.abc import Iterator

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.vessel import Item, Vessel
from dabchick.physics.cut import cut, forest
from dabchick.studies.speech import Speech

LIGHTEST_KG_M3, HEAVIEST_KG_M3 = 10.0, 22_000.0
"""Densities of solid parts: lighter than any foam or heavier than any metal is a slip (from memory)."""
LEAD_KG_M3 = (5_000.0, 11_400.0)
"""From loose shot in resin to solid lead (from memory)."""
FOAM_KG_M3 = (10.0, 700.0)
"""From the lightest expanded foam to deep-water syntactic foam (from memory)."""
MASS_SHARE = (0.4, 1.8)
"""Mass over displacement at the waterline: outside this, lead and foam are not the cure."""
GUESSES_NAMED = 5


def figure_findings(vessel: Vessel) -> list[Advice]:
    """Missing and impossible masses, implausible densities, the balance of mass and displacement, guesses."""
    say = Speech(vessel)
    findings = [*_masses(vessel, say), *_part_densities(vessel, say), *_wishes(vessel, say)]
    if not any(entry.severity == "error" for entry in findings):
        findings += _balance(vessel, say)
    return [*findings, *_guesses(vessel, say)]


def _masses(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    if vessel.unweighed:
        names = ", ".join(f"'{name}'" for name in vessel.unweighed)
        yield Advice(
            what=f"Without a mass, and so left out of every sum: {names}.",
            todo='Weigh them, or give guesses with known = "guess".',
            key="part",
            given=f"{len(vessel.unweighed)} without a mass",
            allowed="a mass above 0 for each",
            severity="warning",
        )
    for item in vessel.items:
        if item.name in vessel.unweighed or item.mass_kg > 0.0:
            continue
        bad = math.isnan(item.mass_kg) or item.mass_kg < 0.0
        yield Advice(
            what=f"Part '{item.name}' has {'an impossible' if bad else 'no'} mass.",
            todo='Weigh it, or give a guess with known = "guess".',
            where=say.at(item.centre_m),
            key=f"{item.key}.mass" if item.key else "",
            given=say.mass(item.mass_kg),
            allowed="a mass above 0",
            severity="error" if bad else "warning",
        )


def _part_densities(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    ranges = {
        "solid": (LIGHTEST_KG_M3, HEAVIEST_KG_M3),
        "skin": (LIGHTEST_KG_M3, HEAVIEST_KG_M3),
        "lead": (LEAD_KG_M3[0], HEAVIEST_KG_M3),
        "foam": (FOAM_KG_M3[0], vessel.water_density_kg_m3),
    }
    for item in vessel.items:
        if item.kind not in ranges or item.name in vessel.unweighed or not item.mass_kg > 0.0:
            continue
        if not item.volume_m3 > 0.0:
            yield Advice(
                what=f"Part '{item.name}' displaces nothing.",
                todo="Give it a shape or a volume, or make it the contents of a dry part.",
                where=say.at(item.centre_m),
                key=item.key,
                given=say.volume(item.volume_m3),
                allowed="a volume above 0",
                severity="warning",
            )
            continue
        low, high = ranges[item.kind]
        density = item.mass_kg / item.volume_m3
        if not low <= density <= high:
            yield Advice(
                what=f"Part '{item.name}' ({item.kind}) would have a density of {say.density(density)}.",
                todo="Check its mass, its size, and the unit of both.",
                where=say.at(item.centre_m),
                key=item.key,
                given=f"{say.mass(item.mass_kg)} in {say.volume(item.volume_m3)}",
                allowed=f"{say.density(low)} to {say.density(high)}",
                severity="warning",
            )


def _wishes(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    water = vessel.water_density_kg_m3
    lead, foam = vessel.wishes.lead_density_kg_m3, vessel.wishes.foam_density_kg_m3
    for name, density, (low, high), impossible in (
        ("Lead", lead, LEAD_KG_M3, not lead > water),
        ("Foam", foam, FOAM_KG_M3, not 0.0 < foam < water),
    ):
        if impossible or not low <= density <= high:
            yield Advice(
                what=f"{name} of {say.density(density)} {'cannot work' if impossible else 'is unusual'}.",
                todo=f"Check the density of the {name.lower()} and its unit.",
                key=f"trim.{name.lower()}.density",
                given=say.density(density),
                allowed=f"{say.density(low)} to {say.density(high)}",
                severity="error" if impossible else "warning",
            )


def _balance(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    """Mass against what she displaces at her waterline and in all, tanks empty."""
    if not math.isfinite(vessel.waterline_m):
        return
    water = vessel.water_density_kg_m3
    mass = sum(item.mass_kg for item in _weighed(vessel))
    whole, under = displacing_volume(vessel)
    if mass > water * whole:
        yield Advice(
            what=f"Tanks empty, she is {say.mass(mass - water * whole)} heavier than all she can displace.",
            todo="Check masses and volumes; else take weight out or put foam in.",
            given=say.mass(mass),
            allowed=f"less than {say.mass(water * whole)}",
            severity="warning",
        )
    elif under > 0.0 and not MASS_SHARE[0] <= mass / (water * under) <= MASS_SHARE[1]:
        yield Advice(
            what=f"She weighs {mass / (water * under):.2f} times what she displaces at her waterline.",
            todo="Check the units of hull and masses, the skin's thickness and the waterline.",
            given=say.mass(mass),
            allowed=f"about {say.mass(water * under)}",
            severity="warning",
        )


def _weighed(vessel: Vessel) -> list[Item]:
    return [item for item in vessel.items if item.mass_kg > 0.0 and item.name not in vessel.unweighed]


def _guesses(vessel: Vessel, say: Speech) -> Iterator[Advice]:
    weighed = _weighed(vessel)
    total = sum(item.mass_kg for item in weighed)
    guessed = sorted((i for i in weighed if i.known == "guess"), key=lambda i: (-i.mass_spread_kg, i.name))
    if not guessed:
        return
    share = sum(item.mass_kg for item in guessed) / total
    named = ", ".join(_guess(item, total, say) for item in guessed[:GUESSES_NAMED])
    more = len(guessed) - GUESSES_NAMED
    yield Advice(
        what=f"{share:.0%} of the mass is guessed: {named}{f' and {more} more' if more > 0 else ''}.",
        todo=f"Weigh '{guessed[0].name}' first: it is the least certain.",
        key=f"{guessed[0].key}.mass" if guessed[0].key else "",
        given="known = guess",
        allowed="weighed where it matters",
        severity="warning",
    )


def _guess(item: Item, total: float, say: Speech) -> str:
    spread = say.mass(item.mass_spread_kg)
    return f"'{item.name}' {say.mass(item.mass_kg)} +/- {spread} ({item.mass_kg / total:.0%})"


def displacing_volume(vessel: Vessel) -> tuple[float, float]:
    """Material, sealed volume and empty tanks outside dry parts [m3]: in all, and under the waterline."""
    solids = [item.solid for item in vessel.items if item.solid is not None and item.solid.surfaces]
    solids += [tank.solid for tank in vessel.tanks if not tank.inside]
    if not solids:
        return 0.0, 0.0
    laid_out, _ = forest(solids)
    under = cut(laid_out, np.array([0.0, 0.0, 1.0]), vessel.waterline_m)
    return sum(solid.volume for solid in solids), under.volume
