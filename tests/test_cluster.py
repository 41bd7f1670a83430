"""Marking sent to a cluster: a real scheduler and two workers on this machine, one of them killed in the middle."""

import os
import signal
import socket
import subprocess
import sys
import time

import class_maker
import pytest
from needlework.basis.errors import BadData
from needlework.desk import at_once
from needlework.desk.homework import Desk

pytest.importorskip("distributed", reason="the optional extra 'cluster' is not installed")

LESSON = "station-passage"
STUDENTS = 12


def _started(place, *words):
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "DASK_DISTRIBUTED__DIAGNOSTICS__NVML": "False"}
    with (place / "cluster.log").open("ab") as said:
        return subprocess.Popen(
            [sys.executable, "-m", "distributed.cli.dask_" + words[0], *words[1:]],
            stdout=said,
            stderr=subprocess.STDOUT,
            env=environment,
            cwd=place,
        )


@pytest.fixture
def cluster(tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    scheduler = _started(tmp_path, "scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard")
    quiet = ("--nthreads", "1", "--no-dashboard", "--no-nanny", "--local-directory", str(tmp_path))
    workers = [_started(tmp_path, "worker", address, *quiet) for _ in range(2)]
    try:
        from distributed import Client

        with Client(address, timeout="60s", set_as_default=False) as client:
            client.wait_for_workers(2, timeout=90)
        yield address, workers
    finally:
        for process in (*workers, scheduler):
            process.kill()
            process.wait()


@pytest.mark.slow
def test_a_cluster_marks_as_this_machine_does(cluster, tmp_path, monkeypatch):
    """Independent method: the same class marked here; a worker killed in the middle costs no hand-in."""
    address, workers = cluster
    monkeypatch.setattr(at_once, "_MOST_IN_ONE_PART", 2)
    desks = []
    came = class_maker.write_class(tmp_path / "in", LESSON, range(STUDENTS), code=0.3, fly=False)
    for name in ("here", "there"):
        desk = Desk(tmp_path / name)
        desk.hand_out(LESSON)
        class_maker.write_list(desk.folder, range(STUDENTS))
        desk.collect(LESSON, came)
        desks.append(desk)
    here, there = desks
    here.mark(LESSON)
    killed = []

    def kill_one(done, of):
        if done and not killed:
            workers[0].send_signal(signal.SIGKILL)
            killed.append(done)

    there.mark(LESSON, progress=kill_one, cluster=address)
    assert killed and killed[0] < STUDENTS
    assert there.marks(LESSON) == here.marks(LESSON)
    assert len(there.marks(LESSON)) == STUDENTS


def test_a_cluster_that_does_not_answer_is_told():
    """Definition: one sentence."""
    begun = time.monotonic()
    with pytest.raises(BadData, match="No cluster answers at"), at_once.executor(3, "tcp://127.0.0.1:9") as make:
        make()
    assert time.monotonic() - begun < 60
