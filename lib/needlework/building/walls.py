"""Walls for code that somebody else wrote: it sees no network, nothing of this person's, and nothing it could change.

Bubblewrap puts them up, on Linux. What is inside sees the system, the interpreter with its packages, this library and
its data, and what it is given to see; it writes in one folder of its own.
"""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
COURSE = PACKAGE.parents[1]
_SYSTEM = (
    "/usr",
    "/bin",
    "/sbin",
    "/lib",
    "/lib32",
    "/lib64",
    "/nix",
    "/etc/ld.so.cache",
    "/etc/fonts",
    "/etc/alternatives",
)
HOME = "/tmp/home"
"""The home folder inside."""

_PLACE_MB = 32
_MEMORY_KB = 4_000_000
_FILE_BLOCKS = 200_000


def _within(path: Path, folder: Path) -> bool:
    return path == folder or folder in path.parents


def _visible_folders() -> list[Path]:
    """What is seen inside besides the system: the interpreter, its packages, this library, the data."""
    wanted = {Path(sys.prefix), Path(sys.base_prefix), Path(sys.executable).resolve().parent.parent}
    wanted |= {Path(os.path.realpath(path)) for path in wanted}
    wanted |= {PACKAGE, COURSE / "datasets"}
    there = sorted(path for path in wanted if path.exists())
    return [path for path in there if not any(_within(path, other) for other in there if other != path)]


def _raised(shown: Iterable[Path]) -> list[str]:
    """Give the walls themselves, with what is seen inside; nothing in them can be written."""
    walls = [str(shutil.which("bwrap")), "--unshare-user", "--unshare-all"]
    walls += ["--die-with-parent", "--new-session", "--cap-drop", "ALL"]
    for place in _SYSTEM:
        walls += ["--ro-bind-try", place, place]
    walls += ["--proc", "/proc"]
    # Without a size such a place may take half the machine's memory.
    for place in ("/dev/shm", "/tmp"):
        walls += ["--dev", "/dev"] if place == "/dev/shm" else []
        walls += ["--size", str(_PLACE_MB * 2**20), "--tmpfs", place]
    walls += ["--remount-ro", "/dev", "--dir", HOME]
    for folder in (*_visible_folders(), *shown):
        walls += ["--ro-bind", str(folder), str(folder)]
    return walls


def environment_inside(more: Mapping[str, str] | None = None) -> dict[str, str]:
    """Give the environment variables inside; of this process's own only what concerns its arithmetic gets there.

    Parameters
    ----------
    more : mapping, optional
        What is wanted besides.

    Returns
    -------
    dict of str to str
        All of them.
    """
    wanted = {
        "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin",
        "HOME": HOME,
        "MPLCONFIGDIR": f"{HOME}/matplotlib",
        "LANG": "C.UTF-8",
        "OPENBLAS_NUM_THREADS": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
        # The library is found here even when it is not installed in the interpreter's own folder.
        "PYTHONPATH": str(PACKAGE.parent),
    }
    wanted |= {name: os.environ[name] for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE") if name in os.environ}
    return {**wanted, **(more or {})}


def room(shown: Iterable[Path] = (), environment: Mapping[str, str] | None = None) -> list[str]:
    """Give the command that is put in front of another one, which then sees as little as it can and may keep nothing.

    All that it can write in are two small places in memory, which go with it.

    Parameters
    ----------
    shown : iterable of pathlib.Path
        What it may read besides.
    environment : mapping, optional
        Environment variables besides the usual ones.

    Returns
    -------
    list of str
        Words of the command.
    """
    walls = [*_raised(shown), "--chdir", HOME, "--clearenv"]
    for name, value in environment_inside(environment).items():
        walls += ["--setenv", name, value]
    return [*walls, *(["--disable-userns"] if _can_keep_to_itself() else []), "--remount-ro", "/", "--"]


def around(private: Path, shown: Iterable[Path] = (), environment: Mapping[str, str] | None = None) -> list[str]:
    """Give the command that is put in front of another one: what that sees, and that everything else is not there.

    Parameters
    ----------
    private : pathlib.Path
        The one folder it may write in besides its own ``/tmp``.
    shown : iterable of pathlib.Path
        What it may read besides.
    environment : mapping, optional
        Environment variables besides the usual ones; nothing of this process's own gets inside.

    Returns
    -------
    list of str
        Words of the command.
    """
    walls = [*_raised(shown), "--bind", str(private), str(private), "--chdir", HOME, "--clearenv"]
    wanted = {**environment_inside(), "MPLCONFIGDIR": str(private / "matplotlib"), **(environment or {})}
    for name, value in wanted.items():
        walls += ["--setenv", name, value]
    limits = f'ulimit -v {_MEMORY_KB}; ulimit -f {_FILE_BLOCKS}; exec "$@" >/dev/null 2>&1'
    return [*walls, "--remount-ro", "/", "--", "/bin/sh", "-c", limits, "sh"]


@functools.cache
def _can_keep_to_itself() -> bool:
    """Say whether this bubblewrap can keep what is inside from making walls of its own (from version 0.8 on)."""
    try:
        told = subprocess.run([str(shutil.which("bwrap")), "--help"], capture_output=True, text=True, timeout=10)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return "--disable-userns" in told.stdout + told.stderr


@functools.cache
def available() -> bool:
    """Say whether this machine can put up walls: bubblewrap is there and allowed to work.

    Returns
    -------
    bool
        True if it can.
    """
    if os.name == "nt" or not shutil.which("bwrap"):
        return False
    with tempfile.TemporaryDirectory() as private:
        command = [*around(Path(private)), sys.executable, "-c", "import needlework"]
        try:
            return subprocess.run(command, capture_output=True, timeout=60).returncode == 0
        except (OSError, subprocess.TimeoutExpired):
            return False
