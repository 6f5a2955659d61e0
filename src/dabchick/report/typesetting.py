"""Paper and type that all printed documents share; pictures of drawings for those who cannot show an SVG."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final, Literal

import typst

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.atomic import write_atomic

Paper = Literal["a4", "letter"]
PAPERS: Final[dict[str, tuple[float, float]]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height [mm]: ISO 216 and ANSI/ASME Y14.1."""
PIXELS_PER_MM: Final = 10.0
_PICTURE: Final = b"""#set page(width: auto, height: auto, margin: 0mm, fill: white)
#image(bytes(sys.inputs.drawing), format: "svg")
"""


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height [mm] of a paper by name; ValueError for one that is not known."""
    if paper not in PAPERS:
        raise ValueError(f"The paper {paper!r} is not known. Give one of {', '.join(PAPERS)}.")
    return PAPERS[paper]


@cache
def fonts() -> typst.Fonts:
    """The faces that typst carries in itself and no others."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True)


def picture_png(drawing: str, pixels_per_mm: float = PIXELS_PER_MM) -> bytes:
    """A drawing (SVG that states its size) as PNG on white; the same drawing gives the same bytes."""
    made: bytes = typst.compile(
        _PICTURE,
        format="png",
        ppi=25.4 * pixels_per_mm,
        sys_inputs={"drawing": drawing},
        font_paths=fonts(),
        ignore_system_fonts=True,
    )
    return made


def write_all(folder: Path, files: Mapping[str, bytes], what: str) -> list[Path]:
    """Write the files into the folder, made if need be, each whole or not at all; BoatError where it cannot be.

    `what` names them all in the advice, such as `the trim sheet`.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        reason = (fault.strerror or str(fault)).rstrip(".")
        raise BoatError(
            Advice(
                what=f"The folder for {what} could not be made: {reason}.",
                todo="Name a folder that you may write to.",
                where=str(folder),
            )
        ) from fault
    for name, content in files.items():
        write_atomic(folder / name, content)
    return [folder / name for name in files]
