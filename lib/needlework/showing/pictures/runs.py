"""How a learner's flights went, one after the other: every run, and the best of each exercise."""

from __future__ import annotations

import typing

from needlework.exercises import progress
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import PALETTE, caution, halo, new_figure, styled, tell

if typing.TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

_PASS = 70.0  # pass mark of the rubric
_MOST = 24


def whole_flights(flown: str) -> list[tuple[str, float, bool]]:
    """List the debriefed flights of this learner, oldest first.

    Parameters
    ----------
    flown : str
        How the names of the exercises begin, for example ``"wa-"``.

    Returns
    -------
    list of (name, points, passed)
        Points of 100; none while a notebook is being marked.
    """
    if progress.being_marked():
        return []
    found = []
    for event in progress.read().flights:
        name, score = str(event.get("name", "")), event.get("score")
        if name.startswith(flown) and isinstance(score, (int, float)):
            found.append((name.removeprefix(flown), float(score), bool(event.get("passed"))))
    return found


@styled
def draw_runs(flown: str, runs: Sequence[tuple[str, float, bool]] | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw how flights went, one after the other, and mark the best of each exercise.

    Parameters
    ----------
    flown : str
        How the names of the exercises begin, for example ``"wa-"``.
    runs : sequence of (name, points, passed), optional
        Flights, oldest first; those of this learner when left out. Points of 100.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        What was drawn.
    """
    flights = list(whole_flights(flown) if runs is None else runs)[-_MOST:]
    axes = ax if ax is not None else new_figure(7.6, 3.2).add_subplot()
    axes.set(ylim=(0, 118), xlim=(0.5, max(len(flights), 4) + 0.5), ylabel="points of 100")
    axes.set_yticks(range(0, 101, 20))
    axes.set_xticks(range(1, len(flights) + 1), [name for name, _, _ in flights], rotation=30, ha="right")
    axes.axhline(_PASS, color=PALETTE["ink"], linestyle=(0, (2, 3)), linewidth=1.2)
    axes.text(0.6, _PASS + 2, "pass mark", fontsize=9, **halo())
    if not flights:
        axes.text(2.5, 40, "no whole flight yet", ha="center", fontsize=12)
        tell(axes, "No whole flight has been debriefed yet.")
        caution(axes)
        return axes
    at = list(range(1, len(flights) + 1))
    for exercise in dict.fromkeys(name for name, _, _ in flights):
        # Points of one procedure and wind say nothing of another: only runs of one exercise are joined.
        mine = [(x, score) for x, (name, score, _) in zip(at, flights, strict=True) if name == exercise]
        axes.plot(*zip(*mine, strict=True), color=PALETTE["track"], linewidth=1.4)
    for x, (_, score, passed) in zip(at, flights, strict=True):
        axes.plot(
            x,
            score,
            "o" if passed else "X",
            color=PALETTE["track"],
            markersize=9,
            markerfacecolor="white" if not passed else None,
        )
    best: dict[str, tuple[float, int]] = {}
    for x, (name, score, _) in zip(at, flights, strict=True):
        if name not in best or score > best[name][0]:
            best[name] = score, x
    for score, x in best.values():
        axes.text(x, score + 5, f"{score:.0f}", ha="center", fontsize=11, **halo())
    tell(axes, _words(flights, best))
    caution(axes)
    return axes


def _words(flights: Sequence[tuple[str, float, bool]], best: dict[str, tuple[float, int]]) -> str:
    """Say it in a sentence."""
    passed = sum(each for _, _, each in flights)
    last = flights[-1]
    many = "" if len(flights) == 1 else "s"
    said = f"{len(flights)} whole flight{many}, {passed} of them passed (round marks; crosses did not). "
    said += "Best: " + ", ".join(f"{name} {score:.0f}" for name, (score, _) in best.items()) + "."
    return said + f" The newest: {last[0]}, {last[1]:.0f} points, {'passed' if last[2] else 'not passed'}."


show_runs = shown(draw_runs)
