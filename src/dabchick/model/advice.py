"""Advice: what is wrong, where, what is allowed and what to do next. One shape for every face."""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning"]


@dataclass(frozen=True)
class Advice:
    """One thing the builder should know; an error stops the work, a warning goes with the result."""

    what: str
    """The mistake in one sentence."""
    todo: str
    """What to do next, in one sentence."""
    where: str = ""
    """`file:line`, or coordinates in the builder's own datum."""
    key: str = ""
    """Dotted key in the boat file, such as `part[3].mass`."""
    given: str = ""
    allowed: str = ""
    severity: Severity = "error"

    def __str__(self) -> str:
        head = ": ".join(part for part in (self.where, self.key) if part)
        facts = "; ".join(
            text
            for text in (
                f"given {self.given}" if self.given else "",
                f"allowed: {self.allowed}" if self.allowed else "",
            )
            if text
        )
        body = f"{self.what}{f' ({facts})' if facts else ''} {self.todo}"
        return f"{head}: {body}" if head else body


class BoatError(Exception):
    """All the mistakes found at once; `advice` holds at least one entry of severity error."""

    def __init__(self, *advice: Advice) -> None:
        self.advice = advice
        super().__init__("\n".join(str(entry) for entry in advice))
