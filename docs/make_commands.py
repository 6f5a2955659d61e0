"""Write docs/commands.md from the help of the commands; with --check, only say whether it is up to date."""

import sys
from pathlib import Path
from typing import Any

import typer.main

from dabchick.cli.app import COMMANDS, app
from dabchick.cli.face import ExitCode

PAGE = Path(__file__).parent / "commands.md"

HEAD = """# Commands

Made from the commands' own help by `docs/make_commands.py`; do not edit by hand.

A boat is a folder with a `boat.toml` in it. Where a command takes BOAT, give the folder or the file; without
one, the folder you are in is meant. The answer goes to standard output, progress and advice to standard
error. `NO_COLOR` is honoured, and nothing is said by colour alone.

With `--json` standard output is the study's own result as JSON and nothing else: SI units and the house frame
of [frame.md](frame.md), each key ending in its unit, `null` where there is no value, `{"value", "spread"}`
for a figure with one standard deviation. Mistakes come as JSON too: `exit_code` and a list `errors`, each
with `severity`, `where`, `key`, `what`, `given`, `allowed` and `todo`.

## Exit codes

| Code | Meaning |
|---|---|
"""

MEANINGS = {
    ExitCode.FINE: "All went well.",
    ExitCode.FINDINGS: "The command did its work, and the boat has findings: something does not fit, she "
    "sinks or turns over, or the wishes for the trim cannot all be kept.",
    ExitCode.WRONG: "Wrong use of a command, or something in the boat's files that has to be put right "
    "first. Nothing was changed.",
    ExitCode.FAULT: "A fault in Dabchick itself. Please report it.",
    ExitCode.INTERRUPTED: "Stopped with Ctrl-C. Your files are as they were.",
}


def page() -> str:
    """The whole page as Markdown."""
    rows = "".join(f"| {int(code)} | {meaning} |\n" for code, meaning in MEANINGS.items())
    group = typer.main.get_command(app)
    sections = [_section(module.NAME, group) for module in COMMANDS]
    return HEAD + rows + "\n" + "\n".join(sections)


def _section(name: str, group: Any) -> str:
    command = group.commands[name]
    lines = [f"## dabchick {name}", "", " ".join(command.help.split()), ""]
    lines += [
        f"    {command.epilog.removeprefix('Example: ')}",
        "",
        "| Argument or option | What it does |",
        "|---|---|",
    ]
    for entry in command.params:
        text = " ".join((entry.help or "").split())
        if entry.param_type_name == "argument":
            head = f"`{entry.metavar}`"
        else:
            value = "" if entry.is_flag else f" {entry.metavar or entry.name.upper()}"
            head = f"`{', '.join(entry.opts)}{value}`"
            if not entry.is_flag and entry.default is not None and entry.show_default:
                text += f" Usual: `{entry.default}`."
        lines.append(f"| {head} | {text} |")
    return "\n".join(lines) + "\n"


def main() -> int:
    """Write the page, or compare it."""
    wanted = page()
    if "--check" in sys.argv[1:]:
        return int(PAGE.read_text("utf-8") != wanted)
    PAGE.write_text(wanted, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
