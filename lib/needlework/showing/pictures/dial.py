"""The course-deviation face: course digits, a needle over dots, a TO/FROM flag."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Sequence

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import within
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, new_figure, styled, tell
from needlework.trade.angles import three_digits

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_DOT_DEG = 2.0
_FLAGS = {"TO": "TO", "FROM": "FROM", "NONE": "none", "OFF": "none", "": "none"}


@dataclasses.dataclass(frozen=True)
class Dial:
    """What one receiver shows.

    Parameters
    ----------
    needle_deg : float
        Needle right of centre positive: the selected course lies to the right. [deg]; nan: no signal.
    course_deg : float
        Selected course. [deg magnetic]
    flag : {"TO", "FROM", "none"}
        What the flag reads.
    dme_nm : float, optional
        DME reading to write under the needle. [NM]
    """

    needle_deg: float
    course_deg: float
    flag: str
    dme_nm: float | None = None


def _flag(flag: str) -> str:
    found = _FLAGS.get(str(flag).strip().upper())
    if found is None:
        raise OutOfRange(f"flag = {flag!r} is not a flag: expected 'TO', 'FROM' or 'none'")
    return found


def _needle_words(needle_deg: float, full_scale_deg: float) -> str:
    dots = abs(needle_deg) / _DOT_DEG
    side = "right" if needle_deg > 0 else "left"
    if np.isnan(needle_deg):
        return "dead, no signal"
    if dots < 0.05:
        return "centred"
    if abs(needle_deg) >= full_scale_deg:
        return f"at full scale {side}"
    written = f"{dots:.1f}".removesuffix(".0")
    return f"{written} {'dot' if written == '1' else 'dots'} {side}"


def dial_words(dial: Dial, full_scale_deg: float = 10.0) -> str:
    """Say what a face shows, without the word for its place.

    Parameters
    ----------
    dial : Dial
        The indications.
    full_scale_deg : float
        Deviation at which the needle stops. [deg]
    """
    flag = _flag(dial.flag)
    needle = _needle_words(dial.needle_deg, full_scale_deg)
    words = f"course {three_digits(direction_deg=dial.course_deg)}, needle {needle}"
    words += f", flag {'blank' if flag == 'none' else flag}"
    return words if dial.dme_nm is None else f"{words}, DME {dial.dme_nm:.1f} NM"


def _draw_face(ax: Axes, dial: Dial, full_scale_deg: float, letter: str) -> None:
    from matplotlib.patches import Circle, FancyBboxPatch, Polygon, Rectangle

    flag = _flag(dial.flag)
    ink, grey = PALETTE["ink"], PALETTE["secondary"]
    ax.set(xlim=(-1.32, 1.32), ylim=(-1.45, 1.85 if letter else 1.45), aspect="equal")
    ax.axis("off")
    ax.add_patch(
        FancyBboxPatch((-1.14, -1.28), 2.28, 2.56, boxstyle="round,pad=0.1", facecolor="#F5F5F5", edgecolor=grey)
    )
    ax.text(0, 1.17, "selected course", ha="center", va="center", fontsize=8.5, color=grey)
    ax.text(
        0, 0.93, three_digits(direction_deg=dial.course_deg), ha="center", va="center", fontsize=17, fontweight="bold"
    )

    dots = int(full_scale_deg // _DOT_DEG)
    for count in range(-dots, dots + 1):
        place = count * _DOT_DEG / full_scale_deg
        radius = 0.075 if count == 0 else 0.042
        ax.add_patch(
            Circle((place, 0), radius, facecolor="none" if count == 0 else grey, edgecolor=ink, linewidth=1.2)
        )
    dead = bool(np.isnan(dial.needle_deg))
    needle = 0.0 if dead else float(np.clip(dial.needle_deg / full_scale_deg, -1, 1))
    line = LINES["track"] | {"linewidth": 5.0} | ({"color": PALETTE["secondary"], "linewidth": 2.0} if dead else {})
    ax.plot([needle, needle], [-0.55, 0.62], label="needle", solid_capstyle="butt", **line)

    if flag == "none":
        ax.add_patch(
            Rectangle((-0.68, -1.0), 1.36, 0.34, facecolor="white", edgecolor=PALETTE["warning"], hatch="////")
        )
        words = "no signal" if dead else "blank"
        ax.text(
            0, -0.84, words, ha="center", va="center", fontsize=11, bbox={"fc": "white", "ec": "none", "pad": 1.5}
        )
    else:
        middle, way = -0.84, 1 if flag == "TO" else -1
        left = -0.45 if flag == "TO" else -0.6
        ax.add_patch(
            Polygon(
                [(left - 0.15, middle - 0.14 * way), (left + 0.15, middle - 0.14 * way), (left, middle + 0.15 * way)],
                color=ink,
            )
        )
        ax.text(left + 0.26, middle, flag, ha="left", va="center_baseline", fontsize=15, fontweight="bold")
    if dial.dme_nm is not None:
        ax.text(0, -1.18, f"DME {dial.dme_nm:.1f} NM", ha="center", va="center", fontsize=11, color=ink)
    if letter:
        ax.text(
            -1.2, 1.47, letter, ha="left", va="bottom", fontsize=17, fontweight="bold", color=PALETTE["course text"]
        )


@styled
def draw_needle(
    needle_deg: float,
    course_deg: float,
    flag: str,
    *,
    dme_nm: float | None = None,
    full_scale_deg: float = 10.0,
    letter: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw one course-deviation face, a dot every 2 degrees.

    Parameters
    ----------
    needle_deg : float
        Right of centre positive; beyond full scale it stands at the stop; nan means no signal. [deg]
    course_deg : float
        Selected course. [deg magnetic]
    flag : {"TO", "FROM", "none"}
        What the flag reads.
    dme_nm : float, optional
        DME reading to write besides. [NM]
    full_scale_deg : float
        Deviation at the last dot. [deg], 4 to 20.
    letter : str
        Name of the face, for choosing among several.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        The line labelled "needle" stands at deviation / full scale, -1 to 1.
    """
    within("full_scale_deg", full_scale_deg, 4.0, 20.0, "deg")
    dial = Dial(needle_deg, course_deg, flag, dme_nm)
    words = dial_words(dial, full_scale_deg)
    ax = axes_or_new(ax, 3.0, 3.2)
    _draw_face(ax, dial, full_scale_deg, letter)
    tell(ax, f"{letter + ': ' if letter else ''}{words[0].upper()}{words[1:]}.")
    return ax


