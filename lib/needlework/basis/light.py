"""Starts another program without what one of its packages would load and nobody here asks for.

Who loads them goes without where they are not installed. ``jsonschema`` looks for grammars of addresses in any
script, a format that no file or event of Jupyter's names: a second and 15 MB in each program. ``httpx`` draws a
command line of its own with ``rich``: 3 MB in each server. ``ipykernel`` has a debugger at hand: 8 MB in each lesson.
"""

from __future__ import annotations

import contextlib
import ctypes
import runpy
import sys

_LEFT_OUT = ("rfc3987_syntax", "rich", "debugpy")


def leave_out() -> None:
    """Let them count as not installed in this process; to be called before Jupyter's packages are loaded."""
    modules: dict[str, object] = sys.modules  # type: ignore[assignment]
    for name in _LEFT_OUT:
        modules.setdefault(name, None)


def give_back() -> None:
    """Give the system the memory that is free between what is used; glibc keeps it otherwise (malloc_trim(3))."""
    with contextlib.suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


def main() -> None:
    """Run the module that is named first, with the words behind it."""
    leave_out()
    del sys.argv[0]
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
