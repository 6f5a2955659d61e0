"""A leak as a builder types it: drops a minute, a hole, a long bore, or the gap round a shaft."""

import re
from typing import Final

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import UnitError, parse
from dabchick.studies.leak_source import A_DRIP, DROP_M3, LeakWay

_DROPS: Final = re.compile(r"(?P<number>\d+\.?\d*|\.\d+)\s*(?:drops?)?\s*(?:(?:/|per)\s*(?P<time>[a-z]+))?")
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


def _drops(text: str) -> float:
    """Drops a minute, from drops in any time (a minute without one) or from a flow."""
    found = _DROPS.fullmatch(text.strip().lower())
    try:
        if found is None:
            return parse(text.replace(" per ", "/"), "flow") / DROP_M3 * 60.0
        return float(found["number"]) * 60.0 / parse(f"1 {found['time'] or 'min'}", "time")
    except UnitError as fault:
        raise BoatError(_unread("drip", text)) from fault


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
