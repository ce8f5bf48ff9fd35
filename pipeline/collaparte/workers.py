"""Tasks to results: in this process, or in worker processes with limits.

A worker that runs out of time or memory, or dies, costs its task and nothing else: the task's
result is `Lost`, a new worker takes the next task. That is why this is no executor of the
standard library, which gives up all tasks when one of its processes is killed.
"""

from __future__ import annotations

import contextlib
import errno
import multiprocessing
import os
import pickle
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

if sys.platform != "win32":
    import resource

Task = TypeVar("Task")
Result = TypeVar("Result")

Progress = Callable[[int, int], None]
"""Called with the tasks done so far and all tasks."""

_ONE_THREAD = dict.fromkeys(
    (
        "OMP_NUM_THREADS",  # also the threads of Arrow
        "OPENBLAS_NUM_THREADS",
        "MKL_NUM_THREADS",
        "VECLIB_MAXIMUM_THREADS",
    ),
    "1",
)


@dataclass(frozen=True)
class Limits:
    """What one task may take: seconds, and bytes of address space of its worker.

    Without worker processes only the time is limited, and only in the main thread.
    """

    seconds: float = 600.0
    bytes: int = 6 << 30


@dataclass(frozen=True)
class Lost:
    """A task without a result: `time_limit`, `memory_limit`, `worker_died` or `program_error`.

    `message` is one plain sentence.
    """

    code: str
    message: str


def run(
    function: Callable[[Task], Result],
    tasks: Sequence[Task],
    workers: int = 1,
    limits: Limits | None = None,
    progress: Progress | None = None,
) -> tuple[Result | Lost, ...]:
    """The results of all tasks, in the order of the tasks.

    Parameters
    ----------
    function
        One that other processes can import, when there are several workers; so are tasks and
        results small and made of plain values.
    workers
        Processes; with 1 the tasks are done in this process.

    Raises
    ------
    OSError
        The system failed (a full disk), which no other task would survive either.

    Notes
    -----
    An interrupt (Ctrl-C) kills the workers at once and is passed on.
    """
    limits = limits or Limits()
    report = progress or (lambda done, total: None)
    results: dict[int, Result | Lost] = {}
    running = min(workers, len(tasks))
    outcomes = (
        _in_processes(function, tasks, running, limits)
        if running > 1
        else _in_this_process(function, tasks, limits)
    )
    with contextlib.closing(outcomes):
        for index, outcome in outcomes:
            if isinstance(outcome, OSError):
                raise outcome
            results[index] = outcome
            report(len(results), len(tasks))
    return tuple(results[index] for index in range(len(tasks)))


class _TimeIsUp(BaseException):
    """Raised by the alarm; no `Exception`, so that no task swallows it."""


def _attempt(function: Callable[[Task], Result], task: Task) -> Result | Lost | OSError:
    """The result; an error of the program is told with its place, as the others go on."""
    try:
        return function(task)
    except (MemoryError, OSError) as error:
        if isinstance(error, OSError) and error.errno != errno.ENOMEM:
            return error
        return Lost("memory_limit", "It took more memory than one score may take.")
    except Exception as error:
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        place = (
            f"{Path(trace.tb_frame.f_code.co_filename).name}, line {trace.tb_lineno}"
            if trace
            else ""
        )
        text = " ".join(str(error).split())
        return Lost("program_error", f"{type(error).__name__} in {place}: {text}")


def _time_limit(limits: Limits) -> Lost:
    return Lost("time_limit", f"It took longer than {limits.seconds:g} seconds.")


# In this process


def _in_this_process(
    function: Callable[[Task], Result], tasks: Sequence[Task], limits: Limits
) -> Generator[tuple[int, Result | Lost | OSError]]:
    for index, task in enumerate(tasks):
        try:
            with _time_is_up_after(limits.seconds):
                outcome = _attempt(function, task)
        except _TimeIsUp:
            outcome = _time_limit(limits)
        yield index, outcome


