"""Strip charts over time: needle, flag, DME, heading, altitude, speed, with tolerance bands and marks."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Floats, within
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, caution, halo, new_figure, styled, tell
from needlework.trade.angles import three_digits

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.flying.tracklog import Track

Band = tuple[ArrayLike, ArrayLike]


@dataclasses.dataclass(frozen=True)
class _Column:
    """How one column of a track is drawn and said."""

    words: str
    unit: str
    kind: str = "line"
    least_span: float = 1.0


_COLUMNS = {
    "needle_deg": _Column("needle", "deg", "needle", 20.0),
    "needle_1_deg": _Column("needle 1", "deg", "needle", 20.0),
    "needle_2_deg": _Column("needle 2", "deg", "needle", 20.0),
    "course_1_deg": _Column("course 1", "°M", "direction", 20.0),
    "course_2_deg": _Column("course 2", "°M", "direction", 20.0),
    "flag": _Column("flag", "", "flag"),
    "flag_1": _Column("flag 1", "", "flag"),
    "flag_2": _Column("flag 2", "", "flag"),
    "dme_nm": _Column("DME", "NM", "line", 0.5),
    "heading_deg": _Column("heading", "°M", "direction", 20.0),
    "alt_ft": _Column("altitude", "ft", "line", 200.0),
    "ias_kt": _Column("airspeed", "kt", "line", 20.0),
    "gs_kt": _Column("ground speed", "kt", "line", 20.0),
    "vs_fpm": _Column("vertical speed", "ft/min", "line", 400.0),
}
_FLAG_LEVEL = {"TO": 1.0, "NONE": 0.0, "OFF": 0.0, "": 0.0, "FROM": -1.0}


def clock_words(time_s: float) -> str:
    """Write a time the way a stopwatch does: ``"2:05"``, ``"-0:30"``."""
    whole = round(abs(time_s))
    return f"{'-' if time_s < 0 and whole else ''}{whole // 60}:{whole % 60:02d}"


def _levels(values: ArrayLike) -> Floats:
    """Flags as 1 (TO), 0 (none), -1 (FROM), from texts or from a recording that holds these numbers."""
    given = np.asarray(values)
    if given.dtype.kind in "fiu":
        return np.nan_to_num(given.astype(np.float64).ravel())
    texts = [str(text).strip().upper() for text in np.asarray(values, dtype=object).ravel()]
    unknown = sorted(set(texts) - set(_FLAG_LEVEL))
    if unknown:
        raise OutOfRange(f"flag = {unknown[0]!r} is not a flag: expected 'TO', 'FROM' or 'none'")
    return np.array([_FLAG_LEVEL[text] for text in texts])


def _unwrapped(directions: Floats, near: float) -> Floats:
    """Directions without the jump at north, in the turn of the circle that begins nearest to ``near``."""
    good = np.isfinite(directions)
    out = directions.copy()
    if good.any():
        out[good] = np.rad2deg(np.unwrap(np.deg2rad(directions[good])))
        out[good] -= 360.0 * np.round((out[good][0] - near) / 360.0)
    return out


def _said(column: _Column, time: Floats, values: Floats) -> str:
    good = np.flatnonzero(np.isfinite(values))
    if not good.size:
        return f"{column.words}: no reading"
    first, last = values[good[0]], values[good[-1]]
    if column.kind == "flag":
        names = {1.0: "TO", 0.0: "none", -1.0: "FROM"}
        turns = [0, *(np.flatnonzero(np.diff(values)) + 1)]
        steps = [names[values[turn]] + (f" from {clock_words(time[turn])}" if turn else "") for turn in turns[:8]]
        return f"{column.words} {', '.join(steps)}" + (" and so on" if len(turns) > 8 else "")
    if column.kind == "direction":
        return f"{column.words} {three_digits(direction_deg=first)} to {three_digits(direction_deg=last)}"
    if column.kind == "needle":
        right, left = max(0.0, np.nanmax(values)), max(0.0, -np.nanmin(values))
        return f"{column.words} at most {left:.1f}° left and {right:.1f}° right"
    low = int(np.nanargmin(values))
    digits = ".2f" if np.nanmax(np.abs(values)) < 10 else ",.0f" if np.nanmax(np.abs(values)) >= 100 else ".1f"
    words = f"{column.words} {first:{digits}} to {last:{digits}} {column.unit}"
    if 0 < low < values.size - 1 and values[low] < min(first, last):
        words += f", lowest {values[low]:{digits}} at {clock_words(time[low])}"
    return words


def _outside(time: Floats, values: Floats, low: Floats, high: Floats) -> tuple[np.ndarray, float]:
    """Samples outside the band and, in seconds, how long that is."""
    out = np.isfinite(values) & ((values < low) | (values > high))
    share = np.gradient(time) if time.size > 1 else np.zeros_like(time)
    return out, float(np.sum(share[out]))


def _draw_marks(ax: Axes, axes: Sequence[Axes], marks: Sequence[tuple[float, str]], width_in: float) -> None:
    """Write the marks above the strips, each in the first free row, and rule a line down through all strips."""
    start, end = axes[0].get_xlim()
    ends: list[float] = []
    ordered = sorted(marks)
    placed = []
    for time, words in ordered:
        # A letter of 9.5 point is about 0.075 in wide; the box adds a little on both sides.
        length = (len(words) * 0.076 + 0.12) * (end - start) / (0.86 * width_in)
        left = min(time, end - length)
        row = next((index for index, taken in enumerate(ends) if taken <= left), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = left + length
        placed.append((time, left, row, words))
    rows = max(len(ends), 1)
    ax.set(xlim=(start, end), ylim=(-0.2, rows))
    ax.axis("off")
    for time, left, row, words in placed:
        height = rows - 1 - row
        ax.plot([time, time], [-0.2, height + 0.8], color=PALETTE["secondary"], linewidth=1.0, linestyle=":")
        ax.text(left, height + 0.45, " " + words, va="center", ha="left", fontsize=9.5, **halo())
        for strip in axes:
            strip.axvline(time, color=PALETTE["secondary"], linewidth=1.0, linestyle=":", label="_mark")


def _draw_strip(
    ax: Axes, name: str, time: Floats, values: Floats, band: Band | None, target: ArrayLike | None
) -> tuple[str, Floats]:
    """Draw one strip; returns what its sentence says of the band, and the values as drawn."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    column = _COLUMNS[name]
    said = ""
    if column.kind == "direction":
        reference = np.asarray(target if target is not None else 180.0, dtype=np.float64).ravel()[0]
        values = _unwrapped(values, float(reference))
    if column.kind == "flag":
        ax.step(time, values, where="post", label=name, **LINES["track"])
        ax.set(ylim=(-1.5, 1.5))
        ax.set_yticks([-1, 0, 1], ["FROM", "none", "TO"])
    else:
        if target is not None:
            ax.plot(
                time,
                np.broadcast_to(np.asarray(target, dtype=np.float64), time.shape),
                label=f"{name} wanted",
                **LINES["course"],
            )
        ax.plot(time, values, label=name, **LINES["track"])
        if band is not None:
            low, high = (np.broadcast_to(np.asarray(edge, dtype=np.float64), time.shape) for edge in band)
            shown_low, shown_high = np.where(np.isfinite(low), low, np.nan), np.where(np.isfinite(high), high, np.nan)
            ax.fill_between(time, low, high, color=PALETTE["band"], zorder=0, label=f"{name} band")
            for edge in (shown_low, shown_high):
                ax.plot(time, edge, color=PALETTE["course"], linewidth=0.9, linestyle=(0, (2, 2)), label="_edge")
            out, seconds = _outside(time, values, low, high)
            if out.any():
                ax.plot(
                    time,
                    np.where(out, values, np.nan),
                    color=PALETTE["warning"],
                    linewidth=4.0,
                    marker="x",
                    markevery=max(1, time.size // 40),
                    markersize=6,
                    markeredgecolor=PALETTE["ink"],
                    label=f"{name} outside",
                )
                said = f" (outside its band for {seconds:.0f} s)"
        shown_all = values[np.isfinite(values)]
        if column.kind == "needle":
            ax.axhline(0, color=PALETTE["secondary"], linewidth=0.8)
            reach = max(11.0, float(np.max(np.abs(shown_all))) * 1.1) if shown_all.size else 11.0
            ax.set(ylim=(-reach, reach))
            ax.set_yticks([-10, -5, 0, 5, 10])
            ax.yaxis.set_major_formatter(
                FuncFormatter(lambda v, _: f"{abs(v):.0f}{'R' if v > 0 else 'L' if v < 0 else ''}")
            )
        else:
            low_y, high_y = ax.get_ylim()
            if high_y - low_y < column.least_span:
                middle = 0.5 * (low_y + high_y)
                ax.set(ylim=(middle - 0.5 * column.least_span, middle + 0.5 * column.least_span))
            ax.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
            if column.kind == "direction":
                ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{round(v) % 360 or 360:03d}"))
            elif name == "alt_ft":
                ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:,.0f}"))
    ax.set_ylabel(column.words + (f"\n{column.unit}" if column.unit else ""), rotation=0, ha="right", va="center")
    ax.grid(axis="y")
    return said, values


