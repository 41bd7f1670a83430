"""A procedure in plan view: legs, floors, fixes, runway, missed approach, hold; and a flown track upon it."""

from __future__ import annotations

import typing
from collections.abc import Sequence

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import Path, hold_leg_nm, hold_path, missed_path, point_of, route_paths
from needlework.showing.pictures.plan_view import draw_north, draw_station, draw_wind, variation_words, xy_nm
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.strips import clock_words
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, caution, styled, tell
from needlework.trade.angles import three_digits
from needlework.trade.geodesy import radial_and_distance
from needlework.trade.turns import turn_radius_nm

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.flying.tracklog import Track
    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import Leg


_SIDES = [(1, 0), (-1, 0), (1, 1), (-1, -1), (-1, 1), (1, -1), (0, 1), (0, -1)]


def _draw_legs(
    ax: Axes, labels: Labels, procedure: Procedure, legs: Sequence[tuple[Leg, Path]], category: str, muted: bool
) -> list[str]:
    """Draw each leg with its course and floor; the floors of the final are left to the profile."""
    said = []
    for leg, path in legs:
        ax.plot(path.x, path.y, label=f"leg {leg.text}", **LINES["course"] | {"linewidth": 1.4 if muted else 2.4})
        floor_ft = procedure.leg_floor_ft(leg, category)
        limit = f"to the MDA of {floor_ft:,.0f} ft" if leg.minimum_ft is None else f"at {floor_ft:,.0f} ft or above"
        if leg.kind == "arc":
            words, way = (
                f"{leg.arc_dme_nm:g} NM arc",
                f"{leg.text} on the {leg.arc_dme_nm:g} NM arc, {leg.turn} turns",
            )
        elif leg.kind == "procedure turn":
            out, back = (
                three_digits(direction_deg=float(deg or 0)) for deg in (leg.heading_out_deg, leg.heading_in_deg)
            )
            words, way = f"{out}, then {back}", f"procedure turn {leg.turn}, headings {out} and {back}"
        else:
            minutes = f" {leg.time_min:g} min" if leg.kind == "timed" else ""
            words = three_digits(direction_deg=float(leg.course_deg or 0)) + minutes
            way = f"{leg.text} on {words}"
        said.append(f"{way}, {limit}")
        if leg.segment != "final":
            words += f"\n≥ {floor_ft:,.0f} ft"
        elif leg is not procedure.final_legs[0]:
            continue
        labels.at(
            words,
            [path.at(share) for share in (0.5, 0.4, 0.6, 0.3, 0.7)],
            shifts=[(gap * dx, gap * dy) for gap in (11.0, 26.0) for dx, dy in _SIDES],
            fontsize=9,
            color=PALETTE["course text"],
            linespacing=1.1,
        )
        if leg.kind != "procedure turn" and not muted:
            _arrow_on(ax, path, 0.55, PALETTE["course"])
    return said


def _arrow_on(ax: Axes, path: Path, share: float, colour: str) -> None:
    """Put an arrow head on a path, in flying direction."""
    tail, head = path.at(share - 0.02), path.at(share)
    ax.annotate(
        "",
        head,
        tail,
        arrowprops={"arrowstyle": "-|>,head_width=0.32,head_length=0.7", "color": colour, "linewidth": 0},
    )


def _draw_runway(ax: Axes, procedure: Procedure) -> None:
    start = np.asarray(point_of(procedure, "threshold"))
    angle = np.deg2rad(procedure.runway.heading_deg + procedure.station.declination_deg)
    end = start + procedure.runway.length_m / 1852.0 * np.array([np.sin(angle), np.cos(angle)])
    ax.plot(
        [start[0], end[0]],
        [start[1], end[1]],
        color=PALETTE["ink"],
        linewidth=6,
        solid_capstyle="butt",
        zorder=4,
        label="runway",
    )


def _draw_fixes(ax: Axes, labels: Labels, procedure: Procedure, names: Sequence[str]) -> None:
    for name in names:
        x, y = point_of(procedure, name)
        ax.plot(
            x,
            y,
            marker="^",
            color=PALETTE["ink"],
            markerfacecolor="white",
            markersize=8,
            linestyle="",
            zorder=5,
            label=f"fix {name}",
        )
        fix = procedure.fix(name)
        where = (
            f"{three_digits(direction_deg=fix.radial_deg, reference='')}/D{fix.dme_nm:g}"
            if fix.dme_nm is not None
            else "by time"
        )
        # A radial crossed on the arc is named for what it is.
        words = (
            f"R {three_digits(direction_deg=fix.radial_deg)}"
            if name.startswith("R") and name[1:].isdigit()
            else f"{name}\n{where}"
        )
        labels.beside(words, x, y, gap=8, fontsize=9, linespacing=1.05)


def _names_drawn(procedure: Procedure, legs: Sequence[tuple[Leg, Path]], with_missed: bool) -> list[str]:
    names = [name for leg, _ in legs for name in (leg.start, leg.end) if name]
    names += [procedure.missed.fix] if with_missed else []
    return [name for name in dict.fromkeys(names) if name != procedure.station.ident]


