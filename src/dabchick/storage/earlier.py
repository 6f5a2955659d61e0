"""An earlier version of a boat, found by her step or name and read as if it stood in the boat file now."""

from pathlib import Path

from dabchick.model.advice import Advice, BoatError
from dabchick.storage.folder import FILE, OpenBoat, decoded, open_text
from dabchick.storage.history import FOLDER
from dabchick.storage.journal import NAME, Journal
from dabchick.storage.past import Step


def open_earlier(file: Path, *, name: str = "", number: int | None = None) -> tuple[OpenBoat, str]:
    """The boat of a named version or a step, and what to call it. Raises BoatError.

    Files that the boat file names, such as her hull, are read as they are now.
    """
    if not (file.parent / FOLDER / NAME).is_file():
        raise BoatError(
            Advice(
                what=f"{file.parent.name} has no earlier versions yet.",
                todo="Versions are kept from the first time she is opened with `dabchick serve`.",
                where=str(file),
            )
        )
    journal = Journal(file)
    step = _named(journal, name) if name else _numbered(journal, number)
    return opened(file, journal.text_of(step.number), called(step)), called(step)


def called(step: Step) -> str:
    """A step for people: its name, or what was done in it."""
    return step.name or f"step {step.number} ({step.what})"


def opened(file: Path, text: str, title: str) -> OpenBoat:
    """The boat that an earlier text describes. Raises BoatError with a word on which version it is."""
    content = text.encode("utf-8", "surrogateescape")
    try:
        return open_text(decoded(content, file), file, content)
    except BoatError as fault:
        raise BoatError(
            Advice(
                what=f"The version '{title}' cannot be read with the files that stand in {file.parent.name} now.",
                todo="Take another version, or put back what the following lines name.",
                where=title,
            ),
            *fault.advice,
        ) from fault


def _named(journal: Journal, name: str) -> Step:
    found = [step for step in journal.steps.values() if step.name.casefold() == name.strip().casefold()]
    if found:
        return found[-1]
    names = ", ".join(f"'{step.name}'" for step in journal.steps.values() if step.name)
    raise BoatError(
        Advice(
            what=f"No version is called '{name}'.",
            todo="Name one of hers, or give --step.",
            key="version",
            given=name,
            allowed=names or "no version has a name yet",
        )
    )


def _numbered(journal: Journal, number: int | None) -> Step:
    step = journal.steps.get(number) if number is not None else None
    if step is None:
        raise BoatError(
            Advice(
                what=f"There is no step {number}.",
                todo=f"Give one of her steps; {FILE} stands at {journal.step.number}.",
                key="step",
                given=str(number),
                allowed=f"{min(journal.steps)} to {max(journal.steps)}",
            )
        )
    return step
