"""Who has run a cell: the learner in the notebook, or a page in front of it that shows questions and fields."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any


def _said() -> Mapping[str, Any]:
    """What the page in front of the notebook has written beside the request that runs; empty without one."""
    # The desk shows verdicts too, in many processes: a notebook's kernel has loaded this, they need not.
    if "IPython" not in sys.modules:
        return {}
    from IPython import get_ipython

    kernel = getattr(get_ipython(), "kernel", None)
    if kernel is None:
        return {}
    try:
        said = kernel.get_parent("shell").get("metadata", {}).get("needlework", {})
    except (AttributeError, LookupError, TypeError):
        return {}
    return said if isinstance(said, Mapping) else {}


def a_page() -> bool:
    """Say whether a page with fields of its own has run this cell: it brings its own buttons.

    Returns
    -------
    bool
        False in a plain notebook.
    """
    return _said().get("surface") is True


def again() -> bool:
    """Say whether the cell runs only because the lesson was opened again: that is no new try.

    Returns
    -------
    bool
        False whenever the learner has run the cell.
    """
    return _said().get("again") is True
