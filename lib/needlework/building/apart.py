"""A lesson whose functions are not the course's: read, built and proved in a process apart, behind walls.

Reading a lesson runs its functions: their parameters are asked for, numbers are drawn. What comes out of that process
is text only: the data, the solved notebook, and the faults. Without walls it is a process apart all the same.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from needlework.basis.errors import BadData
from needlework.basis.places import PROCEDURES, VARIABLE
from needlework.building import lessons, proofreading, walls

_LONGEST_S = 900.0


@dataclass(frozen=True)
class Examined:
    """What came of a lesson.

    Parameters
    ----------
    key, data, book : str
        Its key, its data as they are written to ``lesson.json``, its solved notebook; empty where it has faults.
    faults : list of str
        One sentence each, with the line of the file.
    """

    key: str = ""
    data: str = ""
    book: str = ""
    faults: list[str] = field(default_factory=list)


def examine(folder: Path, procedures: Sequence[Path] = (), proved: bool = False) -> Examined:
    """Read and build a lesson in a process apart, and prove it if that is wanted.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.md`` and ``functions.py``.
    procedures : sequence of pathlib.Path
        Procedures besides those of the course.
    proved : bool
        True to run the proofs as well.

    Returns
    -------
    Examined
        What came of it.
    """
    folder = folder.resolve()
    with tempfile.TemporaryDirectory(prefix="nw-lesson-") as place:
        private = Path(place).resolve()
        given = private / "given"
        (given / PROCEDURES).mkdir(parents=True)
        for path in procedures:
            shutil.copyfile(path, given / PROCEDURES / path.name)
        out = private / "examined.json"
        words = [sys.executable, "-m", __name__, "prove" if proved else "build", str(folder), str(out)]
        environment = {VARIABLE: str(given)}
        if walls.available():
            words = [*walls.around(private, [folder], environment), *words]
        else:
            environment = {**os.environ, **environment}
        try:
            subprocess.run(words, env=environment, capture_output=True, timeout=_LONGEST_S, cwd=private)
            return Examined(**json.loads(out.read_text(encoding="utf-8")))
        except subprocess.TimeoutExpired:
            why = "its functions do not come to an end"
        except (OSError, ValueError, TypeError):
            why = "its functions stopped the program that reads it"
        return Examined(faults=[f"{folder.name}: {why}."])


def _examined(what: str, folder: Path) -> Examined:
    try:
        faults = proofreading.faults_of(folder) if what == "prove" else []
        return Examined(faults=faults) if faults else Examined(*lessons.built(folder))
    except BadData as fault:
        return Examined(faults=str(fault).splitlines())
    except Exception as error:
        return Examined(faults=[f"{folder.name}: it cannot be read: {type(error).__name__}: {error}."])


if __name__ == "__main__":
    made = _examined(sys.argv[1], Path(sys.argv[2]))
    Path(sys.argv[3]).write_text(json.dumps(asdict(made)), encoding="utf-8")
