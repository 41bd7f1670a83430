"""What a class costs on a JupyterHub: memory a student, seconds until all servers stand and all lessons have run.

Run ``python tests/benchmarks/class_on_a_hub.py [LESSON [MOST]]`` as root on Linux: it starts the hub of
``tests/hub.py`` for one, five and ten students, ``MOST`` at most, all at once, and runs every code cell of a lesson
for each through it; then once more for one student with the lesson open in Chromium, at once and half a minute
later, when the server has given back what it no longer uses. Memory is the proportional set size (PSS) of all
processes of that user, from ``/proc/PID/smaps_rollup``; in the browser also what is resident (RSS), and what of it
other processes have too. Thirty and a hundred are calculated from ten, and say so.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import threading
import time
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import hub as of_tests
import surface
import websocket
from needlework.course import server as of_the_course

SIZES = (1, 5, 10)
CALCULATED = (30, 100)


def asked(hub: of_tests.Hub, method: str, path: str, body: Any = None) -> Any:
    """Ask the hub, or a user's server behind it, as its own service."""
    request = urllib.request.Request(f"http://{hub.address}/{path}", method=method)
    request.add_header("Authorization", f"token {hub.token}")
    data = None if body is None else json.dumps(body).encode()
    with urllib.request.urlopen(request, data, timeout=600) as answer:
        text = answer.read()
    return json.loads(text) if text else None


@dataclass(frozen=True)
class Size:
    """Memory of some processes: their share, what is resident, what of it other processes have too. [MB]"""

    pss: float = 0.0
    rss: float = 0.0
    shared: float = 0.0

    def __add__(self, other: Size) -> Size:
        """Of both together."""
        return Size(self.pss + other.pss, self.rss + other.rss, self.shared + other.shared)

    def __str__(self) -> str:
        return f"{self.pss:.0f} (RSS {self.rss:.0f}, of which {self.shared:.0f} shared)"


def sizes(uid: int) -> tuple[Size, Size]:
    """Memory of a user's server and of what works lessons out."""
    server = kernels = Size()
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if process.stat().st_uid != uid:
                continue
            rows = [row.split() for row in (process / "smaps_rollup").read_text().splitlines()[1:]]
            command = (process / "cmdline").read_text()
        except (OSError, ProcessLookupError):
            continue
        told = {row[0]: float(row[1]) / 1024 for row in rows}
        size = Size(told["Pss:"], told["Rss:"], told["Shared_Clean:"] + told["Shared_Dirty:"])
        if "ipykernel" in command:
            kernels += size
        else:
            server += size
    return server, kernels


def megabytes(uid: int) -> tuple[float, float]:
    """Proportional memory of a user's server and of what works lessons out. [MB]"""
    server, kernels = sizes(uid)
    return server.pss, kernels.pss


def at_once(work: Callable[[str], None], users: list[str]) -> list[float]:
    """Do something for all users at the same moment; the seconds each took."""
    took: dict[str, float] = {}

    def one(user: str) -> None:
        begin = time.perf_counter()
        work(user)
        took[user] = time.perf_counter() - begin

    threads = [threading.Thread(target=one, args=(user,)) for user in users]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [took[user] for user in users]


def run_lesson(hub: of_tests.Hub, user: str, lesson: str) -> None:
    """Run every code cell of a lesson in a session of its own, as Run All does."""
    book = asked(hub, "GET", f"user/{user}/api/contents/{lesson}/{lesson}.ipynb")["content"]
    cells = ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code"]
    path = f"{lesson}/{lesson}.ipynb"
    wanted = {"path": path, "name": path, "type": "notebook", "kernel": {"name": "python3"}}
    session = asked(hub, "POST", f"user/{user}/api/sessions", wanted)
    address = f"ws://{hub.address}/user/{user}/api/kernels/{session['kernel']['id']}/channels"
    line = websocket.create_connection(address, header=[f"Authorization: token {hub.token}"], timeout=600)
    for number, cell in enumerate(cells):
        about = {"msg_id": f"m{number}", "msg_type": "execute_request", "session": "measuring", "username": user}
        content = {"code": cell, "silent": False, "store_history": True, "allow_stdin": False, "stop_on_error": False}
        sent = {"header": {**about, "version": "5.3"}, "parent_header": {}, "metadata": {}, "content": content}
        line.send(json.dumps({**sent, "channel": "shell"}))
    left = len(cells)
    while left:
        told = json.loads(line.recv())
        left -= told.get("msg_type") == "execute_reply"
    line.close()


