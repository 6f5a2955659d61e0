"""The demo boat on a shelf, and the workbench on it as the laptop's own browser asks it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from dabchick.storage.new_boat import write_demo
from dabchick.workbench.site import Site
from tests.support.workbench import served, settings


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    write_demo(tmp_path / "wren", "Wren", "metric")
    return tmp_path


@pytest.fixture
def laptop(shelf: Path) -> Iterator[TestClient]:
    with served(Site(settings(shelf), shelf)) as client:
        yield client
