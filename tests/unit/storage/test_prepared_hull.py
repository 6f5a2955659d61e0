"""Prepared hulls: the same boat with and without, and nothing lost when the cache is stale, broken or shut."""

from pathlib import Path

import pytest

from dabchick.storage import prepared_hull
from dabchick.storage.folder import open_boat
from dabchick.studies import afloat
from dabchick.studies.result import as_json
from tests.support.sample_boat import write_boat


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setenv("DABCHICK_CACHE", str(folder))
    return folder


def figures(folder: Path) -> object:
    return as_json(afloat.run(open_boat(folder).vessel))


def test_second_opening_takes_the_kept_hull_and_gives_the_same_digits(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_boat(tmp_path / "boat")
    first = figures(folder)
    assert len(list(cache.glob("*.hull"))) == 1
    monkeypatch.setattr("dabchick.storage.checked._read_hull", None)  # reading afresh would now fail
    assert figures(folder) == first


def test_another_skin_or_another_file_is_another_hull(tmp_path: Path, cache: Path) -> None:
    folder = write_boat(tmp_path / "boat")
    boat = folder / "boat.toml"
    figures(folder)
    boat.write_text(boat.read_text().replace('thickness = "2 mm"', 'thickness = "3 mm"'))
    figures(folder)
    assert len(list(cache.glob("*.hull"))) == 2


@pytest.mark.parametrize("content", [b"", b"not a hull", b"\x80\x05N."])
def test_broken_keepsake_is_made_afresh(tmp_path: Path, cache: Path, content: bytes) -> None:
    folder = write_boat(tmp_path / "boat")
    first = figures(folder)
    (kept,) = cache.glob("*.hull")
    kept.write_bytes(content)
    assert figures(folder) == first


def test_shut_cache_costs_only_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_boat(tmp_path / "boat")
    monkeypatch.setenv("DABCHICK_CACHE", "off")
    first = figures(folder)
    in_the_way = tmp_path / "file"
    in_the_way.write_text("a file where the folder should be")
    monkeypatch.setenv("DABCHICK_CACHE", str(in_the_way))
    assert figures(folder) == first


def test_only_the_latest_hulls_are_kept(cache: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(prepared_hull, "MOST_KEPT", 1)
    folder = write_boat(tmp_path / "boat")
    figures(folder)
    boat = folder / "boat.toml"
    boat.write_text(boat.read_text().replace('thickness = "2 mm"', 'thickness = "3 mm"'))
    figures(folder)
    assert len(list(cache.glob("*.hull"))) == 1
