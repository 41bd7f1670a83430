"""The descent from the side: floors, descent line, step-downs, VDP, MDA, MAP; and a flown track upon it."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Floats, within
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import point_of
from needlework.showing.pictures.procedures import draw_marks, track_xy
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.strips import clock_words
from needlework.showing.pictures.style import HATCHES, LINES, PALETTE, axes_or_new, caution, halo, styled, tell
from needlework.showing.pictures.words import dme

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.flying.tracklog import Track
    from needlework.world.procedure import Procedure

_BESIDE_NM = 1.5
_ALONG_DEG = 50.0
_ROUNDING_FT = 0.5
_TIMED_KT = (60, 70, 80, 90, 100, 110, 120, 140)  # the box on the plate


@dataclasses.dataclass(frozen=True)
class ProfileFix:
    """A fix on the way down.

    Parameters
    ----------
    name : str
        What stands above the profile.
    to_go_nm : float
        Distance to the threshold, positive before it. [NM]
    dme_nm : float, optional
        What the DME reads there. [NM]
    """

    name: str
    to_go_nm: float
    dme_nm: float | None = None


@styled
def draw_descent(
    fixes: Sequence[ProfileFix | tuple[typing.Any, ...]],
    floors: Sequence[tuple[float, float, float]],
    *,
    path: Sequence[tuple[float, float]] = (),
    mda_ft: float | None = None,
    threshold_ft: float = 0.0,
    missed_from: tuple[float, float] | None = None,
    flown: tuple[ArrayLike, ArrayLike] | None = None,
    title: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw a descent from the side, flown from left to right.

    Parameters
    ----------
    fixes : sequence of ProfileFix or tuples (name, to_go_nm[, dme_nm])
        Fixes, named above with their DME.
    floors : sequence of tuples (from_to_go_nm, to_to_go_nm, floor_ft)
        Lowest altitude between two distances to the threshold, farther one first. [NM], [ft]
    path : sequence of tuples (to_go_nm, alt_ft)
        The line to fly, corner by corner.
    mda_ft : float, optional
        Minimum descent altitude. [ft]
    threshold_ft : float
        Elevation of the threshold. [ft]
    missed_from : tuple (to_go_nm, alt_ft), optional
        Where the missed approach begins.
    flown : tuple (to_go_nm, alt_ft), optional
        What was flown, two arrays; nan leaves a gap.
    title : str
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        x in NM to the threshold, falling to the right; lines "path", "floor", "MDA", "fix <name>", "track" and,
        where that lies below a floor before the missed approach point, "below the floor".
    """
    ax, labels, said = _draw_profile(fixes, floors, path, mda_ft, threshold_ft, missed_from, flown, title, ax)
    labels.settle()
    tell(ax, "; ".join(said) + ".")
    return ax


