"""When each question comes back: a model of forgetting, fed with what happened and with nothing else.

Nothing is kept of it: everything follows from the journal, so work of any earlier version counts. The model is FSRS
with its published parameters; days are its unit here, since a course is taken by days.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cache

from fsrs import Card, Rating, Scheduler

from needlework.exercises.catalogue import Lesson, Outline
from needlework.exercises.progress import Happening, Progress

_TELLS_ALL = 4
"""The hint that is the model answer: whoever took it did not recall."""
_WHOLE_AFTER = 4
"""Times right after which a table comes back with every row blank; before it, that many parts of it."""
_MINUTES = 10.0
"""Length of a sitting of coming back. [min] Common practice, no source."""
_MINUTES_EACH: Mapping[str, float] = {
    "choice": 0.5,
    "number": 1.0,
    "order": 1.0,
    "rule": 2.0,
    "table": 2.5,
    "plan": 4.0,
    "flight": 8.0,
}


@cache
def scheduler() -> Scheduler:
    """Give the model: its default parameters, nine in ten to be recalled, no luck, and no steps of minutes.

    Returns
    -------
    fsrs.Scheduler
        The same one always.
    """
    return Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def day_of(when_s: float) -> date:
    """Give the learner's own day of a moment, seconds since 1970 UTC."""
    return datetime.fromtimestamp(when_s).date()


def _noon(day: date) -> datetime:
    # Whole days between answers, at whatever hour they were given.
    return datetime.combine(day, time(12), UTC)


@dataclass(frozen=True)
class Memory:
    """What the model holds of one question.

    Parameters
    ----------
    card : fsrs.Card
        Stability, difficulty, last answer and when it is due.
    in_a_row : int
        Times right at once since it was last wrong.
    wrong : int
        Days on which it was wrong.
    """

    card: Card
    in_a_row: int = 0
    wrong: int = 0

    @property
    def due(self) -> date:
        """Give the day on which it comes back."""
        return self.card.due.date()

    def recall(self, day: date) -> float:
        """Give the chance that it is recalled on a day, 0 to 1."""
        return float(scheduler().get_card_retrievability(self.card, _noon(day)))

    def rated(self, rating: Rating, day: date) -> Memory:
        """Give what the model holds after an answer on a day."""
        card, _ = scheduler().review_card(self.card, rating, _noon(day))
        right = self.in_a_row + (rating in (Rating.Good, Rating.Easy))
        again = rating is Rating.Again
        return Memory(card, 0 if again else right, self.wrong + again)


def fresh_memory(day: date) -> Memory:
    """Give the memory of a question that was not answered yet, on a day."""
    return Memory(Card(card_id=1, due=_noon(day)))


def rating_of(outcome: str, rung: int) -> Rating | None:
    """Give the rating of an answer.

    Parameters
    ----------
    outcome : str
        Name of the outcome of the try.
    rung : int
        Hints taken before it on the same day, 0 to 4.

    Returns
    -------
    fsrs.Rating or None
        Right at once, right or close with help, or wrong; None for what is no answer.
    """
    if outcome in ("ERROR", "NOT_ATTEMPTED", "WAITS", ""):
        return None
    if rung >= _TELLS_ALL or outcome not in ("PASS", "CLOSE"):
        return Rating.Again
    return Rating.Good if outcome == "PASS" and not rung else Rating.Hard


def first_answers(history: Sequence[Happening]) -> list[tuple[Happening, Rating]]:
    """Give the answers that say what was recalled: the first of each day.

    What comes after it on that day has been told something. An answer that was given before to the same numbers,
    as when a lesson is run again, is none; nor is one to numbers that were right before.

    Parameters
    ----------
    history : sequence of Happening
        What happened to one question, in order.

    Returns
    -------
    list of (Happening, fsrs.Rating)
        In order.
    """
    found: list[tuple[Happening, Rating]] = []
    seen: set[tuple[str, str, str]] = set()
    right: set[tuple[str, str]] = set()
    day, rung, last = date.min, 0, date.min
    for each in history:
        today = day_of(each.when_s)
        if today != day:
            day, rung = today, 0
        if each.rung:
            rung = max(rung, each.rung)
            continue
        rating = rating_of(each.outcome, rung)
        numbers = (each.student, each.drawn)
        told = (*numbers, each.given)
        if rating is None or (told in seen and each.given):
            continue
        seen.add(told)
        again = numbers in right and each.outcome == "PASS"
        if each.outcome == "PASS":
            right.add(numbers)
        if today > last and not again:
            found.append((each, rating))
            last = today
    return found


