"""A leak as a builder types it: drops a minute, a hole, a long bore, or the gap round a shaft."""

import re
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import Dimension, UnitError, parse
from dabchick.studies.leak_source import A_DRIP, DROP_M3, LeakWay

_RATE: Final = re.compile(
    r"^\s*(?P<number>[0-9]*\.?[0-9]+)\s*(?P<unit>[^/]*?)\s*(?:(?:/|per)\s*(?P<time>\w+))?\s*$"
)
_TIMES: Final = {
    "s": 1.0,
    "sec": 1.0,
    "min": 60.0,
    "minute": 60.0,
    "h": 3600.0,
    "hour": 3600.0,
    "d": 86400.0,
    "day": 86400.0,
}
_SPAN: Final = re.compile(r"^\s*(?P<number>[0-9]*\.?[0-9]+)\s*(?P<time>[a-z]+)\s*$")
_DRIP: Final = "such as 3/min, 10/h or 9 ml/h"
_HOLE: Final = 'such as 1 mm, or "0.2 mm x 10 mm" for a long thin bore'
_GAP: Final = 'shaft x radial gap x length, such as "4 mm x 0.05 mm x 20 mm"'


def way_of(drip: str | None, hole: str | None, gap: str | None) -> LeakWay:
    """The one leak that was asked for; the usual drip where none was. Raises BoatError."""
    given = {
        key: text.strip()
        for key, text in (("drip", drip), ("hole", hole), ("gap", gap))
        if text and text.strip()
    }
    if not given:
        return A_DRIP
    if len(given) > 1:
        raise BoatError(
            Advice(
                what=f"{' and '.join(given)} stand side by side; one leak is looked at at a time.",
                todo="Leave all but one empty.",
                key=list(given)[-1],
                given=", ".join(given.values()),
            )
        )
    [(key, text)] = given.items()
    if key == "drip":
        return LeakWay("drip", drops_per_min=_drops(text))
    sizes = _sizes(key, text)
    if key == "hole" and len(sizes) == 1:
        return LeakWay("hole", diameter_m=sizes[0])
    if key == "hole" and len(sizes) == 2:
        return LeakWay("bore", diameter_m=sizes[0], length_m=sizes[1])
    if key == "gap" and len(sizes) == 3:
        return LeakWay("gap", diameter_m=sizes[0], gap_m=sizes[1], length_m=sizes[2])
    raise BoatError(_unread(key, text))


def seconds_of(text: str | None, key: str) -> float | None:
    """A span of time [s], such as `20 min` or `2 h`; None stays None. Raises BoatError."""
    if text is None or not text.strip():
        return None
    found = _SPAN.match(text.lower())
    unit = _time(found["time"]) if found else None
    if found is None or unit is None:
        raise BoatError(
            Advice(
                what=f"'{text}' is no span of time.",
                todo="Give a number with its unit.",
                key=key,
                given=text,
                allowed="such as 20 min or 2 h",
            )
        )
    return float(found["number"]) * unit


def si_of(text: str | None, dimension: Dimension, key: str) -> float | None:
    """A figure as typed in SI; None where nothing is typed. Raises BoatError."""
    if text is None or not text.strip():
        return None
    try:
        return parse(text.strip(), dimension)
    except UnitError as fault:
        raise BoatError(
            Advice(what=fault.what, todo=fault.todo, key=key, given=text, allowed=fault.allowed)
        ) from fault


def _time(word: str) -> float | None:
    return _TIMES.get(word, _TIMES.get(word.removesuffix("s")))


def _drops(text: str) -> float:
    """Drops a minute, from drops or a volume in any time."""
    found = _RATE.match(text.lower())
    span = _time(found["time"]) if found and found["time"] else 60.0
    if found is None or span is None:
        raise BoatError(_unread("drip", text))
    number, unit = float(found["number"]), found["unit"]
    if unit in ("", "drop", "drops"):
        return number * 60.0 / span
    if not found["time"]:
        raise BoatError(_unread("drip", text))
    try:
        volume = parse(f"{number!r} {unit}", "volume")
    except UnitError as fault:
        raise BoatError(_unread("drip", text)) from fault
    return volume / DROP_M3 * 60.0 / span


def _sizes(key: str, text: str) -> list[float]:
    try:
        return [parse(part.strip(), "length") for part in re.split(r"\s*[x×]\s*", text)]
    except UnitError as fault:
        raise BoatError(_unread(key, text)) from fault


def _unread(key: str, text: str) -> Advice:
    allowed = {"drip": _DRIP, "hole": _HOLE, "gap": _GAP}[key]
    return Advice(
        what=f"'{text}' cannot be read as a {key}.",
        todo="Write it with its units.",
        key=key,
        given=text,
        allowed=allowed,
    )
