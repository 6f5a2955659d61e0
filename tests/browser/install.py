"""Installs Chromium for the browser tests where that may be done: Debian and its kin, as root. Else says what to do."""

import os
import shutil
import subprocess
import sys

from tests.browser import chromium

UPDATE = ("apt-get", "update", "-qq")
INSTALL = ("apt-get", "install", "-y", "-qq", "--no-install-recommends")
PACKAGES = ("chromium-headless-shell", "chromium")
"""The first draws without a window round the page, which takes a quarter less time; where there is none, the second."""


def main() -> int:
    if chromium.found():
        return 0
    may = (
        shutil.which("apt-get")
        and hasattr(os, "geteuid")
        and os.geteuid() == 0
        and chromium.CHOICE not in os.environ
    )
    if may:
        print("Installing Chromium for the browser tests", flush=True)
        environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for command in (UPDATE, *((*INSTALL, package) for package in PACKAGES)):
            done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
            if done.returncode:
                last = done.stderr.strip().splitlines()[-1:] or ["it did not say why"]
                print(f"{' '.join(command)} failed: {last[0]}", file=sys.stderr)
            if chromium.found():
                break
    if chromium.found():
        return 0
    print(chromium.MISSING, file=sys.stderr)
    return 1 if chromium.must_be_there() else 0


if __name__ == "__main__":
    sys.exit(main())
