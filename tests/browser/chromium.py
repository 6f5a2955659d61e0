"""The machine's own Chromium: where it is, how it is started, and what is said where there is none."""

import os
import shutil
from typing import Final

NAMES: Final = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
)
CHOICE: Final = "DABCHICK_BROWSER"
ARGUMENTS: Final = (
    # The 3-D view is drawn in software, so that it is the same on every machine and needs no display.
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    # The page around it by the processor, as a browser without a graphics card does of itself.
    "--disable-gpu-rasterization",
    # The browser itself asks nobody for anything either.
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
    "--no-first-run",
)
MISSING: Final = (
    "browser tests skipped: no Chromium here. Install it (Debian: apt-get install chromium-headless-shell), "
    f"or name one in {CHOICE}"
)


def found() -> str | None:
    """Path of the browser: the one that the environment names, else the first on the path. None where there is none."""
    chosen = os.environ.get(CHOICE)
    if chosen:
        return shutil.which(chosen)
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def arguments() -> list[str]:
    """How it is started; without its sandbox only for root, whom it would refuse otherwise."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return [*ARGUMENTS, "--no-sandbox"] if is_root else list(ARGUMENTS)


def must_be_there() -> bool:
    """On a machine that tests every change a missing browser is a failure."""
    return os.environ.get("CI", "").lower() in ("1", "true", "yes")
