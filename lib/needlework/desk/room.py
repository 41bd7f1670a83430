"""Where the code of a hand-in runs: behind walls, bounded all together, one hand-in at a time.

Three ways, the first that this machine allows: a fork of a process that has the library loaded, put into namespaces
that bubblewrap made; a fresh interpreter behind bubblewrap; and, where there is no bubblewrap and the instructor
trusts whoever wrote the code, a fork or a fresh interpreter without walls.
"""

from __future__ import annotations

import contextlib
import functools
import json
import os
import select
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from needlework.building import walls

most_s = 60.0
"""How long a hand-in may take by the clock."""

work_s = 20
"""How long it may keep the processor."""

_MOST_BYTES = 8_000_000
_START_S = 120.0
_TOLD_S = 5.0

STUCK = "its code does not stop by itself"
TOO_MUCH = "its code takes too much memory or starts too many processes"
KILLED = "its code made the kernel stop"
NOT_ITS_FAULT = "this machine could not run its code"


@dataclass(frozen=True)
class Came:
    """What came out of the room.

    Parameters
    ----------
    body : bytes
        What was said; empty if nothing was.
    why : str
        Why nothing was, in one clause.
    machine : bool
        True if that is the machine's fault, so that trying again may help.
    """

    body: bytes = b""
    why: str = ""
    machine: bool = False


class Room:
    """A place for one hand-in after the other.

    Parameters
    ----------
    walled : bool
        True to put walls around each; without them only what is trusted may come in.
    shown : sequence of pathlib.Path
        Folders that may be read inside.
    environment : mapping, optional
        Environment variables inside.
    """

    def __init__(
        self, walled: bool, shown: Sequence[Path] = (), environment: Mapping[str, str] | None = None
    ) -> None:
        self._walled = walled
        self._shown = [str(folder) for folder in shown]
        self._environment = {"NEEDLEWORK_GRADING": "1", "MPLBACKEND": "agg", **(environment or {})}
        self._process: subprocess.Popen[bytes] | None = None
        self._connection: socket.socket | None = None
        self._forks = hasattr(os, "fork") and hasattr(socket, "send_fds")
        self._lock = threading.Lock()

    def run(self, task: str, body: bytes) -> Came:
        """Do one piece of work inside.

        Parameters
        ----------
        task : str
            ``answers``, ``judge`` or ``pages``.
        body : bytes
            What it works on.

        Returns
        -------
        Came
            What came out.
        """
        with self._lock:
            if self._forks and self._ready():
                came = self._by_fork(task, body)
                if came is not None:
                    return came
            return self._by_fresh_interpreter(task, body)

    def close(self) -> None:
        """End what was started."""
        if self._connection is not None:
            self._connection.close()
        if self._process is not None:
            self._process.kill()
            self._process.wait()
        self._process = self._connection = None

    # --- by a fork ------------------------------------------------------------------------------------------------

    def _ready(self) -> bool:
        """Have the process that forks; False if this machine does not let it do so."""
        if self._process is not None and self._process.poll() is None:
            return True
        self.close()
        ours, theirs = socket.socketpair()
        try:
            self._process = _begun(theirs)
        except OSError:
            ours.close()
            return False
        finally:
            theirs.close()
        self._connection = ours
        ours.settimeout(_START_S)
        try:
            if not ours.recv(16):
                raise OSError
        except OSError:
            self.close()
            return False
        ours.settimeout(None)
        return True

    def _by_fork(self, task: str, body: bytes) -> Came | None:
        """Let the other process fork; None if it cannot put up its walls here."""
        assert self._connection is not None
        told = {"task": task, "walls": self._walled, "shown": self._shown, "environment": self._environment}
        reading, writing = os.pipe()
        try:
            with tempfile.TemporaryFile() as job:
                job.write(body)
                job.flush()
                job.seek(0)
                line = json.dumps({**told, "work_s": work_s}).encode()
                socket.send_fds(self._connection, [line], [job.fileno(), writing])
            os.close(writing)
            writing = -1
            return self._awaited(reading)
        except OSError as error:
            self.close()
            return Came(why=f"{NOT_ITS_FAULT} ({error.strerror or error})", machine=True)
        finally:
            os.close(reading)
            if writing >= 0:
                os.close(writing)

    def _awaited(self, reading: int) -> Came | None:
        assert self._connection is not None
        begun, got, said = time.monotonic(), _Framed(), b""
        until = begun + most_s
        while not got.whole and time.monotonic() < until:
            listened: list[Any] = [reading, self._connection]
            ready = select.select(listened, [], [], max(0.0, until - time.monotonic()))[0]
            if reading in ready and not got.take(os.read(reading, 65536)):
                # Nobody is there any more who could say something: how it ended is told next.
                if not got.too_much and select.select([self._connection], [], [], _TOLD_S)[0]:
                    said = self._connection.recv(4096)
                break
            if self._connection in ready:
                said = self._connection.recv(4096)
                # What was written before it ended is still to be read.
                while select.select([reading], [], [], 0)[0] and got.take(os.read(reading, 65536)):
                    pass
                break
        if not said:
            with contextlib.suppress(OSError):
                self._connection.sendall(b"end")
                said = self._connection.recv(4096)
        if got.whole:
            return Came(got.body)
        if not said:
            self.close()
            return Came(why=f"{NOT_ITS_FAULT} (what runs it was stopped)", machine=True)
        return _why(str(json.loads(said)["why"]), got, time.monotonic() >= until)

    # --- by a fresh interpreter -----------------------------------------------------------------------------------

    def _by_fresh_interpreter(self, task: str, body: bytes) -> Came:
        command = [sys.executable, "-m", "needlework.desk.answers", task]
        environment = {**os.environ, **walls.environment_inside(self._environment)}
        folder: Any = contextlib.nullcontext()
        if self._walled:
            limits = f"ulimit -v {2**21}; ulimit -f {2**16}; ulimit -t {work_s}; " + 'exec "$@"'
            inside = walls.room([Path(each) for each in self._shown], self._environment)
            command = [*inside, "/bin/sh", "-c", limits, "sh", *command]
        else:
            folder = tempfile.TemporaryDirectory(prefix="nw-", ignore_cleanup_errors=True)
        with folder as place, tempfile.TemporaryFile() as job, tempfile.TemporaryFile() as out:
            if place:
                environment |= {"HOME": place, "MPLCONFIGDIR": place}
            job.write(body)
            job.flush()
            job.seek(0)
            try:
                process = subprocess.Popen(
                    command, stdin=job, stdout=out, stderr=subprocess.DEVNULL, env=environment, cwd=place
                )
            except OSError as error:
                return Came(why=f"{NOT_ITS_FAULT} ({error.strerror or error})", machine=True)
            return _finished(process, out)


