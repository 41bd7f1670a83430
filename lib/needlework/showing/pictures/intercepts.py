"""A radial intercepted, seen from above: the cut that was planned, and three that went wrong."""

from __future__ import annotations

import typing
from collections.abc import Sequence

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Floats, within
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import Path, straight, turning
from needlework.showing.pictures.plan_view import draw_aircraft, draw_station, xy_nm
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, caution, halo, new_figure, styled, tell
from needlework.showing.pictures.words import short_radial, spoken_radial
from needlework.trade import intercept
from needlework.trade.angles import difference_deg, reciprocal, three_digits
from needlework.trade.turns import turn_radius_nm

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

FAULTS = ("NO LEAD", "CHASED", "WRONG SIDE")
"""What can be wrong with an intercept, by the names the question about it uses."""

_COURSE_DEG = 214.0
_TAS_KT = 100.0
_RATE_DEG_S = 3.0
_START_OFF_DEG, _START_NM = 22.0, 7.0
_CHASE_FROM_DEG = 4.0


def intercept_path(
    radial_deg: float, dist_nm: float, wanted_radial_deg: float, direction: str, angle_deg: float, tas_kt: float
) -> tuple[Path, tuple[float, float]]:
    """Path over the ground in still air, and where the turn on to the radial begins.

    Parameters
    ----------
    radial_deg, dist_nm : float
        Where the aircraft is. [deg], [NM]
    wanted_radial_deg : float
        Radial to be intercepted. [deg]
    direction : {"inbound", "outbound"}
        Which way it will be flown.
    angle_deg : float
        Intercept angle. [deg], 1 to 90.
    tas_kt : float
        True airspeed. [kt]

    Returns
    -------
    tuple of (Path, (float, float))
        NM east and north of the station, magnetic north up.
    """
    heading = float(
        intercept.intercept_heading_deg(
            radial_deg=radial_deg, wanted_radial_deg=wanted_radial_deg, direction=direction, angle_deg=angle_deg
        )
    )
    _, flown_nm = intercept.intercept_point_nm(
        dist_nm=dist_nm,
        radial_deg=radial_deg,
        wanted_radial_deg=wanted_radial_deg,
        direction=direction,
        angle_deg=angle_deg,
    )
    course = float(wanted_radial_deg if direction == "outbound" else reciprocal(wanted_radial_deg))
    radius = float(turn_radius_nm(tas_kt=tas_kt))
    early_nm = radius * float(np.tan(np.deg2rad(angle_deg) / 2.0))
    x, y = xy_nm(radial_deg, dist_nm)
    cut = straight((float(x), float(y)), heading, max(float(flown_nm) - early_nm, 0.0))
    side = "right" if float(difference_deg(from_deg=heading, to_deg=course)) > 0 else "left"
    path = cut.then(turning(cut.end, heading, angle_deg, side, radius))
    return path.then(straight(path.end, course, 0.3 * dist_nm)), cut.end


