"""Earlier versions: named by time, oldest first, never more than the limit."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from dabchick.model.advice import BoatError
from dabchick.storage import history

NOON = datetime(2030, 1, 31, 12, 0, tzinfo=UTC)


def test_named_by_time(tmp_path: Path) -> None:
    copy = history.keep(tmp_path / "boat.toml", b"one", NOON)
    assert copy == tmp_path / ".history" / "boat-20300131T120000.000000Z.toml"
    assert copy.read_bytes() == b"one"


def test_oldest_go_first(tmp_path: Path) -> None:
    for second in range(history.MOST + 3):
        history.keep(tmp_path / "boat.toml", str(second).encode(), NOON + timedelta(seconds=second))
    kept = [copy.read_bytes() for copy in history.versions(tmp_path / "boat.toml")]
    assert kept == [str(second).encode() for second in range(3, history.MOST + 3)]


def test_folder_in_the_way(tmp_path: Path) -> None:
    (tmp_path / ".history").write_bytes(b"a file")
    with pytest.raises(BoatError):
        history.keep(tmp_path / "boat.toml", b"one")
