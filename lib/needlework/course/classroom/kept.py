"""What outlives browser and kernel of a lesson before a class: place, votes as counts, orders of a flight, drawings.

Periods that a teacher has put together stand in a file of their own: they are the teacher's, not the class's.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from needlework.basis.errors import BadData

FOLDER = "class"
"""In the teacher's folder; one file a lesson, counts without a name."""
_MOST_BYTES = 600_000


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
    _put(path_of(folder, key), kept)


def _put(path: Path, kept: object) -> None:
    text = json.dumps(kept, ensure_ascii=False, indent=1)
    if len(text) > _MOST_BYTES:
        raise BadData("That is more than the votes and drawings of a class: begin the next class anew.")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        raise BadData(f"{path} cannot be written ({error.strerror}): is the disk full?") from error


def periods_path(folder: Path, key: str) -> Path:
    """Give the file of the periods that a teacher has put together for a lesson.

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
    return folder / FOLDER / "periods" / f"{key}.json"


def periods(folder: Path, key: str) -> list[dict[str, Any]]:
    """Read the periods that a teacher has put together.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.

    Returns
    -------
    list of dict
        ``name`` and ``steps`` of each; what cannot be read is left out.
    """
    try:
        found = json.loads(periods_path(folder, key).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    return [each for each in found if _is_period(each)] if isinstance(found, list) else []


def _is_period(each: object) -> bool:
    return (
        isinstance(each, dict)
        and isinstance(each.get("name"), str)
        and isinstance(each.get("steps"), list)
        and all(isinstance(step, str) for step in each["steps"])
    )


def write_periods(folder: Path, key: str, made: object) -> None:
    """Keep the periods that a teacher has put together; the next class does not put them away.

    Parameters
    ----------
    folder : pathlib.Path
        The teacher's folder.
    key : str
        Lesson key.
    made : list of dict
        ``name`` and ``steps`` of each.

    Raises
    ------
    BadData
        If these are none, or the folder cannot be written.
    """
    if not isinstance(made, list) or not all(_is_period(each) for each in made):
        raise BadData("Expected a list of periods, each with its name and its steps.")
    _put(periods_path(folder, key), made)
