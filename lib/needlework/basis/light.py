"""Starts another program without what one of its packages would load and nobody here asks for.

``jsonschema`` looks for grammars of addresses in any script, and goes without where there are none. No file or event
of Jupyter's names that format; the grammars cost each program that loads them about a second and 15 MB.
"""

from __future__ import annotations

import runpy
import sys

_GRAMMARS = "rfc3987_syntax"


def leave_out() -> None:
    """Let the grammars count as not installed in this process; to be called before Jupyter's packages are loaded."""
    modules: dict[str, object] = sys.modules  # type: ignore[assignment]
    modules.setdefault(_GRAMMARS, None)


def main() -> None:
    """Run the module that is named first, with the words behind it."""
    leave_out()
    del sys.argv[0]
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
