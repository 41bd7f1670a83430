"""Whether a notebook and the data beside it belong together, where the lesson is an instructor's own."""

from __future__ import annotations

import json
import os
from pathlib import Path

from needlework.basis.places import edition
from needlework.exercises import catalogue, progress

_OTHER = (
    "This notebook is of another edition of the lesson than what lies beside it in .needlework, so a question may be "
    "judged otherwise than it reads. Take both from one hand-out."
)


def note(lesson: str) -> str:
    """Say so where the notebook is of another edition than the data beside it.

    Parameters
    ----------
    lesson : str
        Lesson key.

    Returns
    -------
    str
        One or two sentences; empty where both belong together, or nothing is known of the notebook.
    """
    place = catalogue.own_place(lesson)
    # The marking desk compares what was handed in with what it handed out.
    if place is None or progress.being_marked():
        return ""
    named = Path(os.environ.get("JPY_SESSION_NAME", ""))
    path = named if named.suffix == ".ipynb" and named.is_file() else Path.cwd() / f"{lesson}.ipynb"
    try:
        said = json.loads(path.read_text(encoding="utf-8"))["metadata"]["needlework"]["edition"]
        return "" if said == edition(place) else _OTHER
    except (OSError, ValueError, KeyError, TypeError):
        return ""
