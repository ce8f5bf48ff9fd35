"""Workers: order, limits, deaths, interrupts. The functions are those of a program gone wrong."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import workers
from collaparte.workers import Limits, Lost

PIPELINE = Path(__file__).parents[1] / "pipeline"


def square(number: int) -> int:
    return number * number


def unequal(number: int) -> int:
    time.sleep(0.05 * (number % 3))
    return number


def misbehave(what: str) -> str:
    if what == "raise":
        raise ValueError("a line\nand another")
    if what == "no memory":
        raise OSError(12, "Cannot allocate memory")
    if what == "fill":
        return str(len(bytearray(64 << 30)))
    if what == "hang":
        while True:
            time.sleep(10)
    if what == "swallow":
        while True:
            try:
                time.sleep(10)
            except Exception:
                continue
    if what == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    if what == "leave":
        os._exit(3)
    return what


def surroundings(_: int) -> tuple[int, str | None, bool]:
    import pyarrow as pa

    ignored = signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    return pa.cpu_count(), os.environ.get("OPENBLAS_NUM_THREADS"), ignored


@given(st.lists(st.integers(), max_size=20))
def test_results_come_in_the_order_of_the_tasks(numbers: list[int]) -> None:
    assert workers.run(square, numbers) == tuple(map(square, numbers))


def test_order_and_progress_with_processes_that_overtake_each_other() -> None:
    calls: list[tuple[int, int]] = []
    numbers = list(range(11, 0, -1))
    results = workers.run(
        unequal, numbers, 3, progress=lambda done, total: calls.append((done, total))
    )
    assert results == tuple(numbers)
    assert calls == [(done, 11) for done in range(1, 12)]


def test_nothing_to_do() -> None:
    assert workers.run(square, [], 4) == ()


@pytest.mark.parametrize("number", [1, 2])
def test_error_in_a_task_is_told_with_its_place_and_the_others_go_on(number: int) -> None:
    first, lost, last = workers.run(misbehave, ["a", "raise", "b"], number)
    assert (first, last) == ("a", "b")
    assert isinstance(lost, Lost)
    assert lost.code == "program_error"
    assert lost.message.startswith("ValueError in test_workers.py, line ")
    assert lost.message.endswith(": a line and another")


@pytest.mark.parametrize("number", [1, 2])
@pytest.mark.parametrize("way", ["hang", "swallow"])
def test_stuck_task_is_lost_and_the_others_go_on(number: int, way: str) -> None:
    results = workers.run(misbehave, ["a", way, "b"], number, Limits(seconds=0.5))
    assert results == ("a", Lost("time_limit", "It took longer than 0.5 seconds."), "b")


@pytest.mark.parametrize("way", ["fill", "no memory"])
def test_memory_is_limited(way: str) -> None:
    first, lost, last = workers.run(misbehave, ["a", way, "b"], 2)
    assert (first, last) == ("a", "b")
    assert isinstance(lost, Lost)
    assert lost.code == "memory_limit"


def test_dead_workers_are_replaced() -> None:
    tasks = ["a", "killed", "leave", "b", "killed", "c"]
    results = workers.run(misbehave, tasks, 2)
    died = {
        "killed": Lost("worker_died", "Its worker process ended with SIGKILL."),
        "leave": Lost("worker_died", "Its worker process ended with exit code 3."),
    }
    assert results == tuple(died.get(task, task) for task in tasks)
    assert not multiprocessing.active_children()


def test_workers_have_one_thread_and_leave_interrupts_alone() -> None:
    assert set(workers.run(surroundings, [1, 2, 3], 2)) == {(1, "1", True)}


def test_alarm_of_the_caller_is_put_back() -> None:
    before = signal.getsignal(signal.SIGALRM)
    workers.run(square, [1])
    assert signal.getsignal(signal.SIGALRM) is before
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_tasks_are_done_in_a_thread_too() -> None:
    results: list[object] = []
    thread = threading.Thread(target=lambda: results.append(workers.run(square, [2, 3])))
    thread.start()
    thread.join()
    assert results == [(4, 9)]


def script(folder: Path, text: str) -> Path:
    path = folder / "script.py"
    path.write_text(f"import sys\nsys.path.insert(0, {str(PIPELINE)!r})\n{text}")
    return path


def test_script_without_a_guard_is_told_so(tmp_path: Path) -> None:
    text = "from collaparte import workers\nprint(workers.run(abs, [1, 2], 2))\n"
    done = subprocess.run(
        [sys.executable, script(tmp_path, text)], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 1
    assert "must do so under: if __name__ == '__main__'" in done.stderr


def test_interrupt_ends_the_workers_at_once(tmp_path: Path) -> None:
    text = """
import multiprocessing, time
from collaparte import workers

def first_tell(done, total):
    print(*(child.pid for child in multiprocessing.active_children()), flush=True)

def wait(seconds):
    time.sleep(seconds)

if __name__ == "__main__":
    workers.run(wait, [0, 600, 600], 2, progress=first_tell)
"""
    process = subprocess.Popen(
        [sys.executable, script(tmp_path, text)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    with process.stdout:
        children = [int(number) for number in process.stdout.readline().split()]
    process.send_signal(signal.SIGINT)
    assert process.wait(60) != 0
    assert len(children) == 2
    for child in children:
        with pytest.raises(ProcessLookupError):
            os.kill(child, 0)
