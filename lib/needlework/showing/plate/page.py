"""The plate as one page: bands in the order in which a pilot uses them, drawn in millimetres."""

from __future__ import annotations

import dataclasses
import math
import re
import typing
from collections.abc import Sequence

import numpy as np

from needlework.basis.errors import BadData
from needlework.basis.quantity import Constant
from needlework.showing.pictures.paths import (
    Path,
    hold_leg_nm,
    hold_path,
    leg_path,
    missed_path,
    point_of,
    runway_begins,
)
from needlework.showing.pictures.style import PALETTE, styled, tell
from needlework.showing.plate import facts
from needlework.showing.plate.facts import CAUTION, Fact
from needlework.trade.turns import turn_radius_nm
from needlework.trade.units import NM_M

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import SectorAltitude

SHEET_MM = (210.0, 297.0)
"""A4, upright."""
MM_PER_INCH = Constant(25.4, "mm", "definition")
SMALLEST_PT = Constant(11.7, "pt", "LEGIBILITY", "capitals and figures 3 mm high: 1/200 of an arm's length of 0.6 m")
"""Smallest type on a plate."""
_MEASURED_DPI = 200.0
"""Fine enough that words are as wide on paper as they are measured."""
_SLACK = 0.985
_LEAST_BAND_MM = 14.0
_LEFT, _RIGHT, _TOP, _FOOT, _TAB = 6.0, 204.0, 291.0, 6.0, 7.0
_INSIDE = _LEFT + _TAB + 2.0
_GAP, _LINE = 1.4, 1.16
_LEAST_PLAN_MM, _FAR_TIMES = 52.0, 1.5
_CALLOUT_GAP_MM, _CALLOUT_WIDE_MM = 0.8, 46.0
_GROUND_MM, _RISE_MM = 11.5, 15.0
_CELL_GAP_MM = 2.0
_SKETCH_WIDE_MM, _SKETCH_LEAST_MM, _WORD_WIDE_MM = 46.0, 24.0, 22.0


@dataclasses.dataclass
class _Page:
    """A page being filled from its top: where the next band begins, and what measures its words."""

    figure: Figure
    ax: Axes
    renderer: typing.Any
    y: float = _TOP

    def put(self, fact: Fact, x: float, y: float, wide_mm: float | None = None, **style: typing.Any) -> Text:
        """Write a fact with its upper edge at ``y``, wrapped to a width."""
        text = self.ax.text(
            x, y, fact.text, label=" ".join(_label(name) for name in fact.fields),
            **{"fontsize": SMALLEST_PT, "va": "top", "ha": "left", "linespacing": _LINE, "zorder": 8, **style},
        )  # fmt: skip
        if wide_mm is not None:
            self._wrap(text, wide_mm)
        return text

    def _wrap(self, text: Text, wide_mm: float) -> None:
        lines: list[str] = []
        for paragraph in text.get_text().split("\n"):
            line = ""
            # A number stays with its unit.
            for word in re.sub(r"(?<=\d) (?=(ft|NM|m|kt|min|C|DME)\b)", "\u00a0", paragraph).split(" "):
                longer = f"{line} {word}" if line else word
                text.set_text(longer)
                if line and self.size_mm(text)[0] > _SLACK * wide_mm:
                    lines.append(line)
                    line = word
                else:
                    line = longer
            lines.append(line)
        text.set_text("\n".join(lines))
        if self.size_mm(text)[0] > wide_mm + 0.1:
            longest = max(lines, key=len)
            raise BadData(
                f"The plate has no room for '{longest}': expected at most {wide_mm:.0f} mm of type that is readable "
                "at arm's length; shorten that name or text in the procedure's file"
            )

    def size_mm(self, text: Text) -> tuple[float, float]:
        """Width and height of what is written."""
        box = text.get_window_extent(self.renderer)
        return box.width / self.figure.dpi * MM_PER_INCH, box.height / self.figure.dpi * MM_PER_INCH

    def below(self, *texts: Text) -> float:
        """Lower edge of what is written."""
        lowest = min(float(text.get_window_extent(self.renderer).y0) for text in texts)
        return float(lowest / self.figure.dpi * MM_PER_INCH)


