"""The way in which the tanks fill, from what a page asks for."""

from collections.abc import Mapping

from dabchick.model.typed import si_all
from dabchick.model.vessel import Vessel
from dabchick.studies import dive_path
from dabchick.studies.dive_path import DivePath
from dabchick.workbench.shapes.stability import StabilityAsk


def path_of(vessel: Vessel, ask: StabilityAsk) -> DivePath:
    """The path of fills asked for. Raises BoatError."""
    if ask.filling == "order":
        return dive_path.in_order(vessel, ask.order)
    if ask.filling == "rates":
        return dive_path.at_rates(vessel, rates_of(ask.rates))
    if ask.filling == "through":
        return dive_path.through(vessel, ask.through)
    return dive_path.together(vessel)


def rates_of(texts: Mapping[str, str]) -> dict[str, float]:
    """Rates [m3/s] by the tank's name; a tank whose text is empty has none. Raises BoatError with all that is wrong."""
    rates = si_all(*((f"rates.{name}", text, "flow") for name, text in texts.items()))
    return {name: rate for name, rate in zip(texts, rates, strict=True) if rate is not None}


def filling_words(vessel: Vessel, ask: StabilityAsk) -> str:
    """How the tanks fill, in words."""
    if len(vessel.tanks) < 2:
        return "her tank from empty to full"
    if ask.filling == "order":
        left = [tank.name for tank in vessel.tanks if tank.name not in ask.order]
        words = ", then ".join([*ask.order, *([" and ".join(left)] if left else [])])
        return f"one tank after the other: {words}"
    if ask.filling == "rates":
        return "each tank at its rate: " + ", ".join(
            f"{name} {text.strip()}" for name, text in ask.rates.items() if text.strip()
        )
    if ask.filling == "through":
        return f"through {len(ask.through)} given fills"
    return "all tanks together"
