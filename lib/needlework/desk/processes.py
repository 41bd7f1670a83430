"""How processes are started at the desk: forked from one that has everything loaded, where the system can do that.

It loads once for all of them, and they share the memory of what is loaded.
"""

from __future__ import annotations

import multiprocessing
import os
from multiprocessing.context import BaseContext

_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")


def context() -> BaseContext:
    """Give the way in which processes are started.

    Returns
    -------
    multiprocessing context
        Its processes keep their arithmetic to one thread: a fork of more could stand still.
    """
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    made = multiprocessing.get_context("forkserver")
    made.set_forkserver_preload(["needlework.desk.loaded"])
    return made