def _label(field: str) -> str:
    """Write a field without blanks: names of fixes may have some."""
    return field.replace(" ", "~")


def fields_of(text: Text) -> list[str]:
    """Fields of the procedure's file that a text of a plate tells."""
    return [name.replace("~", " ") for name in str(text.get_label()).split()]


@styled
def draw_plate(procedure: Procedure) -> Figure:
    """Draw a procedure's plate: one page of A4 to brief from.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.

    Returns
    -------
    Figure
        210 by 297 mm; the label of each text holds the fields of the file that it tells.

    Raises
    ------
    BadData
        If the file says more than one page holds at a readable size.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(SHEET_MM[0] / MM_PER_INCH, SHEET_MM[1] / MM_PER_INCH), dpi=_MEASURED_DPI)
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0.0, SHEET_MM[0]), ylim=(0.0, SHEET_MM[1]))
    ax.axis("off")
    page = _Page(figure, ax, FigureCanvasAgg(figure).get_renderer())  # type: ignore[no-untyped-call]
    _head(page, procedure)
    _tune(page, procedure)
    plan_top = page.y
    # What stands below the plan is drawn first, then moved to the foot: the plan takes what is left.
    drawn_before = {id(artist) for artist in ax.get_children()}
    for band in (_down, _how_low, _go_around, _notes):
        band(page, procedure)
    drop = page.y - _FOOT - 1.0
    if drop < _LEAST_PLAN_MM:
        raise BadData(
            f"The plate of {procedure.name} does not fit on one page: its text leaves {max(drop, 0.0):.0f} mm for "
            f"the plan view, expected {_LEAST_PLAN_MM:.0f}; shorten the notes or the names in its file"
        )
    for artist in ax.get_children():
        if id(artist) not in drawn_before:
            _shift(artist, drop)
    _way_in(page, procedure, plan_top, plan_top - drop)
    tell(ax, f"Plate of {procedure.airport.name}, {procedure.name}; the same in words can be unfolded below it.")
    return figure


def _shift(artist: typing.Any, down_mm: float) -> None:
    """Move something drawn down the page."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Polygon, Rectangle
    from matplotlib.text import Annotation, Text

    if isinstance(artist, Annotation):
        artist.xy = (artist.xy[0], artist.xy[1] - down_mm)
        artist.set_position((artist.get_position()[0], artist.get_position()[1] - down_mm))
    elif isinstance(artist, Text) and artist.get_text():
        artist.set_position((artist.get_position()[0], artist.get_position()[1] - down_mm))
    elif isinstance(artist, Line2D):
        artist.set_ydata(np.asarray(artist.get_ydata()) - down_mm)
    elif isinstance(artist, Polygon):
        artist.set_xy(np.asarray(artist.get_xy()) - [0.0, down_mm])
    elif isinstance(artist, Rectangle) and artist.get_height() != 1.0:
        artist.set_y(artist.get_y() - down_mm)


def _band(page: _Page, words: str, top: float, bottom: float) -> None:
    """Draw the tab and the frame of a band; the words say what the pilot does there."""
    from matplotlib.patches import Rectangle

    ax = page.ax
    bottom = min(bottom, top - _LEAST_BAND_MM)
    ax.add_patch(
        Rectangle((_LEFT, bottom), _TAB, top - bottom, facecolor=PALETTE["band"], edgecolor="none", zorder=1)
    )
    ax.plot([_LEFT, _RIGHT], [bottom, bottom], color=PALETTE["secondary"], linewidth=0.8, zorder=1)
    page.put(
        Fact(words), _LEFT + 0.5 * _TAB, 0.5 * (top + bottom), rotation=90, ha="center", va="center",
        fontweight="bold", color=PALETTE["course text"],
    )  # fmt: skip
    page.y = bottom


