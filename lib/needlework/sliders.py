"""Every what-if of the course: sliders bound to the library's functions and to pictures that answer at once.

A what-if is a function of its sliders that returns what the faces show. Moving a slider calls it again; the
browser draws. Under the live picture stands its still twin, for print and for a notebook opened without a
kernel; it is out of sight as long as the live one is there.
"""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import ipywidgets as widgets
import numpy as np

from needlework import dme, vor, wind
from needlework.angles import three_digits, wrap360
from needlework.errors import OutOfRange
from needlework.faces import Board, Circle, CourseDeviation, Digits, Face, Line, Mark, Plan, clock
from needlework.faces import dme as dme_window
from needlework.faces.twin import show_with_still
from needlework.quantity import within

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Knob:
    """One slider, or one choice where ``options`` are given.

    Parameters
    ----------
    name : str
        Name of the parameter it sets, unit included.
    label, unit : str
        What stands above it, and in which unit.
    start : float or str or bool
        Where it stands at first.
    low, high, step : float
        Range and step, in the unit of the name.
    options : tuple of str
        Words to choose from instead of a number.
    play : bool
        Give it a button that moves it by itself.
    """

    name: str
    label: str
    unit: str
    start: float | str | bool
    low: float = 0.0
    high: float = 1.0
    step: float = 0.1
    options: tuple[str, ...] = ()
    play: bool = False

    def widget(self, start: Any) -> Any:
        """Make the widget, standing at ``start``."""
        if isinstance(self.start, bool):
            return widgets.Checkbox(value=bool(start), description=self.label, indent=False)
        words = f"{self.label}, {self.unit}" if self.unit else self.label
        style = {"description_width": "100%"}
        if self.options:
            return widgets.Dropdown(options=self.options, value=start, description=words, style=style)
        whole = float(self.step).is_integer()
        return (widgets.IntSlider if whole else widgets.FloatSlider)(
            value=int(start) if whole else float(start),
            min=int(self.low) if whole else self.low,
            max=int(self.high) if whole else self.high,
            step=int(self.step) if whole else self.step,
            description=words,
            readout_format=",d" if whole else f".{len(f'{self.step:g}'.partition('.')[2])}f",
            style=style,
        )

    def checked(self, value: Any) -> Any:
        """Return a starting value the caller asked for, or say in one sentence why it cannot be."""
        if isinstance(self.start, bool):
            if not isinstance(value, bool):
                raise OutOfRange(f"{self.name} = {value!r} is neither True nor False")
            return value
        if self.options:
            if value not in self.options:
                raise OutOfRange(
                    f"{self.name} = {value!r} is not a choice: expected one of {', '.join(self.options)}"
                )
            return value
        return float(within(self.name, value, self.low, self.high, self.unit))


@dataclass(frozen=True)
class Scene:
    """What a what-if shows for one setting of its sliders."""

    faces: Mapping[str, Face]
    sentence: str


class WhatIf:
    """Sliders and the picture they move; shows itself as the last line of a notebook cell.

    Parameters
    ----------
    knobs : iterable of Knob
        The sliders; their names are the parameters of ``scene`` and ``still``.
    scene : callable
        From the sliders' values to a :class:`Scene`.
    still : callable
        From the same values to the axes of the still twin.
    rows : sequence
        Columns of rows of face names; see :class:`needlework.faces.Board`.
    start : mapping
        Where sliders stand at first, other than as their knob says.

    Attributes
    ----------
    controls : dict of str to widget
        The sliders by parameter name.
    board : Board
        The live picture.
    """

    def __init__(
        self,
        knobs: Iterable[Knob],
        scene: Callable[..., Scene],
        still: Callable[..., Axes],
        rows: Sequence[Any],
        start: Mapping[str, Any],
    ) -> None:
        self._scene, self._still = scene, still
        known = {knob.name: knob for knob in knobs}
        for name in start:
            if name not in known:
                raise OutOfRange(f"there is no slider '{name}' here: expected one of {', '.join(known)}")
        self.controls = {
            name: knob.widget(knob.checked(start[name]) if name in start else knob.start)
            for name, knob in known.items()
        }
        first = scene(**self.values)
        self.board = Board(rows, first.faces, first.sentence)
        for control in self.controls.values():
            control.observe(self._moved, "value")
        self._box = self._arranged(known)

    def _arranged(self, knobs: Mapping[str, Knob]) -> Any:
        lines: list[Any] = []
        for name, control in self.controls.items():
            lines.append(control)
            if knobs[name].play:
                lines.append(self._player(knobs[name], control))
        side = widgets.VBox(lines, layout=widgets.Layout(margin="0 14px 8px 0"))
        side.add_class("nw-knobs")
        box = widgets.HBox([side, self.board], layout=widgets.Layout(flex_flow="row wrap", align_items="flex-start"))
        box.add_class("nw-whatif")
        return box

    def _player(self, knob: Knob, control: Any) -> Any:
        play = widgets.Play(
            min=control.min, max=control.max, step=control.step, value=control.value, interval=100, show_repeat=False
        )
        # Linked in the browser: the picture plays as smoothly as the kernel answers, and a slow one skips.
        self._link = widgets.jslink((play, "value"), (control, "value"))

        def smooth(change: Any) -> None:
            # While it plays the browser slides from one place to the next; under the hand it jumps at once.
            self.board.glide_ms = float(play.interval) if change["new"] else 0.0

        play.observe(smooth, "playing")
        return widgets.HBox([play, widgets.Label("fly past, ×10")])

    @property
    def values(self) -> dict[str, Any]:
        """Where every slider stands, by parameter name."""
        return {name: control.value for name, control in self.controls.items()}

    @property
    def sentence(self) -> str:
        """What the picture shows, in words."""
        return str(self.board.sentence)

    def _moved(self, _change: Any) -> None:
        now = self._scene(**self.values)
        self.board.show(now.faces, now.sentence)

    def still(self) -> Axes:
        """Draw the still twin for where the sliders stand; returns its axes."""
        return self._still(**self.values)

    def _ipython_display_(self) -> None:
        show_with_still(self._box, self.still(), self.sentence)


