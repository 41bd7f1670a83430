"""nbgrader's own pages for marking by hand, started on the desk: its gradebook and settings, this machine only."""

from __future__ import annotations

import os
import secrets
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import webbrowser
from pathlib import Path
from urllib.parse import quote

from needlework.basis import light
from needlework.basis.errors import BadData

_STARTS_S = 120.0


def address_of(port: int, token: str, lesson: str) -> str:
    """Give the address of the page on which the hand-ins of a lesson are marked."""
    # By way of the login page, which leaves the cookie that nbgrader's pages ask their data with.
    following = quote(f"/formgrader/gradebook/{quote(lesson)}/{quote(lesson)}", safe="")
    return f"http://127.0.0.1:{port}/login?token={token}&next={following}"


def start(desk: Path, port: int = 0) -> tuple[subprocess.Popen[bytes], int, str]:
    """Start the pages.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    port : int
        Where; 0 for any that is free.

    Returns
    -------
    process : subprocess.Popen
        The server; whoever started it ends it.
    port : int
        Where it answers.
    token : str
        What its address needs.

    Raises
    ------
    BadData
        If it does not start.
    """
    port, token = port or _free_port(), secrets.token_hex(16)
    place = str(Path(__file__).with_name("jupyter"))
    known = [place, *filter(None, [os.environ.get("JUPYTER_CONFIG_PATH")])]
    environment = {
        **os.environ,
        "JUPYTER_CONFIG_PATH": os.pathsep.join(known),
        "NEEDLEWORK_DESK": str(desk),
        "JUPYTER_TOKEN": token,
        "PATH": os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")]),
    }
    extensions = {"nbgrader.server_extensions.formgrader": True, "jupyterlab": False, "notebook": False}
    command = [
        sys.executable, "-m", light.__name__, "jupyter_server", "--no-browser", "--allow-root",
        "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--ServerApp.port_retries=0",
        f"--ServerApp.root_dir={desk}",
        f"--ServerApp.jpserver_extensions={extensions}",
    ]  # fmt: skip
    log = desk / "ledger" / "by-hand.log"
    log.parent.mkdir(parents=True, exist_ok=True)
    with log.open("wb") as told:
        process = subprocess.Popen(command, env=environment, cwd=desk, stdout=told, stderr=subprocess.STDOUT)
    ends = time.monotonic() + _STARTS_S
    while process.poll() is None and time.monotonic() < ends:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/api/status?token={token}", timeout=2):
                return process, port, token
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.1)
    process.kill()
    process.wait()
    raise BadData(f"The pages for marking by hand did not start: {log} says why.")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve(desk: Path, lesson: str, browser: bool = True) -> None:
    """Show the pages until the person is done.

    Parameters
    ----------
    desk : pathlib.Path
        The desk's folder.
    lesson : str
        Lesson key.
    browser : bool
        True to open a browser.

    Raises
    ------
    BadData
        If the pages do not start.
    """
    process, port, token = start(desk)
    address = address_of(port, token, lesson)
    try:
        print(f"Mark here: {address}", flush=True)
        print("When you are done, press Ctrl and C here; every mark is kept at once.", flush=True)
        if browser:
            webbrowser.open(address)
        process.wait()
    except KeyboardInterrupt:
        print()
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