def _head(page: _Page, procedure: Procedure) -> None:
    top, told, wide = page.y, facts.head(procedure), _RIGHT - _INSIDE
    name = page.put(told["name"], _INSIDE, top - _GAP, 0.62 * wide, fontsize=17, fontweight="bold")
    left = page.put(told["field"], _INSIDE, page.below(name) - _GAP, 0.62 * wide, fontsize=14)
    room = wide - page.size_mm(name)[0] - 4.0
    caution = page.put(Fact(CAUTION), _RIGHT, top - _GAP - 0.9, room, ha="right", color=PALETTE["warning text"])
    room = wide - page.size_mm(left)[0] - 4.0
    dates = page.put(told["dates"], _RIGHT, page.below(caution) - 2.4, room, ha="right")
    runway = page.put(facts.runway(procedure), _INSIDE, page.below(left, dates) - _GAP, wide)
    page.ax.plot([_LEFT, _RIGHT], [top, top], color=PALETTE["secondary"], linewidth=0.8)
    _band(page, "field", top, page.below(runway) - _GAP)


def _tune(page: _Page, procedure: Procedure) -> None:
    top, told, x = page.y, facts.station(procedure), _INSIDE
    row: list[Text] = []
    for key, style in (
        ("ident", {"fontsize": 17, "fontweight": "bold"}),
        ("morse", {"fontsize": 15, "fontweight": "bold"}),
        ("frequency", {"fontsize": 17, "fontweight": "bold"}),
        ("channel", {"fontsize": 14}),
    ):
        row.append(page.put(told[key], x, top - _GAP, **style))
        x += page.size_mm(row[-1])[0] + 9.0
    last = page.put(told["tail"], _INSIDE, page.below(*row) - _GAP, _RIGHT - _INSIDE)
    for fact in facts.others(procedure):
        last = page.put(fact, _INSIDE, page.below(last) - 0.8, _RIGHT - _INSIDE)
    _band(page, "tune", top, page.below(last) - _GAP)


# The way in ---------------------------------------------------------------------------------------------------------


def _way_in(page: _Page, procedure: Procedure, top: float, bottom: float) -> None:
    """Draw plan and sector altitudes; words stand in two columns, each led to its place by a thin line."""
    y, x = top - _GAP, _INSIDE
    told = facts.sectors(procedure)
    for sector, fact in told:
        _draw_sector(page, procedure, sector, x + 4.0, y - 4.0)
        words = page.put(fact, x + 10.0, y - 1.8, _RIGHT - x - 10.0)
        x += 10.0 + page.size_mm(words)[0] + 6.0
        if fact is not told[-1][1] and x + 80.0 > _RIGHT:
            x, y = _INSIDE, y - 8.6
    _draw_plan(page, procedure, y - 9.0, bottom + 1.0)
    _band(page, "way in", top, bottom)


def _draw_sector(page: _Page, procedure: Procedure, sector: SectorAltitude, x: float, y: float) -> None:
    """Draw a sector as a small filled wedge of a circle, north up."""
    from matplotlib.patches import Circle, Wedge

    page.ax.add_patch(Circle((x, y), 3.6, fill=False, edgecolor=PALETTE["ink"], linewidth=1.0))
    begin, end = sector.from_radial_deg, sector.to_radial_deg
    if begin is not None and end is not None:
        turned = 90.0 - procedure.station.declination_deg
        page.ax.add_patch(Wedge((x, y), 3.6, turned - end, turned - begin, facecolor=PALETTE["ink"]))
    else:
        page.ax.plot(x, y, marker="o", markersize=3, color=PALETTE["ink"])


@dataclasses.dataclass
class _Callout:
    fact: Fact
    at: tuple[float, float]
    """Where it belongs, in millimetres."""
    colour: str


