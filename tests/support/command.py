"""The command line as a builder calls it, in this process or as a process of its own."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from dabchick.cli.app import run

SOON = ("--gap", "0.3", "--seconds", "60")
"""Options of a search that ends by its gap and never by the clock, so that it gives the same answer every time."""


@dataclass(frozen=True)
class Answer:
    """What a command said and left."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output, which must be one JSON value and nothing else."""
        return json.loads(self.out)

    @property
    def words(self) -> str:
        """Both streams on one line, however the text was broken."""
        return " ".join((self.out + " " + self.err).split())


def dabchick(capsys: pytest.CaptureFixture[str], *arguments: object) -> Answer:
    """Run one command in this process."""
    capsys.readouterr()
    code = run([str(argument) for argument in arguments])
    heard = capsys.readouterr()
    return Answer(code, heard.out, heard.err)


def as_process(*arguments: object, folder: Path | None = None, **environment: str) -> Answer:
    """Run one command as a process of its own, with no terminal."""
    done = subprocess.run(
        [sys.executable, "-c", "from dabchick.cli.main import main; main()", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=folder,
        env={**os.environ, "COLUMNS": "80", "PYTHONUTF8": "1", **environment},
        timeout=600,
        check=False,
    )
    return Answer(done.returncode, done.stdout, done.stderr)