def measured(size: int, lesson: str) -> list[float]:
    """Measure one class: memory before and after, and the seconds."""
    users = [f"student-{number}" for number in range(1, size + 1)]
    with of_tests.running(users) as hub:

        def start(user: str) -> None:
            asked(hub, "POST", f"hub/api/users/{user}/server")
            while not asked(hub, "GET", f"hub/api/users/{user}")["servers"].get("", {}).get("ready"):
                time.sleep(0.2)

        started = at_once(start, users)
        idle = [megabytes(of_tests.FIRST_UID + 1 + n) for n in range(size)]
        ran = at_once(lambda user: run_lesson(hub, user, lesson), users)
        after = [megabytes(of_tests.FIRST_UID + 1 + n) for n in range(size)]
        mean = statistics.mean
        return [
            mean(server for server, _ in idle),
            mean(server for server, _ in after),
            mean(kernel for _, kernel in after),
            max(started),
            max(ran),
        ]


def with_a_browser(lesson: str) -> None:
    """Measure one student whose lesson is open in Chromium, opened from the start page, and print it."""
    with of_tests.running(["student-1"], ["--LabApp.expose_app_in_browser=True"]) as hub:
        user = hub.log_in("student-1", "lab/tree/start.ipynb")
        user.page.wait_for_selector("[data-start=ready]", timeout=of_tests.START_SECONDS * 1000)
        _tell("in a browser, on the start page")
        user.page.evaluate(
            "path => window.jupyterapp.commands.execute('docmanager:open', {path}).then(() => null)",
            f"{lesson}/{lesson}.ipynb",
        )
        user.page.locator(surface.READY).wait_for()
        _tell("with the lesson open")
        user.page.wait_for_timeout(1.2 * of_the_course._GIVE_BACK_EVERY_MS)
        _tell("half a minute later")


def _tell(when: str) -> None:
    server, kernels = sizes(of_tests.FIRST_UID + 1)
    print(f"{when}: server {server}, lesson {kernels}: {server.pss + kernels.pss:.0f} MB", flush=True)


def main() -> None:
    """Measure the classes and print them."""
    lesson = sys.argv[1] if len(sys.argv) > 1 else "station-passage"
    most = int(sys.argv[2]) if len(sys.argv) > 2 else SIZES[-1]
    print(f"{lesson}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} before")
    print("students  server idle  after   lesson   a student [MB]   all servers stand   all have run [s]")
    rows = {}
    for size in filter(lambda size: size <= most, SIZES):
        idle, after, kernel, start, run = rows[size] = measured(size, lesson)
        print(f"{size:8} {idle:12.0f} {after:6.0f} {kernel:8.0f} {after + kernel:16.0f} {start:19.1f} {run:18.1f}")
        print(f"         (load {os.getloadavg()[0]:.1f})", flush=True)
    if SIZES[-1] in rows:
        _, after, kernel, start, run = rows[SIZES[-1]]
        for size in CALCULATED:
            share = size / SIZES[-1]
            all_gb = (after + kernel) * size / 1024
            print(
                f"{size:8} calculated from {SIZES[-1]}: {all_gb:.1f} GB, {start * share:.0f} s, {run * share:.0f} s"
            )
    with_a_browser(lesson)
    print(f"load {os.getloadavg()[0]:.1f} after")


if __name__ == "__main__":
    main()