@styled
def draw_needles(
    dials: Sequence[Dial | tuple[typing.Any, ...]],
    letters: Sequence[str] = "ABCDEFGH",
    *,
    full_scale_deg: float = 10.0,
) -> list[Axes]:
    """Draw a row of faces with letters, for a question that asks which one.

    Parameters
    ----------
    dials : sequence of Dial or of tuples (needle_deg, course_deg, flag)
        One to eight faces; after four a new row begins.
    letters : sequence of str
        One name per face.
    full_scale_deg : float
        Deviation at the last dot. [deg], 4 to 20.

    Returns
    -------
    list of Axes
        One per face, as :func:`draw_needle` returns it.
    """
    faces = [dial if isinstance(dial, Dial) else Dial(*dial) for dial in dials]
    if not 1 <= len(faces) <= 8 or len(letters) < len(faces):
        raise OutOfRange(
            f"dials holds {len(faces)} faces for {len(letters)} letters: expected 1 to 8, a letter for each"
        )
    columns = min(4, len(faces))
    rows = -(-len(faces) // columns)
    figure = new_figure(2.35 * columns, 2.95 * rows)
    drawn = []
    for index, (face, letter) in enumerate(zip(faces, letters, strict=False)):
        drawn.append(
            draw_needle(
                face.needle_deg,
                face.course_deg,
                face.flag,
                dme_nm=face.dme_nm,
                full_scale_deg=full_scale_deg,
                letter=letter,
                ax=figure.add_subplot(rows, columns, index + 1),
            )
        )
    return drawn


show_needle = shown(draw_needle)
show_needles = shown(draw_needles)
