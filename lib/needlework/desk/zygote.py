"""A process that has the library loaded and forks for every hand-in; it never reads a line of one itself.

It gets two open files for each: one to read the hand-in from, one to write what it gives to. The fork goes behind the
walls first, in namespaces that bubblewrap has made, then reads, then runs. When it is over, everything behind those
walls is gone. Until then the memory and the processes in it are counted, all together.
"""

from __future__ import annotations

import contextlib
import ctypes
import fcntl
import json
import os
import resource
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

_NAMESPACES = ("user", "ipc", "uts", "net", "mnt", "pid")
_GET_OWNER = 0xB701
"""The request NS_GET_USERNS (ioctl_ns(2)): the user namespace that owns another one."""
_NO_NEW_PRIVILEGES, _DROP_BOUNDING = 38, 24
_CAPABILITIES_3 = 0x20080522
_LOOK_EVERY_S = 0.05
_MOST_MB = 1_500
_MOST_PROCESSES = 40
_ONE_PROCESS_BYTES = 2**31
_ONE_FILE_BYTES = 32 * 2**20
_SETTLED_S = 10.0


_ENOUGH = b"end"
Work = Callable[[str, bytes], bytes]


class _Header(ctypes.Structure):
    _fields_ = [("version", ctypes.c_uint32), ("pid", ctypes.c_int)]


class _Sets(ctypes.Structure):
    _fields_ = [("effective", ctypes.c_uint32), ("permitted", ctypes.c_uint32), ("inheritable", ctypes.c_uint32)]


def _drop_rights(libc: Any) -> None:
    libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0)
    for capability in range(64):
        libc.prctl(_DROP_BOUNDING, capability, 0, 0, 0)
    if libc.capset(ctypes.byref(_Header(_CAPABILITIES_3, 0)), ctypes.byref((_Sets * 2)())):
        os._exit(99)


def _below(roots: list[int]) -> tuple[int, int]:
    """Count the resident bytes and the processes of some processes and all below them; anyone may read these."""
    children: dict[int, list[int]] = {}
    resident: dict[int, int] = {}
    page = os.sysconf("SC_PAGE_SIZE")
    for entry in os.listdir("/proc"):
        if entry.isdigit():
            try:
                told = Path("/proc", entry, "stat").read_text().rsplit(")", 1)[1].split()
            except (OSError, IndexError):
                continue
            children.setdefault(int(told[1]), []).append(int(entry))
            resident[int(entry)] = int(told[21]) * page
    total, number, todo = 0, 0, list(roots)
    while todo:
        one = todo.pop()
        number += 1
        total += resident.get(one, 0)
        todo += children.get(one, [])
    return total, number


class _Held:
    """Empty namespaces behind walls, held open by a process that sleeps in them."""

    def __init__(self, shown: list[Path]) -> None:
        from needlework.building import walls

        reading, writing = os.pipe()
        try:
            command = [*walls.room(shown), "/bin/sleep", "3600"]
            # As the first process in there the sleeper hears no signal from inside: no hand-in brings its walls down.
            command[1:1] = ["--info-fd", str(writing), "--as-pid-1"]
            quiet: dict[str, Any] = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
            self._outer = subprocess.Popen(command, pass_fds=(writing,), **quiet)
            os.close(writing)
            said = b""
            while b"}" not in said:
                more = os.read(reading, 4096)
                if not more:
                    raise OSError("the walls did not stand")
                said += more
        finally:
            os.close(reading)
        self.inner = self._settled(int(json.loads(said)["child-pid"]))
        self.pid = self._outer.pid

    def _settled(self, inner: int) -> int:
        """Wait until the sleeper itself runs: bubblewrap builds the walls after it has told its number."""
        until = time.monotonic() + _SETTLED_S
        while time.monotonic() < until and self._outer.poll() is None:
            try:
                if not os.readlink(f"/proc/{inner}/exe").endswith("bwrap"):
                    return inner
                kids = Path(f"/proc/{inner}/task/{inner}/children").read_text().split()
                if kids and not os.readlink(f"/proc/{kids[0]}/exe").endswith("bwrap"):
                    return int(kids[0])
            except OSError:
                pass
            time.sleep(0.0005)
        self.end()
        raise OSError("the walls did not stand")

    def enter(self, libc: Any) -> None:
        """Go inside; called in the fork."""
        opened = [os.open(f"/proc/{self.inner}/ns/{name}", os.O_RDONLY) for name in _NAMESPACES]
        # Without rights of the machine's owner bubblewrap nests two user namespaces: the outer one owns the others.
        owner = fcntl.ioctl(opened[_NAMESPACES.index("mnt")], _GET_OWNER)
        same = os.fstat(owner).st_ino == os.fstat(opened[0]).st_ino
        for place in [owner, *opened[1:], *([] if same else [opened[0]])]:
            if libc.setns(place, 0):
                os._exit(98)

    def end(self) -> None:
        """Let everything behind the walls go."""
        self._outer.kill()
        self._outer.wait()


