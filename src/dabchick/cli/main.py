"""`dabchick`: the doorway of the installed command, ready for Ctrl-C from the first moment."""

import sys

INTERRUPTED = 130


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        from dabchick.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        sys.stderr.write("Stopped before the end. Your files are as they were.\n")
        code = INTERRUPTED
    sys.exit(code)