def _draw_profile(
    fixes: Sequence[ProfileFix | tuple[typing.Any, ...]],
    floors: Sequence[tuple[float, float, float]],
    path: Sequence[tuple[float, float]],
    mda_ft: float | None,
    threshold_ft: float,
    missed_from: tuple[float, float] | None,
    flown: tuple[ArrayLike, ArrayLike] | None,
    title: str,
    ax: Axes | None,
) -> tuple[Axes, Labels, list[str]]:
    """Draw a descent; the caller may add to it, then settles the labels and tells the sentence."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    stops = [fix if isinstance(fix, ProfileFix) else ProfileFix(*fix) for fix in fixes]
    if not stops or not floors:
        raise OutOfRange("fixes or floors is empty: expected at least one fix and one floor")
    corners = np.asarray(path, dtype=np.float64).reshape(-1, 2)
    starts = [fix.to_go_nm for fix in stops] + [start for start, _, _ in floors] + corners[:, 0].tolist()
    far = float(within("to_go_nm", max(starts), 0.2, 100.0, "NM"))
    heights = [floor for _, _, floor in floors] + corners[:, 1].tolist()
    base = threshold_ft - 0.06 * (max(heights) - threshold_ft)
    top = max(heights) + 0.16 * (max(heights) - threshold_ft)

    ax = axes_or_new(ax, 10.0, 5.2)
    ax.set(xlim=(1.05 * far, -0.14 * far), ylim=(base, top))
    for start, end, floor in floors:
        ax.fill_between(
            [start, end],
            base,
            floor,
            facecolor="#F1F1F1",
            edgecolor="#BDBDBD",
            hatch=HATCHES["floor"],
            linewidth=0,
            zorder=0.5,
        )
    edge = np.array([corner for start, end, floor in floors for corner in ((start, floor), (end, floor))])
    ax.plot(edge[:, 0], edge[:, 1], label="floor", **LINES["secondary"] | {"linewidth": 1.8})
    labels = Labels(ax)
    for start, end, floor in floors:
        # The last floor is the MDA, which has a line and a name of its own.
        if floor != mda_ft:
            labels.at(
                f"floor {floor:,.0f}",
                [(start + share * (end - start), floor) for share in (0.5, 0.35, 0.65, 0.2, 0.8)],
                shifts=[(0, -7), (0, 7)],
                fontsize=9.5,
                color=PALETTE["secondary"],
            )
    if mda_ft is not None:
        ax.plot([1.05 * far, -0.14 * far], [mda_ft, mda_ft], label="MDA", **LINES["minimums"])
        labels.at(
            f"MDA {mda_ft:,.0f}",
            [(share * far, mda_ft) for share in (-0.075, 1.0, 0.9, 0.8)],
            shifts=[(0, -7), (0, 7)],
            fontsize=10,
            fontweight="bold",
            color=PALETTE["minimums text"],
        )
    if corners.size:
        seen = corners[:, 1] < mda_ft - 0.5 if mda_ft is not None else np.zeros(len(corners), dtype=bool)
        last = int(np.argmax(seen)) if seen.any() else len(corners)
        ax.plot(corners[:last, 0], corners[:last, 1], label="path", **LINES["course"] | {"linewidth": 2.6})
        if seen.any():
            below = slice(max(last - 1, 0), None)
            ax.plot(
                corners[below, 0], corners[below, 1], label="in sight only", **LINES["course"] | {"linewidth": 1.2}
            )
    ax.plot(
        [0, -0.05 * far],
        [threshold_ft, threshold_ft],
        color=PALETTE["ink"],
        linewidth=6,
        solid_capstyle="butt",
        label="runway",
        zorder=4,
    )
    if missed_from is not None:
        x, y = missed_from
        ax.annotate(
            "",
            (x - 0.10 * far, y + 0.17 * (top - base)),
            (x, y),
            arrowprops={
                "arrowstyle": "-|>,head_width=0.35,head_length=0.7",
                "linestyle": "--",
                "color": PALETTE["warning"],
                "linewidth": 1.8,
            },
        )
        labels.at(
            "missed approach",
            [(x - 0.10 * far, y + 0.17 * (top - base))],
            shifts=[(0, 7), (-12, 7), (0, 22)],
            fontsize=9.5,
            color=PALETTE["warning text"],
        )
    said, rows = _draw_fixes(ax, stops, far)
    for to_go, alt in corners:
        if any(abs(to_go - fix.to_go_nm) < 0.01 for fix in stops):
            ax.plot(
                to_go, alt, marker="o", color=PALETTE["course"], markersize=7, zorder=5, linestyle="", label="_corner"
            )
            if alt != mda_ft:
                labels.beside(
                    f"{alt:,.0f}", to_go, alt, gap=7, fontsize=10, fontweight="bold", color=PALETTE["course text"]
                )
    ax.set_xlabel("NM to the threshold")
    ax.set_ylabel("altitude, ft")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, nbins=12))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda v, _: "" if v < -0.01 else f"{v:.0f}"))
    ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:,.0f}"))
    if title:
        ax.set_title(title, pad=8.0 + 30.0 * rows)
    caution(ax)
    words = [f"Descent from the side: {', '.join(said)}"]
    words += [f"floor {floor:,.0f} ft from {start:.1f} to {max(end, 0):.1f} NM to go" for start, end, floor in floors]
    words += [f"MDA {mda_ft:,.0f} ft"] if mda_ft is not None else []
    words += (
        ["line " + ", ".join(f"{alt:,.0f} ft at {to_go:.1f} NM" for to_go, alt in corners)] if corners.size else []
    )
    if flown is not None:
        to_go, alt = np.asarray(flown[0], dtype=np.float64), np.asarray(flown[1], dtype=np.float64)
        judged_to = missed_from[0] if missed_from else 0.0
        landed = np.isfinite(to_go) & np.isfinite(alt) & (alt < 0.5 * (threshold_ft + (mda_ft or threshold_ft)))
        if landed.any():
            # A landing leaves the MDA on the way down to the runway, from the visual descent point on.
            judged_to = max([judged_to, *(fix.to_go_nm for fix in stops if fix.name == "VDP")])
        words.append(_draw_flown(ax, to_go, alt, floors, judged_to))
    return ax, labels, words


def _draw_flown(
    ax: Axes,
    to_go: Floats,
    alt: Floats,
    floors: Sequence[tuple[float, float, float]],
    judged_to: float,
) -> str:
    """Draw what was flown, once more where it lies below a floor that is judged here; returns what is said of it."""
    good = np.isfinite(to_go) & np.isfinite(alt)
    ax.plot(to_go, alt, label="track", zorder=4, **LINES["track"])
    if not good.any():
        return "no flown point on the way in"
    low, high = ax.get_ylim()
    ax.set_ylim(min(low, float(alt[good].min()) - 50.0), max(high, float(alt[good].max()) + 100.0))
    floor = np.full(to_go.shape, -np.inf)
    for start, end, limit in floors[::-1]:
        floor = np.where((to_go <= start) & (to_go >= end), limit, floor)
    # Past that place a landing goes below the MDA as it should; that judgement is the debrief's.
    depth = np.where(good & (to_go > judged_to), floor - alt, -np.inf)
    below = depth > _ROUNDING_FT
    said = f"flown with {alt[good].min():,.0f} ft at the lowest"
    if below.any():
        ax.plot(
            to_go, np.where(below, alt, np.nan), label="below the floor", color=PALETTE["warning"], linewidth=4.5,
            marker="x", markevery=max(1, below.size // 60), markersize=7, markeredgecolor=PALETTE["ink"], zorder=5,
        )  # fmt: skip
        worst = int(np.argmax(depth))
        said += f", up to {depth[worst]:,.0f} ft below the floor, at {to_go[worst]:.1f} NM to go"
    return said


def _draw_fixes(ax: Axes, stops: Sequence[ProfileFix], far: float) -> tuple[list[str], int]:
    """Rule a thin line at each fix, its name and DME above; returns what is said and the rows that took."""
    said, frame = [], ax.get_xaxis_transform()
    last, row, rows = np.inf, 0, 1
    for fix in sorted(stops, key=lambda fix: -fix.to_go_nm):
        ax.axvline(
            fix.to_go_nm,
            0.0,
            0.985,
            color=PALETTE["secondary"],
            linewidth=0.9,
            ls=":",
            zorder=0.6,
            label=f"fix {fix.name}",
        )
        row = 1 - row if last - fix.to_go_nm < 0.075 * far else 0
        last, rows = fix.to_go_nm, max(rows, row + 1)
        reading = "" if fix.dme_nm is None else "overhead" if fix.dme_nm == 0 else dme(fix.dme_nm)
        ax.annotate(
            f"{fix.name}\n{reading}".strip(),
            (fix.to_go_nm, 1.0),
            (0, 2 + 30 * row),
            xycoords=frame,
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=9.5,
            linespacing=1.05,
            **halo(),
        )
        spoken = "" if fix.dme_nm is None else "overhead, " if fix.dme_nm == 0 else f"at {dme(fix.dme_nm)}, "
        between = " " if spoken else ", "
        said.append(f"{fix.name}{between}{spoken}{fix.to_go_nm:.1f} NM to go")
    return said, rows


def _shows(procedure: Procedure, name: str) -> bool:
    """Whether the pilot can see that a fix is reached: by DME, or by passing overhead."""
    fix = procedure.fix(name)
    return fix.dme_nm is not None or fix.dist_nm == 0


def _profile_parts(
    procedure: Procedure, category: str, remote: bool
) -> tuple[list[ProfileFix], list[tuple[float, float, float]], list[tuple[float, float]]]:
    """Fixes, floors and line of a procedure's straight-in part."""
    legs = procedure.straight_in_legs()
    first = legs[0].start
    begin = procedure.fix_to_go_nm(first) if first else procedure.fix_to_go_nm(str(legs[0].end)) + 5.0
    names = ([first] if first else []) + [str(leg.end) for leg in legs]
    fixes = []
    if procedure.has_vdp(remote=remote):
        vdp = next(row for row in procedure.final_table(category, remote=remote) if row.name == "VDP")
        fixes.append(ProfileFix("VDP", vdp.to_go_nm, vdp.dme_nm))
    for name in names:
        fix = procedure.fix(name)
        # A fix without a name of its own is called after its DME already.
        named = name != dme(fix.dist_nm)
        fixes.append(
            ProfileFix(name, procedure.fix_to_go_nm(name), fix.dist_nm if named and _shows(procedure, name) else None)
        )
    floors = []
    for leg in legs:
        start = procedure.fix_to_go_nm(leg.start) if leg.start else begin
        end = procedure.fix_to_go_nm(str(leg.end))
        floors.append((start, end, procedure.leg_floor_ft(leg, category, remote=remote)))
    # Past the MAP the MDA stays.
    floors[-1] = (floors[-1][0], 0.0, floors[-1][2])
    first_ft = [leg.minimum_ft for leg in procedure.legs if leg.segment == "initial"][-1]
    line = [(begin, float(first_ft or 0.0))]
    for leg in legs:
        if leg.segment != "final" and leg.end_ft is not None:
            line.append((procedure.fix_to_go_nm(str(leg.end)), leg.end_ft))
    for leg in procedure.final_legs[:-1]:
        to_go = procedure.fix_to_go_nm(str(leg.end))
        line.append((to_go, float(np.asarray(procedure.line_ft(to_go)))))
    mda = procedure.mda_ft(category, remote=remote)
    at_mda = (mda - procedure.crossing_ft) / procedure.gradient_ft_nm
    line.append((at_mda, mda))
    line.append((0.0, procedure.crossing_ft))
    return fixes, floors, line


