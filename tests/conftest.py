"""What every test stands on."""

import os
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="session")
def own_hull_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Prepared hulls go to a folder of the run's own, not to the builder's."""
    before = os.environ.get("DABCHICK_CACHE")
    os.environ["DABCHICK_CACHE"] = str(tmp_path_factory.mktemp("hulls"))
    yield
    if before is None:
        del os.environ["DABCHICK_CACHE"]
    else:
        os.environ["DABCHICK_CACHE"] = before
