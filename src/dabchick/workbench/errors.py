"""One error shape for everything: whatever goes wrong leaves the server as advice."""

import logging
from collections.abc import Sequence
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench.shapes.advice import AdviceOut, Refusal

log = logging.getLogger("dabchick.workbench")

REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"model": Refusal, "description": "Not to be understood"},
    401: {"model": Refusal, "description": "Not paired"},
    403: {"model": Refusal, "description": "Wrong host or origin, or for the laptop alone"},
    404: {"model": Refusal, "description": "No such thing"},
    409: {"model": Refusal, "description": "Changed meanwhile"},
    413: {"model": Refusal, "description": "Too large"},
    415: {"model": Refusal, "description": "Wrong kind of content"},
    422: {"model": Refusal, "description": "Something has to be put right"},
    429: {"model": Refusal, "description": "Too much at once"},
    500: {"model": Refusal, "description": "The workbench's own fault"},
}
"""Stands in the OpenAPI document beside every answer."""

OWN_FAULT = Advice(
    what="The workbench made a mistake here; your boat's files are as they were.",
    todo="Try it once more. If it comes back, report it with the lines that the server printed.",
)


class Refused(BoatError):  # noqa: N818 - an answer, not a fault
    """Advice that leaves with its own HTTP status."""

    def __init__(self, status: int, *advice: Advice) -> None:
        super().__init__(*advice)
        self.status = status


class NotThere(Refused):
    """No such thing under this id or name."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(404, Advice(what=what, todo=todo))


def body(advice: Sequence[Advice]) -> dict[str, Any]:
    """The error shape as JSON values."""
    return Refusal(advice=[AdviceOut.of(entry) for entry in advice]).model_dump()


def answer(status: int, advice: Sequence[Advice], headers: dict[str, str] | None = None) -> JSONResponse:
    """An answer in the error shape."""
    return JSONResponse(body(advice), status_code=status, headers=headers)


def install(app: FastAPI) -> None:
    """Turn every error of the app into the error shape."""

    @app.exception_handler(BoatError)
    async def of_boat(request: Request, fault: BoatError) -> JSONResponse:
        status = getattr(fault, "status", 422)
        return answer(status if isinstance(status, int) else 422, fault.advice)

    @app.exception_handler(RequestValidationError)
    async def of_request(request: Request, fault: RequestValidationError) -> JSONResponse:
        return answer(422, [_misfit(entry) for entry in fault.errors()])

    @app.exception_handler(HTTPException)
    async def of_http(request: Request, fault: HTTPException) -> JSONResponse:
        headers = dict(fault.headers) if fault.headers else None
        return answer(fault.status_code, [_plain(fault.status_code, request)], headers)

    @app.exception_handler(Exception)
    async def of_our_own(request: Request, fault: Exception) -> JSONResponse:
        # The server prints the traceback itself once this answer is under way; it never reaches the page.
        return answer(500, [OWN_FAULT])


def _plain(status: int, request: Request) -> Advice:
    path = request.url.path
    if status == 404:
        return Advice(
            what=f"There is nothing at {path}.",
            todo="Go back to the shelf and open the boat again.",
            where=path,
        )
    if status == 405:
        return Advice(
            what=f"{request.method} is not possible at {path}.", todo="Load the page again.", where=path
        )
    return Advice(
        what="The workbench could not understand what was asked.", todo="Load the page again.", where=path
    )


_BAD_JSON = "json_invalid"


def _misfit(entry: dict[str, Any]) -> Advice:
    """One of the framework's own findings, naming the field."""
    place = [part for part in entry.get("loc", ()) if part not in ("body", "query", "path", "header")]
    key = ""
    for part in place:
        key += f"[{part}]" if isinstance(part, int) else f".{part}" if key else str(part)
    if entry.get("type") == _BAD_JSON:
        return Advice(what="What was sent is not whole JSON.", todo="Load the page again.", where="request")
    message = str(entry.get("msg", "not allowed"))
    given = entry.get("input")
    plain = given if isinstance(given, str | int | float | bool) else None
    return Advice(
        what=f"{key or 'The request'}: {message[:1].lower()}{message[1:]}.",
        todo=f"Correct {key or 'it'} and send it again.",
        where="request",
        key=key,
        given="" if plain is None else str(plain)[:80],
    )