@styled
def draw_intercept(
    radial_deg: float = 90.0,
    dist_nm: float = 8.0,
    wanted_radial_deg: float = 60.0,
    direction: str = "inbound",
    *,
    angle_deg: float | None = None,
    tas_kt: float = 90.0,
    station: str = "OVK",
    ax: Axes | None = None,
) -> Axes:
    """Draw how a radial is intercepted: parallel first, then the angle, then the turn one lead early.

    Parameters
    ----------
    radial_deg : float
        Radial the aircraft is on. [deg magnetic]
    dist_nm : float
        Distance from the station. [NM], 0.5 to 100.
    wanted_radial_deg : float
        Radial to be intercepted. [deg magnetic]
    direction : {"inbound", "outbound"}
        Which way the wanted radial will be flown.
    angle_deg : float, optional
        Intercept angle; by the double-the-angle rule when left out. [deg], 1 to 90.
    tas_kt : float
        True airspeed, for the size of the turn. [kt]
    station : str
        Ident to write beside the station.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        Axes in NM east and north of the station; lines "radial 090", "selected course", "parallel to the
        course", "track" and the marker "the turn begins".
    """
    dist = float(within("dist_nm", dist_nm, 0.5, 100.0, "NM", "is this a radial?"))
    angle = float(
        intercept.intercept_angle_deg(radial_deg=radial_deg, wanted_radial_deg=wanted_radial_deg)
        if angle_deg is None
        else angle_deg
    )
    heading = float(
        intercept.intercept_heading_deg(
            radial_deg=radial_deg, wanted_radial_deg=wanted_radial_deg, direction=direction, angle_deg=angle
        )
    )
    course = float(wanted_radial_deg if direction == "outbound" else reciprocal(wanted_radial_deg))
    path, turn_at = intercept_path(radial_deg, dist, wanted_radial_deg, direction, angle, tas_kt)
    side = 1.0 if float(difference_deg(from_deg=course, to_deg=heading)) > 0 else -1.0
    x, y = (float(value) for value in xy_nm(radial_deg, dist))
    far = max(1.35 * dist, float(np.max(np.hypot(path.x, path.y))))
    reach = 0.45 * dist
    swept = np.deg2rad(course + side * np.linspace(0.0, angle, 40))
    end_x, end_y = x + reach * np.sin(swept[0]), y + reach * np.cos(swept[0])
    on_radial, on_wanted = (
        xy_nm(radial_deg, np.array([0.0, far])),
        xy_nm(wanted_radial_deg, np.array([-0.25, 1]) * far),
    )

    ax = axes_or_new(ax, 7.6, 5.0)
    seen_x = np.concatenate([path.x, *on_radial[:1], *on_wanted[:1], [end_x]])
    seen_y = np.concatenate([path.y, *on_radial[1:], *on_wanted[1:], [end_y]])
    _frame(ax, seen_x, seen_y)
    labels = Labels(ax)
    labels.beside(station, 0.0, 0.0, gap=12, fontsize=11, fontweight="bold")
    ax.plot(*on_radial, label=f"radial {radial_deg:03.0f}", **LINES["radial"])
    ax.plot(*on_wanted, label="selected course", **LINES["course"])
    inward = -1.0 if direction == "inbound" else 1.0
    head_x, head_y = on_wanted[0][0 if inward < 0 else 1], on_wanted[1][0 if inward < 0 else 1]
    ax.annotate(
        "",
        (head_x, head_y),
        (head_x - 0.06 * far * np.sin(swept[0]), head_y - 0.06 * far * np.cos(swept[0])),
        arrowprops={"arrowstyle": "-|>,head_width=0.45,head_length=0.9", "color": PALETTE["course"], "linewidth": 2},
    )
    ax.plot([x, end_x], [y, end_y], label="parallel to the course", **LINES["course"] | {"linewidth": 1.4})
    ax.plot(x + 0.7 * reach * np.sin(swept), y + 0.7 * reach * np.cos(swept), **LINES["secondary"])
    ax.plot(path.x, path.y, label="track", **LINES["track"])
    draw_station(ax, size=0.05 * far)
    draw_aircraft(ax, x, y, heading, length=0.1 * far)
    middle = swept[20]
    ax.text(
        x + 0.52 * reach * np.sin(middle),
        y + 0.52 * reach * np.cos(middle),
        f"{angle:.0f}°",
        ha="center",
        va="center",
        fontsize=11.5,
        fontweight="bold",
        zorder=8,
        **halo(4),
    )
    square: dict[str, typing.Any] = {
        "marker": "s",
        "markersize": 9,
        "color": PALETTE["warning"],
        "markeredgecolor": "white",
    }
    ax.plot(*turn_at, linestyle="", label="the turn begins", zorder=7, **square)
    labels.beside("turn begins", *turn_at, gap=12, fontsize=10, color=PALETTE["warning text"])
    labels.beside(
        f"parallel {three_digits(direction_deg=course)}",
        float(end_x),
        float(end_y),
        gap=8,
        fontsize=10,
        color=PALETTE["course text"],
    )
    along = np.array([0.94, 0.86, 0.78])
    spots = list(zip(*xy_nm(wanted_radial_deg, far * along), strict=True))
    around = [(0.0, 14.0), (0.0, -14.0), (-44.0, 0.0), (44.0, 0.0), (-44.0, 12.0), (44.0, -12.0)]
    way = "in on" if direction == "inbound" else "out on"
    wanted = f"{short_radial(wanted_radial_deg)}, {way} {three_digits(direction_deg=course)}"
    labels.at(wanted, spots, shifts=around, fontsize=10, color=PALETTE["course text"])
    spots = list(zip(*xy_nm(radial_deg, far * along), strict=True))
    labels.at(short_radial(radial_deg), spots, shifts=around, fontsize=10, color=PALETTE["radial text"])
    labels.settle()
    caution(ax)
    start, end = spoken_radial(radial_deg), spoken_radial(wanted_radial_deg)
    ahead, nose = (three_digits(direction_deg=d) for d in (course, heading))
    words = (
        f"Plan view, magnetic north up. From {start} at {dist:g} NM to the course {ahead} {direction} on {end}: "
        f"parallel {ahead} first, then {angle:.0f} degrees {'right' if side > 0 else 'left'} to the heading {nose}; "
        "the turn on to the radial begins a little before the line"
    )
    tell(ax, f"{words}.")
    return ax