@styled
def draw_strips(
    time_s: ArrayLike,
    columns: Mapping[str, ArrayLike],
    *,
    bands: Mapping[str, Band] | None = None,
    targets: Mapping[str, ArrayLike] | None = None,
    marks: Sequence[tuple[float, str]] = (),
    shades: Sequence[tuple[float, float, str]] = (),
    title: str = "",
) -> list[Axes]:
    """Draw readings over time, one strip below the other.

    Parameters
    ----------
    time_s : array_like
        Increasing times. [s]
    columns : mapping of column name to array_like
        One strip each, in this order: needle_deg, needle_1_deg, needle_2_deg (right positive), flag, flag_1,
        flag_2, dme_nm, heading_deg, course_1_deg, course_2_deg, alt_ft, ias_kt, gs_kt, vs_fpm.
    bands : mapping of column name to (low, high)
        Tolerances, numbers or arrays over time; infinite or nan for none.
    targets : mapping of column name to array_like
        What was wanted, a number or an array over time.
    marks : sequence of (time_s, words)
        Moments to name above and rule through all strips.
    shades : sequence of (from_s, to_s, words)
        Spans to shade with a hatch, for example the time in the cone.
    title : str
        Words above.

    Returns
    -------
    list of Axes
        One per column; the reading is the line labelled with the column's name, what lies outside its band
        the line "<name> outside", what was wanted "<name> wanted".
    """
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    time = np.atleast_1d(within("time_s", time_s, -1e6, 1e6, "s"))
    bands, targets = dict(bands or {}), dict(targets or {})
    unknown = [name for name in (*columns, *bands, *targets) if name not in _COLUMNS]
    if unknown or not columns:
        raise OutOfRange(
            f"columns has {unknown[0] if unknown else 'nothing'}: expected some of {', '.join(_COLUMNS)}"
        )
    if time.size < 2 or np.any(np.diff(time) <= 0):
        raise OutOfRange("time_s does not increase: expected at least two times, each later than the one before")

    width = 8.6
    heights = [0.75 if _COLUMNS[name].kind == "flag" else 1.35 for name in columns]
    lane = 0.55 if marks else 0.0
    figure = new_figure(width, sum(heights) + lane + 1.0)
    grid = figure.add_gridspec(len(heights) + bool(marks), 1, height_ratios=([lane] if marks else []) + heights)
    axes: list[Axes] = []
    said = []
    for index, (name, given) in enumerate(columns.items()):
        ax = figure.add_subplot(grid[index + bool(marks)], sharex=axes[0] if axes else None)
        axes.append(ax)
        column = _COLUMNS[name]
        values = _levels(given) if column.kind == "flag" else np.asarray(given, dtype=np.float64).ravel()
        if values.shape != time.shape:
            raise OutOfRange(f"{name} holds {values.size} readings for {time.size} times: expected one for each time")
        outside, drawn = _draw_strip(ax, name, time, values, bands.get(name), targets.get(name))
        said.append(_said(column, time, drawn) + outside)
        ax.tick_params(labelbottom=index == len(heights) - 1)
        for start, end, _ in shades:
            ax.axvspan(start, end, facecolor=PALETTE["cone"], alpha=0.6, linewidth=0, zorder=0.2)
            for edge in (start, end):
                ax.axvline(edge, color=PALETTE["warning"], linewidth=1.2, linestyle="--", label="_shade")
    axes[0].set_xlim(time[0], time[-1])
    for start, end, words in shades:
        axes[0].text(
            0.5 * (start + end), 1.0, words, transform=axes[0].get_xaxis_transform(), ha="center", va="bottom",
            fontsize=9.5, color=PALETTE["warning text"], **halo(),
        )  # fmt: skip
        said.append(f"{words} from {clock_words(start)} to {clock_words(end)}")
    if marks:
        top = figure.add_subplot(grid[0], sharex=axes[0])
        _draw_marks(top, axes, marks, width)
        said += [f"{words} at {clock_words(when)}" for when, words in sorted(marks)]
    axes[-1].xaxis.set_major_locator(MaxNLocator(8, steps=[1, 1.5, 2, 3, 6, 10]))
    axes[-1].xaxis.set_major_formatter(FuncFormatter(lambda v, _: clock_words(v)))
    axes[-1].set_xlabel("time, min:s")
    figure.align_ylabels(axes)
    if title:
        figure.suptitle(title, fontsize=12, fontweight="bold")
    caution(axes[-1])
    tell(axes[0], f"Strip chart of {clock_words(time[-1] - time[0])} min: " + "; ".join(said) + ".")
    return axes


