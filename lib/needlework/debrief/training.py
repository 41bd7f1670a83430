"""What to train next: the lesson and the exercise behind the cause, and one sentence to fly it again."""

from __future__ import annotations

import typing
from dataclasses import dataclass

if typing.TYPE_CHECKING:
    from needlework.debrief import Debrief

_MOST = 3


@dataclass(frozen=True)
class Training:
    """One thing to train: the error, how often it was made, the course's lesson and exercise, how to fly it again."""

    error: int
    name: str
    times: int
    lesson: str
    exercise: str
    again: str

    @property
    def text(self) -> str:
        """All of it in one line."""
        where = f"lesson {self.lesson}, exercise {self.exercise}. " if self.lesson else ""
        return f"{self.name}: {where}{self.again}"


def next_training(report: Debrief) -> tuple[Training, ...]:
    """What to train next, what matters most first; empty where nothing went wrong."""
    weight = {judgement.row.key: judgement.row.weight for judgement in report.judgements}
    by_error: dict[int, list[tuple[bool, float]]] = {}
    for finding in report.findings:
        if finding.error is not None:
            by_error.setdefault(finding.error, []).append((finding.critical, weight[finding.row]))
    order = sorted(by_error, key=lambda number: max(by_error[number]), reverse=True)
    found = []
    for number in order[:_MOST]:
        error = report.rubric.error(number)
        first = next(finding for finding in report.findings if finding.error == number)
        again = (
            f'Fly {first.segment} again in the same wind, and say before it: "{first.next_time or error.next_time}".'
        )
        found.append(Training(number, error.name, len(by_error[number]), error.lesson, error.exercise, again))
    return tuple(found)
