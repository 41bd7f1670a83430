"""What outlives browser and kernel of a lesson before a class: the place, the votes as counts, the period chosen."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData

FOLDER = "class"
"""In the teacher's folder; one file a lesson, counts without a name."""
_MOST_BYTES = 200_000


def path_of(folder: Path, key: str) -> Path:
    """Give the file of one lesson.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.

    Returns
    -------
    pathlib.Path
        It may not exist.
    """
    return folder / FOLDER / f"{key}.json"


def read(folder: Path, key: str) -> dict[str, Any]:
    """Read what was kept.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.

    Returns
    -------
    dict
        Empty where nothing was kept, or it cannot be read.
    """
    try:
        found = json.loads(path_of(folder, key).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def write(folder: Path, key: str, kept: dict[str, Any]) -> None:
    """Keep it, in one step: a crash leaves the old or the new, never a part.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.
    kept : dict
        Plain data.

    Raises
    ------
    BadData
        If it is far too much, or the folder cannot be written.
    """
    text = json.dumps(kept, ensure_ascii=False, indent=1)
    if len(text) > _MOST_BYTES:
        raise BadData("That is more than the votes of a class: begin the next class anew.")
    path = path_of(folder, key)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        raise BadData(f"{path} cannot be written ({error.strerror}): is the disk full?") from error
