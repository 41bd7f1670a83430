"""A procedure in plan view: legs, floors, fixes, runway, missed approach, hold; and a flown track upon it."""

from __future__ import annotations

import typing
from collections.abc import Sequence

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import (
    Path,
    hold_leg_nm,
    hold_path,
    missed_path,
    point_of,
    route_paths,
    runway_begins,
)
from needlework.showing.pictures.plan_corners import close_names, draw_final, draw_fixes, draw_runway, draw_sectors
from needlework.showing.pictures.plan_view import draw_north, draw_station, draw_wind, variation_words, xy_nm
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.strips import clock_words
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, caution, styled, tell
from needlework.showing.pictures.words import dme, runway_words, short_radial, spoken_radial
from needlework.trade.angles import three_digits, turn_deg
from needlework.trade.geodesy import radial_and_distance
from needlework.trade.turns import turn_radius_nm

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

    from needlework.flying.tracklog import Track
    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import Leg


_COLUMN, _LEAST_TALL = 0.45, 0.64
_JOIN_DEG = 8.0
_NEAR_ARC_NM = 1.5
_SIDES = [(1, 0), (-1, 0), (1, 1), (-1, -1), (-1, 1), (1, -1), (0, 1), (0, -1)]


def _draw_legs(
    ax: Axes, labels: Labels, procedure: Procedure, legs: Sequence[tuple[Leg, Path]], category: str, muted: bool
) -> list[str]:
    """Draw each leg with its course and floor; those of the final stand at its fixes."""
    said = []
    for leg, path in legs:
        width = {"linewidth": 1.4 if muted else 2.4}
        (drawn,) = ax.plot(path.x, path.y, label=f"leg {leg.text}", **LINES["course"] | width)
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
            [path.at(share) for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)],
            shifts=[(gap * dx, gap * dy) for gap in (11.0, 26.0) for dx, dy in _SIDES],
            line=drawn,
            fontsize=9,
            color=PALETTE["course text"],
            linespacing=1.1,
        )
        if leg.lead_radial_deg is not None:
            said.append(_draw_lead(ax, labels, procedure, leg))
        if leg.kind != "procedure turn" and not muted:
            _arrow_on(ax, path, 0.55, PALETTE["course"])
    return said


def _draw_lead(ax: Axes, labels: Labels, procedure: Procedure, leg: Leg) -> str:
    """Draw the lead radial across the end of an arc."""
    arc_nm, lead_deg = float(leg.arc_dme_nm or 0.0), float(leg.lead_radial_deg or 0.0)
    x, y = xy_nm(lead_deg, arc_nm * np.array([0.88, 1.07]), procedure.station.declination_deg)
    (line,) = ax.plot(x, y, label="lead radial", **LINES["radial"])
    x, y = xy_nm(lead_deg, arc_nm * np.array([0.86, 1.09]), procedure.station.declination_deg)
    labels.at(
        f"lead {short_radial(lead_deg)}",
        list(zip(x, y, strict=True)),
        shifts=[(gap * dx, gap * dy) for gap in (4.0, 14.0, 26.0) for dx, dy in _SIDES],
        line=line,
        fontsize=9,
        color=PALETTE["radial text"],
    )
    return f"lead radial {short_radial(lead_deg)[1:]}"


def _arrow_on(ax: Axes, path: Path, share: float, colour: str) -> None:
    """Put an arrow head on a path, in flying direction."""
    tail, head = path.at(share - 0.02), path.at(share)
    ax.annotate(
        "",
        head,
        tail,
        arrowprops={"arrowstyle": "-|>,head_width=0.32,head_length=0.7", "color": colour, "linewidth": 0},
    )


def _names_drawn(procedure: Procedure, legs: Sequence[tuple[Leg, Path]], with_missed: bool) -> list[str]:
    names = [name for leg, _ in legs for name in (leg.start, leg.end) if name]
    names += [procedure.missed.turn_after, procedure.missed.fix] if with_missed else []
    elsewhere = (procedure.station.ident, *close_names(procedure))
    return [name for name in dict.fromkeys(names) if name not in elsewhere]


