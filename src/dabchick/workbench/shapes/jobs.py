"""Long work: GET /api/jobs/{job} -> JobOut, DELETE /api/jobs/{job} cancels -> JobOut."""

from typing import Literal

from dabchick.workbench.shapes.advice import AdviceOut, Shape


class JobOut(Shape):
    """Where a piece of work stands."""

    job: str
    what: str
    state: Literal["running", "done", "failed", "cancelled"]
    text: str
    """What it is at, in words."""
    share: float
    """0 to 1."""
    advice: list[AdviceOut]
    """Why it failed."""
