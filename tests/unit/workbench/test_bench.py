"""The bench: every change saved at once, figures from the last right text, nobody's work overwritten."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from dabchick.model.advice import BoatError
from dabchick.storage.edit_text import put
from dabchick.workbench.bench import Bench, Change, Stale
from tests.support.sample_boat import TEXT, write_boat, write_box_stl


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_boat(tmp_path / "box")


def lift(text: str) -> Callable[[str], str]:
    return lambda old: put(old, ("trim", "lift_dived"), text)


def lift_kg(bench: Bench) -> float:
    """Of the last right boat."""
    assert bench.right is not None
    return bench.right.vessel.wishes.lift_dived_kg


def test_an_edit_is_in_the_file_and_in_the_figures(folder: Path) -> None:
    """12 g to 15 g of lift."""
    bench = Bench(folder)
    told: list[Change] = []
    bench.subscribe(told.append)
    bench.edit("Lift", lift("15 g"), base=1, by="tab")
    assert lift_kg(bench) == pytest.approx(0.015)
    assert (folder / "boat.toml").read_text() == TEXT.replace('"12 g"', '"15 g"') == bench.text
    assert (bench.revision, bench.faulty, bench.now.undo) == (2, False, "Lift")
    assert told == [Change(2, "Lift", "tab")]


def test_faulty_text_is_saved_and_figures_stay_those_of_the_last_right_one(folder: Path) -> None:
    bench = Bench(folder)
    bench.edit("Oops", lift("12 apples"), base=1)
    assert '"12 apples"' in (folder / "boat.toml").read_text()
    assert (bench.faulty, bench.now.right_revision, bench.revision) == (True, 1, 2)
    assert lift_kg(bench) == pytest.approx(0.012)
    assert [entry.key for entry in bench.advice] == ["trim.lift_dived"]
    assert bench.advice[0].where.startswith("boat.toml:")
    bench.edit("Better", lift("13 g"), base=2)
    assert (bench.faulty, bench.now.right_revision) == (False, 3)


def test_text_that_is_no_toml_stands_beside_the_last_right_boat(folder: Path) -> None:
    bench = Bench(folder)
    (folder / "boat.toml").write_text(TEXT + "[[[\n")
    bench.refresh()
    assert (bench.faulty, bench.revision, dict(bench.now.content)) == (True, 2, {})
    assert bench.right is not None
    with pytest.raises(BoatError, match="not TOML"):
        bench.edit("Lift", lift("15 g"), base=2)
    bench.undo(base=2)
    assert (bench.faulty, (folder / "boat.toml").read_text()) == (False, TEXT)


def test_last_right_boat_is_found_after_a_restart(folder: Path) -> None:
    bench = Bench(folder)
    for base, text in enumerate(("15 g", "apples", "pears"), start=1):
        bench.edit("Lift", lift(text), base=base)
    again = Bench(folder)
    assert (again.faulty, again.now.right_revision, again.revision) == (True, 0, 4)
    assert lift_kg(again) == pytest.approx(0.015)


def test_boat_that_never_was_right(tmp_path: Path) -> None:
    bench = Bench(write_boat(tmp_path / "box", "name = 1\n"))
    assert (bench.right, bench.faulty, bench.now.right_revision) == (None, True, None)


def test_file_that_is_no_text_is_left_alone(folder: Path) -> None:
    (folder / "boat.toml").write_bytes(TEXT.encode() + b"# \xff\n")
    bench = Bench(folder)
    assert "UTF-8" in bench.advice[0].what
    with pytest.raises(BoatError, match="UTF-8"):
        bench.edit("Lift", lift("15 g"), base=1)
    assert (folder / "boat.toml").read_bytes().endswith(b"# \xff\n")


def test_mark_before_the_first_letter_stays(folder: Path) -> None:
    (folder / "boat.toml").write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    bench = Bench(folder)
    bench.edit("Lift", lift("15 g"), base=1)
    assert (folder / "boat.toml").read_bytes().startswith(b"\xef\xbb\xbf# An invented")
    assert not bench.faulty


def test_older_base_changes_nothing(folder: Path) -> None:
    bench = Bench(folder)
    bench.edit("Lift", lift("15 g"), base=1)
    for late in (
        lambda: bench.edit("Lift", lift("16 g"), base=1),
        lambda: bench.undo(base=1),
        lambda: bench.redo(base=1),
        lambda: bench.restore(1, base=3),
    ):
        with pytest.raises(Stale) as caught:
            late()
        assert caught.value.status == 409
    assert '"15 g"' in (folder / "boat.toml").read_text()


def test_edit_that_changes_nothing_is_no_step(folder: Path) -> None:
    bench = Bench(folder)
    bench.edit("Lift", lift("12 g"), base=1)
    assert (bench.revision, bench.now.undo) == (1, None)


def test_hand_edit_while_a_page_listens_is_told(folder: Path) -> None:
    bench = Bench(folder)
    heard = threading.Event()
    told: list[Change] = []

    def hear(change: Change) -> None:
        told.append(change)
        heard.set()

    end = bench.subscribe(hear)
    (folder / "boat.toml").write_text(TEXT.replace('"12 g"', '"9 g"'))
    assert heard.wait(20)
    end()
    assert not bench.listened_to
    assert told == [Change(2, "Changed outside the workbench", "")]
    assert lift_kg(bench) == pytest.approx(0.009)


def test_hull_file_that_changes_makes_new_figures(folder: Path) -> None:
    """The box grows from 600 mm to 700 mm; the text stays, and there is nothing to undo."""
    bench = Bench(folder)
    write_box_stl(folder / "hull.stl", (700.0, 100.0, 120.0))
    bench.refresh()
    assert bench.right is not None
    assert bench.right.vessel.length_m == pytest.approx(0.7)
    assert (bench.revision, bench.now.undo) == (2, None)
    bench.refresh()
    assert bench.revision == 2


def test_hull_file_that_goes_and_comes_again(folder: Path) -> None:
    bench = Bench(folder)
    content = (folder / "hull.stl").read_bytes()
    (folder / "hull.stl").unlink()
    bench.refresh()
    bench.refresh()
    assert (bench.faulty, bench.revision) == (True, 2)
    (folder / "hull.stl").write_bytes(content)
    bench.refresh()
    assert (bench.faulty, bench.revision) == (False, 3)


def test_listener_that_fails_harms_nobody(folder: Path) -> None:
    bench = Bench(folder)
    told: list[Change] = []

    def fails(change: Change) -> None:
        raise RuntimeError("the page is gone")

    bench.subscribe(fails)
    bench.subscribe(told.append)
    bench.edit("Lift", lift("15 g"), base=1)
    assert [change.revision for change in told] == [2]


def test_many_threads_lose_no_edit(folder: Path) -> None:
    """Each of eight threads adds its own four notes; whoever is late looks again and repeats."""
    bench = Bench(folder)

    def work(worker: int) -> None:
        for number in range(4):
            while True:
                try:
                    bench.edit("note", lambda text, n=number: f"{text}# {worker}.{n}\n", base=bench.revision)
                except Stale:
                    continue
                break

    threads = [threading.Thread(target=work, args=(worker,)) for worker in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lines = bench.text.removeprefix(TEXT).splitlines()
    assert sorted(lines) == sorted(f"# {worker}.{number}" for worker in range(8) for number in range(4))
    assert bench.revision == 33
