"""Keys of the learner's own: kept in the learner's folder, taken by every later panel."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from needlework.exercises import progress
from needlework.showing.panel.controls import ACTIONS


def _keys_path() -> Path:
    return progress.folder() / "keys.json"


def own_keys() -> dict[str, str]:
    """Read the keys the learner has chosen; a damaged file counts as none.

    Returns
    -------
    dict of str to str
        From what a button asks for to its key.
    """
    try:
        kept = json.loads(_keys_path().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(kept, dict):
        return {}
    return {action: key for action, key in kept.items() if action in ACTIONS and isinstance(key, str)}


def keep_keys(keys: Mapping[str, str]) -> None:
    """Keep the keys the learner has chosen for the next panel; at the marking desk nothing is kept.

    Parameters
    ----------
    keys : mapping
        From what a button asks for to its key.
    """
    if progress.being_marked():
        return
    path = _keys_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".keys")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(dict(keys), out, indent=1)
        Path(temporary).replace(path)
    except OSError:
        # The keys hold for this panel; only the next one will not know them.
        return