def _draw_plan(page: _Page, procedure: Procedure, top: float, bottom: float) -> None:
    legs = _paths(procedure)
    away = missed_path(procedure)
    pattern = _hold_pattern(procedure)
    places = {each.name: point_of(procedure, each.name) for each in procedure.fixes}
    places[procedure.station.ident] = (0.0, 0.0)
    reach = _reach(procedure, places)
    left, right = _INSIDE + _CALLOUT_WIDE_MM + 3.0, _RIGHT - _CALLOUT_WIDE_MM - 3.0
    far = {id(leg) for leg in procedure.legs if leg.entry and leg.start == leg.entry}
    legs_shown = {key: _cut(path, reach) if key in far else path for key, path in legs.items()}
    shown = [*legs_shown.values(), away, pattern]
    x = np.concatenate([path.x for path in shown])
    y = np.concatenate([path.y for path in shown])
    scale = min((right - left) / max(float(np.ptp(x)), 1.0), (top - bottom - 6.0) / max(float(np.ptp(y)), 1.0))
    x0 = 0.5 * (left + right) - scale * 0.5 * (float(x.min()) + float(x.max()))
    y0 = 0.5 * (top + bottom) - scale * 0.5 * (float(y.min()) + float(y.max()))

    def mm(point: tuple[float, float]) -> tuple[float, float]:
        return x0 + scale * point[0], y0 + scale * point[1]

    ax = page.ax
    for key, short in legs_shown.items():
        ax.plot(x0 + scale * short.x, y0 + scale * short.y, color=PALETTE["course"], linewidth=2.2, zorder=4)
        _head_of_arrow(ax, *mm(short.at(0.55)), *mm(short.at(0.58)), PALETTE["course"])
        if short is not legs[key]:
            _break(ax, mm(short.at(0.02)), mm(short.at(0.2)))
    ax.plot(
        x0 + scale * away.x,
        y0 + scale * away.y,
        color=PALETTE["warning"],
        linewidth=1.6,
        linestyle=(0, (5, 2)),
        zorder=3,
    )
    ax.plot(x0 + scale * pattern.x, y0 + scale * pattern.y, color=PALETTE["warning"], linewidth=1.4, zorder=3)
    _draw_runway(ax, procedure, x0, y0, scale)
    callouts = []
    for name, (px, py) in places.items():
        off = math.hypot(px, py)
        at = mm((px, py) if off <= reach else (px * reach / off, py * reach / off))
        _symbol(ax, at, station=name == procedure.station.ident)
        # VDP, MAP and what is named for its distance stand too close together here; the profile has them.
        apart = name in facts.on_final(procedure) and name not in ("VDP", "MAP") and not re.search(r"\d", name)
        if apart or name == procedure.station.ident:
            callouts.append(_Callout(Fact(name), at, PALETTE["ink"]))
        for other, fact in facts.elsewhere(procedure):
            if other == name:
                callouts.append(_Callout(fact, at, PALETTE["ink"]))
    for leg, fact in facts.way_in(procedure):
        callouts.append(_Callout(fact, mm(legs_shown[id(leg)].at(0.42)), PALETTE["course text"]))
    callouts.append(_Callout(Fact("runway"), mm(runway_begins(procedure)), PALETTE["ink"]))
    _place(page, callouts, top, bottom)
    _north(page, left + 1.0, bottom + 1.0)


def _paths(procedure: Procedure) -> dict[int, Path]:
    """Line of every leg of every way in, by the leg's identity."""
    found: dict[int, Path] = {}
    for entry in procedure.entries:
        before: Path | None = None
        for leg in procedure.route(entry.fix):
            before = leg_path(procedure, leg, before, 90.0)
            found.setdefault(id(leg), before)
    return found


def _reach(procedure: Procedure, places: dict[str, tuple[float, float]]) -> float:
    """How far the plan is drawn to scale: a far place to begin from is drawn at its edge. [NM]"""
    begins = {entry.fix for entry in procedure.entries}
    rest = max((math.hypot(*at) for name, at in places.items() if name not in begins), default=1.0)
    far = max(math.hypot(*at) for at in places.values())
    return far if far <= _FAR_TIMES * rest else 1.3 * rest


def _cut(path: Path, reach: float) -> Path:
    """Leave out of a straight leg what lies beyond the plan."""
    dist = np.hypot(path.x, path.y)
    if path.x.size != 2 or dist[0] <= reach + 1e-6:
        return path
    share = (reach - dist[1]) / (dist[0] - dist[1])
    return Path(
        np.array([path.x[1] + share * (path.x[0] - path.x[1]), path.x[1]]),
        np.array([path.y[1] + share * (path.y[0] - path.y[1]), path.y[1]]),
    )