def frame(ax: Axes, paths: Sequence[Path]) -> None:
    """Make room round everything drawn, and a column on the right for the north arrow."""
    x, y = np.concatenate([path.x for path in paths]), np.concatenate([path.y for path in paths])
    span = max(float(np.ptp(x)), float(np.ptp(y)), 2.0)
    left, right = float(x.min()) - 0.14 * span, float(x.max()) + 0.14 * span
    low, high = float(y.min()) - 0.09 * span, float(y.max()) + 0.09 * span
    ax.set(xlim=(left, right + 0.2 * (right - left)), ylim=(low, high), aspect="equal")


def size_in(paths: Sequence[Path]) -> tuple[float, float]:
    """Figure size in inches for what has to be shown to scale."""
    x, y = np.concatenate([path.x for path in paths]), np.concatenate([path.y for path in paths])
    wide, tall = 1.5 * max(float(np.ptp(x)), 2.0), 1.18 * max(float(np.ptp(y)), 2.0)
    width = 9.0 if wide > tall else 8.0
    return width, float(np.clip(width * tall / wide, 4.5, 8.5))


def _draw_plan_of(
    procedure: Procedure,
    entry: str | None,
    category: str,
    missed: bool,
    hold: bool,
    muted: bool,
    track: Path | None,
    ax: Axes | None,
) -> tuple[Axes, Labels, list[str]]:
    """Draw what the plan view and the flown plan have in common; the caller settles the labels."""
    legs = route_paths(procedure, entry)
    away = missed_path(procedure)
    radius = float(np.asarray(turn_radius_nm(tas_kt=90.0)))
    pattern = hold_path(
        point_of(procedure, procedure.hold.fix),
        procedure.hold.inbound_course_deg + procedure.station.declination_deg,
        procedure.hold.turn,
        hold_leg_nm(procedure),
        radius,
    )
    threshold = point_of(procedure, "threshold")
    paths = [path for _, path in legs] + [Path(np.array([0.0, threshold[0]]), np.array([0.0, threshold[1]]))]
    paths += ([away] if missed else []) + ([pattern] if hold else []) + ([track] if track is not None else [])
    ax = axes_or_new(ax, *size_in(paths))
    frame(ax, paths)
    labels = Labels(ax)
    _draw_runway(ax, procedure)
    draw_station(ax, size=0.022 * float(np.ptp(ax.get_xlim())))
    station = procedure.station
    labels.beside(f"{station.ident} {station.frequency_mhz:.2f}", 0.0, 0.0, gap=9, fontsize=10.5, fontweight="bold")
    names = _names_drawn(procedure, legs, missed)
    _draw_fixes(ax, labels, procedure, names)
    labels.beside(f"RWY {procedure.runway.name}", *threshold, gap=9, fontsize=9)
    said = _draw_legs(ax, labels, procedure, legs, category, muted)
    if missed:
        ax.plot(away.x, away.y, label="missed approach", **LINES["warning"] | ({"linewidth": 1.2} if muted else {}))
        plan = procedure.missed
        heading = "direct" if plan.heading_deg is None else f"heading {three_digits(direction_deg=plan.heading_deg)}"
        words = f"missed: {plan.climb_to_ft:,.0f}, {plan.turn},\n{heading}, {plan.altitude_ft:,.0f}"
        labels.at(
            words,
            [away.at(share) for share in (0.45, 0.35, 0.55, 0.65, 0.25, 0.75)],
            shifts=[(gap * dx, gap * dy) for gap in (12.0, 24.0) for dx, dy in _SIDES],
            fontsize=9,
            color=PALETTE["warning text"],
        )
        said.append(
            f"missed approach on {three_digits(direction_deg=plan.course_deg)} to {plan.climb_to_ft:,.0f} ft, "
            f"turn {plan.turn}, {heading}, to {plan.fix} at {plan.altitude_ft:,.0f} ft"
        )
    if hold:
        where = procedure.hold
        ax.plot(pattern.x, pattern.y, label="hold", **LINES["secondary"] | {"linewidth": 1.6})
        _arrow_on(ax, pattern, 0.96, PALETTE["secondary"])
        said.append(
            f"hold {three_digits(direction_deg=where.inbound_course_deg)} inbound, {where.turn} turns, at {where.fix}"
        )
    ax.set_xlabel("NM east of the station")
    ax.set_ylabel("NM north of the station")
    draw_north(ax, station.declination_deg)
    caution(ax)
    return ax, labels, said


