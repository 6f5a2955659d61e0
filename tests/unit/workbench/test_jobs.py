"""Long work: progress, results, mistakes, limits, cancelling, and that nothing outlives the server."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from dabchick.model.advice import Advice, BoatError
from dabchick.workbench import jobs as jobs_module
from dabchick.workbench.errors import NotThere, Refused
from dabchick.workbench.jobs import Job, Jobs, Tell

FOREVER_S = 600.0
"""What a test must never wait for."""


def add(tell: Tell, one: int, other: int) -> int:
    tell("adding", 0.5)
    return one + other


def far(tell: Tell) -> None:
    tell("past the end", 7.0)
    tell("before the start", -1.0)


def refuse(tell: Tell) -> None:
    raise BoatError(Advice("The hull is open.", "Mend it."), Advice("And too long.", "Cut it."))


def fail(tell: Tell) -> None:
    raise KeyError("a secret of the program")


def hang(tell: Tell) -> None:
    tell(f"process {os.getpid()}", 0.1)
    time.sleep(FOREVER_S)


def die(tell: Tell) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def leave(tell: Tell) -> None:
    os._exit(3)


def eat(tell: Tell) -> int:
    return len(bytearray(3_000_000_000))


def unpicklable(tell: Tell) -> Any:
    return lambda: None


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    running = Jobs()
    yield running
    running.close()


def over(job: Job) -> Job:
    assert job.over.wait(60.0), "it never ended"
    return job


def alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat").read_text("ascii")
    return status.rpartition(")")[2].split()[0] != "Z"


def until(true: Any) -> None:
    for _ in range(6000):
        if true():
            return
        time.sleep(0.01)
    raise AssertionError("it never came true")


def test_work_is_done_elsewhere_and_its_result_comes_back(jobs: Jobs) -> None:
    heard: list[tuple[str, str, float]] = []
    stop = jobs.listen(lambda job: heard.append((job.state, job.text, job.share)))
    job = over(jobs.start("Adding", add, 2, 3))
    assert (job.state, job.share, jobs.done(job.job)) == ("done", 1.0, 5)
    assert heard == [("running", "Starting", 0.0), ("running", "adding", 0.5), ("done", "Done", 1.0)]
    stop()
    over(jobs.start("Adding", add, 2, 3))
    assert len(heard) == 3


def test_a_result_can_be_made_into_another_here(jobs: Jobs) -> None:
    job = over(jobs.start("Adding", add, 2, 3, then=lambda total: f"{total} g"))
    assert jobs.done(job.job) == "5 g"


def test_a_share_stays_between_0_and_1(jobs: Jobs) -> None:
    shares: list[float] = []
    jobs.listen(lambda job: shares.append(job.share))
    over(jobs.start("Far", far))
    assert shares == [0.0, 1.0, 0.0, 1.0]


def test_advice_passes_whole(jobs: Jobs) -> None:
    job = over(jobs.start("Reading", refuse))
    assert job.state == "failed"
    with pytest.raises(BoatError) as caught:
        jobs.done(job.job)
    assert [entry.what for entry in caught.value.advice] == ["The hull is open.", "And too long."]


def test_a_fault_of_our_own_becomes_advice_and_its_traceback_stays_here(
    jobs: Jobs, caplog: pytest.LogCaptureFixture
) -> None:
    for work in (fail, unpicklable):
        job = over(jobs.start("Reading", work))
        assert job.state == "failed"
        assert "secret" not in str(job.advice)
        assert "made a mistake" in job.advice[0].what
    assert "a secret of the program" in caplog.text


@pytest.mark.parametrize(("work", "says"), [(die, "broken off by the system"), (leave, "without an answer")])
def test_a_killed_process_is_advice_and_no_hang(jobs: Jobs, work: Any, says: str) -> None:
    job = over(jobs.start("Reading", work))
    assert job.state == "failed"
    assert says in job.advice[0].what


@pytest.mark.skipif(sys.platform != "linux", reason="only here a process can be kept from taking more memory")
def test_memory_is_limited(jobs: Jobs) -> None:
    job = over(jobs.start("Eating", eat, memory_mb=500))
    assert job.state == "failed"
    assert job.advice[0].allowed == "up to 500 MB"
    assert "memory" in job.advice[0].what


def test_time_is_limited(jobs: Jobs) -> None:
    job = over(jobs.start("Waiting", hang, seconds=0.5))
    assert job.state == "failed"
    assert "took longer than 0.5 s" in job.advice[0].what


@pytest.mark.skipif(sys.platform == "win32", reason="processes are looked for by their numbers in /proc")
def test_cancelling_kills_at_once(jobs: Jobs) -> None:
    job = jobs.start("Waiting", hang)
    until(lambda: job.text.startswith("process"))
    process = int(job.text.split()[1])
    assert alive(process)
    assert jobs.cancel(job.job).state == "cancelled"
    until(lambda: not alive(process))
    assert jobs.cancel(job.job).state == "cancelled", "once more changes nothing"
    with pytest.raises(Refused, match="cancelled"):
        jobs.done(job.job)


def test_one_that_waits_for_its_turn_can_be_cancelled_too(jobs: Jobs) -> None:
    running = [jobs.start("Waiting", hang) for _ in range(jobs_module.AT_ONCE)]
    waiting = jobs.start("Adding", add, 1, 1)
    assert waiting.text == "Waiting for its turn"
    jobs.cancel(waiting.job)
    for job in running:
        jobs.cancel(job.job)
    assert over(waiting).state == "cancelled"
    assert jobs.done(over(jobs.start("Adding", add, 1, 1)).job) == 2, "turns are given back"


def test_too_much_at_once_is_refused(jobs: Jobs) -> None:
    for _ in range(jobs_module.AT_ONCE + jobs_module.MOST_WAITING):
        jobs.start("Waiting", hang)
    with pytest.raises(Refused) as caught:
        jobs.start("Waiting", hang)
    assert caught.value.status == 429


def test_ids_are_not_to_be_guessed_and_unknown_ones_are_advice(jobs: Jobs) -> None:
    one, other = (jobs.start("Adding", add, 1, 1) for _ in range(2))
    assert len(one.job) >= 20
    assert one.job != other.job
    for wrong in ("", "1", one.job[:-1]):
        with pytest.raises(NotThere):
            jobs.get(wrong)


def test_ended_jobs_are_forgotten_in_time(jobs: Jobs, monkeypatch: pytest.MonkeyPatch) -> None:
    first = over(jobs.start("Adding", add, 1, 1))
    monkeypatch.setattr(jobs_module, "KEPT_S", -1.0)
    over(jobs.start("Adding", add, 1, 1))
    with pytest.raises(NotThere):
        jobs.get(first.job)


def test_closing_ends_everything(jobs: Jobs) -> None:
    running = jobs.start("Waiting", hang)
    jobs.close()
    assert running.state == "cancelled"
    with pytest.raises(Refused):
        jobs.start("Adding", add, 1, 1)


@pytest.mark.skipif(sys.platform == "win32", reason="processes are looked for by their numbers in /proc")
def test_no_job_outlives_a_server_that_was_killed() -> None:
    program = (
        "import time\n"
        "from dabchick.workbench.jobs import Jobs\n"
        "from tests.unit.workbench.test_jobs import hang\n"
        "if __name__ == '__main__':\n"
        "    job = Jobs().start('Waiting', hang)\n"
        "    while not job.text.startswith('process'):\n"
        "        time.sleep(0.01)\n"
        "    print(job.text, flush=True)\n"
        "    time.sleep(600)\n"
    )
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        process = int(server.stdout.readline().split()[1])
        assert alive(process)
        server.kill()
    until(lambda: not alive(process))