def _draw_procedure(
    procedure: Procedure,
    category: str,
    remote: bool,
    flown: tuple[ArrayLike, ArrayLike] | None,
    title: str | None,
    ax: Axes | None,
) -> tuple[Axes, Labels, list[str]]:
    """Draw a procedure's descent with what was flown; labels and sentence are left to the caller."""
    fixes, floors, line = _profile_parts(procedure, category, remote)
    mda = procedure.mda_ft(category, remote=remote)
    name = f"{procedure.airport.name}: {procedure.name}"
    angle = f"{procedure.descent_angle_deg:.2f}° ({procedure.gradient_ft_nm:.0f} ft/NM)"
    heading = f"{name}, {angle if flown is None else 'as flown'}" if title is None else title
    over, missed_from = procedure.runway.threshold_elevation_ft, (procedure.fix_to_go_nm("MAP"), mda)
    ax, labels, said = _draw_profile(fixes, floors, line, mda, over, missed_from, flown, heading, ax)
    if remote and procedure.minimums.vdp_not_with_remote:
        said.insert(1, f"no visual descent point with the setting of {procedure.minimums.remote_setting_from}")
    if not procedure.map_by_dme and flown is None:
        said.append(_draw_times(ax, procedure))
    return ax, labels, [f"{name}, line of {angle}", *said]


