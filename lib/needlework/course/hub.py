"""One user's server on a JupyterHub: the learner's folder is prepared, then the hub's own program takes over."""

from __future__ import annotations

import argparse
import importlib.util
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from needlework.basis import light
from needlework.basis.errors import BadData
from needlework.course import command

EXCHANGE = "NEEDLEWORK_EXCHANGE"
"""Environment variable: the folder through which homework goes out and comes back, nbgrader's exchange."""
_SETTINGS = Path(__file__).parent / "exchange"
_START = "JUPYTERHUB_DEFAULT_URL"


def environment(folder: Path, given: Mapping[str, str] = os.environ) -> dict[str, str]:
    """Give the environment of one user's server: the course's, and nbgrader's window where there is an exchange.

    Parameters
    ----------
    folder : pathlib.Path
        The learner's folder.
    given : mapping
        What the hub has set.

    Returns
    -------
    dict of str to str
        Environment variables.
    """
    made = command.jupyter_environment(folder, *([_SETTINGS] if given.get(EXCHANGE) else []))
    made.setdefault(_START, command.START_URL)
    return made


def _run(options: argparse.Namespace) -> int:
    if importlib.util.find_spec("jupyterhub") is None:
        raise ModuleNotFoundError("No module named 'jupyterhub'", name="jupyterhub")
    if "JUPYTERHUB_API_URL" not in os.environ:
        raise BadData(
            "This is started by a JupyterHub, by the setting Spawner.cmd: for yourself type 'open' instead."
        )
    folder = command.learners_folder(None)
    for line in command.prepare(folder):
        print(line, flush=True)
    if os.environ.get(EXCHANGE):
        # nbgrader's window goes into this folder before anything is in it.
        (folder / "homework").mkdir(exist_ok=True)
    os.chdir(folder)
    words = [sys.executable, "-m", light.__name__, "jupyterhub.singleuser", f"--ServerApp.root_dir={folder}"]
    # A shell of a login would forget where the course's own command is.
    shell = {"shell_command": [os.environ.get("SHELL") or "/bin/sh"]}
    words.append(f"--ServerApp.terminado_settings={shell}")
    return command.run_in_place([*words, *options.more], environment(folder))


def add_command(commands: Any) -> None:
    """Add ``hub-user`` to the ``needlework`` command.

    Parameters
    ----------
    commands : argparse subparsers
        Where to add it.
    """
    told = "for a JupyterHub: prepare a user's folder and start their server"
    # All that stands behind it is the server's, so no word is an option of ours.
    parser = commands.add_parser("hub-user", help=told, prefix_chars="\0", add_help=False)
    parser.add_argument("more", nargs="*", help="what the hub says to the server")
    parser.set_defaults(run=_run)
