"""A kernel in a sealed room: a submission's code sees no network, no homework of others, nothing it could change.

Only the kernel runs inside (:mod:`needlework.building.walls`). nbgrader, the gradebook and the solutions stay
outside; the two talk through sockets in one private folder. Of a lesson that is not the course's own it sees the data
and functions that were handed out, and nothing else of its instructor's.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from jupyter_client.manager import AsyncKernelManager

from needlework.basis.places import VARIABLE
from needlework.building import walls
from needlework.building.walls import available as available

_GIVEN = ("NEEDLEWORK_FLIGHTS", VARIABLE)
"""Environment variables of the marking process that name a folder for the kernel to read."""


def _walls(private: Path) -> list[str]:
    """Give the command in front of the kernel's own."""
    given = {name: os.environ.get(name, "") for name in _GIVEN}
    environment = {
        **given,
        "NEEDLEWORK_GRADING": "1",
        "MPLBACKEND": "module://matplotlib_inline.backend_inline",
    }
    return walls.around(private, [Path(folder) for folder in given.values() if folder], environment)


def _lend_font_list(place: Path) -> None:
    """Copy matplotlib's list of fonts, which takes seconds to make, so that no kernel has to make its own."""
    import matplotlib as mpl
    import matplotlib.font_manager

    place.mkdir()
    for path in Path(mpl.get_cachedir()).glob("fontlist*.json"):
        shutil.copy(path, place)


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