def _frame(ax: Axes, x: Floats, y: Floats) -> None:
    """Equal scales round everything, with room for words."""
    wide, high = max(float(np.ptp(x)), 1.0), max(float(np.ptp(y)), 1.0)
    size = max(wide / 1.5, high)
    mid_x, mid_y = float(np.mean([x.min(), x.max()])), float(np.mean([y.min(), y.max()]))
    half_x, half_y = max(0.5 * wide, 0.75 * size) + 0.1 * size, 0.5 * size + 0.1 * size
    ax.set(xlim=(mid_x - half_x, mid_x + half_x), ylim=(mid_y - half_y, mid_y + half_y), aspect="equal")
    ax.set_xlabel("NM east of the station, magnetic north up")
    ax.set_ylabel("NM north of the station")


class _Flight:
    """An aircraft on its way to the course inbound: steps of a second, standard-rate turns, still air."""

    def __init__(self) -> None:
        x, y = xy_nm(reciprocal(_COURSE_DEG) + _START_OFF_DEG, _START_NM)
        self.x, self.y = [float(x)], [float(y)]
        self.heading_deg = _COURSE_DEG

    @property
    def needle_deg(self) -> float:
        """Angle off the course, right when the line lies to the right. [deg]"""
        bearing = np.rad2deg(np.arctan2(-self.x[-1], -self.y[-1]))
        return float(difference_deg(from_deg=_COURSE_DEG, to_deg=bearing))

    @property
    def dist_nm(self) -> float:
        """Distance from the station. [NM]"""
        return float(np.hypot(self.x[-1], self.y[-1]))

    def fly(self, wanted_deg: float) -> None:
        """Fly a second, turning towards a heading."""
        turn = float(difference_deg(from_deg=self.heading_deg, to_deg=wanted_deg))
        self.heading_deg += float(np.clip(turn, -_RATE_DEG_S, _RATE_DEG_S))
        angle, step = np.deg2rad(self.heading_deg), _TAS_KT / 3600.0
        self.x.append(self.x[-1] + step * float(np.sin(angle)))
        self.y.append(self.y[-1] + step * float(np.cos(angle)))

    def path(self) -> Path:
        """What was flown."""
        return Path(np.array(self.x), np.array(self.y))