def known_on(lesson: Lesson, done: Progress) -> date | None:
    """Give the day on which a lesson was proved by its task: every task right at the first try.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    done : Progress
        The learner's journal, read back.

    Returns
    -------
    datetime.date or None
        None where it has no task, or a task was not right at once.
    """
    tasks = [each.key for each in lesson.outlines if each.task]
    days = []
    for key in tasks:
        tries = [each for each in done.history.get(key, []) if rating_of(each.outcome, 0) is not None]
        if not tries or tries[0].outcome != "PASS" or tries[0].drawn:
            return None
        days.append(day_of(tries[0].when_s))
    return max(days) if days else None


def memories(lessons: Sequence[Lesson], done: Progress) -> dict[str, Memory]:
    """Work out what the model holds of every question that was answered, or proved by a task.

    Parameters
    ----------
    lessons : sequence of Lesson
        The lessons whose questions are meant.
    done : Progress
        The learner's journal, read back.

    Returns
    -------
    dict of str to Memory
        By question key, in teaching order.
    """
    found = {}
    for lesson in lessons:
        proved = known_on(lesson, done)
        # What a person marks has no verdict when it is answered, so nothing says what was recalled.
        for key in (each.key for each in lesson.outlines if each.kind != "text"):
            answers = first_answers(done.history.get(key, []))
            if answers:
                memory = fresh_memory(day_of(answers[0][0].when_s))
                for each, rating in answers:
                    memory = memory.rated(rating, day_of(each.when_s))
                found[key] = memory
            elif proved is not None:
                # Whoever puts a whole lesson together at once has its parts at hand: seen again in a week.
                found[key] = fresh_memory(proved).rated(Rating.Easy, proved)
    return found


def minutes_of(outline: Outline) -> float:
    """Estimate how long a question takes that is known. [min] By its kind; common practice, no source."""
    return _MINUTES_EACH.get(outline.kind, _MINUTES_EACH["table"]) * (2.0 if outline.task else 1.0)


def blank_rows(rows: int, in_a_row: int) -> int:
    """Say how many rows of a worked table are left blank when it comes back.

    Parameters
    ----------
    rows : int
        How many it has.
    in_a_row : int
        Times it was right at once since it was last wrong.

    Returns
    -------
    int
        At least one; more, the more often it was right; in the end all of them.

    Examples
    --------
    >>> [blank_rows(6, right) for right in range(5)]
    [2, 3, 5, 6, 6]
    """
    return min(rows, -(-rows * (in_a_row + 1) // _WHOLE_AFTER))


def due_on(day: date, held: Mapping[str, Memory]) -> list[str]:
    """List the questions that are due on a day, first the one most likely forgotten."""
    due = [key for key, memory in held.items() if memory.due <= day]
    return sorted(due, key=lambda key: held[key].recall(day))


def chosen(
    day: date, lessons: Sequence[Lesson], held: Mapping[str, Memory], minutes: float = _MINUTES
) -> tuple[str, ...]:
    """Choose the questions of one sitting: those most likely forgotten, as many as there is time for, mixed.

    Parameters
    ----------
    day : datetime.date
        The day of the sitting.
    lessons : sequence of Lesson
        Where the questions stand.
    held : mapping of str to Memory
        As :func:`memories` gives it.
    minutes : float
        Time there is. [min]

    Returns
    -------
    tuple of str
        Question keys; neighbours are of different lessons as far as that can be.
    """
    outlines = {each.key: each for lesson in lessons for each in lesson.outlines}
    taken: list[str] = []
    left = minutes
    for key in due_on(day, held):
        needs = minutes_of(outlines[key])
        if needs <= left or not taken:
            taken.append(key)
            left -= needs
    return _mixed(taken, {each: lesson.key for lesson in lessons for each in lesson.questions})


def _mixed(keys: Sequence[str], home: Mapping[str, str]) -> tuple[str, ...]:
    heaps: dict[str, list[str]] = {}
    for key in keys:
        heaps.setdefault(home[key], []).append(key)
    mixed: list[str] = []
    last = ""
    while heaps:
        # The fullest heap first: what is left over at the end would follow upon itself.
        lesson = max((each for each in heaps if each != last or len(heaps) == 1), key=lambda each: len(heaps[each]))
        mixed.append(heaps[lesson].pop(0))
        last = lesson
        if not heaps[lesson]:
            del heaps[lesson]
    return tuple(mixed)


def next_day(held: Mapping[str, Memory], day: date) -> date | None:
    """Give the first day after this one on which something is due; None if nothing is on the schedule."""
    later = [max(memory.due, day + timedelta(days=1)) for memory in held.values()]
    return min(later, default=None)
