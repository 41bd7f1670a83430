"""Sending a class out to be marked: through any executor of the standard library's kind, one part after the other.

On one machine that is a pool of processes; ``--cluster`` gives the executor of a cluster that a school already runs.
A worker that is gone costs its part one more try, and nobody else anything.
"""

from __future__ import annotations

import concurrent.futures
import contextlib
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from needlework.basis.errors import BadData
from needlework.desk import processes
from needlework.desk.room import NOT_ITS_FAULT

_MOST_IN_ONE_PART = 50
# What a plan's flight costs is its steps, hardly how many fly together.
_FEW = 3
_TRIES = 3


def _clean() -> None:
    """Begin a worker: it judges only, and its arithmetic keeps to one processor."""
    os.environ["NEEDLEWORK_GRADING"] = "1"


def _workers() -> int:
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


class _Here(concurrent.futures.Executor):
    """Marks in this process: where a class is so small that starting others would take longer."""

    def submit(self, fn: Callable[..., Any], /, *given: Any, **named: Any) -> concurrent.futures.Future[Any]:
        """Do the work at once."""
        done: concurrent.futures.Future[Any] = concurrent.futures.Future()
        try:
            done.set_result(fn(*given, **named))
        except Exception as error:
            done.set_exception(error)
        return done


def _pool(number: int) -> concurrent.futures.Executor:
    return concurrent.futures.ProcessPoolExecutor(number, mp_context=processes.context(), initializer=_clean)


@contextlib.contextmanager
def executor(papers: int, cluster: str = "") -> Iterator[Callable[[], concurrent.futures.Executor]]:
    """Give what makes an executor; it is asked again when the last one broke.

    Parameters
    ----------
    papers : int
        How many hand-ins there are.
    cluster : str
        Address of the scheduler of a cluster; empty for this machine.

    Yields
    ------
    callable
        Makes an executor.

    Raises
    ------
    BadData
        If the cluster cannot be reached, or what is needed for it is not installed.
    """
    made: list[concurrent.futures.Executor] = []
    if cluster:
        with _client(cluster) as client:
            yield lambda: client.get_executor(pure=False, retries=2)
        return

    def make() -> concurrent.futures.Executor:
        made.append(_Here() if papers <= _FEW else _pool(min(_workers(), papers)))
        return made[-1]

    try:
        yield make
    finally:
        for one in made:
            one.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def _client(address: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError:
        raise BadData(
            "A cluster needs the package 'distributed': type 'pip install distributed', or leave --cluster out."
        ) from None
    try:
        connect: Any = Client
        client: Any = connect(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise BadData(
            f"No cluster answers at {address}: is its scheduler running, and is the address right?"
        ) from error
    try:
        yield client
    finally:
        client.close()


def parts_of(items: Sequence[Any], workers: int = 0, most: int = _MOST_IN_ONE_PART) -> list[list[Any]]:
    """Divide a class into parts of about the same size, at least two a worker.

    Parameters
    ----------
    items : sequence
        The hand-ins.
    workers : int
        How many work at once; 0 for as many as this machine has processors.
    most : int
        How many are in one part at most.

    Returns
    -------
    list of list
        The parts, in order.
    """
    size = max(1, min(most, -(-len(items) // (2 * (workers or _workers())))))
    return [list(items[at : at + size]) for at in range(0, len(items), size)]


def _lost() -> dict[str, Any]:
    return {"look": [NOT_ITS_FAULT], "cells": {}, "notes": [], "machine": True, "begun": None, "homework": ""}


def _quite_alone(
    make: Callable[[], concurrent.futures.Executor],
    work: Callable[[Mapping[str, Any]], list[dict[str, Any]]],
    task: Mapping[str, Any],
    papers: Mapping[str, bytes],
    student: str,
) -> dict[str, dict[str, Any]]:
    """Give one hand-in an executor of its own."""
    try:
        (one,) = make().submit(work, {**task, "papers": [papers[student]]}).result()
    except Exception:
        one = _lost()
    return {student: one}


def send(
    make: Callable[[], concurrent.futures.Executor],
    work: Callable[[Mapping[str, Any]], list[dict[str, Any]]],
    task: Mapping[str, Any],
    papers: Mapping[str, bytes],
    most: int = _MOST_IN_ONE_PART,
) -> Iterator[dict[str, dict[str, Any]]]:
    """Send all hand-ins out and give back what came of them, a part at a time as they are done.

    Parameters
    ----------
    make : callable
        Makes an executor.
    work : callable
        From a task with its ``papers``, a result for each.
    task : mapping
        What is the same for all.
    papers : mapping of str to bytes
        The files, by student.
    most : int
        How many go out together at most.

    Yields
    ------
    dict of str to dict
        Results by student.
    """
    pool = make()
    waiting: dict[concurrent.futures.Future[Any], tuple[list[str], int]] = {}

    def submit(students: list[str], tried: int) -> None:
        nonlocal pool
        given = {**task, "papers": [papers[student] for student in students]}
        try:
            future = pool.submit(work, given)
        except RuntimeError:  # it broke
            pool = make()
            future = pool.submit(work, given)
        waiting[future] = students, tried

    for part in parts_of(list(papers), most=most):
        submit(part, 1)
    while waiting:
        done, _ = concurrent.futures.wait(waiting, return_when=concurrent.futures.FIRST_COMPLETED)
        for future in done:
            students, tried = waiting.pop(future)
            try:
                yield dict(zip(students, future.result(), strict=True))
            except (KeyboardInterrupt, GeneratorExit):
                raise
            except Exception as error:
                if tried >= _TRIES and len(students) == 1:
                    # Whoever shares a worker with what breaks it may be lost with it each time: once quite alone.
                    alone = isinstance(error, concurrent.futures.BrokenExecutor)
                    yield _quite_alone(make, work, task, papers, students[0]) if alone else {students[0]: _lost()}
                    continue
                # Each alone, so that one that breaks its worker takes nobody along.
                for student in students:
                    submit([student], tried + 1)