def frame(ax: Axes, paths: Sequence[Path], column: float = 0.2) -> None:
    """Make room round everything drawn, and a column on the right, as a share of the rest, for what stands there."""
    x, y = np.concatenate([path.x for path in paths]), np.concatenate([path.y for path in paths])
    span = max(float(np.ptp(x)), float(np.ptp(y)), 2.0)
    left, right = float(x.min()) - 0.14 * span, float(x.max()) + 0.14 * span
    low, high = float(y.min()) - 0.13 * span, float(y.max()) + 0.1 * span
    lacking = max(_LEAST_TALL * (1.0 + column) * (right - left) - (high - low), 0.0) if column > 0.2 else 0.0
    ax.set(
        xlim=(left, right + column * (right - left)),
        ylim=(low - 0.6 * lacking, high + 0.4 * lacking),
        aspect="equal",
    )


def size_in(paths: Sequence[Path], column: float = 0.2) -> tuple[float, float]:
    """Figure size in inches for what has to be shown to scale, with the column of :func:`frame`."""
    x, y = np.concatenate([path.x for path in paths]), np.concatenate([path.y for path in paths])
    span = max(float(np.ptp(x)), float(np.ptp(y)), 2.0)
    wide, tall = (1.0 + column) * (float(np.ptp(x)) + 0.28 * span), float(np.ptp(y)) + 0.23 * span
    width = 9.5 if wide > tall else 8.0
    width += 2.5 * (column - 0.2)
    tall = max(tall, _LEAST_TALL * wide) if column > 0.2 else tall
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
    column = _COLUMN if close_names(procedure) else 0.2
    ax = axes_or_new(ax, *size_in(paths, column))
    frame(ax, paths, column)
    labels = Labels(ax)
    draw_runway(ax, procedure)
    draw_station(ax, size=0.022 * float(np.ptp(ax.get_xlim())))
    station = procedure.station
    labels.beside(f"{station.ident} {station.frequency_mhz:.2f}", 0.0, 0.0, gap=9, fontsize=10.5, fontweight="bold")
    names = _names_drawn(procedure, legs, missed)
    floors = {str(leg.end): f"≥ {leg.end_ft:,.0f} ft" for leg in procedure.final_legs if leg.end_ft is not None}
    floors["MAP"] = f"MDA {procedure.mda_ft(category):,.0f} ft"
    draw_fixes(ax, labels, procedure, names, floors)
    runway_label, runway_said = runway_words(procedure)
    labels.beside(runway_label, *runway_begins(procedure), gap=9, fontsize=9, linespacing=1.05)
    said = _draw_legs(ax, labels, procedure, legs, category, muted)
    if procedure.has_vdp():
        said.append(f"visual descent point at {dme(procedure.fix('VDP').dist_nm)}")
    said.append(runway_said)
    if missed:
        thin = {"linewidth": 1.2} if muted else {}
        (drawn,) = ax.plot(away.x, away.y, label="missed approach", **LINES["warning"] | thin)
        said.append(_missed_words(labels, procedure, away, drawn))
    if hold:
        where = procedure.hold
        (drawn,) = ax.plot(pattern.x, pattern.y, label="hold", **LINES["secondary"] | {"linewidth": 1.6})
        _arrow_on(ax, pattern, 0.96, PALETTE["secondary"])
        inbound = three_digits(direction_deg=where.inbound_course_deg)
        by_dme = where.leg_dme_nm is not None
        legs_by = f"{where.leg_dme_nm:g} NM legs" if by_dme else f"legs of {where.leg_min:g} min"
        labels.at(
            f"hold {inbound} inbound,\n{where.turn} turns, {legs_by}",
            [pattern.at(share) for share in (0.5, 0.35, 0.65, 0.2, 0.8)],
            shifts=[(gap * dx, gap * dy) for gap in (10.0, 22.0, 36.0) for dx, dy in _SIDES],
            line=drawn,
            fontsize=9,
            color=PALETTE["secondary"],
            linespacing=1.1,
        )
        said.append(
            f"hold {inbound} inbound, {where.turn} turns, {legs_by}, at {where.fix} at {where.altitude_ft:,.0f} ft"
        )
    ax.set_xlabel("NM east of the station")
    ax.set_ylabel("NM north of the station")
    draw_north(ax, station.declination_deg)
    if close_names(procedure):
        draw_final(ax, procedure, floors, track, away if missed else None)
    caution(ax)
    return ax, labels, said


def _draw_wind(ax: Axes, procedure: Procedure, wind: tuple[float, float]) -> str:
    """Draw the wind arrow where the column on the right has room; returns what is said."""
    x, y = (0.75, 0.93) if close_names(procedure) else (0.92, 0.52)
    return draw_wind(ax, *wind, x=x, y=y)


