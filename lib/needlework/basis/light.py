"""Starts another program without what one of its packages would load and nobody here asks for.

Some count as not installed, and who loads them goes without. ``jsonschema`` looks for grammars of addresses and
lengths of time in any script, formats that no file or event of Jupyter's names: a second and 17 MB in each program.
``httpx`` draws a command line of its own and colours for it: 9 MB in each server. ``ipykernel`` has a debugger at
hand: 8 MB in each lesson.

Others are loaded when they are first used. A hub's server for one user names the hub's own pages and database, of
which it has none: 30 MB. JupyterLab names what installs its extensions, which no learner can: 5 MB.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import importlib
import os
import runpy
import sys
from collections.abc import Mapping
from types import ModuleType
from typing import Any

_LEFT_OUT = ("rfc3987_syntax", "isoduration", "httpx._main", "debugpy")


class Later(ModuleType):
    """Stands for a module, or for something in it, until it is used.

    Parameters
    ----------
    name : str
        The module.
    part : str
        What in it, if not the whole.
    known : mapping
        Its names that can be asked for without loading it.
    """

    def __init__(self, name: str, part: str = "", known: Mapping[str, object] | None = None) -> None:
        super().__init__(name)
        self._part = part
        self.__dict__.update(known or {})

    def _loaded(self) -> Any:
        if sys.modules.get(self.__name__) is self:
            sys.modules.pop(self.__name__, None)
        whole = importlib.import_module(self.__name__)
        return getattr(whole, self._part) if self._part else whole

    def __getattr__(self, name: str) -> Any:
        # What the import system looks for by itself is no use of it.
        if name.startswith("__"):
            raise AttributeError(f"'{self.__name__}' is not loaded yet", name=name, obj=self)
        return getattr(self._loaded(), name)

    def __call__(self, *given: Any, **named: Any) -> Any:
        """Call what it stands for."""
        return self._loaded()(*given, **named)


class NoneThere(Exception):
    """A class of something of which a program has none."""


def _ipython_dir() -> str:
    return os.path.normpath(os.path.expanduser(os.environ.get("IPYTHONDIR", "~/.ipython")))


# Whole modules, and the names that are taken out of them while others are loaded.
_Standing = Mapping[str, Mapping[str, object]]
_OF_LAB: _Standing = {
    "jupyterlab.extensions.pypi": {
        "PyPIExtensionManager": Later("jupyterlab.extensions.pypi", "PyPIExtensionManager")
    },
    "requests": {},
}
_OF_A_HUB: _Standing = {
    "jupyterhub.handlers.pages": {"HealthCheckHandler": NoneThere},
    "jupyterhub.orm": {},
    "sqlalchemy": {"func": Later("sqlalchemy", "func")},
    "sqlalchemy.exc": {"SQLAlchemyError": NoneThere},
}
_OF_A_START: _Standing = {"IPython.paths": {"get_ipython_dir": _ipython_dir}}
_SERVERS: Mapping[str, tuple[_Standing, tuple[str, ...]]] = {
    "jupyterlab": (_OF_LAB, ("jupyterlab.labapp",)),
    "jupyterhub.singleuser": ({**_OF_A_HUB, **_OF_LAB}, ("jupyterhub.singleuser", "jupyterlab.labapp")),
}


def leave_out() -> None:
    """Let them count as not installed in this process; called before Jupyter's packages are loaded."""
    modules: dict[str, object] = sys.modules  # type: ignore[assignment]
    for name in _LEFT_OUT:
        modules.setdefault(name, None)


def stand_in(modules: Mapping[str, Mapping[str, object]]) -> None:
    """Let whoever loads these modules from now on get them when he uses them.

    Parameters
    ----------
    modules : mapping of str to mapping
        Which, and of each the names that can be asked for without loading it.
    """
    for name, known in modules.items():
        sys.modules.setdefault(name, Later(name, known=known))


def put_back() -> None:
    """Let whoever loads them from now on get the modules themselves."""
    for name, module in list(sys.modules.items()):
        if isinstance(module, Later):
            sys.modules.pop(name, None)


def give_back() -> None:
    """Give the system the memory that is free between what is used; glibc keeps it otherwise (malloc_trim(3))."""
    with contextlib.suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


_drew = False


def drew() -> None:
    """Remember that a picture was drawn: what it leaves behind holds on to itself, 17 MB for those of a lesson."""
    global _drew
    _drew = True


def clear_away() -> None:
    """Give back what pictures have left behind, where any was drawn since the last time."""
    global _drew
    if _drew:
        _drew = False
        gc.collect()
        give_back()


def begin(program: str) -> None:
    """Make this process ready to run a program: what nobody asks for is left out, or loaded when it is used.

    Parameters
    ----------
    program : str
        The module that is run.
    """
    leave_out()
    if program not in _SERVERS:
        return
    standing, loaded = _SERVERS[program]
    stand_in(standing)
    # A version of theirs that cannot be loaded in this way is loaded as it is, when it is run.
    with contextlib.suppress(ImportError, AttributeError):
        for name in loaded:
            importlib.import_module(name)
    put_back()
    stand_in(_OF_A_START)


def main() -> None:
    """Run the module that is named first, with the words behind it."""
    del sys.argv[0]
    begin(sys.argv[0])
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    # What the program then calls here knows what stands in, so it is this module under its own name.
    from needlework.basis import light

    light.main()