def _finished(process: subprocess.Popen[bytes], out: IO[bytes]) -> Came:
    late = False
    try:
        process.wait(most_s)
    except subprocess.TimeoutExpired:
        late = True
    process.kill()
    process.wait()
    got = _Framed()
    out.seek(0)
    while not got.whole and got.take(out.read(65536)):
        pass
    came = Came(got.body) if got.whole else _why(f"ended {process.returncode}", got, late)
    return came or Came(why=KILLED)


def _begun(connection: socket.socket) -> subprocess.Popen[bytes]:
    """Start the process that forks: a fresh one, in which no hand-in and nothing of this process has ever been."""
    command = [sys.executable, "-m", "needlework.desk.zygote", str(connection.fileno())]
    quiet: dict[str, Any] = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(walls.PACKAGE.parent)}
    return subprocess.Popen(command, pass_fds=(connection.fileno(),), env=environment, **quiet)


class _Framed:
    """Reads a length and as many bytes."""

    def __init__(self) -> None:
        self._got = b""
        self.whole, self.body, self.too_much = False, b"", False

    def take(self, more: bytes) -> bool:
        """Take what came; False if nothing more is to come."""
        self._got += more
        head, line, body = self._got[:20].partition(b"\n")
        if line and head.isdigit():
            length = int(head)
            body = self._got[len(head) + 1 :]
            if length > _MOST_BYTES:
                self.too_much = True
                return False
            if len(body) >= length:
                self.whole, self.body = True, body[:length]
        elif len(self._got) > 20:
            self.too_much = True
            return False
        return bool(more)


def _why(said: str, got: _Framed, late: bool) -> Came | None:
    """Say why nothing came; None if the walls could not be put up."""
    if got.too_much:
        return Came(why="what its code gave is far too much, or no answer at all")
    if said in ("memory", "processes"):
        return Came(why=TOO_MUCH)
    if said.startswith("walls") or said in ("ended 98", "ended 99"):
        return None
    if late:
        long = f"{most_s:.0f} seconds"
        return Came(why=f"its code did not come to an end in {long}: it waits, or the machine was busy", machine=True)
    if said in _KEPT_THE_PROCESSOR:
        return Came(why=STUCK)
    return Came(why=KILLED)


_KEPT_THE_PROCESSOR = {f"ended {code}" for signal in (24, 9) for code in (-signal, -signal & 0xFF, 128 + signal)}
"""How it ends where signal 24 said that the processor was kept too long, or 9 because it did not listen to that."""


@functools.cache
def walls_stand() -> bool:
    """Say whether this machine can put up walls around a hand-in.

    Returns
    -------
    bool
        True if bubblewrap is there and allowed to work.
    """
    return walls.available()
