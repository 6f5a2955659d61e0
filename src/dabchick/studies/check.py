"""Check: does all of it fit, and do the figures make sense, before any other question is asked."""

from dataclasses import dataclass

from dabchick.model.advice import Advice
from dabchick.model.vessel import Vessel
from dabchick.studies.check_figures import figure_findings
from dabchick.studies.check_fit import Clash, fit_findings
from dabchick.studies.check_hull import hull_findings
from dabchick.studies.result import StudyResult
from dabchick.studies.shared_room import LEAST_THICKNESS_M, LEAST_VOLUME_M3, SEGMENTS

__all__ = ["CheckResult", "Clash", "run"]


@dataclass(frozen=True, kw_only=True)
class CheckResult(StudyResult):
    """What does not fit and what cannot be right."""

    findings: tuple[Advice, ...]
    """Errors first."""
    clashes: tuple[Clash, ...]
    """Parts and tanks that share room, the largest first."""
    error_count: int
    warning_count: int


def run(vessel: Vessel) -> CheckResult:
    """All that does not fit or cannot be right in this boat, each with its place and what to do."""
    fit, clashes = fit_findings(vessel)
    findings = [*figure_findings(vessel), *hull_findings(vessel), *fit]
    findings.sort(key=lambda entry: entry.severity != "error")
    errors = sum(entry.severity == "error" for entry in findings)
    return CheckResult(
        boat=vessel.name,
        method="Boolean operations on closed polyhedra for fit; sums and cuts of the solids for figures",
        sources=(),
        validity=(
            f"Round bodies are polyhedra of {SEGMENTS} sides; shared room under {LEAST_VOLUME_M3 * 1e6:g} ml "
            f"or under {LEAST_THICKNESS_M * 1e3:g} mm in mean thickness counts as contact. "
            "Boat level; movable parts are tried at both ends of their way, one at a time."
        ),
        assumptions=vessel.assumptions,
        warnings=vessel.advice,
        findings=tuple(findings),
        clashes=clashes,
        error_count=errors,
        warning_count=len(findings) - errors,
    )
