"""Words that every study says alike: the boat's own assumptions and warnings, and what is left out."""

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel

BALANCE_METHOD = (
    "least potential energy in immersion, heel and trim; every closed surface and tank cut exactly by the water, "
    "Newton with the exact waterplane stiffness"
)
BALANCE_VALIDITY = "still water, rigid parts, free-flooding spaces drained or flooded to the water outside"
BALANCE_SOURCES = (
    "Archimedes' principle; energy criterion as in Gilbert, How things float, Amer. Math. Monthly 98 (1991)",
)


def assumptions(vessel: Vessel, *more: str) -> tuple[str, ...]:
    """The boat's own assumed values, then the study's."""
    return (*vessel.assumptions, *more)


def warnings(vessel: Vessel, *more: Advice) -> tuple[Advice, ...]:
    """What the boat's reader warned of, the parts left out for want of a mass, then the study's own."""
    left_out = (
        (
            Advice(
                what=f"Left out of every sum for want of a mass: {', '.join(vessel.unweighed)}.",
                todo='Weigh them, or give a guess with `known = "guess"`.',
                key="part",
                severity="warning",
            ),
        )
        if vessel.unweighed
        else ()
    )
    own = tuple(entry for entry in vessel.advice if entry.severity == "warning")
    return (*own, *left_out, *more)
