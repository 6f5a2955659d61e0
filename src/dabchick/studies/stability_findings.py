"""What a builder must know of the way down and up, as warnings."""

import math
from collections.abc import Sequence

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.studies.leap import leap
from dabchick.studies.loading import OPEN_BOTTOMED
from dabchick.studies.stability_result import Attitude, DiveEvent, Stage, Way

_WAYS: dict[Way, str] = {"down": "Going down", "up": "Coming up"}
_FAR_OVER_DEG = 60.0
_LOW = "Put weight lower or foam higher"


def findings(
    vessel: Vessel,
    down: Sequence[Stage],
    up: Sequence[Stage],
    events: Sequence[DiveEvent],
    *,
    neutral: bool,
) -> list[Advice]:
    """Jumps and lolls, no hold, a centre of gravity over that of buoyancy, sinking, air that may be lost."""
    found = [_jump(event) for event in events if event.kind == "jump"]
    found += _lolls(down, up, events)
    stages = (*down, *up)
    if neutral:
        found.append(
            _warning(
                "At some fill nothing holds her against some small turn: she rests at any such angle.",
                f"{_LOW}, or weight off the axis of round bodies.",
            )
        )
    worst = min(stages, key=lambda stage: stage.under.bg_m.value)
    if worst.under.bg_m.value <= 0.0:
        found.append(
            _warning(
                f"Held wholly under with {_fills(worst.lie.fills)} her centre of gravity stands "
                f"{-worst.under.bg_m.value * 1000:.1f} mm above her centre of buoyancy.",
                f"{_LOW}, or she rolls over when dived.",
            )
        )
    if down and down[-1].lie.condition == "sinks":
        found.append(
            _warning(
                f"At the end of the way down she is {-down[-1].lie.lift_kg.value * 1000:.0f} g too heavy and sinks.",
                "Take out weight, add foam, or fill the tanks less.",
            )
        )
    open_below = [tank.name for tank in vessel.tanks if tank.system in OPEN_BOTTOMED]
    if open_below and any(_leaning(stage) > _FAR_OVER_DEG for stage in stages):
        found.append(
            _warning(
                f"She lies more than {_FAR_OVER_DEG:.0f} degrees over on the way; air of {', '.join(open_below)} "
                "may then get out below and water in, which is not followed.",
                "Count on no lift from that air; see to it that she does not go over.",
            )
        )
    if not all(stage.arms.settled for stage in stages):
        found.append(
            _warning(
                "At some heel she did not come to rest in trim, so that arm is not certain.",
                "Look at the righting arms of that stage before you trust them.",
            )
        )
    return found


def _warning(what: str, todo: str) -> Advice:
    return Advice(what=what, todo=todo, severity="warning")


def _fills(fills: dict[str, float]) -> str:
    return ", ".join(f"{name} {100.0 * share:.0f} % full" for name, share in fills.items())


def _lies(where: Attitude) -> str:
    side = "starboard" if where.heel_deg >= 0.0 else "port"
    end = "bow up" if where.trim_deg >= 0.0 else "bow down"
    return f"{abs(where.heel_deg):.0f} degrees to {side}, {abs(where.trim_deg):.0f} degrees {end}"


def _jump(event: DiveEvent) -> Advice:
    seen = leap(event.before, event.after)
    if seen in ("down", "up"):
        return _warning(
            f"{_WAYS[event.way]}, with {_fills(event.fills)}, she "
            f"{'drops' if seen == 'down' else 'rises'} all at once.",
            "Fill and blow in small steps there; `dabchick squeeze` says what depth takes from air in open tanks.",
        )
    return _warning(
        f"{_WAYS[event.way]}, with {_fills(event.fills)}, she goes over from {_lies(event.before)} "
        f"to {_lies(event.after)}.",
        f"{_LOW}, or fill the tanks in another order.",
    )


def _lolls(down: Sequence[Stage], up: Sequence[Stage], events: Sequence[DiveEvent]) -> list[Advice]:
    """Where she cannot stay upright, told once."""
    found: list[Advice] = []
    for way, stages in (("down", down), ("up", up)):
        lolling = [stage for stage in stages if math.isfinite(stage.arms.loll_deg)]
        forks = [event for event in events if event.kind == "fork" and event.way == way]
        if not lolling and not forks:
            continue
        if way == "up" and found:
            break
        if lolling:
            most = max(lolling, key=lambda stage: abs(stage.arms.loll_deg))
            what = (
                f"{_WAYS[most.way]}, with {_fills(most.lie.fills)}, she cannot stay upright and lies "
                f"{abs(most.arms.loll_deg):.1f} degrees over to one side or the other."
            )
        else:
            what = (
                f"{_WAYS[forks[0].way]}, with {_fills(forks[0].fills)}, the rest she is in loses its hold or "
                "others part from it: a touch decides where she goes."
            )
        found.append(_warning(what, f"{_LOW}; smaller free surfaces in the tanks help too."))
    return found


def _leaning(stage: Stage) -> float:
    return math.degrees(math.acos(max(-1.0, min(1.0, stage.lie.normal[2]))))