def _draw_runway(ax: Axes, procedure: Procedure, x0: float, y0: float, scale: float) -> None:
    begins = np.asarray(runway_begins(procedure))
    angle = np.deg2rad(procedure.runway.heading_deg + procedure.station.declination_deg)
    ends = begins + procedure.runway.length_m / NM_M * np.array([np.sin(angle), np.cos(angle)])
    ax.plot(
        x0 + scale * np.array([begins[0], ends[0]]), y0 + scale * np.array([begins[1], ends[1]]),
        color=PALETTE["ink"], linewidth=5, solid_capstyle="butt", zorder=5,
    )  # fmt: skip


def _symbol(ax: Axes, at: tuple[float, float], *, station: bool) -> None:
    """Draw a fix as a small cross in a ring, the station as a ring with a dot."""
    if station:
        ax.plot(
            *at,
            marker="o",
            markersize=11,
            color=PALETTE["paper"],
            markeredgecolor=PALETTE["ink"],
            markeredgewidth=1.8,
            zorder=5,
        )
        ax.plot(*at, marker="o", markersize=3.5, color=PALETTE["ink"], zorder=5)
        return
    ax.plot(
        *at,
        marker="o",
        markersize=7,
        color=PALETTE["paper"],
        markeredgecolor=PALETTE["ink"],
        markeredgewidth=1.2,
        zorder=6,
    )
    ax.plot(*at, marker="x", markersize=4.5, color=PALETTE["ink"], markeredgewidth=1.2, zorder=6)


def _head_of_arrow(ax: Axes, x: float, y: float, ahead_x: float, ahead_y: float, colour: str) -> None:
    from matplotlib.patches import Polygon

    along = np.array([ahead_x - x, ahead_y - y])
    along /= max(float(np.hypot(*along)), 1e-9)
    across = np.array([-along[1], along[0]])
    tip = np.array([x, y]) + 1.8 * along
    ax.add_patch(
        Polygon(
            [tip, tip - 3.2 * along + 1.3 * across, tip - 3.2 * along - 1.3 * across],
            facecolor=colour,
            edgecolor="none",
            zorder=5,
        )
    )


def _break(ax: Axes, at: tuple[float, float], towards: tuple[float, float]) -> None:
    """Draw two strokes across a line of which a part is left out."""
    along = np.array(towards) - np.array(at)
    along /= max(float(np.hypot(*along)), 1e-9)
    across = np.array([-along[1], along[0]]) + 0.5 * along
    for shift in (3.6, 5.0):
        middle = np.array(at) + shift * along
        stroke = np.array([middle - 1.6 * across, middle + 1.6 * across])
        ax.plot(stroke[:, 0], stroke[:, 1], color=PALETTE["ink"], linewidth=1.2, zorder=6)


def _north(page: _Page, x: float, y: float) -> None:
    page.ax.plot([x, x], [y, y + 9.0], color=PALETTE["ink"], linewidth=1.2)
    _head_of_arrow(page.ax, x, y + 8.5, x, y + 9.5, PALETTE["ink"])
    page.put(Fact("N"), x + 1.8, y + 5.5)


def _place(page: _Page, callouts: Sequence[_Callout], top: float, bottom: float) -> None:
    """Put the words in two columns, in the order of their places from above, and lead a line to each."""
    middle = float(np.median([callout.at[0] for callout in callouts]))
    ordered = sorted(callouts, key=lambda callout: callout.at[0])
    texts = {id(each): page.put(each.fact, 0.0, 0.0, _CALLOUT_WIDE_MM, color=each.colour) for each in ordered}
    tall = {key: page.size_mm(text)[1] + _CALLOUT_GAP_MM for key, text in texts.items()}
    room = top - bottom
    best: tuple[float, int] = (np.inf, 0)
    for count in range(len(ordered) + 1):
        heights = sum(tall[id(each)] for each in ordered[:count]), sum(tall[id(each)] for each in ordered[count:])
        if max(heights) > room:
            continue
        wrong = sum(each.at[0] > middle for each in ordered[:count]) + sum(
            each.at[0] < middle for each in ordered[count:]
        )
        cost = wrong + abs(heights[0] - heights[1]) / room
        best = min(best, (cost, count))
    if not np.isfinite(best[0]):
        raise BadData(
            f"The plan view of this procedure has {len(callouts)} names and legs to tell, more than its page has "
            "room for: expected fewer, or shorter notes; leave out fixes and ways in that are not needed"
        )
    for side, group in (("left", ordered[: best[1]]), ("right", ordered[best[1] :])):
        _column(page, side, sorted(group, key=lambda each: -each.at[1]), texts, tall, top, bottom)


