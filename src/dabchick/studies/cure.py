"""`cure`: what to change so that she keeps the limits on the whole way, computed and proven.

Every piece of lead and foam in every free place, every part along its rail, new lead low with new foam high: what each
does to GM at every fill that matters is taken to first order from the energy, the fewest and lightest set is chosen by
a linear programme that holds both trims, and the answer is set right by full equilibria until they agree. Beside it
stand the best single move, a trim afresh with a larger BG, and a heavy part set lower. Each is proven by following
her down and up again.
"""

from collections.abc import Callable
from typing import Final

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.physics.equilibrium import sinks
from dabchick.studies import stability
from dabchick.studies.common import BALANCE_SOURCES, BALANCE_VALIDITY, assumptions, warnings
from dabchick.studies.criteria import judge
from dabchick.studies.cure_result import Cure, CureResult, Lever, Reason
from dabchick.studies.cure_search import Search, figure_of
from dabchick.studies.cure_steps import ranked
from dabchick.studies.cure_trims import untrimmed
from dabchick.studies.dive_path import DivePath
from dabchick.studies.levers import levers
from dabchick.studies.limits import Limits, usual_limits
from dabchick.studies.loading import load

Tell = Callable[[str, float], None]


def run(
    vessel: Vessel,
    limits: Limits | None = None,
    *,
    path: DivePath | None = None,
    again: bool = True,
    tell: Tell | None = None,
) -> CureResult:
    """Cures from the best on; `again` also tries a trim afresh. Raises BoatError where she cannot be followed.

    `tell(text, share)` is called on the way; an exception raised in it (a cancel) ends the work.
    """
    say = tell or (lambda text, share: None)
    limits = limits or usual_limits(vessel)
    say("Following her down and up", 0.0)
    before = stability.run(vessel, path)
    verdict = judge(vessel, before, limits)
    search = Search(vessel, limits, before, verdict)
    wanted = search.worst_wanted()
    if verdict.kept:
        return _told(search, (), levers(vessel, search.weakest(), wanted), "kept")
    if sinks(load(vessel, 0.0).balance):
        return _told(search, (), (), "sinks")
    found: list[Cure] = []
    say("Trying each single move", 0.15)
    found += search.best_single()
    say("Choosing the fewest changes", 0.3)
    few, reason = search.fewest()
    found += few
    say("Lowering what is heavy and high", 0.55)
    able = levers(vessel, search.weakest(), wanted)
    found += search.lower(able)
    if again:
        say("Trimming her afresh with more BG", 0.65)
        found += search.again(lambda share: say("Trimming her afresh with more BG", 0.65 + 0.35 * share))
    return _told(search, ranked(found), able, reason)


def _told(search: Search, cures: tuple[Cure, ...], able: tuple[Lever, ...], reason: Reason) -> CureResult:
    """The answer; a reason stands only where no cure keeps limits and trims."""
    vessel = search.vessel
    if any(cure.kept and cure.keeps_trims for cure in cures):
        reason = ""
    elif not reason or (reason == "others" and not any(_gm_kept(cure) for cure in cures)):
        reason = "edge" if cures else "others"
    gm = figure_of(search.verdict, "gm_least").value
    bg = figure_of(search.verdict, "bg").value
    return CureResult(
        boat=vessel.name,
        method=(
            "first-order effects from the energy with its third derivatives, mixed-integer linear programme "
            "(HiGHS) over all moves that keep both trims, set right by full equilibria; proven by following her "
            "down and up again"
        ),
        sources=BALANCE_SOURCES,
        validity=BALANCE_VALIDITY,
        assumptions=assumptions(
            vessel,
            "lead and foam are boxes of even density; they go to the builder's free places or to free room found",
        ),
        warnings=warnings(vessel, *([_TRIM_FIRST] if untrimmed(vessel, search.trims) else [])),
        verdict=search.verdict,
        cures=cures,
        levers=able,
        reason=reason,
        text=_REASONS[reason],
        best_gm_m=max([gm, *(cure.least_gm_after_m.value for cure in cures if cure.keeps_trims)]),
        best_bg_m=max([bg, *(cure.bg_after_m.value for cure in cures if cure.keeps_trims)]),
    )


_TRIM_FIRST: Final = Advice(
    what="She does not float on her waterline and hang level yet, so her cures hold for the boat as she is.",
    todo="Trim her first (`dabchick trim`), or take the trim afresh with more BG where it stands among the cures.",
    key="trim",
    severity="warning",
)
_REASONS: Final[dict[Reason, str]] = {
    "": "",
    "kept": "No limit is missed, so there is nothing to cure.",
    "sinks": "She sinks with her tanks empty; take out weight or add foam first.",
    "no means": (
        "There is no lead or foam to move, no part on a rail and no free place for more, so nothing can be tried "
        "without changing the boat."
    ),
    "room": "Even without regard to either trim, all free room and every rail together are not enough.",
    "trims": (
        "The lead and foam that the limits ask for would spoil the draught, the trim or the lift: no set of changes "
        "reaches the limits and keeps both trims."
    ),
    "edge": (
        "The limits lie just beyond what the free room and the trims allow: by the linear programme they are within "
        "reach, by full equilibria they are not."
    ),
    "others": "GM can be raised enough, but another limit is still missed on the way.",
}


def _gm_kept(cure: Cure) -> bool:
    return all(entry.mark != "fail" for entry in cure.criteria if entry.key in ("gm_every", "gm_least", "bg"))
