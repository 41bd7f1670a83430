"""Instrument faces drawn in the browser: plain numbers in, needles and sentences out.

Each face is a frozen record of what it shows. It writes its own sentence, so that a screen reader, a
print-out and a test all read the same thing. :class:`Board` puts faces side by side in one widget and sends
them to the browser in one message, so that they always move together. The browser draws; it computes nothing
but the way from the last place to the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar, Literal, TypeAlias, cast

import anywidget
import numpy as np
import traitlets
from numpy.typing import ArrayLike

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Floats, within
from needlework.trade.angles import three_digits

Points: TypeAlias = Sequence[float] | Floats
Flag = Literal["TO", "FROM", "NONE"]
_HERE = Path(__file__).parent
_FLAGS = ("TO", "FROM", "NONE")


def _short(values: ArrayLike) -> list[float]:
    """Round to what a screen can show: a ten-thousandth of a mile is 0.6 ft."""
    return cast("list[float]", np.round(np.asarray(values, dtype=np.float64), 4).tolist())


def _spoken_deg(direction_deg: float) -> str:
    """Three digits without the letter: the way a pilot says a course."""
    return three_digits(direction_deg=direction_deg)[:3]


@dataclass(frozen=True)
class Face:
    """What every face has: a kind the browser can draw, a state of plain numbers, a sentence."""

    kind: ClassVar[str] = ""

    def words(self) -> str:
        """Say in one sentence what the face shows."""
        raise NotImplementedError

    def numbers(self) -> list[tuple[str, str]]:
        """Give the same as rows of a table: what is shown, and its reading with the unit."""
        return []

    def state(self) -> dict[str, Any]:
        """Return the few plain numbers and texts the browser needs."""
        return {**asdict(self), "kind": self.kind, "words": self.words()}


@dataclass(frozen=True)
class CourseDeviation(Face):
    """A course-deviation instrument: selected course, needle, dots, TO/FROM/none.

    Parameters
    ----------
    course_deg : float
        Selected course. [deg magnetic]
    deviation_dots : float
        Needle: right of centre positive; drawn pinned beyond five dots. [dots]
    flag : str
        ``"TO"``, ``"FROM"`` or ``"NONE"``.
    title : str
        Name of the receiver.
    reliable : bool
        False where the reading means nothing (inside the cone): drawn broken.
    full_scale : str
        Text at both ends of the row of dots.
    """

    course_deg: float
    deviation_dots: float
    flag: Flag
    title: str = "VOR 1"
    reliable: bool = True
    full_scale: str = "10°"
    kind: ClassVar[str] = "deviation"

    def __post_init__(self) -> None:
        """Refuse what no instrument can show."""
        if self.flag not in _FLAGS:
            raise OutOfRange(f"flag = {self.flag!r} is not a flag: expected 'TO', 'FROM' or 'NONE'")
        within("course_deg", self.course_deg, -360, 720, "deg")
        within("deviation_dots", self.deviation_dots, -90, 90, "dots", "are these degrees?")

    def _read(self) -> tuple[str, str]:
        size = min(abs(self.deviation_dots), 5.0)
        side = "right" if self.deviation_dots > 0 else "left"
        if size < 0.05:
            needle = "centred"
        elif size >= 5:
            needle = f"full scale {side}"
        else:
            needle = f"{size:.1f} dot{'' if f'{size:.1f}' == '1.0' else 's'} {side}"
        return needle, "blank" if self.flag == "NONE" else self.flag

    def words(self) -> str:
        """Say needle and flag."""
        needle, flag = self._read()
        unsure = "" if self.reliable else ", not to be trusted"
        return f"{self.title}, course {_spoken_deg(self.course_deg)}: needle {needle}, flag {flag}{unsure}."

    def numbers(self) -> list[tuple[str, str]]:
        """Give course, needle and flag, and whether they can be trusted."""
        needle, flag = self._read()
        unsure = "" if self.reliable else ", not to be trusted"
        return [
            (f"{self.title}: course", _spoken_deg(self.course_deg)),
            (f"{self.title}: needle", f"{needle}{unsure}"),
            (f"{self.title}: flag", flag),
        ]


@dataclass(frozen=True)
class Heading(Face):
    """A heading indicator with a card that turns under a fixed triangle.

    Parameters
    ----------
    heading_deg : float
        Where the nose points. [deg magnetic]
    target_deg : float or None
        Heading asked for, shown as an open mark. [deg magnetic]
    bank_deg : float or None
        Bank, right positive, where the wings are held by hand. [deg]
    """

    heading_deg: float
    target_deg: float | None = None
    bank_deg: float | None = None
    kind: ClassVar[str] = "heading"

    def words(self) -> str:
        """Say the heading."""
        asked = "" if self.target_deg is None else f", turning to {_spoken_deg(self.target_deg)}"
        if self.target_deg is not None and _spoken_deg(self.target_deg) == _spoken_deg(self.heading_deg):
            asked = ""
        bank = "" if self.bank_deg is None else f", {self._bank()}"
        return f"Heading {_spoken_deg(self.heading_deg)}{asked}{bank}."

    def _bank(self) -> str:
        size = round(abs(self.bank_deg or 0.0))
        return f"bank {size} {'right' if (self.bank_deg or 0.0) > 0 else 'left'}" if size else "wings level"

    def numbers(self) -> list[tuple[str, str]]:
        """Give the heading."""
        return [("heading", _spoken_deg(self.heading_deg))]


@dataclass(frozen=True)
class Dial(Face):
    """A round scale with a hand and digits: altimeter, airspeed, vertical speed.

    Parameters
    ----------
    label, unit : str
        What is shown and in which unit.
    value : float
        Reading, in ``unit``.
    low, high, step : float
        Scale and its marks, in ``unit``; with ``rounds`` the hand goes round once from low to high and on.
    per : float
        The numbers on the scale are the reading divided by this.
    grain : float
        The digits are rounded to this.
    target : float or None
        Value asked for, shown as an open mark.
    """

    label: str
    unit: str
    value: float
    low: float
    high: float
    step: float
    per: float = 1.0
    grain: float = 1.0
    rounds: bool = False
    target: float | None = None
    kind: ClassVar[str] = "dial"

    def words(self) -> str:
        """Say label, reading and unit."""
        return f"{self.label} {self.numbers()[0][1]}."

    def numbers(self) -> list[tuple[str, str]]:
        """Give the reading."""
        shown = round(self.value / self.grain) * self.grain
        return [(self.label, f"{shown:,.0f} {self.unit}")]


def altimeter(alt_ft: float, target_ft: float | None = None) -> Dial:
    """Altimeter: one turn of the hand is 1,000 ft, digits to the nearest 10 ft."""
    return Dial("altitude", "ft", alt_ft, 0, 1000, 100, 100, 10, True, target_ft)


def airspeed(ias_kt: float, target_kt: float | None = None) -> Dial:
    """Airspeed indicator, 40 to 180 kt."""
    return Dial("airspeed", "kt", ias_kt, 40, 180, 20, target=target_kt)


def vertical_speed(vs_fpm: float, target_fpm: float | None = None) -> Dial:
    """Vertical speed indicator, 1,500 ft/min down to 1,500 up; numbers in hundreds, digits to 10."""
    return Dial("vertical speed", "ft/min", vs_fpm, -1500, 1500, 500, 100, 10, False, target_fpm)


@dataclass(frozen=True)
class Digits(Face):
    """A small window with a number or a word: DME, clock, configuration.

    Parameters
    ----------
    label, unit : str
        What is shown and in which unit.
    value : float or None
        Reading, in ``unit``; None draws dashes.
    decimals : int
        Digits after the point.
    clock : bool
        Write seconds as minutes and seconds.
    text : str
        A word shown instead of a number.
    warn : bool
        Draw a broken frame: the reading is not to be trusted.
    """

    label: str
    unit: str = ""
    value: float | None = None
    decimals: int = 0
    clock: bool = False
    text: str = ""
    warn: bool = False
    kind: ClassVar[str] = "digits"

    def words(self) -> str:
        """Say label, reading and unit."""
        reading = self.numbers()[0][1]
        return f"{self.label} {reading.removesuffix(self.unit).rstrip() if self.clock else reading}."

    def numbers(self) -> list[tuple[str, str]]:
        """Give the reading."""
        if self.text:
            shown = self.text
        elif self.value is None:
            return [(self.label, "no reading")]
        elif self.clock:
            seconds = round(abs(self.value))
            shown = f"{'minus ' if self.value <= -0.5 else ''}{seconds // 60}:{seconds % 60:02d}"
        else:
            shown = f"{self.value:,.{self.decimals}f}".replace("-", "minus ")
        return [(self.label, f"{shown} {self.unit}".rstrip())]


def dme(slant_nm: float | None, warn: bool = False) -> Digits:
    """DME: slant distance to a tenth of a mile; dashes when there is none."""
    return Digits("DME", "NM", slant_nm, 1, warn=warn)


def clock(time_s: float, label: str = "clock") -> Digits:
    """Clock in minutes and seconds; negative before the zero."""
    return Digits(label, "min:s", time_s, clock=True)


@dataclass(frozen=True)
class Line:
    """A line on the plan view.

    Parameters
    ----------
    kind : str
        ``"course"``, ``"radial"``, ``"arc"``, ``"track"``, ``"ghost"`` or ``"ahead"``, the way to be flown; each has
        its own dashes.
    east_nm, north_nm : sequence of float
        Points east and north of the station, on magnetic axes. [NM]
    label : str
        Text beside the line.
    at : int
        Which point carries the label.
    """

    kind: str
    east_nm: Points
    north_nm: Points
    label: str = ""
    at: int = 10**6


@dataclass(frozen=True)
class Circle:
    """A circle on the plan view: the cone, a DME arc all round.

    Parameters
    ----------
    kind : str
        ``"cone"``, ``"arc"`` or ``"ring"``.
    radius_nm : float
        Radius. [NM]
    east_nm, north_nm : float
        Centre. [NM]
    label : str
        Text beside it.
    """

    kind: str
    radius_nm: float
    east_nm: float = 0.0
    north_nm: float = 0.0
    label: str = ""


@dataclass(frozen=True)
class Mark:
    """A station or a fix on the plan view.

    Parameters
    ----------
    label : str
        Its name.
    east_nm, north_nm : float
        Where it is. [NM]
    kind : str
        ``"station"`` or ``"fix"``.
    """

    label: str
    east_nm: float = 0.0
    north_nm: float = 0.0
    kind: str = "station"


@dataclass(frozen=True)
class Plan(Face):
    """The view from above: station, radials, arc, track, cone, aircraft, wind; magnetic north up.

    Parameters
    ----------
    radius_nm : float
        Half the width of the view. [NM]
    lines, circles, marks : sequence
        What is drawn; see :class:`Line`, :class:`Circle`, :class:`Mark`.
    aircraft_east_nm, aircraft_north_nm, heading_deg : float or None
        The aircraft; None leaves it out. [NM], [deg magnetic]
    wind_from_deg, wind_kt : float
        Wind arrow, from; none is drawn for a calm. [deg magnetic], [kt]
    centre_east_nm, centre_north_nm : float
        Middle of the view. [NM]
    scale_nm : float
        Length of the scale bar. [NM]
    said : str
        The sentence, written by whoever knows what the view is about.
    hidden : bool
        Leave the view out of sight.
    """

    radius_nm: float
    said: str
    lines: Sequence[Line] = ()
    circles: Sequence[Circle] = ()
    marks: Sequence[Mark] = (Mark(""),)
    aircraft_east_nm: float | None = None
    aircraft_north_nm: float | None = None
    heading_deg: float = 0.0
    wind_from_deg: float = 0.0
    wind_kt: float = 0.0
    centre_east_nm: float = 0.0
    centre_north_nm: float = 0.0
    scale_nm: float = 1.0
    north: str = "magnetic north"
    hidden: bool = False
    kind: ClassVar[str] = "plan"

    def words(self) -> str:
        """Say what the view is about."""
        return self.said

    def _wind(self) -> str:
        return "" if self.wind_kt < 0.5 else f"{_spoken_deg(self.wind_from_deg)}/{self.wind_kt:.0f}"

    def numbers(self) -> list[tuple[str, str]]:
        """Give heading and wind; what else is seen has its own faces."""
        if self.aircraft_east_nm is None:
            return []
        heading = _spoken_deg(self.heading_deg)
        return [("nose points to", heading), ("wind, from and knots", self._wind() or "calm")]

    def state(self) -> dict[str, Any]:
        """Return the view with its points rounded to the screen and the wind written out."""
        state = super().state()
        for line in state["lines"]:
            line["east_nm"], line["north_nm"] = _short(line["east_nm"]), _short(line["north_nm"])
        state["wind_text"] = f"wind {self._wind()}" if self._wind() else ""
        return state


@dataclass(frozen=True)
class ProfileLine:
    """A line on the profile: ``"planned"``, ``"track"`` or ``"ahead"``, as distances [NM] and altitudes [ft]."""

    kind: str
    dist_nm: Points
    alt_ft: Points


@dataclass(frozen=True)
class Profile(Face):
    """The view from the side: step-downs, minimums, VDP, track.

    Parameters
    ----------
    left_nm, right_nm : float
        Distances at the two edges; the left one may be the larger. [NM]
    low_ft, high_ft : float
        Altitudes at the bottom and the top. [ft]
    said : str
        The sentence.
    floors : sequence of (float, float, float)
        Step-downs: from, to [NM], minimum altitude [ft].
    minimum_ft, minimum_left_nm : float or None
        Minimum descent altitude and where its line begins. [ft], [NM]
    marks : sequence of (float, str)
        Fixes, VDP and missed approach point. [NM]
    lines : sequence of ProfileLine
        Planned descent and track.
    aircraft_dist_nm, aircraft_alt_ft : float or None
        The aircraft. [NM], [ft]
    altitude_ticks_ft, distance_ticks : sequence
        Grid altitudes [ft]; distances [NM] with their text.
    axis : str
        Name of the distance axis.
    """

    left_nm: float
    right_nm: float
    low_ft: float
    high_ft: float
    said: str
    floors: Sequence[tuple[float, float, float]] = ()
    minimum_ft: float | None = None
    minimum_left_nm: float | None = None
    minimum_label: str = ""
    marks: Sequence[tuple[float, str]] = ()
    lines: Sequence[ProfileLine] = ()
    aircraft_dist_nm: float | None = None
    aircraft_alt_ft: float | None = None
    altitude_ticks_ft: Sequence[float] = ()
    distance_ticks: Sequence[tuple[float, str]] = ()
    axis: str = ""
    kind: ClassVar[str] = "profile"

    def words(self) -> str:
        """Say what the view is about."""
        return self.said

    def state(self) -> dict[str, Any]:
        """Return the view with its points rounded to the screen."""
        state = super().state()
        for line in state["lines"]:
            line["dist_nm"], line["alt_ft"] = _short(line["dist_nm"]), _short(line["alt_ft"])
        return state


@dataclass(frozen=True)
class Control:
    """A button under a board, and the key that presses it while the board has the focus.

    Parameters
    ----------
    action : str
        What is sent to Python when it is pressed.
    group : str
        Buttons of one group stand together under its name.
    label : str
        Text of the button.
    key : str
        Key as the browser names it: ``"ArrowLeft"``, ``"Shift+ArrowLeft"``, ``"q"``, ``"Space"``.
    said : str
        What a screen reader says for it.
    """

    action: str
    group: str
    label: str
    key: str
    said: str


def _names(places: Sequence[Any]) -> Iterator[str]:
    for place in places:
        if isinstance(place, str):
            yield place
        else:
            yield from _names(place)


class Board(anywidget.AnyWidget):
    """Faces side by side in one widget, with a sentence under them and a switch for a large size.

    Parameters
    ----------
    rows : sequence
        Columns, each a list of rows, each a list of face names; a list within a row is a stack of faces.
    faces : mapping of str to Face
        What each face shows at first.
    sentence : str
        The sentence under the faces.
    controls : sequence of Control
        Buttons and keys, if any. A press arrives as the message ``{"act": action}``.

    Attributes
    ----------
    glide_ms : float
        How long the browser takes from one picture to the next; 0 jumps. [ms]
    tick : int
        Number of the picture; the browser sends it back when it has come. 0 asks for no answer.
    spoken, asked : str, int
        What a screen reader is told on request; raising ``asked`` is such a request.
    player : dict
        What can be played: ``label``, ``low``, ``high``, ``step`` and ``rate``, how many times as fast as in the air;
        empty for nothing. While it plays the browser asks for the next place by the message ``{"play": place}``.
    at : float
        Where the played quantity stands.
    numbers : list
        The table: what, reading, range; filled while ``numbers_shown`` asks for it.
    readings, lit, unusable : dict, dict, list
        Text beside the name of each group; which buttons are on; which cannot be pressed now.
    note : str
        Small print under the faces of a board with buttons.
    absent : list
        Buttons left out of sight, whose keys do nothing.
    labels, heads : dict, dict
        Other names for some buttons (label and said words) and for some groups.
    """

    _esm = _HERE / "faces.js"
    _css = _HERE / "faces.css"

    layout_names: Any = traitlets.List().tag(sync=True)
    state: Any = traitlets.Dict().tag(sync=True)
    sentence = traitlets.Unicode().tag(sync=True)
    spoken = traitlets.Unicode().tag(sync=True)
    size = traitlets.Enum(("normal", "classroom"), "normal").tag(sync=True)
    glide_ms = traitlets.Float(0.0).tag(sync=True)
    tick = traitlets.Int(0).tag(sync=True)
    asked = traitlets.Int(0).tag(sync=True)
    player: Any = traitlets.Dict().tag(sync=True)
    at = traitlets.Float(0.0).tag(sync=True)
    numbers: Any = traitlets.List().tag(sync=True)
    numbers_shown = traitlets.Bool(False).tag(sync=True)
    controls: Any = traitlets.List().tag(sync=True)
    shortcuts: Any = traitlets.Dict().tag(sync=True)
    readings: Any = traitlets.Dict().tag(sync=True)
    lit: Any = traitlets.Dict().tag(sync=True)
    unusable: Any = traitlets.List().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)
    absent: Any = traitlets.List().tag(sync=True)
    labels: Any = traitlets.Dict().tag(sync=True)
    heads: Any = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        rows: Sequence[Any],
        faces: Mapping[str, Face],
        sentence: str = "",
        controls: Sequence[Control] = (),
        **traits: Any,
    ) -> None:
        wanted = set(_names(rows))
        if wanted != set(faces):
            raise ValueError(f"faces and places differ: {sorted(wanted ^ set(faces))}")
        super().__init__(
            layout_names=rows,
            state={name: face.state() for name, face in faces.items()},
            sentence=sentence,
            controls=[asdict(control) for control in controls],
            shortcuts={control.action: control.key for control in controls},
            **traits,
        )

    def show(self, faces: Mapping[str, Face], sentence: str | None = None, spoken: str | None = None) -> None:
        """Show new readings, all in one message; faces not named stay as they are."""
        with self.hold_sync():
            self.state = {**self.state, **{name: face.state() for name, face in faces.items()}}
            if sentence is not None:
                self.sentence = sentence
            if spoken is not None:
                self.spoken = spoken
