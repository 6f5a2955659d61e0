"""Advice as the pages read it; the one error shape of the API."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from dabchick.model.advice import Advice


class Shape(BaseModel):
    """A shape of the API: frozen, no unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class AdviceOut(Shape):
    """One thing the builder should know."""

    what: str
    todo: str
    where: str
    key: str
    given: str
    allowed: str
    severity: Literal["error", "warning"]

    @classmethod
    def of(cls, advice: Advice) -> "AdviceOut":
        return cls(
            what=advice.what,
            todo=advice.todo,
            where=advice.where,
            key=advice.key,
            given=advice.given,
            allowed=advice.allowed,
            severity=advice.severity,
        )


class Refusal(Shape):
    """The body of every answer with an error status."""

    advice: list[AdviceOut]
