"""Starts another program without what one of its packages would load and nobody here asks for.

Who loads them goes without where they are not installed. ``jsonschema`` looks for grammars of addresses in any
script, a format that no file or event of Jupyter's names: a second and 15 MB in each program. ``httpx`` draws a
command line of its own and colours for it: 9 MB in each server. ``ipykernel`` has a debugger at hand: 8 MB in each
lesson. A hub's server for one user can encrypt what only the hub itself keeps: 6 MB.
"""

from __future__ import annotations

import contextlib
import ctypes
import runpy
import sys

_LEFT_OUT = ("rfc3987_syntax", "httpx._main", "debugpy")
_OF_A_HUB = {"jupyterhub.singleuser": ("cryptography",)}


def leave_out(*more: str) -> None:
    """Let them, and more, count as not installed in this process; called before Jupyter's packages are loaded."""
    modules: dict[str, object] = sys.modules  # type: ignore[assignment]
    for name in (*_LEFT_OUT, *more):
        modules.setdefault(name, None)


def give_back() -> None:
    """Give the system the memory that is free between what is used; glibc keeps it otherwise (malloc_trim(3))."""
    with contextlib.suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


def main() -> None:
    """Run the module that is named first, with the words behind it."""
    del sys.argv[0]
    leave_out(*_OF_A_HUB.get(sys.argv[0], ()))
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