def fault_path(fault: str) -> Path:
    """Path of an intercept of the course 214 inbound, flown with one fault.

    Parameters
    ----------
    fault : {"NO LEAD", "CHASED", "WRONG SIDE"}
        What the pilot does wrong.

    Returns
    -------
    Path
        NM east and north of the station, magnetic north up.
    """
    flown = _Flight()
    if fault == "NO LEAD":
        for cut, wait_s in ((85.0, 15), (50.0, 10), (30.0, 40)):
            side = 1.0 if flown.needle_deg > 0 else -1.0
            while flown.needle_deg * side > 0:
                flown.fly(_COURSE_DEG + side * cut)
            for _ in range(wait_s + int(cut / _RATE_DEG_S)):
                flown.fly(_COURSE_DEG)
    elif fault == "CHASED":
        while flown.needle_deg > _CHASE_FROM_DEG:
            flown.fly(_COURSE_DEG + 90.0)
        while flown.dist_nm > 1.3:
            flown.fly(_COURSE_DEG + (40.0 if flown.needle_deg > 0 else -40.0))
    elif fault == "WRONG SIDE":
        for _ in range(150):
            flown.fly(_COURSE_DEG - 50.0)
    else:
        raise OutOfRange(f"fault = {fault!r} is not one of the three: expected {', '.join(FAULTS)}")
    return flown.path()


@styled
def draw_faults(order: Sequence[str] = FAULTS, letters: str = "ABC") -> list[Axes]:
    """Draw three intercepts of the same course, each with its fault, side by side.

    Parameters
    ----------
    order : sequence of str
        The faults from left to right, out of :data:`FAULTS`.
    letters : str
        Their names.

    Returns
    -------
    list of Axes
        One a flight; the lines are "course" and "track".
    """
    figure = new_figure(9.0, 3.8)
    drawn = []
    for index, fault in enumerate(order):
        path = fault_path(fault)
        ax = figure.add_subplot(1, len(order), index + 1)
        ax.set(xlim=(-1.6, 7.2), ylim=(-1.3, 7.5), aspect="equal", xticks=[], yticks=[])
        x, y = xy_nm(_COURSE_DEG, np.array([-9.0, 1.5]))
        ax.plot(x, y, label="course", **LINES["course"])
        ax.plot(path.x, path.y, label="track", **LINES["track"])
        draw_station(ax, size=0.4)
        draw_aircraft(ax, float(path.x[0]), float(path.y[0]), _COURSE_DEG, length=0.9)
        last = float(np.rad2deg(np.arctan2(path.x[-1] - path.x[-2], path.y[-1] - path.y[-2])))
        draw_aircraft(ax, *path.end, last, length=0.9)
        ax.text(
            1.6,
            5.6,
            f"wanted: in\non {three_digits(direction_deg=_COURSE_DEG)}",
            color=PALETTE["course text"],
            fontsize=10,
            ha="center",
            **halo(),
        )
        ax.set_title(letters[index], loc="left", fontsize=16)
        tell(ax, _fault_words(letters[index], path))
        drawn.append(ax)
    caution(drawn[0])
    return drawn


def _fault_words(letter: str, path: Path) -> str:
    """Say what a track does, not what is wrong with it."""
    bearing = np.rad2deg(np.arctan2(-path.x, -path.y))
    needle = np.asarray(difference_deg(from_deg=_COURSE_DEG, to_deg=bearing))
    crossings = int(np.sum(needle[1:] * needle[:-1] < 0))
    if not crossings:
        return f"{letter}: the track leads away from the line and never meets it."
    across = np.abs(needle * np.hypot(path.x, path.y) / 57.3)
    first = int(np.argmax(needle[1:] * needle[:-1] < 0))
    return (
        f"{letter}: the track crosses the line {crossings} times and goes up to {across[first:].max():.1f} NM "
        "beyond it."
    )


show_intercept = shown(draw_intercept)
show_faults = shown(draw_faults)
