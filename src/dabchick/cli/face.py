"""The command line's face: plain text or JSON out, advice and progress on the error stream, exit codes.

Standard output carries the answer and nothing else; whatever is said on the way goes to standard error.
"""

import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from enum import IntEnum
from textwrap import fill
from typing import TYPE_CHECKING, Any

import typer
from rich.console import Console, RenderableType
from rich.text import Text

from dabchick.model.advice import Advice

if TYPE_CHECKING:
    from dabchick.model.vessel import Vessel
    from dabchick.studies.result import StudyResult

MOST_COLUMNS = 100
"""Lines longer than this are hard to read, however wide the window."""


class ExitCode(IntEnum):
    """What the shell is told."""

    FINE = 0
    FINDINGS = 1
    """The work was done; the boat has findings, or the wishes cannot all be kept."""
    WRONG = 2
    """Wrong use of a command, or something in the boat's files that has to be put right first."""
    FAULT = 3
    """A fault in Dabchick itself."""
    INTERRUPTED = 130
    """Stopped by the user."""


class Face:
    """Where one command speaks: `out` for the answer, `err` for progress and advice."""

    def __init__(self, as_json: bool = False) -> None:
        self.as_json = as_json
        self.out = _console(stderr=False)
        self.err = _console(stderr=True)

    @contextmanager
    def busy(self, doing: str) -> Iterator[Callable[[str, float], None]]:
        """Say what is going on while it lasts; only where someone is looking.

        Gives a function (text, share from 0 to 1) for work that can say how far it is.
        """
        if not self.err.is_terminal or self.as_json:
            yield lambda text, share: None
            return
        from dabchick.physics.compiled import compiled_before

        if not compiled_before():
            doing += (
                " (this first time the arithmetic is compiled for your machine, which takes about a minute)"
            )
        with self.err.status(doing, refresh_per_second=4) as status:
            yield lambda text, share: status.update(f"{doing}: {text}, {100.0 * share:.0f} %")

    def say(self, text: str = "") -> None:
        """One paragraph of the answer in plain words."""
        paragraph(self.out, text)

    def show(self, table: RenderableType) -> None:
        """A table of the answer, set off by an empty line."""
        self.out.print()
        self.out.print(table)

    def close(self, result: "StudyResult", vessel: "Vessel") -> None:
        """What goes with every answer: what the study assumed, and its warnings.

        Those that come from the boat file stand in every answer; here they are counted, and `dabchick check`
        and `--json` show them.
        """
        assumed = [text for text in result.assumptions if text not in vessel.assumptions]
        warned = [entry for entry in result.warnings if entry not in vessel.advice]
        self.say()
        self.assumptions(assumed)
        self.warnings(warned)
        notes = len(result.warnings) - len(warned)
        values = len(result.assumptions) - len(assumed)
        besides = [f"{_counted(values, 'assumption')}"] if values else []
        besides += [_counted(notes, "note")] if notes else []
        if besides:
            self.say(f"Besides, {' and '.join(besides)} on the boat file itself: see `dabchick check`.")

    def give_json(self, value: Any) -> None:
        """The whole answer as JSON on standard output."""
        sys.stdout.write(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
        sys.stdout.flush()

    def errors(self, advice: Iterable[Advice], code: ExitCode = ExitCode.WRONG) -> None:
        """All mistakes at once: advice on standard error, or JSON on standard output."""
        entries = tuple(advice)
        if self.as_json:
            self.give_json({"exit_code": int(code), "errors": [advice_as_json(entry) for entry in entries]})
            return
        for entry in entries:
            print_advice(self.err, entry)

    def warnings(self, advice: Iterable[Advice]) -> None:
        """What goes with the answer: printed below it."""
        for entry in advice:
            print_advice(self.out, entry)

    def assumptions(self, texts: Iterable[str]) -> None:
        """Every value that Dabchick assumed."""
        entries = tuple(texts)
        if entries:
            self.say("Assumed:")
            for text in entries:
                paragraph(self.out, text, first="- ", indent="  ")


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def finish(code: ExitCode) -> None:
    """End the command with this exit code."""
    raise typer.Exit(int(code))


def advice_as_json(entry: Advice) -> dict[str, str]:
    """One advice, every field, also the empty ones."""
    return {
        "severity": entry.severity,
        "where": entry.where,
        "key": entry.key,
        "what": entry.what,
        "given": entry.given,
        "allowed": entry.allowed,
        "todo": entry.todo,
    }


def print_advice(console: Console, entry: Advice) -> None:
    """Place, mistake, facts and the next step; the word says how grave it is, the colour only repeats it."""
    grave = entry.severity == "error"
    head = Text("Error" if grave else "Note", style="bold red" if grave else "bold yellow")
    place = "  ".join(part for part in (entry.where, entry.key) if part)
    if place:
        head.append(f"  {place}", style="default")
    console.print(head)
    facts = [f"given: {entry.given}"] if entry.given else []
    facts += [f"allowed: {entry.allowed}"] if entry.allowed else []
    for line in (entry.what, *facts, entry.todo):
        if line:
            paragraph(console, line, first="  ", indent="  ")


def paragraph(console: Console, text: str, *, first: str = "", indent: str = "") -> None:
    """Text broken at spaces to the width at hand; long paths and commands stay whole."""
    broken = fill(
        text,
        width=console.width,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    console.print(Text(broken), soft_wrap=True)


def _console(*, stderr: bool) -> Console:
    console = Console(stderr=stderr, highlight=False, soft_wrap=False)
    if console.width > MOST_COLUMNS:
        console.width = MOST_COLUMNS
    return console
