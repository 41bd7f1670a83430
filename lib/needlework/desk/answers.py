"""What is done inside walls: the cells of one hand-in are run, and what their names hold is given as plain data.

This is the only module of the desk that runs a line of a hand-in. What comes out is what a hand-in could have written
itself: answers, the name its session was begun with, and which cells stopped. No mark is worked out here.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import sys
from typing import Any

from needlework.desk import values


def _nothing(*_given: Any, **_named: Any) -> None:
    return None


def _door() -> Any:
    """Give the module that a hand-in's cells import, where the names they know are changed."""
    return importlib.import_module("needlework.lesson")


def quiet() -> None:
    """Let the verbs of a lesson show nothing and judge nothing, and the pictures draw nothing.

    What is shown to a learner is of no use here, and costs most of the time that a hand-in takes.
    """
    from needlework.course.lesson import session, verbs
    from needlework.showing import pictures, what_ifs

    def begin(key: str, student: str = "", homework: str = "", word: str = "") -> None:
        found = session.lesson_of(key)
        if not isinstance(student, (str, int)) or isinstance(student, bool):
            raise session.LessonError(session.NAME_IN_QUOTES)
        session.current.begin(found, str(student), session.hand_out(homework, word))
        session.current.typed["begun"] = str(student)

    def judged(key: str, _answer: object) -> float:
        session.current.question(key)
        return 0.0

    def shown(key: str) -> None:
        session.current.question(key)

    module: Any
    for module in (_door(), verbs):
        module.begin = begin
        module.check = module.score = judged
        module.ask = module.hint = module.fly = shown
        module.recap = module.reveal = _nothing
    for name in dir(pictures):
        if name.startswith("show_"):
            setattr(pictures, name, _nothing)
    for name in what_ifs.__all__:
        if name.islower():
            setattr(what_ifs, name, _nothing)


def ready() -> Any:
    """Make the shell in which cells are run, with everything loaded that they may ask for.

    Returns
    -------
    IPython.core.interactiveshell.InteractiveShell
        A shell without a history, that shows no errors.
    """
    from IPython.core.history import HistoryManager
    from IPython.core.interactiveshell import InteractiveShell

    quiet()
    HistoryManager.enabled = False  # type: ignore[assignment]
    shell: Any = InteractiveShell.instance()
    shell.showtraceback = _nothing
    shell.showsyntaxerror = _nothing
    shell.enable_gui = _nothing
    shell.run_cell("1", store_history=False, silent=True)
    gc.collect()
    gc.freeze()
    return shell


def run(shell: Any, job: bytes) -> bytes:
    """Run the cells of a hand-in.

    Parameters
    ----------
    shell : IPython.core.interactiveshell.InteractiveShell
        As :func:`ready` made it.
    job : bytes
        JSON: ``steps`` (kind, name, text), and ``flights`` by exercise.

    Returns
    -------
    bytes
        JSON with ``answers``, ``stopped``, ``begun`` and ``homework``.
    """
    from needlework.course.lesson import session, verbs

    told = json.loads(job)
    flights = told["flights"]

    def flight_of(key: str) -> Any:
        return flights.get(key)

    _door().flight_of = verbs.flight_of = flight_of
    answers: dict[str, Any] = {}
    stopped: list[list[Any]] = []
    names = shell.user_ns
    for number, (kind, name, text) in enumerate(told["steps"]):
        if kind == "run":
            session.current.cell = text
            done = shell.run_cell(text, store_history=False, silent=False)
            error = done.error_before_exec or done.error_in_exec
            stopped.append([number, *_told(error)])
        elif text in names:
            try:
                answers[name] = values.packed(names[text])
            except BaseException as error:
                answers[name] = {"?": type(error).__name__[:60]}
    begun = session.current.typed.get("begun") if session.current.lesson else None
    said = {"answers": answers, "stopped": stopped, "begun": begun, "homework": session.current.homework}
    return json.dumps(said).encode("utf-8")


def _told(error: BaseException | None) -> tuple[str, str, str]:
    """Tell an error by its kind, its text and the name it is about."""
    if error is None:
        return "", "", ""
    try:
        text = str(error)[:300]
    except BaseException:
        text = ""
    return type(error).__name__[:60], text, str(getattr(error, "name", "") or "")[:60]


def framed(body: bytes) -> bytes:
    """Put its length before an answer, so that its end is known while the pipe is still open."""
    return str(len(body)).encode("ascii") + b"\n" + body


def work(task: str, body: bytes, shell: Any = None) -> bytes:
    """Do one piece of work.

    Parameters
    ----------
    task : str
        ``answers`` of a hand-in; or, of a lesson that is the instructor's own, ``judge`` or ``pages``.
    body : bytes
        What it works on.
    shell : InteractiveShell, optional
        As :func:`ready` made it.

    Returns
    -------
    bytes
        What came of it.
    """
    if task == "answers":
        return run(shell or ready(), body)
    from needlework.desk import judging, page

    return judging.in_room(body) if task == "judge" else page.in_room(body)


def main() -> None:
    """Do the one piece of work that comes by the standard input; what comes of it goes to the standard output."""
    job = sys.stdin.buffer.read()
    out = os.dup(1)
    nothing = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nothing, number)
    with os.fdopen(out, "wb") as pipe:
        pipe.write(framed(work(sys.argv[1], job)))
        pipe.flush()
        os._exit(0)


if __name__ == "__main__":
    main()
