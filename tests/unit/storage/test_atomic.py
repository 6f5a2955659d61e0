"""Writing whole or not at all: whatever fails, the old file is there, and nothing lies beside it."""

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pytest

from dabchick.model.advice import BoatError
from dabchick.storage.atomic import clear_leftovers, write_atomic


def names(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def test_writes_new_and_old(tmp_path: Path) -> None:
    file = tmp_path / "boat.toml"
    write_atomic(file, b"one")
    write_atomic(file, b"two\r\n")
    assert file.read_bytes() == b"two\r\n"
    assert names(tmp_path) == ["boat.toml"]


def test_keeps_permissions_and_links(tmp_path: Path) -> None:
    real, link = tmp_path / "real.toml", tmp_path / "boat.toml"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_atomic(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert real.stat().st_mode & 0o777 == 0o640


def test_new_file_follows_the_umask(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        write_atomic(tmp_path / "a", b"")
    finally:
        os.umask(old)
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("call", ["replace", "fsync", "fdopen"])
def test_failure_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    file = tmp_path / "boat.toml"
    file.write_bytes(b"old")

    def fail(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, call, fail)
    with pytest.raises(BoatError) as caught:
        write_atomic(file, b"new")
    monkeypatch.undo()
    assert file.read_bytes() == b"old"
    assert names(tmp_path) == ["boat.toml"]
    (advice,) = caught.value.advice
    assert "No space left" in advice.what
    assert "as it was before" in advice.what
    assert advice.where == str(file)


def test_interruption_by_the_user_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "boat.toml"
    file.write_bytes(b"old")

    def stop(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        write_atomic(file, b"new")
    assert file.read_bytes() == b"old"
    assert names(tmp_path) == ["boat.toml"]


def test_file_is_flushed_before_and_folder_after_the_swap(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[str] = []
    fsync, replace = os.fsync, os.replace

    def spy_fsync(handle: int) -> None:
        calls.append("folder" if os.path.isdir(f"/proc/self/fd/{handle}") else "file")  # noqa: PTH112
        fsync(handle)

    def spy_replace(*given: Any) -> None:
        calls.append("swap")
        replace(*given)

    monkeypatch.setattr(os, "fsync", spy_fsync)
    monkeypatch.setattr(os, "replace", spy_replace)
    write_atomic(tmp_path / "a", b"x")
    assert calls == ["file", "swap", "folder"]


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(BoatError):
        write_atomic(tmp_path / "gone" / "boat.toml", b"x")


def test_killed_in_mid_write_keeps_the_old_file(tmp_path: Path) -> None:
    """A process stopped by SIGKILL after half of the new bytes; the next save clears what it left."""
    file = tmp_path / "boat.toml"
    file.write_bytes(b"old")
    script = textwrap.dedent(
        f"""
        import os, signal
        from pathlib import Path
        from dabchick.storage.atomic import write_atomic
        real = os.fsync
        def die(handle):
            os.ftruncate(handle, 500_000)
            real(handle)
            os.kill(os.getpid(), signal.SIGKILL)
        os.fsync = die
        write_atomic(Path({str(file)!r}), b"n" * 1_000_000)
        """
    )
    done = subprocess.run([sys.executable, "-c", script], check=False, capture_output=True)
    assert done.returncode == -signal.SIGKILL
    assert file.read_bytes() == b"old"
    left = [name for name in names(tmp_path) if name != "boat.toml"]
    assert len(left) == 1
    assert (tmp_path / left[0]).stat().st_size == 500_000
    clear_leftovers(tmp_path)
    assert names(tmp_path) == ["boat.toml"]
