"""What the kernel does around every cell of a lesson: it remembers the text, and says mistakes in plain words."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from needlework.course.lesson import mistakes, session
from needlework.exercises import progress


def watch(ask: Callable[[str], None]) -> None:
    """From now on show mistakes of typing as one sentence instead of a stack trace.

    Parameters
    ----------
    ask : callable
        Shows a question by its key; called where a cell that cannot be read has not shown its own.
    """
    from IPython import get_ipython

    shell = get_ipython()
    if shell is None:
        return

    def handler(
        _shell: object, kind: type[BaseException], error: BaseException, _trace: object, **_: object
    ) -> list[str]:
        said = mistakes.in_one_sentence(error, session.current)
        shell._showtraceback(kind, error, [said])
        return [said]

    def needlework_after(result: Any) -> None:
        after(result, ask)

    shell.set_custom_exc((Exception, KeyboardInterrupt), handler)
    for moment, called in (("pre_run_cell", before), ("post_run_cell", needlework_after)):
        for old in list(shell.events.callbacks.get(moment, [])):
            if (getattr(old, "__module__", ""), getattr(old, "__name__", "")) == (__name__, called.__name__):
                shell.events.unregister(moment, old)
        shell.events.register(moment, called)


def before(info: Any) -> None:
    """Remember the text of the cell that runs, for the sentence about a mistake in it.

    Parameters
    ----------
    info : IPython.core.interactiveshell.ExecutionInfo
        What is about to be run.
    """
    text = session.current.cell = str(info.raw_cell)
    session.current.typed |= dict.fromkeys(re.findall(mistakes.ASKED, text), text)


def after(result: Any, ask: Callable[[str], None]) -> None:
    """Remember which answer cells stopped with an error: what their name holds is an older answer.

    Parameters
    ----------
    result : IPython.core.interactiveshell.ExecutionResult
        What came of the cell.
    ask : callable
        Shows a question by its key.
    """
    asked = re.findall(mistakes.ASKED, str(result.info.raw_cell))
    stopped = session.current.stopped
    (stopped.difference_update if result.success else stopped.update)(asked)
    # A cell that cannot be read has not asked its question: without it nobody can mend the answer.
    unread = isinstance(result.error_before_exec or result.error_in_exec, SyntaxError)
    for key in asked if unread and not progress.being_marked() else ():
        if session.known(key) is not None:
            ask(key)
