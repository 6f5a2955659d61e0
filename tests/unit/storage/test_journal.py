"""The journal of a boat file: nothing is ever lost, whoever is killed where he may be."""

import os
import random
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.storage import journal as journal_module
from dabchick.storage.journal import FOUND, OUTSIDE, Journal, StaleError
from dabchick.storage.journal_lines import change, line, records, whole


@pytest.fixture
def file(tmp_path: Path) -> Path:
    file = tmp_path / "boat.toml"
    file.write_bytes(b"zero\n")
    return file


def whats(journal: Journal) -> list[str]:
    return [step.what for step in journal.steps.values()]


def test_steps_undo_and_redo_are_in_the_file_at_once(file: Path) -> None:
    journal = Journal(file)
    assert (journal.revision, journal.text, whats(journal)) == (1, "zero\n", [FOUND])
    journal.change("one", "one\n", 1, "tab")
    journal.change("two", "two\r\n", 2)
    assert file.read_bytes() == b"two\r\n"
    journal.undo(3)
    assert file.read_bytes() == b"one\n"
    assert journal.redo_step is not None
    assert journal.redo_step.what == "two"
    journal.undo(4)
    assert journal.undo_step is None
    with pytest.raises(BoatError, match="nothing to undo"):
        journal.undo(5)
    journal.redo(5)
    journal.redo(6)
    assert file.read_bytes() == b"two\r\n"
    with pytest.raises(BoatError, match="nothing to redo"):
        journal.redo(7)
    assert journal.steps[2].by == "tab"


def test_all_of_it_survives_a_restart(file: Path) -> None:
    first = Journal(file)
    for number in range(100):
        first.change(f"change {number}", f"{'text ' * 30}{number}\n", first.revision)
    first.undo(first.revision)
    first.name(5, "before the bath")
    again = Journal(file)
    assert (again.steps, again.here, again.revision) == (first.steps, first.here, first.revision)
    for number in first.steps:
        assert again.text_of(number) == ("zero\n" if number == 1 else f"{'text ' * 30}{number - 2}\n")
    assert again.steps[5].name == "before the bath"


def test_redo_goes_to_the_newest_branch_and_the_older_is_kept(file: Path) -> None:
    journal = Journal(file)
    journal.change("left", "left", 1)
    journal.undo(2)
    journal.change("right", "right", 3)
    journal.undo(4)
    journal.redo(5)
    assert journal.text == "right"
    assert journal.text_of(2) == "left"
    journal.restore(2, 6)
    assert (journal.text, journal.step.parent) == ("left", 3)
    journal.undo(7)
    assert journal.text == "right"


def test_who_comes_late_changes_nothing(file: Path) -> None:
    journal = Journal(file)
    journal.change("one", "one", 1)
    before = journal.path.read_bytes()
    for stale in (
        lambda: journal.change("two", "two", 1),
        lambda: journal.undo(1),
        lambda: journal.redo(3),
        lambda: journal.restore(1, 1),
    ):
        with pytest.raises(StaleError):
            stale()
    assert (file.read_bytes(), journal.path.read_bytes()) == (b"one", before)


def test_changes_from_outside_become_steps(file: Path) -> None:
    """While the journal is open, and while nobody looked."""
    journal = Journal(file)
    file.write_bytes(b"by hand\n")
    assert journal.refresh()
    assert not journal.refresh()
    assert (journal.text, journal.step.what) == ("by hand\n", OUTSIDE)
    file.write_bytes(b"at night\n")
    again = Journal(file)
    assert again.text == "at night\n"
    assert whats(again) == [FOUND, OUTSIDE, OUTSIDE]
    again.undo(again.revision)
    again.undo(again.revision)
    assert file.read_bytes() == b"zero\n"


def test_change_from_outside_makes_the_page_stale_and_is_kept(file: Path) -> None:
    journal = Journal(file)
    file.write_bytes(b"by hand\n")
    with pytest.raises(StaleError):
        journal.change("mine", "mine", 1)
    assert file.read_bytes() == b"by hand\n"
    journal.change("mine", "mine", 2)
    assert journal.text_of(2) == "by hand\n"


def test_two_programs_on_one_boat_see_each_others_steps(file: Path) -> None:
    one, other = Journal(file), Journal(file)
    one.change("one", "one", 1)
    with pytest.raises(StaleError):
        other.change("other", "other", 1)
    assert other.text == "one"
    other.change("other", "other", other.revision)
    assert one.refresh()
    assert (one.text, one.revision, one.steps) == (other.text, other.revision, other.steps)