def _column(
    page: _Page,
    side: str,
    group: Sequence[_Callout],
    texts: dict[int, Text],
    tall: dict[int, float],
    top: float,
    foot: float,
) -> None:
    """Stand words as near to the height of their places as the others let them."""
    if not group:
        return
    heights = np.array([tall[id(each)] for each in group])
    wanted = np.array([each.at[1] for each in group]) + 0.5 * heights
    above = np.concatenate([[0.0], np.cumsum(heights)[:-1]])
    # Words in order, none over another: the best places are a falling regression on what is wanted.
    level = _falling(wanted + above)
    upper = np.clip(level, foot + heights.sum(), top) - above
    outer = _INSIDE if side == "left" else _RIGHT
    for each, y, height in zip(group, upper, heights, strict=True):
        text = texts[id(each)]
        text.set_horizontalalignment("left" if side == "left" else "right")
        text.set_position((outer, float(y)))
        wide = page.size_mm(text)[0]
        edge = outer + wide + 0.8 if side == "left" else outer - wide - 0.8
        middle = float(y) - 0.5 * (height - _CALLOUT_GAP_MM)
        page.ax.plot([edge, each.at[0]], [middle, each.at[1]], color=PALETTE["secondary"], linewidth=0.7, zorder=2)


def _falling(values: typing.Any) -> typing.Any:
    """Nearest sequence that never rises (pool adjacent violators)."""
    pools: list[list[float]] = []
    for value in values:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] < pools[-1][0]:
            last, count = pools.pop()
            pools[-1] = [
                (pools[-1][0] * pools[-1][1] + last * count) / (pools[-1][1] + count), pools[-1][1] + count
            ]  # fmt: skip
    return np.concatenate([np.full(int(count), value) for value, count in pools])


# The way down -------------------------------------------------------------------------------------------------------


