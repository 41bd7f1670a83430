"""The errors a user of the course can meet: one clear sentence each, never a stack trace."""

from __future__ import annotations

from typing import Any


class NeedleworkError(Exception):
    """Base of every error the course raises on purpose; its text is meant for the learner."""

    def _render_traceback_(self, *_args: Any, **_kwargs: Any) -> list[str]:
        """Show one line in a notebook instead of a stack trace (IPython calls this)."""
        return [str(self)]


class OutOfRange(NeedleworkError, ValueError):
    """A quantity lies outside the range for which the formula is meant, or is not a number."""


class NoSolution(NeedleworkError, ValueError):
    """The question has no answer, for example a wind stronger than the airspeed."""


class BadData(NeedleworkError, ValueError):
    """A file or table the user supplied cannot be used; ``faults`` lists every reason found."""

    def __init__(self, text: str, faults: tuple[str, ...] = ()) -> None:
        super().__init__(text)
        self.faults = faults
