"""Short phrases for the stability page."""

from typing import Final

from dabchick.model.vessel import Vessel
from dabchick.report.builder_units import number, with_unit
from dabchick.report.glance_words import angle_words
from dabchick.studies.stability_result import DiveEvent, EventKind, StabilityResult, Way

LEANS_DEG: Final = 5.0
"""From here on nobody calls her upright. Common practice, no source."""
_WAYS: Final[dict[Way, str]] = {"down": "going down", "up": "coming up"}
_LABELS: Final[dict[EventKind, str]] = {
    "fold": "rest ends",
    "fork": "ways part",
    "jump": "goes over",
    "under": "goes under",
    "out": "comes out",
}


def moment_words(way: Way, progress: float) -> str:
    """Such as `45 % in, going down`; with all of it in she turns back, and there is but one way to be."""
    return "100 % in" if progress == 1.0 else f"{number(100.0 * progress, 0)} % in, {_WAYS[way]}"


def event_label(event: DiveEvent) -> str:
    """A word or two for the plot."""
    return _LABELS[event.kind]


def event_words(vessel: Vessel, event: DiveEvent) -> str:
    """What happens, where on the way, and from what to what."""
    where = f"With {moment_words(event.way, event.progress)},"
    before, after = event.before, event.after
    if event.kind == "jump":
        return (
            f"{where} she goes over: from {angle_words('heel', before.heel_deg)} and "
            f"{angle_words('trim', before.trim_deg)} to {angle_words('heel', after.heel_deg)} and "
            f"{angle_words('trim', after.trim_deg)}."
        )
    if event.kind == "fold":
        return f"{where} the rest that she lies in ends."
    if event.kind == "fork":
        return f"{where} her rest loses or regains its hold and others part from it."
    if event.kind == "under":
        return f"{where} nothing of her breaks the surface any more."
    return f"{where} something of her comes out of the water again."


def least_words(vessel: Vessel, result: StabilityResult) -> str:
    """Where she is least stable, and how much is left."""
    least = result.least
    gm = least.lie.gm_transverse_m
    spread = f" ± {with_unit(gm.spread, 'length', vessel.units)}" if gm.spread == gm.spread else ""
    return (
        f"Least stable with {moment_words(least.way, least.progress)}: "
        f"GM {with_unit(gm.value, 'length', vessel.units)}{spread}."
    )


def sentence(vessel: Vessel, result: StabilityResult) -> str:
    """The one plain sentence on top."""
    jumps = [event for event in result.events if event.kind == "jump"]
    stages = [*result.down, *result.up]
    if jumps:
        more = f" (and {len(jumps) - 1} times more)" if len(jumps) > 1 else ""
        return f"She goes over on the way{more}. {event_words(vessel, jumps[0])}"
    over = next((stage for stage in stages if abs(stage.lie.heel_deg.value) > 90.0), None)
    if over is not None:
        return f"She turns over: keel up with {moment_words(over.way, over.progress)}."
    loose = next((stage for stage in stages if not stage.lie.stable), None)
    if loose is not None:
        return f"She does not stay upright by herself with {moment_words(loose.way, loose.progress)}."
    leaning = max(stages, key=lambda stage: abs(stage.lie.heel_deg.value))
    if abs(leaning.lie.heel_deg.value) > LEANS_DEG:
        return (
            f"She never goes over, but lies at {angle_words('heel', leaning.lie.heel_deg.value)} with "
            f"{moment_words(leaning.way, leaning.progress)}. {least_words(vessel, result)}"
        )
    return f"She stays upright all the way down and up. {least_words(vessel, result)}"
