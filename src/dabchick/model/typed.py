"""What was typed into a field, in SI: nothing typed is None, and what cannot be read is advice at its key."""

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, parse


def si_of(text: str | None, dimension: Dimension, key: str) -> float | None:
    """One figure; units as in `units.parse`. Raises BoatError."""
    return si_all((key, text, dimension))[0]


def si_all(*asked: tuple[str, str | None, Dimension]) -> list[float | None]:
    """Several, each as (key, text, dimension). Raises one BoatError with all that cannot be read."""
    values: list[float | None] = []
    faults = []
    for key, text, dimension in asked:
        try:
            values.append(parse(text.strip(), dimension) if text is not None and text.strip() else None)
        except UnitError as fault:
            faults.append(
                Advice(what=fault.what, todo=fault.todo, key=key, given=text or "", allowed=fault.allowed)
            )
    if faults:
        raise BoatError(*faults)
    return values