def _point(along_nm: Any, right_nm: Any, direction_deg: float) -> tuple[Any, Any]:
    """East and north of a place given along a direction and to the right of it."""
    angle = np.deg2rad(direction_deg)
    return (
        along_nm * np.sin(angle) + right_nm * np.cos(angle),
        along_nm * np.cos(angle) - right_nm * np.sin(angle),
    )


def _polar(east_nm: Any, north_nm: Any) -> tuple[float, float]:
    """Radial and ground distance of a place; overhead the radial is north."""
    return float(np.asarray(wrap360(np.rad2deg(np.arctan2(east_nm, north_nm))))), float(np.hypot(east_nm, north_nm))


# ------------------------------------------------------------------------------------------------ passage
_COURSE_DEG = 214.0  # final course of the Saltmarsh procedure, station OVK

_VIEWS_NM = (2.0, 4.0, 8.0, 16.0)

_PASSAGE = (
    Knob("height_ft", "Height above the station", "ft", 3000, 500, 9000, 10),
    Knob("gs_kt", "Ground speed", "kt", 90, 60, 180, 1),
    Knob("offset_nm", "Offset, right of the course +", "NM", 0.1, -3.0, 3.0, 0.05),
    Knob("crosswind_kt", "Crosswind, from the right +", "kt", 15, -40, 40, 1),
    Knob("half_angle_deg", "Cone half angle", "deg", 45, 30, 50, 1),
    Knob("held", "Nose held into the wind", "", True),
    Knob("time_s", "Time, 0 at the station", "s", -60, -240, 240, 1, play=True),
)


@dataclass(frozen=True)
class _Pass:
    """Where the aircraft is at one moment of flying past a station, and what its instruments show."""

    east_nm: float
    north_nm: float
    radial_deg: float
    dist_nm: float
    heading_deg: float
    track_deg: float
    gs_kt: float
    wind_from_deg: float
    needle_deg: float
    flag: Any
    inside: bool
    dme_nm: float
    cone_nm: float
    cone_s: float
    closest_nm: float


def _passing(
    height_ft: float,
    gs_kt: float,
    offset_nm: float,
    crosswind_kt: float,
    half_angle_deg: float,
    held: bool,
    time_s: float,
) -> _Pass:
    from_deg = float(np.asarray(wrap360(_COURSE_DEG + (90.0 if crosswind_kt >= 0 else -90.0))))
    wind_kt = abs(crosswind_kt)
    if held:
        # The slider gives the speed along the course; the air must carry the crosswind besides.
        tas_kt = float(np.hypot(gs_kt, crosswind_kt))
        heading = float(np.asarray(wind.heading_deg(_COURSE_DEG, tas_kt, from_deg, wind_kt)))
        track, over_kt = _COURSE_DEG, gs_kt
    else:
        heading = _COURSE_DEG
        track = float(np.asarray(wind.track_deg(_COURSE_DEG, gs_kt, from_deg, wind_kt)))
        over_kt = float(np.asarray(wind.ground_speed_on_heading_kt(_COURSE_DEG, gs_kt, from_deg, wind_kt)))
    east_abeam, north_abeam = _point(0.0, offset_nm, _COURSE_DEG)
    east_flown, north_flown = _point(over_kt * time_s / 3600.0, 0.0, track)
    east, north = float(east_abeam + east_flown), float(north_abeam + north_flown)
    radial, dist = _polar(east, north)
    closest = abs(offset_nm * np.cos(np.deg2rad(track - _COURSE_DEG)))
    return _Pass(
        east,
        north,
        radial,
        dist,
        heading,
        track,
        over_kt,
        from_deg,
        float(np.asarray(vor.needle_deg(radial, _COURSE_DEG))),
        vor.flag(radial, _COURSE_DEG, dist, height_ft, half_angle_deg),
        bool(vor.in_cone(dist, height_ft, half_angle_deg)),
        float(np.asarray(dme.slant_nm(dist, height_ft))),
        float(np.asarray(vor.cone_radius_nm(height_ft, half_angle_deg))),
        float(np.asarray(vor.cone_s(height_ft, over_kt, closest, half_angle_deg))),
        float(closest),
    )


