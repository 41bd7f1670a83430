"""Where the course lies, and what is not its own, lessons that an instructor wrote; how a command is typed."""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]

BESIDE = ".needlework"
"""Name of the folder beside a notebook that holds its lesson's data: for good, since learners have it."""

VARIABLE = "NEEDLEWORK_LESSONS"
"""Environment variable that names such folders where they do not lie beside the notebook, as at the marking desk."""

DATA, FUNCTIONS, PROCEDURES = "lesson.json", "functions.py", "procedures"
"""What such a folder holds."""


def own_lessons() -> tuple[Path, ...]:
    """Give the folders that may hold a lesson of somebody's own: those named, or the one beside the notebook.

    Returns
    -------
    tuple of pathlib.Path
        Only folders that are there.
    """
    named = os.environ.get(VARIABLE)
    if named:
        wanted = [Path(each) for each in named.split(os.pathsep) if each]
    else:
        try:
            wanted = [Path.cwd() / BESIDE]
        except OSError:  # the folder in which the kernel was started is gone
            wanted = []
    return tuple(folder for folder in wanted if folder.is_dir())


def beside_lessons(home: Path) -> tuple[Path, ...]:
    """Give the folders with data of lessons of somebody's own in a learner's folder, one beside each notebook.

    Parameters
    ----------
    home : pathlib.Path
        The learner's folder.

    Returns
    -------
    tuple of pathlib.Path
        By name.
    """
    return tuple(sorted(path.parent for path in home.glob(f"*/{BESIDE}/{DATA}")))


def edition(folder: Path) -> str:
    """Give the edition of a lesson: twelve letters and digits that change with anything that is loaded of it.

    Parameters
    ----------
    folder : pathlib.Path
        Holds data, functions and procedures.

    Returns
    -------
    str
        The same for the same files, on any machine.
    """
    digest = hashlib.sha256()
    for path in [folder / DATA, folder / FUNCTIONS, *sorted((folder / PROCEDURES).glob("*.toml"))]:
        digest.update(f"{path.name}\0".encode() + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()[:12]


def checkout() -> Path | None:
    """Give the folder of the checkout that this library is run from.

    Returns
    -------
    pathlib.Path or None
        None where the package was installed without one.
    """
    root = _PACKAGE.parents[1]
    return root if (root / "lib" / "start.py").is_file() and (root / "lessons").is_dir() else None


def of_the_course() -> Path:
    """Give the folder in which nothing of a user's is kept: the checkout, or the installed package.

    Returns
    -------
    pathlib.Path
        The folder.
    """
    return checkout() or _PACKAGE


def released_lessons() -> Path:
    """Give the folder of the released lessons: that of the checkout, or the one that came with the package.

    Returns
    -------
    pathlib.Path
        One folder a lesson in it.
    """
    root = checkout()
    return _PACKAGE / "released" if root is None else root / "lessons"


def typed(*words: str | Path) -> str:
    """Give a command of the course as it is typed here: as the one that runs was, or in the checkout's folder.

    Parameters
    ----------
    *words : str or pathlib.Path
        The command and what follows it.

    Returns
    -------
    str
        The whole command line.

    Examples
    --------
    >>> typed("proofread", "dme arrivals").partition(" proofread ")[2]
    '"dme arrivals"'
    """
    program = Path(sys.argv[0] if sys.argv else "")
    if program.stem in ("needlework", "needlework-script"):
        found = shutil.which("needlework")
        start = "needlework" if found and Path(found).resolve() == program.resolve() else sys.argv[0]
    elif checkout() is None:
        start = "needlework"
    else:
        start = "py lib\\start.py" if os.name == "nt" else "python3 lib/start.py"
    return " ".join([start, *(f'"{word}"' if " " in str(word) else str(word) for word in words)])
