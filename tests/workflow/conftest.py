"""What the tests of commands share."""

from pathlib import Path

import pytest

from dabchick.cli.demo import copy_boat


@pytest.fixture
def wren(tmp_path: Path) -> Path:
    """A copy of the demo boat."""
    folder = tmp_path / "wren"
    copy_boat(folder)
    return folder
