"""What is asked of `drain` in words: times, rates of tanks, the limit; read alike for every face."""

import re
from collections.abc import Mapping
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitError, parse

_UNITS_S: Final = {"s": 1.0, "sec": 1.0, "min": 60.0, "h": 3600.0}
_TIME: Final = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*([a-z]+)\s*")


def seconds_of(text: str | None, key: str) -> float | None:
    """A time such as `20 s` or `2 min` in seconds; None for nothing. Raises BoatError."""
    if text is None or not text.strip():
        return None
    found = _TIME.fullmatch(text)
    if found is None or found[2] not in _UNITS_S:
        raise BoatError(
            Advice(
                what="This is no time.",
                todo='Write a number with its unit, such as "20 s".',
                key=key,
                given=text,
                allowed=", ".join(_UNITS_S),
            )
        )
    return float(found[1]) * _UNITS_S[found[2]]


def rates_of(texts: Mapping[str, str], key: str) -> dict[str, float]:
    """Rates [m3/s] by tank from texts such as `20 ml/s`. Raises BoatError with all that cannot be read."""
    rates, faults = {}, []
    for name, text in texts.items():
        volume, _, time = text.partition("/")
        try:
            if time.strip() not in _UNITS_S:
                raise UnitError("This is no rate.", "ml/s, l/min", 'Write it like "20 ml/s".')
            rates[name] = parse(volume.strip(), "volume") / _UNITS_S[time.strip()]
        except UnitError as fault:
            faults.append(
                Advice(
                    what=f"The rate of {name} cannot be read: {fault.what}",
                    todo='Write a volume over a time, such as "20 ml/s" or "1 l/min".',
                    key=key,
                    given=text,
                    allowed="ml/s, l/min",
                )
            )
    if faults:
        raise BoatError(*faults)
    return rates
