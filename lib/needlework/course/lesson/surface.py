"""What a page in front of the notebook asks of the kernel, and how a cell knows that such a page has run it."""

from __future__ import annotations

from typing import Any

from needlework.course.lesson import boxes, outputs, session, verbs
from needlework.exercises import bundle
from needlework.exercises.bundle import Bundle


class Said:
    """Something said to the page as data, without an output in any cell.

    Parameters
    ----------
    said : Bundle
        What is said.
    """

    def __init__(self, said: Bundle) -> None:
        self._said = said

    def _repr_mimebundle_(self, **_which: Any) -> dict[str, Any]:
        return {"text/plain": "", bundle.MIME: self._said.as_data()}


def begun() -> str:
    """Give the key of the lesson that this kernel has begun.

    Returns
    -------
    str
        Empty if none was begun.
    """
    return session.current.lesson.key if session.current.lesson else ""


def given(key: str) -> None:
    """Take note that an answer came from a field: what was typed into its cell before counts no more.

    Parameters
    ----------
    key : str
        The question's key.
    """
    session.current.typed.pop(key, None)
    session.current.stopped.discard(key)


def hint(key: str) -> Said:
    """Give the next hint of a question as data.

    Parameters
    ----------
    key : str
        The question's key.

    Returns
    -------
    Said
        The hint.

    Raises
    ------
    LessonError
        If no lesson was begun, or there is no such question.
    """
    return Said(Bundle(hint=verbs.next_hint(key)))


def judge_tasks(lesson: str) -> None:
    """Show the verdicts on the tasks of a lesson, as its button does.

    Parameters
    ----------
    lesson : str
        The lesson's key.

    Raises
    ------
    LessonError
        If there is no such lesson.
    """
    for verdict, ending in verbs.judged_tasks(lesson)[0]:
        outputs.show(boxes.verdict(verdict, ending), verdict.text, Bundle(verdict=verdict))