@contextlib.contextmanager
def _time_is_up_after(seconds: float) -> Iterator[None]:
    """`_TimeIsUp` after so many seconds; signals reach only the main thread."""
    if sys.platform == "win32" or threading.current_thread() is not threading.main_thread():
        yield
        return

    def ring(number: int, frame: FrameType | None) -> None:
        raise _TimeIsUp

    before = signal.signal(signal.SIGALRM, ring)
    try:
        with _alarm_after(seconds):
            yield
    finally:
        signal.signal(signal.SIGALRM, before)


# In processes


def _in_processes(
    function: Callable[[Task], Result], tasks: Sequence[Task], workers: int, limits: Limits
) -> Generator[tuple[int, Result | Lost | OSError]]:
    """Outcomes as they come, each with the index of its task."""
    job = pickle.dumps(function)
    waiting = deque(range(len(tasks)))
    team = [_Worker(job, limits) for _ in range(workers)]
    try:
        while team:
            ready = wait([worker.connection for worker in team])
            for worker in [worker for worker in team if worker.connection in ready]:
                outcome = worker.answer(limits)
                if worker.index is not None:
                    yield worker.index, outcome
                if waiting and worker.process.is_alive():
                    worker.index = waiting.popleft()
                    worker.take(tasks[worker.index])
                    continue
                team.remove(worker)
                worker.kill()
                if waiting:
                    team.append(_Worker(job, limits))
    finally:
        for worker in team:
            worker.kill()


class _Worker:
    """One process, and the index of the task that it is at; None before its first."""

    def __init__(self, job: bytes, limits: Limits) -> None:
        context = multiprocessing.get_context("spawn")
        self.index: int | None = None
        self.connection, theirs = context.Pipe()
        self.process = context.Process(target=_serve, args=(theirs, job, limits), daemon=True)
        self.process.start()
        theirs.close()

    def take(self, task: object) -> None:
        """Send a task; that the process has just died is told by its next answer."""
        with contextlib.suppress(OSError):
            self.connection.send(task)

    def answer(self, limits: Limits) -> Any:
        """What the process has sent: None when it is ready, then outcomes."""
        try:
            return self.connection.recv()
        except (EOFError, OSError):
            self.process.join()
            return self._how_it_died(limits)

    def kill(self) -> None:
        """End the process, whatever it is at."""
        self.process.kill()
        self.process.join()
        self.connection.close()

    def _how_it_died(self, limits: Limits) -> Lost:
        code = self.process.exitcode or 0
        if self.index is None:
            raise RuntimeError(
                "worker processes do not start; a script that builds with several workers "
                "must do so under: if __name__ == '__main__'"
            )
        ended = signal.Signals(-code).name if code < 0 else f"exit code {code}"
        if ended == "SIGALRM":
            return _time_limit(limits)
        return Lost("worker_died", f"Its worker process ended with {ended}.")


def _serve(connection: Connection, job: bytes, limits: Limits) -> None:
    """The life of a worker: set limits, then answer tasks until the other side is gone."""
    os.environ.update(_ONE_THREAD)  # before the job brings in its libraries
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform != "win32":
        hard = resource.getrlimit(resource.RLIMIT_AS)[1]
        with contextlib.suppress(ValueError, OSError):  # not every system keeps this limit
            resource.setrlimit(resource.RLIMIT_AS, (limits.bytes, hard))
    function = pickle.loads(job)  # noqa: S301  from the process that started this one
    connection.send(None)
    with contextlib.suppress(EOFError, BrokenPipeError):  # the process that started this one ended
        while True:
            task = connection.recv()
            # Nobody handles the alarm here: it ends the process, even inside a library.
            with _alarm_after(limits.seconds):
                outcome = _attempt(function, task)
            connection.send(outcome)


@contextlib.contextmanager
def _alarm_after(seconds: float) -> Iterator[None]:
    """An alarm after so many seconds, where the system has one."""
    if sys.platform == "win32":
        yield
        return
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