_USUAL = ("needle_1_deg", "flag_1", "needle_2_deg", "dme_nm", "heading_deg", "alt_ft", "ias_kt")


@styled
def draw_flown_strips(
    track: Track,
    columns: Sequence[str] = (),
    *,
    bands: Mapping[str, Band] | None = None,
    targets: Mapping[str, ArrayLike] | None = None,
    marks: Sequence[tuple[float, str]] = (),
    shades: Sequence[tuple[float, float, str]] = (),
    title: str = "",
) -> list[Axes]:
    """Draw the readings of a flown track over time, with tolerance bands.

    Parameters
    ----------
    track : Track
        A flown track, see :mod:`needlework.flying.tracklog`.
    columns : sequence of str
        Columns to draw; default is the usual ones that the recording has.
    bands, targets, marks, shades, title
        As in :func:`draw_strips`; bands and targets of columns that are not drawn are left out.

    Returns
    -------
    list of Axes
        As :func:`draw_strips` returns them.
    """
    wanted = columns or [name for name in _USUAL if name in track.columns]
    missing = [name for name in wanted if name not in track.columns]
    if missing:
        raise OutOfRange(
            f"columns has {missing[0]}, which this track does not hold: expected some of {', '.join(track.columns)}"
        )
    return draw_strips(
        track.time_s,
        {name: getattr(track, name) for name in wanted},
        bands={name: band for name, band in (bands or {}).items() if name in wanted},
        targets={name: target for name, target in (targets or {}).items() if name in wanted},
        marks=marks,
        shades=shades,
        title=title,
    )


show_strips = shown(draw_strips)
show_flown_strips = shown(draw_flown_strips)
