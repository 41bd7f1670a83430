"""A kernel in a sealed room: a submission's code sees no network, no homework of others, nothing it could change.

Only the kernel runs inside (bubblewrap, Linux). nbgrader, the gradebook and the solutions stay outside; the
two talk through sockets in one private folder.
"""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from jupyter_client.manager import AsyncKernelManager

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
_MEMORY_KB = 4_000_000
_FILE_BLOCKS = 200_000


def _within(path: Path, folder: Path) -> bool:
    return path == folder or folder in path.parents


def visible_folders() -> list[Path]:
    """List what the kernel may read besides the system: the interpreter, its packages, this library, the data.

    Returns
    -------
    list of pathlib.Path
        Existing folders, none inside another.
    """
    wanted = {Path(sys.prefix), Path(sys.base_prefix), Path(sys.executable).resolve().parent.parent}
    wanted |= {Path(os.path.realpath(path)) for path in wanted}
    wanted |= {PACKAGE, COURSE / "datasets"}
    there = sorted(path for path in wanted if path.exists())
    return [path for path in there if not any(_within(path, other) for other in there if other != path)]


def _walls(private: Path) -> list[str]:
    """Give the command in front of the kernel's own: what it sees, and that everything else is not there."""
    walls = [str(shutil.which("bwrap")), "--unshare-all", "--die-with-parent", "--new-session", "--cap-drop", "ALL"]
    for place in _SYSTEM:
        walls += ["--ro-bind-try", place, place]
    walls += ["--proc", "/proc", "--dev", "/dev", "--tmpfs", "/tmp", "--dir", "/tmp/home"]
    for folder in visible_folders():
        walls += ["--ro-bind", str(folder), str(folder)]
    flights = os.environ.get("NEEDLEWORK_FLIGHTS", "")
    if flights:
        walls += ["--ro-bind", flights, flights]
    walls += ["--bind", str(private), str(private), "--chdir", "/tmp/home", "--clearenv"]
    environment = {
        "PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin",
        "HOME": "/tmp/home",
        "MPLCONFIGDIR": str(private / "matplotlib"),
        "LANG": "C.UTF-8",
        "NEEDLEWORK_GRADING": "1",
        "NEEDLEWORK_FLIGHTS": flights,
        "MPLBACKEND": "module://matplotlib_inline.backend_inline",
        "OPENBLAS_NUM_THREADS": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
        # The library is found here even when it is not installed in the interpreter's own folder.
        "PYTHONPATH": str(PACKAGE.parent),
    }
    for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
        if name in os.environ:
            environment[name] = os.environ[name]
    for name, value in environment.items():
        walls += ["--setenv", name, value]
    limits = f'ulimit -v {_MEMORY_KB}; ulimit -f {_FILE_BLOCKS}; exec "$@" >/dev/null 2>&1'
    return [*walls, "--remount-ro", "/", "--", "/bin/sh", "-c", limits, "sh"]


def _lend_font_list(place: Path) -> None:
    """Copy matplotlib's list of fonts, which takes seconds to make, so that no kernel has to make its own."""
    import matplotlib as mpl
    import matplotlib.font_manager

    place.mkdir()
    for path in Path(mpl.get_cachedir()).glob("fontlist*.json"):
        shutil.copy(path, place)


@functools.cache
def available() -> bool:
    """Say whether this machine can seal a kernel: bubblewrap is there and allowed to work.

    Returns
    -------
    bool
        True if it can.
    """
    if os.name == "nt" or not shutil.which("bwrap"):
        return False
    with tempfile.TemporaryDirectory() as private:
        command = [*_walls(Path(private)), sys.executable, "-c", "import needlework"]
        try:
            return subprocess.run(command, capture_output=True, timeout=60).returncode == 0
        except (OSError, subprocess.TimeoutExpired):
            return False


class SealedKernelManager(AsyncKernelManager):
    """Start kernels behind the walls and talk to them through sockets in one private folder."""

    def __init__(self, **settings: Any) -> None:
        # A short path: the name of a socket may not be longer than about a hundred letters.
        self._private = tempfile.TemporaryDirectory(prefix="nw-")
        private = Path(self._private.name)
        _lend_font_list(private / "matplotlib")
        super().__init__(**settings)
        self.transport = "ipc"
        self.connection_file = str(private / "kernel.json")
        self.ip = str(private / "s")

    def format_kernel_cmd(self, extra_arguments: list[str] | None = None) -> list[str]:
        """Give the kernel's command with the walls in front."""
        # A signal would stop the walls, not the loop inside: ask for an interruption by message.
        assert self.kernel_spec is not None
        self.kernel_spec.interrupt_mode = "message"
        command: list[str] = super().format_kernel_cmd(extra_arguments=extra_arguments)
        return [*_walls(Path(self._private.name)), *command]

    async def _async_cleanup_resources(self, restart: bool = False) -> None:
        await super()._async_cleanup_resources(restart=restart)
        if not restart:
            self._private.cleanup()

    cleanup_resources = _async_cleanup_resources
