"""The stamp on the page in front of lessons: a browser keeps a file for a year, and asks only for a new name."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from needlework.basis.errors import BadData

PAGE = Path(__file__).resolve().parents[1] / "course" / "jupyter" / "labextensions" / "needlework"
"""The folder that JupyterLab loads."""


def stamp(folder: Path = PAGE, check: bool = False) -> list[str]:
    """Write a digest of the page's files behind the name under which the browser fetches them.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``package.json`` and ``static``.
    check : bool
        True to change nothing and only tell what differs.

    Returns
    -------
    list of str
        One sentence if it was written (or differs).

    Raises
    ------
    BadData
        For a ``package.json`` that is no JSON, or has no place for the name.
    """
    digest = hashlib.sha256()
    for path in sorted((folder / "static").iterdir()):
        digest.update(f"{path.name}\0".encode() + hashlib.sha256(path.read_bytes()).digest())
    package = folder / "package.json"
    try:
        said = json.loads(package.read_text(encoding="utf-8"))
        said["jupyterlab"]["_build"]["load"] = f"static/entry.js?v={digest.hexdigest()[:12]}"
    except (ValueError, KeyError, TypeError) as fault:
        raise BadData(
            f"{package} is damaged: expected JSON with jupyterlab, _build and load; take it from the project again"
        ) from fault
    text = json.dumps(said, indent=2) + "\n"
    if package.read_text(encoding="utf-8") == text:
        return []
    if not check:
        package.write_text(text, encoding="utf-8", newline="\n")
    return [f"{package.name} of the page in front of lessons {'has an old stamp' if check else 'stamped'}."]
