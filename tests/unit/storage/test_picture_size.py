"""Sizes of pictures: as Pillow reads them, from pictures that Pillow writes."""

from pathlib import Path

import pytest
from PIL import Image

from dabchick.storage.picture_size import UNLIMITED, picture_size


@pytest.mark.parametrize(
    ("suffix", "mode", "extra"),
    [
        ("png", "RGB", {}),
        ("png", "L", {}),
        ("jpg", "RGB", {}),
        ("jpg", "L", {"progressive": True, "comment": b"a plan", "dpi": (300, 300)}),
    ],
)
def test_size_is_the_one_that_pillow_reads(
    tmp_path: Path, suffix: str, mode: str, extra: dict[str, object]
) -> None:
    file = tmp_path / f"plan.{suffix}"
    Image.new(mode, (317, 122)).save(file, **extra)
    with Image.open(file) as picture:
        assert picture_size(file) == picture.size == (317, 122)


def test_other_kinds_and_cut_files_limit_nothing(tmp_path: Path) -> None:
    Image.new("L", (30, 20)).save(tmp_path / "plan.bmp")
    assert picture_size(tmp_path / "plan.bmp") == UNLIMITED
    Image.new("L", (30, 20)).save(tmp_path / "plan.jpg")
    whole = (tmp_path / "plan.jpg").read_bytes()
    for length in (0, 1, 2, 5, 20):
        (tmp_path / "cut.jpg").write_bytes(whole[:length])
        assert picture_size(tmp_path / "cut.jpg") == UNLIMITED