def _down(page: _Page, procedure: Procedure) -> None:
    """Draw the profile in columns of one width, a fix to a column: heights to scale, distances as numbers."""
    from matplotlib.patches import Polygon

    top, ax = page.y, page.ax
    names = facts.on_final(procedure)
    legs = procedure.straight_in_legs()
    opening = legs[0].start is None
    columns = len(names) + 1 + opening
    wide = (_RIGHT - _INSIDE) / columns
    at = {name: _INSIDE + (number + 0.5 + opening) * wide for number, name in enumerate(names)}
    end = _INSIDE + (columns - 0.5) * wide
    y = top - _GAP
    heads = [
        page.put(facts.fix(procedure, name), at[name], y, wide - _CELL_GAP_MM, ha="center", fontweight="bold")
        for name in names
    ]
    below = page.below(heads[names.index(procedure.final_fix)])
    heads.append(page.put(Fact("final fix"), at[procedure.final_fix], below, ha="center", fontweight="bold"))
    heads.append(page.put(Fact("runway"), end, y, ha="center", fontweight="bold"))
    y = page.below(*heads) - 0.8
    courses = []
    for run, fact in facts.courses_down(procedure):
        begin = at[run[0].start] if run[0].start else _INSIDE
        courses.append(
            page.put(fact, 0.5 * (begin + at[str(run[-1].end)]), y, ha="center", color=PALETTE["course text"])
        )
    y = page.below(*courses) - 0.8
    for run, _ in facts.courses_down(procedure):
        begin = at[run[0].start] if run[0].start else _INSIDE
        stop = at[str(run[-1].end)]
        ax.plot([begin + 1.0, stop - 2.0], [y, y], color=PALETTE["course"], linewidth=1.4)
        _head_of_arrow(ax, stop - 3.0, y, stop - 2.0, y, PALETTE["course"])
    y -= 2.0
    heights_ft = [leg.minimum_ft for leg in legs if leg.minimum_ft is not None]
    low_ft, high_ft = procedure.runway.threshold_elevation_ft, max([*heights_ft, procedure.final_fix_ft])
    told = facts.floors_down(procedure)
    ground = max(_GROUND_MM, *(4.6 * (fact.text.count("\n") + 1) + 2.0 for _, fact in told))
    base = y - _RISE_MM - ground

    def up(altitude_ft: float) -> float:
        return base + ground + _RISE_MM * (altitude_ft - low_ft) / max(high_ft - low_ft, 1.0)

    mda_ft = procedure.mda_ft(procedure.minimums.straight_in[0].category)
    edge: list[tuple[float, float]] = []
    for leg, fact in told:
        begin = at[leg.start] if leg.start else _INSIDE
        stop = at[str(leg.end)]
        floor = up(mda_ft if leg.minimum_ft is None else leg.minimum_ft)
        edge += [(begin, floor), (stop, floor)]
        page.put(fact, min(0.5 * (begin + stop), begin + 0.5 * wide), floor - 0.9, ha="center")
    ax.add_patch(
        Polygon([*edge, (edge[-1][0], base), (edge[0][0], base)], facecolor="#EFEFEF", edgecolor="none", zorder=1)
    )
    ax.plot(*zip(*edge, strict=True), color=PALETTE["ink"], linewidth=1.8, zorder=4)
    begins = procedure.final_fix
    line = [(at[begins], up(procedure.final_fix_ft))]
    line += [
        (at[name], up(max(float(np.asarray(procedure.line_ft(max(procedure.fix_to_go_nm(name), 0.0)))), mda_ft)))
        for name in names[names.index(begins) + 1 :]
    ]
    ax.plot(*zip(*line, strict=True), color=PALETTE["course"], linewidth=2.0, linestyle=(0, (6, 3)), zorder=5)
    missed_at = (at["MAP"], up(mda_ft))
    away_x, away_y = missed_at[0] + 0.45 * wide, missed_at[1] + 0.6 * _RISE_MM
    ax.plot(
        [missed_at[0], away_x],
        [missed_at[1], away_y],
        color=PALETTE["warning"],
        linewidth=1.6,
        linestyle=(0, (4, 2)),
        zorder=5,
    )
    _head_of_arrow(ax, away_x, away_y, away_x + 0.45 * wide, away_y + 0.6 * _RISE_MM, PALETTE["warning"])
    ax.plot([end - 4.0, end + 0.4 * wide], [up(low_ft)] * 2, color=PALETTE["ink"], linewidth=5, solid_capstyle="butt")
    for name in names:
        ax.plot([at[name]] * 2, [base, y], color=PALETTE["secondary"], linewidth=0.7, linestyle=":", zorder=2)
    words = page.put(facts.descent(procedure), _INSIDE, base - 0.8, _RIGHT - _INSIDE)
    bottom = page.below(words)
    told_times = facts.times(procedure)
    if told_times:
        x, row = _INSIDE + 32.0, bottom - 1.2
        labels = [
            page.put(Fact("ground speed, kt"), _INSIDE, row),
            page.put(Fact("min:s to MAP"), _INSIDE, row - 5.4),
        ]
        x = _INSIDE + max(page.size_mm(label)[0] for label in labels) + 4.0
        step = (_RIGHT - x) / len(told_times)
        for number, (speed, minutes) in enumerate(told_times):
            labels.append(page.put(speed, x + (number + 0.5) * step, row, ha="center"))
            labels.append(page.put(minutes, x + (number + 0.5) * step, row - 5.4, ha="center", fontweight="bold"))
        bottom = page.below(*labels)
    _band(page, "way down", top, bottom - _GAP)


def _how_low(page: _Page, procedure: Procedure) -> None:
    top = page.y
    categories, table = facts.minimums(procedure)
    label, cell = 27.0, 22.0
    rows_end = _INSIDE + label + cell * len(categories)
    y = top - _GAP
    texts = [page.put(Fact("category"), _INSIDE, y)]
    texts += [
        page.put(Fact(category), _INSIDE + label + (number + 0.5) * cell, y, ha="center", fontweight="bold")
        for number, category in enumerate(categories)
    ]
    y = page.below(*texts) - 1.0
    for words, cells in table:
        row = [page.put(Fact(words), _INSIDE, y)]
        row += [
            page.put(fact, _INSIDE + label + (number + 0.5) * cell, y, ha="center", fontweight="bold")
            for number, fact in enumerate(cells)
        ]
        y = page.below(*row) - 1.0
        texts += row
    aside = rows_end + 4.0
    beside = _RIGHT - aside >= 70.0
    x, at, wide = (aside, top - _GAP, _RIGHT - aside) if beside else (_INSIDE, y, _RIGHT - _INSIDE)
    told = [*facts.changes(procedure)]
    for fact in told:
        texts.append(page.put(fact, x, at, wide, color=PALETTE["warning text"]))
        at = page.below(texts[-1]) - 1.0
    _band(page, "how low", top, page.below(*texts) - _GAP)


