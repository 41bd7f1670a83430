"""What several what-ifs show alike: a needle with its flag, and the two halves of a still."""

from __future__ import annotations

import typing
from typing import Literal, TypeAlias

from needlework.showing.faces import CourseDeviation
from needlework.trade import vor

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

Flag: TypeAlias = Literal["TO", "FROM", "NONE"]
"""What the flag of a receiver shows."""


def deviation(course_deg: float, needle_deg: float, flag: Flag, title: str, reliable: bool = True) -> CourseDeviation:
    """Give the face of a receiver.

    Parameters
    ----------
    course_deg : float
        What the selector shows. [deg magnetic]
    needle_deg : float
        Deflection of the needle, right positive. [deg]
    flag : str
        What the flag shows.
    title : str
        What the receiver is called.
    reliable : bool
        False where the needle is not to be followed.

    Returns
    -------
    CourseDeviation
        The face.
    """
    dots = needle_deg / (vor.FULL_SCALE_DEG / vor.FULL_SCALE_DOTS)
    return CourseDeviation(course_deg, dots, flag, title, reliable=reliable)


def plan_and_needle() -> tuple[Axes, Axes]:
    """Make the axes of a still: the plan view on the left, the needle on the right."""
    from needlework.showing.pictures.style import new_figure

    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    return figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
