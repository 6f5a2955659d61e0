"""Builds the pages of the workbench into a wheel. An editable install needs none of it and skips it."""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).parent
sys.path.insert(0, str(ROOT / "src"))

from dabchick.model.advice import BoatError  # noqa: E402
from dabchick.workbench import bundle  # noqa: E402


class PagesHook(BuildHookInterface):  # type: ignore[type-arg]
    """Sees to it that a wheel carries the pages as they are in its sources."""

    def dependencies(self) -> list[str]:
        """Node as a Python package, where the pages are old and the machine has no Node of its own."""
        if not bundle.stale():
            return []
        try:
            bundle.find_node()
        except BoatError:
            return [f"{bundle.NODE_PACKAGE}>=22.12"]
        return []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build them, unless this is an editable install, which does so when the workbench is first served."""
        if version == "editable":
            return
        bundle.pages()
        # Git ignores the built pages, and hatchling leaves out what git ignores unless it is named.
        build_data["artifacts"].append("/src/dabchick/workbench/pages/")