def _go_around(page: _Page, procedure: Procedure) -> None:
    """Write the missed approach line by line, each behind the word for it; beside it the way out from above."""
    top, y, texts = page.y, page.y - _GAP, []
    lines = [*facts.go_around(procedure), ("gradient", facts.gradient(procedure))]
    for word, fact in lines:
        label = page.put(Fact(word), _INSIDE, y, fontweight="bold", color=PALETTE["warning text"])
        wide = _RIGHT - _SKETCH_WIDE_MM - _INSIDE - _WORD_WIDE_MM
        texts += [label, page.put(fact, _INSIDE + _WORD_WIDE_MM, y, wide)]
        y = page.below(*texts[-2:]) - 1.0
    bottom = min(page.below(*texts), top - _GAP - _SKETCH_LEAST_MM)
    _draw_way_out(page.ax, procedure, top - _GAP, bottom)
    _band(page, "go around", top, bottom - _GAP)


def _draw_way_out(ax: Axes, procedure: Procedure, top: float, bottom: float) -> None:
    """Sketch the way out from above, north up, without a word: runway, straight climb, turn, track, hold."""
    away = missed_path(procedure)
    pattern = _hold_pattern(procedure)
    x, y = np.concatenate([away.x, pattern.x, [0.0]]), np.concatenate([away.y, pattern.y, [0.0]])
    room = _SKETCH_WIDE_MM - 4.0, top - bottom - 2.0
    scale = min(room[0] / max(float(np.ptp(x)), 1.0), room[1] / max(float(np.ptp(y)), 1.0))
    x0 = _RIGHT - 0.5 * _SKETCH_WIDE_MM - scale * 0.5 * float(x.min() + x.max())
    y0 = 0.5 * (top + bottom) - scale * 0.5 * float(y.min() + y.max())
    style: dict[str, typing.Any] = {"color": PALETTE["warning"], "linewidth": 1.8, "zorder": 4}
    ax.plot(x0 + scale * away.x, y0 + scale * away.y, **style)
    ax.plot(x0 + scale * pattern.x, y0 + scale * pattern.y, **style)
    for path, share in ((away, 0.6), (pattern, 0.32)):
        (at_x, at_y), (on_x, on_y) = path.at(share), path.at(share + 0.03)
        _head_of_arrow(
            ax, x0 + scale * at_x, y0 + scale * at_y, x0 + scale * on_x, y0 + scale * on_y, PALETTE["warning"]
        )
    _draw_runway(ax, procedure, x0, y0, scale)
    _symbol(ax, (x0, y0), station=True)


def _hold_pattern(procedure: Procedure) -> Path:
    return hold_path(
        point_of(procedure, procedure.hold.fix),
        procedure.hold.inbound_course_deg + procedure.station.declination_deg,
        procedure.hold.turn, hold_leg_nm(procedure), float(np.asarray(turn_radius_nm(tas_kt=90.0))),
    )  # fmt: skip


def _notes(page: _Page, procedure: Procedure) -> None:
    top, told = page.y, facts.notes(procedure)
    if not told:
        return
    y, texts = top - _GAP, []
    for fact in told:
        page.ax.plot(_INSIDE + 1.0, y - 2.2, marker="s", markersize=3, color=PALETTE["ink"])
        texts.append(page.put(fact, _INSIDE + 3.5, y, _RIGHT - _INSIDE - 3.5))
        y = page.below(texts[-1]) - 0.9
    _band(page, "notes", top, page.below(*texts) - _GAP)