def _limited(seconds: int) -> None:
    for what, most in (
        (resource.RLIMIT_AS, _ONE_PROCESS_BYTES),
        (resource.RLIMIT_FSIZE, _ONE_FILE_BYTES),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NOFILE, 128),
    ):
        resource.setrlimit(what, (most, most))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))


def _inside(told: dict[str, Any], files: list[int], work: Work) -> None:
    """Do the work, in a fork that is behind its walls already."""
    from needlework.building import walls
    from needlework.desk.answers import framed

    nothing = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nothing, number)
    reading, writing = (os.dup(each) for each in files)
    os.dup2(reading, 100)
    os.dup2(writing, 101)
    os.closerange(3, 100)
    os.closerange(102, 4096)
    os.environ.clear()
    os.environ.update(walls.environment_inside(told["environment"]))
    os.setsid()
    with os.fdopen(100, "rb") as file:
        body = file.read()
    _limited(told["work_s"])
    said = framed(work(told["task"], body))
    while said:
        said = said[os.write(101, said) :]


def _fork(told: dict[str, Any], files: list[int], held: _Held | None, work: Work) -> int:
    """Fork, go inside, and do the work there; give the number of the fork."""
    libc = ctypes.CDLL(None, use_errno=True)
    number = os.fork()
    if number:
        return number
    try:
        if held is not None:
            held.enter(libc)
            os.chdir(walls_home())
            # Only what is forked from here on is inside as far as processes go.
            second = os.fork()
            if second:
                os.closerange(3, 4096)
                _, how = os.waitpid(second, 0)
                os._exit(os.waitstatus_to_exitcode(how) & 0xFF)
            _drop_rights(libc)
        _inside(told, files, work)
    except BaseException:
        os._exit(97)
    os._exit(0)


def walls_home() -> str:
    """Give the folder in which a hand-in begins."""
    from needlework.building import walls

    return walls.HOME


def _watched(connection: socket.socket, child: int, held: _Held | None) -> tuple[str, bool]:
    """Wait until the other side has what it wants, or there is too much of something; say why, and if it is gone."""
    roots = [child, *([held.pid] if held else [])]
    while True:
        if select.select([connection], [], [], _LOOK_EVERY_S)[0]:
            return "", not connection.recv(4096)
        done, how = os.waitpid(child, os.WNOHANG)
        if done:
            code = os.waitstatus_to_exitcode(how)
            return f"ended {code}", False
        resident, number = _below(roots)
        if resident > _MOST_MB * 2**20:
            return "memory", False
        if number > _MOST_PROCESSES:
            return "processes", False


def _one(
    connection: socket.socket, told: dict[str, Any], files: list[int], work: Callable[[str, bytes], bytes]
) -> bool:
    """Do one hand-in; say whether the other side is gone."""
    held, gone, why = None, False, ""
    try:
        held = _Held([Path(each) for each in told["shown"]]) if told["walls"] else None
        child = _fork(told, files, held, work)
    except OSError as error:
        why = f"walls {error}"
    else:
        for file in files:
            os.close(file)
        files.clear()
        try:
            why, gone = _watched(connection, child, held)
        finally:
            _end(child, held, why)
    finally:
        for file in files:
            os.close(file)
        if held is not None:
            held.end()
    if not gone:
        connection.sendall(json.dumps({"why": why}).encode() + b"\n")
    return gone


def _end(child: int, held: _Held | None, why: str) -> None:
    if why.startswith("ended"):
        if held is None:
            _kill_group(child)
        return
    if held is None:
        _kill_group(child)
    else:
        held.end()
    with contextlib.suppress(OSError):
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _kill_group(child: int) -> None:
    with contextlib.suppress(OSError):
        os.killpg(child, signal.SIGKILL)


def serve(connection: socket.socket, work: Work) -> None:
    """Take one hand-in after the other, until the other side is gone.

    Parameters
    ----------
    connection : socket.socket
        Where it is told of them.
    work : callable
        From the name of the work and what is to be worked on, what is said of it; called in the fork only.
    """
    connection.sendall(b"{}\n")
    while True:
        said, files, _, _ = socket.recv_fds(connection, 65536, 2)
        if not said:
            return
        # The other side may have said that it has enough at the moment at which it was told that all was over.
        said = said.removeprefix(_ENOUGH)
        if said and _one(connection, json.loads(said), list(files), work):
            return


def begin(connection: socket.socket) -> None:
    """Load the library, then serve.

    Parameters
    ----------
    connection : socket.socket
        Where it is told of hand-ins.
    """
    from needlework.desk import answers

    os.environ["NEEDLEWORK_GRADING"] = "1"
    os.environ["MPLBACKEND"] = "agg"
    os.set_inheritable(connection.fileno(), False)
    shell = answers.ready()
    serve(connection, lambda task, body: answers.work(task, body, shell))


if __name__ == "__main__":
    begin(socket.socket(fileno=int(sys.argv[1])))
