"""Lessons of an instructor's own: which folders are meant, what is built there, what lies in a learner's folder.

Only data are read here. The functions of such a lesson run in a learner's kernel and behind the walls of marking.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.basis.places import BESIDE, DATA, FUNCTIONS, typed
from needlework.exercises import catalogue
from needlework.exercises.catalogue import Lesson

SETTINGS = "needlework.toml"
"""Name of the file of settings, in a learner's folder and on a desk."""
_LINE = 'extra = "FOLDER"'


@dataclass(frozen=True)
class Own:
    """A lesson that is not the course's.

    Parameters
    ----------
    lesson : Lesson
        What its data say of it.
    place : pathlib.Path
        Folder with its data, functions and procedures.
    """

    lesson: Lesson
    place: Path


def folders(home: Path, named: str | None = None) -> list[Path]:
    """Give the folders of lessons of one's own: the one named on the command line, or those in the settings.

    Parameters
    ----------
    home : pathlib.Path
        The learner's folder, or the desk; a file ``needlework.toml`` in it may say ``extra = "FOLDER"``, or a list.
    named : str, optional
        As typed behind ``--extra``.

    Returns
    -------
    list of pathlib.Path
        Existing folders.

    Raises
    ------
    BadData
        If a folder is not there, or the settings cannot be read.
    """
    if named:
        return [_folder(Path(named).expanduser(), "--extra")]
    path = home / SETTINGS
    if not path.is_file():
        return []
    try:
        settings = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadData(f"{path} cannot be read ({error}): expected {_LINE}, the folder in quotes.") from error
    strange = sorted(set(settings) - {"extra"})
    if strange:
        raise BadData(f"{path} says '{strange[0]}', which is no setting: expected {_LINE}.")
    said = settings.get("extra", [])
    wanted = [said] if isinstance(said, str) else said
    if not isinstance(wanted, list) or not all(isinstance(each, str) for each in wanted):
        raise BadData(f"{path} says extra = {said!r}: expected a folder in quotes, or a list of them.")
    return [_folder(home / Path(each).expanduser(), str(path)) for each in wanted]


def _folder(path: Path, source: str) -> Path:
    if not path.is_dir():
        raise BadData(f"{source} names the folder {path}, and there is none: give that of your own lessons.")
    return path.absolute()


def built_in(wanted: Iterable[Path]) -> tuple[dict[str, Own], list[str]]:
    """Find the lessons that are built in some folders.

    Parameters
    ----------
    wanted : iterable of pathlib.Path
        Folders of lessons of one's own.

    Returns
    -------
    dict of str to Own
        By key, in the order of their names.
    list of str
        What is left out, and what was changed after it was built, one sentence each.
    """
    found: dict[str, Own] = {}
    told: list[str] = []
    for folder in wanted:
        remedy = f"'{typed('release', '--extra', folder)}' builds it, or says why not"
        for source in sorted((folder / "lessons").glob("*/lesson.md")):
            built = folder / "built" / source.parent.name.replace("_", "-")
            if not (built / DATA).is_file():
                told.append(f"lessons/{source.parent.name} of {folder} is not built: {remedy}.")
            elif _changed(source.parent, built):
                told.append(f"lessons/{source.parent.name} of {folder} was changed after it was built: {remedy}.")
        for data in sorted((folder / "built").glob(f"*/{DATA}")):
            _take(data.parent, data.parent.name, found, told)
    return found, told


def _changed(source: Path, built: Path) -> bool:
    written_ns = (built / DATA).stat().st_mtime_ns
    if (source / "lesson.md").stat().st_mtime_ns > written_ns:
        return True
    functions = source / FUNCTIONS
    return functions.is_file() and functions.stat().st_mtime_ns > written_ns


def _take(place: Path, name: str, found: dict[str, Own], told: list[str]) -> None:
    """Take a lesson from its data, or tell why not."""
    try:
        lesson = catalogue.outlined(catalogue.read_data(place, "build it again, or unpack it once more"))
    except BadData as fault:
        told.append(f"{fault} It is left out.")
        return
    why = catalogue.clashes(lesson)
    if lesson.key != name:
        why.append(f"it calls itself '{lesson.key}', and lies in a folder '{name}'")
    for other in found.values():
        if lesson.key == other.lesson.key:
            why.append(f"there is another lesson '{lesson.key}', in {other.place}")
        else:
            both = set(lesson.questions) & set(other.lesson.questions)
            why += [f"the lesson '{other.lesson.key}' has a question '{label}' as well" for label in sorted(both)]
    if why:
        told.append(f"The lesson in {place} is left out: {'; '.join(why)}.")
    else:
        found[lesson.key] = Own(lesson, place)


def lying_in(folder: Path) -> tuple[dict[str, Own], list[str]]:
    """Find the lessons that lie in a learner's folder with their data beside the notebook.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.

    Returns
    -------
    dict of str to Own
        By key, in the order of their names.
    list of str
        What is left out, one sentence each.
    """
    found: dict[str, Own] = {}
    told: list[str] = []
    for data in sorted(folder.glob(f"*/{BESIDE}/{DATA}")):
        home = data.parent.parent
        if (home / f"{home.name}.ipynb").is_file():
            _take(data.parent, home.name, found, told)
    return found, told