def _draw_times(ax: Axes, procedure: Procedure) -> str:
    """Write the times from the final fix to the MAP, where only the clock gives it; returns what is said."""
    seconds = [round(3600.0 * procedure.final_fix_to_map_nm / gs_kt) for gs_kt in _TIMED_KT]
    times = [f"{at // 60}:{at % 60:02d}" for at in seconds]
    head = f"{procedure.final_fix} to MAP {procedure.final_fix_to_map_nm:.1f} NM"
    rows = ["ground speed, kt" + "".join(f"{gs_kt:6d}" for gs_kt in _TIMED_KT)]
    rows += ["time, min:s     " + "".join(f"{time:>6}" for time in times)]
    ax.text(
        0.99, 0.96, "\n".join([head, *rows]), transform=ax.transAxes, ha="right", va="top", fontsize=8.5,
        family="DejaVu Sans Mono", linespacing=1.3, **halo(),
    )  # fmt: skip
    told = ", ".join(f"{time} at {gs_kt} kt" for gs_kt, time in zip(_TIMED_KT, times, strict=True))
    return f"time from {procedure.final_fix} to the MAP {told}"


@styled
def draw_procedure_profile(
    procedure: Procedure,
    *,
    category: str = "A",
    remote: bool = False,
    title: str | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw a procedure's straight-in descent from the side.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    category : str
        Approach category, for the MDA.
    remote : bool
        True if the altimeter setting is another field's.
    title : str, optional
        Words above; default is airport and name of the procedure.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        As :func:`draw_descent`; the line falls from fix to fix on its floors, then on the published angle.
    """
    ax, labels, said = _draw_procedure(procedure, category, remote, None, title, ax)
    labels.settle()
    tell(ax, "; ".join(said) + ".")
    return ax


def straight_in_part(procedure: Procedure, track: Track) -> tuple[Floats, Floats]:
    """Distance to the threshold along the final course, nan where the track is not on its way in. [NM], [ft]

    On the way in is: beside the line by at most 1.5 NM, within 50 degrees of its direction.
    """
    x, y = track_xy(procedure, track)
    course = np.deg2rad(procedure.final_course_deg + procedure.station.declination_deg)
    ahead = np.array([np.sin(course), np.cos(course)])
    threshold = np.asarray(point_of(procedure, "threshold"))
    to_go = -((x - threshold[0]) * ahead[0] + (y - threshold[1]) * ahead[1])
    beside = (x - threshold[0]) * ahead[1] - (y - threshold[1]) * ahead[0]
    east, north = np.gradient(x, track.time_s), np.gradient(y, track.time_s)
    speed = np.maximum(np.hypot(east, north), 1e-12)
    along = (east * ahead[0] + north * ahead[1]) / speed > np.cos(np.deg2rad(_ALONG_DEG))
    begin = _profile_parts(procedure, procedure.minimums.straight_in[0].category, False)[2][0][0]
    on_the_way = along & (np.abs(beside) < _BESIDE_NM) & (to_go < 1.05 * begin) & (to_go > -0.14 * begin)
    return np.where(on_the_way, to_go, np.nan), np.where(on_the_way, track.alt_ft, np.nan)


@styled
def draw_flown_profile(
    track: Track,
    procedure: Procedure,
    *,
    category: str = "A",
    remote: bool = False,
    marks: Sequence[tuple[float, str]] = (),
    title: str | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw the straight-in part of a flown track over the procedure's descent.

    Parameters
    ----------
    track : Track
        A flown track, see :mod:`needlework.flying.tracklog`.
    procedure : Procedure
        What was to be flown.
    category : str
        Approach category, for the MDA.
    remote : bool
        True if the altimeter setting is another field's.
    marks : sequence of (time_s, words)
        Moments to number on the track, where they fall on this part of it.
    title : str, optional
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        As :func:`draw_procedure_profile`; the flown track is the line "track", where it lies below the floor
        also the line "below the floor".
    """
    to_go, alt = straight_in_part(procedure, track)
    ax, labels, said = _draw_procedure(procedure, category, remote, (to_go, alt), title, ax)
    told = [said[-1], *draw_marks(ax, labels, track, to_go, alt, marks)]
    seen = np.flatnonzero(np.isfinite(to_go))
    if seen.size:
        first, last = (clock_words(float(track.time_s[i])) for i in seen[[0, -1]])
        told.append(f"shown from {first} to {last}")
    labels.settle()
    tell(ax, "; ".join([f"Descent against {procedure.airport.name}, {procedure.name}", *told]) + ".")
    return ax


show_descent = shown(draw_descent)
show_procedure_profile = shown(draw_procedure_profile)
show_flown_profile = shown(draw_flown_profile)