def test_bytes_that_are_no_text_come_back_as_they_were(file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbfname = '\xff'\r\n")
    journal = Journal(file)
    journal.change("right", "right", 1)
    journal.undo(2)
    assert file.read_bytes() == b"\xef\xbb\xbfname = '\xff'\r\n"


def test_names(file: Path) -> None:
    journal = Journal(file)
    journal.change("one", "one", 1)
    journal.name(1, " first ")
    with pytest.raises(BoatError, match="taken already"):
        journal.name(2, "first")
    journal.name(1, "")
    journal.name(2, "first")
    assert [step.name for step in Journal(file).steps.values()] == ["", "first"]
    with pytest.raises(BoatError, match="no step 9"):
        journal.name(9, "x")
    with pytest.raises(BoatError, match="no step 9"):
        journal.restore(9, 2)


@pytest.mark.parametrize("cut", [1, 10, 40])
def test_torn_last_line_is_passed_over_and_written_past(file: Path, cut: int) -> None:
    journal = Journal(file)
    journal.change("one", "one", 1)
    size = journal.path.stat().st_size
    journal.change("two", "two", 2)
    with journal.path.open("r+b") as handle:
        handle.truncate(size + cut)
    file.write_bytes(b"one")
    again = Journal(file)
    assert (again.text, whats(again)) == ("one", [FOUND, "one"])
    again.change("three", "three", again.revision)
    assert whats(Journal(file)) == [FOUND, "one", "three"]


def test_damage_in_the_middle_loses_only_what_hangs_on_it(file: Path) -> None:
    journal = Journal(file)
    texts = [f"{'x' * 100}{number}" for number in range(100)]
    for text in texts:
        journal.change("change", text, journal.revision)
    lines = journal.path.read_bytes().split(b"\n")
    broken = next(index for index, entry in enumerate(lines) if b'"step":30,' in entry)
    lines[broken] = b"f" * len(lines[broken])
    journal.path.write_bytes(b"\n".join(lines))
    again = Journal(file)
    assert again.text == texts[-1]
    readable = 0
    for number in again.steps:
        try:
            text = again.text_of(number)
        except BoatError:
            continue
        assert text == ("zero\n" if number == 1 else texts[number - 2])
        readable += 1
    assert 60 <= readable < len(again.steps)


def test_history_cleared_away_while_open_is_written_again(file: Path) -> None:
    journal = Journal(file)
    journal.change("one", "one", 1)
    shutil.rmtree(journal.path.parent)
    journal.change("two", "two", 2)
    assert whats(Journal(file)) == [FOUND, "one", "two"]


def test_file_taken_away_for_a_moment(file: Path) -> None:
    journal = Journal(file)
    file.unlink()
    assert not journal.refresh()
    assert journal.text == "zero\n"
    file.write_bytes(b"back\n")
    assert journal.refresh()
    assert journal.text == "back\n"


def no_room(*_: Any, **__: Any) -> None:
    raise OSError(28, "No space left on device")


def test_full_disk_at_the_journal_changes_nothing(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half of the line is written before the disk is full; it is taken back."""
    journal = Journal(file)
    before = journal.path.read_bytes()
    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(BoatError, match="No space left"):
        journal.change("one", "one", 1)
    monkeypatch.undo()
    assert (journal.text, journal.revision, file.read_bytes()) == ("zero\n", 1, b"zero\n")
    assert journal.path.read_bytes() == before
    journal.change("one", "one", 1)
    assert file.read_bytes() == b"one"


def test_full_disk_at_the_boat_file_changes_nothing(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    journal = Journal(file)
    before = journal.path.read_bytes()
    monkeypatch.setattr(os, "replace", no_room)
    with pytest.raises(BoatError, match="No space left"):
        journal.change("one", "one", 1)
    monkeypatch.undo()
    assert (journal.text, journal.revision, file.read_bytes()) == ("zero\n", 1, b"zero\n")
    assert journal.path.read_bytes() == before
    assert whats(Journal(file)) == [FOUND]
    journal.change("one", "one", 1)
    assert whats(Journal(file)) == [FOUND, "one"]


def test_folder_that_may_not_be_written_to_can_be_looked_at(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(journal_module, "exclusive", no_room)
    journal = Journal(file)
    assert (journal.text, journal.revision) == ("zero\n", 1)
    file.write_bytes(b"by hand\n")
    assert journal.refresh()
    assert (journal.text, journal.revision) == ("by hand\n", 2)
    with pytest.raises(BoatError, match="could not be kept"):
        journal.change("one", "one", 2)
    monkeypatch.undo()
    journal.change("one", "one", journal.revision)
    assert whats(Journal(file)) == [FOUND, OUTSIDE, "one"]


class Killed(BaseException):
    """Stands for a process that ends here: nothing is cleared up behind it."""


@pytest.mark.parametrize("moment", ["before the boat file", "before the word that it was done"])
def test_stopped_between_the_writes(file: Path, monkeypatch: pytest.MonkeyPatch, moment: str) -> None:
    """Once the journal has the change, the next opening has it too."""
    journal = Journal(file)
    journal.change("one", "one", 1)

    def die(*_: Any, **__: Any) -> None:
        raise Killed

    if moment == "before the boat file":
        monkeypatch.setattr(journal_module, "write_atomic", die)
        monkeypatch.setattr(journal_module, "cut", die)
    else:
        monkeypatch.setattr(Journal, "_confirm", die)
    with pytest.raises(Killed):
        journal.change("two", "two", 2)
    monkeypatch.undo()
    again = Journal(file)
    assert (again.text, file.read_bytes(), whats(again)) == ("two", b"two", [FOUND, "one", "two"])
    again.undo(again.revision)
    assert file.read_bytes() == b"one"


def test_stopped_and_then_changed_by_hand(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the change that was under way nor the one by hand is lost."""
    journal = Journal(file)

    def die(*_: Any, **__: Any) -> None:
        raise Killed

    monkeypatch.setattr(journal_module, "write_atomic", die)
    monkeypatch.setattr(journal_module, "cut", die)
    with pytest.raises(Killed):
        journal.change("one", "one", 1)
    monkeypatch.undo()
    file.write_bytes(b"by hand")
    again = Journal(file)
    assert (again.text, whats(again)) == ("by hand", [FOUND, "one", OUTSIDE])
    assert again.text_of(2) == "one"


WRITER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from dabchick.storage.journal import Journal
    journal = Journal(Path(sys.argv[1]))
    print("open", flush=True)
    while True:
        number = int(journal.text.split()[0]) + 1
        journal.change(f"to {number}", f"{number} " + "x" * 20_000, journal.revision)
        print(number, flush=True)
        if number % 3 == 0:
            journal.undo(journal.revision)
            journal.redo(journal.revision)
    """
)


def test_killed_at_any_moment(tmp_path: Path) -> None:
    """A process that never stops writing is killed after a few milliseconds, again and again.

    What it said was done is there; the boat file is whole and is what the journal says; nothing lies about.
    """
    file = tmp_path / "boat.toml"
    file.write_text("0 start")
    chance = random.Random(7)
    for _ in range(12):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(file)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == "open\n"
            time.sleep(chance.uniform(0.0, 0.03))
            writer.send_signal(signal.SIGKILL)
            said = writer.stdout.read().split()
        done = int(said[-1]) if said else 0
        journal = Journal(file)
        number = int(journal.text.split()[0])
        assert file.read_text() == journal.text
        assert number >= done - 1  # one less in the middle of an undo
        made = [int(step.what.removeprefix("to ")) for step in journal.steps.values() if step.what != FOUND]
        assert {int(number) for number in said} <= set(made)
        assert OUTSIDE not in whats(journal)
        assert sorted(entry.name for entry in tmp_path.iterdir()) == [".history", "boat.toml"]
    assert len(journal.steps) > 12


@given(before=st.text(max_size=40), after=st.text(max_size=40), chain=st.integers(0, 60))
def test_a_text_comes_back_from_its_change(before: str, after: str, chain: int) -> None:
    assert change(before, after, chain).text(before) == after
    assert whole(after).text("anything") == after
    assert change(before, after, 40).keep is None


@given(st.lists(st.dictionaries(st.text(max_size=5), st.text(max_size=5), min_size=1)), st.integers(0, 30))
@settings(max_examples=50)
def test_lines_are_read_back_and_torn_ones_are_not(said: list[dict[str, str]], cut: int) -> None:
    content = b"".join(line(record) for record in said)
    assert list(records(content)) == said
    torn = content[: max(0, len(content) - 1 - cut)]
    assert list(records(torn)) == said[: len(list(records(torn)))]