def _passage_words(now: _Pass, needle: CourseDeviation, height_ft: float, time_s: float) -> str:
    when = "Abeam" if time_s == 0 else f"{abs(time_s):.0f} s {'before' if time_s < 0 else 'after'} the station"
    if now.cone_s > 0:
        cone = f"The cone lasts {now.cone_s:.0f} s at {now.gs_kt:.0f} kt"
    else:
        cone = f"The track passes {now.closest_nm:.2f} NM from the station, outside the cone ({now.cone_nm:.2f} NM)"
    lowest = float(np.asarray(dme.slant_nm(now.closest_nm, height_ft)))
    shown = needle.words().partition(": ")[2].rstrip(".")
    inside = ", inside the cone" if now.inside else ""
    return (
        f"{when}{inside}: {shown}; DME {now.dme_nm:.1f}, radial {three_digits(now.radial_deg)[:3]}, "
        f"heading {three_digits(now.heading_deg)[:3]}. {cone}; the DME will read no less than {lowest:.1f}."
    )


def _passage_scene(**at: Any) -> Scene:
    now = _passing(**at)
    needle = CourseDeviation(_COURSE_DEG, now.needle_deg / 2.0, now.flag, "VOR OVK", reliable=not now.inside)
    words = _passage_words(now, needle, at["height_ft"], at["time_s"])
    needed = max(now.dist_nm, abs(at["offset_nm"]), now.cone_nm)
    radius = next(radius for radius in _VIEWS_NM if 0.88 * radius > needed)
    ends = np.array([-20.0, 20.0])
    line_east, line_north = _point(ends, 0.0, _COURSE_DEG)
    start_east, start_north = _point(0.0, at["offset_nm"], _COURSE_DEG)
    path_east, path_north = _point(np.array([-20.0, 20.0]), 0.0, now.track_deg)
    flown = now.gs_kt * at["time_s"] / 3600.0
    flown_east, flown_north = _point(np.array([-20.0, flown]), 0.0, now.track_deg)
    plan = Plan(
        radius,
        words,
        lines=(
            Line("course", line_east, line_north),
            Line("ghost", start_east + path_east, start_north + path_north),
            Line("track", start_east + flown_east, start_north + flown_north),
        ),
        circles=(Circle("cone", now.cone_nm, label="cone"),),
        marks=(Mark("OVK"),),
        aircraft_east_nm=now.east_nm,
        aircraft_north_nm=now.north_nm,
        heading_deg=now.heading_deg,
        wind_from_deg=now.wind_from_deg,
        wind_kt=abs(at["crosswind_kt"]),
        scale_nm=1.0 if radius < 8 else 5.0,
    )
    return Scene(
        {
            "plan": plan,
            "needle": needle,
            "dme": dme_window(now.dme_nm),
            "clock": clock(abs(at["time_s"]), "time to station" if at["time_s"] < 0 else "time since passage"),
            "heading": Digits("heading", "°M", text=three_digits(now.heading_deg)[:3]),
            "cone": Digits("in the cone", "s", now.cone_s, warn=now.inside),
        },
        words,
    )


def _passage_still(**at: Any) -> Axes:
    from needlework import pictures
    from needlework.pictures.style import new_figure

    now = _passing(**at)
    figure = new_figure(8.6, 4.6)
    grid = figure.add_gridspec(1, 2, width_ratios=(2.1, 1))
    left, right = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    pictures.draw_plan(
        station="OVK",
        course_deg=_COURSE_DEG,
        aircraft=(now.radial_deg, now.dist_nm, now.heading_deg),
        wind=(now.wind_from_deg, abs(at["crosswind_kt"])) if at["crosswind_kt"] else None,
        cone_radius_nm=now.cone_nm,
        ax=left,
    )
    pictures.draw_needle(now.needle_deg, _COURSE_DEG, now.flag, dme_nm=now.dme_nm, ax=right)
    return left


def station_passage(**start: Any) -> WhatIf:
    """Fly over or past a station on a course of 214 and watch needle, flag, DME and plan view together.

    Parameters
    ----------
    **start : float or bool
        Where sliders stand at first: ``height_ft`` (above the station), ``gs_kt``, ``offset_nm`` (right of
        the course positive), ``crosswind_kt`` (from the right positive), ``half_angle_deg``, ``held`` (nose
        held into the wind; else the nose points along the course and the aircraft drifts) and ``time_s``
        (before passage negative).

    Returns
    -------
    WhatIf
        Put it on the last line of a cell.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """
    return WhatIf(
        _PASSAGE,
        _passage_scene,
        _passage_still,
        [[["plan"]], [["needle"], ["dme", "clock"], ["heading", "cone"]]],
        start,
    )
