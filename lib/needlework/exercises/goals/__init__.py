"""What a flight is judged by, for a filled plan and a flight by hand alike.

A goal is a plain function from what was seen on the flight to what it met and in which words; the flight is judged
from its recorded track, never from what a notebook claims. The modules here make goals, one module a lesson.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from needlework.basis.quantity import Constant
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens
from needlework.exercises.verdicts import Outcome, Verdict

TOLD = ("temperature_c", "remote", "sight_from_nm")
"""Numbers of a question that the examiner is told beside a recording, by the names he knows them by."""


@dataclass(frozen=True)
class Met:
    """What became of one goal: the share of it that was met, 0 to 1, and what to say.

    ``flown`` is False where nothing was flown that could be judged: then nothing was flown that could kill either.
    """

    share: float
    text: str
    flown: bool = True


UNSAFE_SHARE = Constant(0.5, "1", "common-practice", "most marks that a flight earns that could have killed")

DIP_FT = Constant(50.0, "ft", "common-practice", "a floor touched while levelling off, not flown through")

DIPPED = Constant(0.4, "1", "common-practice", "share left to a floor that was only touched")


@dataclass(frozen=True)
class Goal:
    """One thing a flight is judged by.

    Parameters
    ----------
    label : str
        A few words.
    weight : float
        Its share of the marks, relative to the other goals.
    judge : callable
        From the givens and the flight as seen, what became of it. Of a filled plan the givens also hold, as
        ``filled``, what was written.
    critical : bool
        True where missing it altogether can kill: then the whole flight earns half of its marks at most.
    """

    label: str
    weight: float
    judge: Callable[[Givens, Seen], Met]
    critical: bool = False


def judged(
    goals: tuple[Goal, ...], givens: Givens, flights: list[Seen], unsafe_share: float = UNSAFE_SHARE
) -> Verdict:
    """Judge flights by goals; of several flights the worst speaks, and the shares are averaged.

    Parameters
    ----------
    goals : tuple of Goal
        What to judge by.
    givens : mapping
        The numbers of the question.
    flights : list of Seen
        One or more flights.
    unsafe_share : float
        Largest share of the marks where a critical goal is missed altogether.

    Returns
    -------
    Verdict
        One cell a goal.
    """
    cells, share, unsafe, unflown = [], 0.0, "", ""
    for goal in goals:
        mets = [goal.judge(givens, seen) for seen in flights]
        worst = min(mets, key=lambda met: met.share)
        mean = sum(met.share for met in mets) / len(mets)
        share += goal.weight * mean
        if goal.critical and worst.share <= 0.0:
            unsafe = unsafe or (worst.text if worst.flown else "")
            unflown = unflown or ("" if worst.flown else worst.text)
        outcome = Outcome.PASS if mean > 0.999 else Outcome.CLOSE if mean > 0.3 else Outcome.WRONG
        cells.append((goal.label, Verdict(outcome, mean, worst.text)))
    share /= sum(goal.weight for goal in goals)
    met = sum(cell.outcome is Outcome.PASS for _, cell in cells)
    if met == len(cells):
        return Verdict(Outcome.PASS, 1.0, f"Right: all {met} goals met.", cells=tuple(cells), evidence=tuple(flights))
    if unsafe or unflown:
        said = f"This is what can kill: {unsafe}" if unsafe else unflown
        text = f"Not yet. {said} {met} of {len(cells)} goals met."
        return Verdict(
            Outcome.WRONG, min(share, float(unsafe_share)), text, cells=tuple(cells), evidence=tuple(flights)
        )
    outcome = Outcome.CLOSE if share >= 0.6 else Outcome.WRONG
    text = f"{met} of {len(cells)} goals met. Read below what is said of the others."
    return Verdict(outcome, share, text, cells=tuple(cells), evidence=tuple(flights))
