"""`dabchick`: the doorway of the installed command, ready for Ctrl-C from the first moment."""

import gc
import sys

INTERRUPTED = 130


def main() -> None:
    """Run the command line and leave with its exit code."""
    # A command starts by making a great many lasting objects; looking them all over again and again for rubbish
    # takes a tenth of its time.
    gc.set_threshold(200_000, 50, 50)
    try:
        from dabchick.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        sys.stderr.write("Stopped before the end. Your files are as they were.\n")
        code = INTERRUPTED
    gc.freeze()  # nor need they be looked over once more on the way out
    sys.exit(code)