@styled
def draw_procedure_plan(
    procedure: Procedure,
    *,
    entry: str | None = None,
    category: str = "A",
    missed: bool = True,
    hold: bool = True,
    wind: tuple[float, float] | None = None,
    title: str | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw a procedure in plan view: legs with course and floor, fixes, runway, missed approach, hold.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    entry : str, optional
        Where the approach begins; the first entry when left out.
    category : str
        Approach category, for the MDA.
    missed, hold : bool
        False leaves them out.
    wind : tuple (from_deg_true, speed_kt), optional
        Wind "from", true, and its speed.
    title : str, optional
        Words above; default is airport and name of the procedure.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        NM east and north of the station; lines "leg <text>", "missed approach", "hold", "runway".
    """
    ax, labels, said = _draw_plan_of(procedure, entry, category, missed, hold, False, None, ax)
    if wind is not None:
        said.append(draw_wind(ax, *wind, x=0.92, y=0.62))
    labels.settle()
    ax.set_title(f"{procedure.airport.name}: {procedure.name}" if title is None else title)
    said.append(f"variation {variation_words(procedure.station.declination_deg)}")
    tell(ax, f"Plan view, true north up, of {procedure.airport.name}, {procedure.name}: " + "; ".join(said) + ".")
    return ax


def track_xy(procedure: Procedure, track: Track) -> tuple[Floats, Floats]:
    """NM east and north of the procedure's station, true north up, of a flown track."""
    at = procedure.station
    radial, dist = radial_and_distance(
        station_lat_deg=at.lat_deg,
        station_lon_deg=at.lon_deg,
        declination_deg=at.declination_deg,
        lat_deg=track.lat_deg,
        lon_deg=track.lon_deg,
    )
    return xy_nm(radial, dist, at.declination_deg)


def draw_marks(
    ax: Axes, labels: Labels, track: Track, x: Floats, y: Floats, marks: Sequence[tuple[float, str]]
) -> list[str]:
    """Put a numbered ring at each moment and its words beside; returns what the sentence says."""
    said = []
    for number, (time, words) in enumerate(sorted(marks), 1):
        px, py = float(np.interp(time, track.time_s, x)), float(np.interp(time, track.time_s, y))
        if not (np.isfinite(px) and np.isfinite(py)):
            continue
        ax.plot(
            px,
            py,
            marker="o",
            markersize=15,
            color="white",
            markeredgecolor=PALETTE["warning"],
            markeredgewidth=2,
            zorder=7,
            label=f"mark {number}",
        )
        ax.text(px, py, str(number), ha="center", va="center", fontsize=9.5, fontweight="bold", zorder=8)
        labels.beside(words, px, py, gap=11, fontsize=9.5, color=PALETTE["warning text"])
        said.append(f"mark {number} at {clock_words(time)}: {words}")
    return said


@styled
def draw_flown_plan(
    track: Track,
    procedure: Procedure,
    *,
    entry: str | None = None,
    marks: Sequence[tuple[float, str]] = (),
    wind: tuple[float, float] | None = None,
    title: str | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw a flown track over the procedure in plan view.

    Parameters
    ----------
    track : Track
        A flown track, see :mod:`needlework.flying.tracklog`.
    procedure : Procedure
        What was to be flown.
    entry : str, optional
        Where the approach began; the first entry when left out.
    marks : sequence of (time_s, words)
        Moments to number on the track.
    wind : tuple (from_deg_true, speed_kt), optional
        Wind "from", true, and its speed.
    title : str, optional
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        As :func:`draw_procedure_plan`; the flown track is the line "track", a dot stands at every minute.
    """
    x, y = track_xy(procedure, track)
    went_around = float(np.hypot(*(np.array([x[-1], y[-1]]) - point_of(procedure, "threshold")))) > 2.0
    ax, labels, _ = _draw_plan_of(procedure, entry, "A", went_around, went_around, True, Path(x, y), ax)
    ax.plot(x, y, label="track", zorder=4, **LINES["track"])
    minutes = np.arange(np.ceil(track.time_s[0] / 60.0), track.time_s[-1] / 60.0) * 60.0
    ax.plot(
        np.interp(minutes, track.time_s, x), np.interp(minutes, track.time_s, y),
        linestyle="", marker="o", markersize=4.5, color="white", markeredgecolor=PALETTE["ink"], label="minutes",
        zorder=5,
    )  # fmt: skip
    ax.plot(float(x[0]), float(y[0]), marker="s", markersize=8, color=PALETTE["ink"], zorder=5, label="start")
    labels.beside("start", float(x[0]), float(y[0]), gap=8, fontsize=9.5)
    said = draw_marks(ax, labels, track, x, y, marks)
    if wind is not None:
        said.append(draw_wind(ax, *wind, x=0.92, y=0.62))
    labels.settle()
    ax.set_title(f"{procedure.airport.name}: {procedure.name}, as flown" if title is None else title)
    took = clock_words(float(track.time_s[-1] - track.time_s[0]))
    flown = f"Plan view of the track flown in {took} min against {procedure.airport.name}, {procedure.name}"
    tell(ax, "; ".join([flown, "a dot every minute", *said]) + ".")
    return ax


show_procedure_plan = shown(draw_procedure_plan)
show_flown_plan = shown(draw_flown_plan)