def _missed_words(labels: Labels, procedure: Procedure, away: Path, line: Line2D) -> str:
    """Write the missed approach beside its line; returns what is said of it."""
    plan = procedure.missed
    heading = "direct" if plan.heading_deg is None else f"heading {three_digits(direction_deg=plan.heading_deg)}"
    after = "" if plan.turn_after == "MAP" else f" and {plan.turn_after}"
    labels.at(
        f"missed: {plan.climb_to_ft:,.0f} ft{after},\n{plan.turn}, {heading},\n{plan.altitude_ft:,.0f} ft",
        [away.at(share) for share in (0.45, 0.35, 0.55, 0.65, 0.25, 0.75)],
        shifts=[(gap * dx, gap * dy) for gap in (12.0, 24.0) for dx, dy in _SIDES],
        line=line,
        fontsize=9,
        color=PALETTE["warning text"],
    )
    out = "" if plan.intercept_radial_deg is None else f", out on {spoken_radial(plan.intercept_radial_deg)}"
    return (
        f"missed approach on {three_digits(direction_deg=plan.course_deg)} to {plan.climb_to_ft:,.0f} ft{after}, "
        f"turn {plan.turn}, {heading}{out}, to {plan.fix} at {plan.altitude_ft:,.0f} ft"
    )


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
    said.append(draw_sectors(ax, procedure))
    if wind is not None:
        said.append(_draw_wind(ax, procedure, wind))
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


def _off_words(procedure: Procedure, track: Track, entry: str | None) -> list[str]:
    """Say how far off arcs and final course the track was at most, to which side, and where."""
    x, y = track_xy(procedure, track)
    declination = procedure.station.declination_deg
    dist = np.hypot(x, y)
    radial = np.rad2deg(np.arctan2(x, y)) - declination
    said = []
    for leg in procedure.route(entry):
        if leg.kind != "arc":
            continue
        begin = procedure.fix(str(leg.start)).radial_deg
        sweep = float(turn_deg(from_deg=begin, to_deg=procedure.fix(str(leg.end)).radial_deg, side=str(leg.turn)))
        swept = (radial - begin) * (1.0 if leg.turn == "right" else -1.0) % 360.0
        arc_nm = float(leg.arc_dme_nm or 0.0)
        # Joining and leaving are turns, not the arc.
        held = (swept > _JOIN_DEG) & (swept < sweep - _JOIN_DEG) & (np.abs(dist - arc_nm) < _NEAR_ARC_NM)
        if held.any():
            off = np.where(held, dist - arc_nm, 0.0)
            worst = int(np.argmax(np.abs(off)))
            side = "outside" if off[worst] > 0 else "inside"
            most = f"at most {abs(off[worst]):.1f} NM {side}, on {spoken_radial(radial[worst])}"
            said.append(f"on the arc {leg.text} " + (most if abs(off[worst]) >= 0.05 else "within 0.05 NM"))
    course = np.deg2rad(procedure.final_course_deg + declination)
    along, right = x * np.sin(course) + y * np.cos(course), x * np.cos(course) - y * np.sin(course)
    ends = [procedure.fix_to_go_nm(name) for name in (procedure.final_fix, "MAP")]
    over = point_of(procedure, "threshold")
    to_go = over[0] * np.sin(course) + over[1] * np.cos(course) - along
    inbound = np.gradient(along, track.time_s) > 0
    final = (to_go < ends[0]) & (to_go > ends[1]) & inbound & (np.abs(right) < _NEAR_ARC_NM)
    if final.any():
        worst = int(np.argmax(np.where(final, np.abs(right), -1.0)))
        side = "right" if right[worst] > 0 else "left"
        said.append(
            f"on the final at most {abs(right[worst]):.2f} NM {side} of the course, {to_go[worst]:.1f} NM before the "
            "threshold"
        )
    return said


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
        said.append(_draw_wind(ax, procedure, wind))
    labels.settle()
    ax.set_title(f"{procedure.airport.name}: {procedure.name}, as flown" if title is None else title)
    said += _off_words(procedure, track, entry)
    took = clock_words(float(track.time_s[-1] - track.time_s[0]))
    flown = f"Plan view of the track flown in {took} min against {procedure.airport.name}, {procedure.name}"
    tell(ax, "; ".join([flown, "a dot every minute", *said]) + ".")
    return ax


show_procedure_plan = shown(draw_procedure_plan)
show_flown_plan = shown(draw_flown_plan)
