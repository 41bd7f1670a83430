"""The whole raw-data cockpit as a still: two receivers and the other readings in plain boxes."""

from __future__ import annotations

import math
import typing
from collections.abc import Sequence

from needlework.basis.errors import OutOfRange
from needlework.showing.pictures.dial import Dial, dial_words, draw_needle
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.strips import clock_words
from needlework.showing.pictures.style import PALETTE, caution, new_figure, styled, tell
from needlework.trade.angles import three_digits

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes


def _draw_box(ax: Axes, name: str, reading: str, unit: str) -> None:
    from matplotlib.patches import FancyBboxPatch

    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.axis("off")
    ax.add_patch(
        FancyBboxPatch(
            (0.05, 0.08), 0.9, 0.84, boxstyle="round,pad=0.02,rounding_size=0.06", mutation_aspect=1.6,
            facecolor="#F5F5F5", edgecolor=PALETTE["secondary"],
        )
    )  # fmt: skip
    ax.text(0.5, 0.76, name, ha="center", va="center", fontsize=9, color=PALETTE["secondary"])
    ax.text(0.5, 0.42, reading, ha="center", va="center", fontsize=17, fontweight="bold")
    ax.text(0.5, 0.16, unit, ha="center", va="center", fontsize=8.5, color=PALETTE["secondary"])


@styled
def draw_cockpit(
    dials: Sequence[Dial],
    *,
    heading_deg: float | None = None,
    alt_ft: float | None = None,
    ias_kt: float | None = None,
    vs_fpm: float | None = None,
    dme_nm: float | None = None,
    dme_from: str = "",
    clock_s: float | None = None,
    title: str = "",
) -> list[Axes]:
    """Draw what a cockpit shows at one moment; what is left out is not drawn.

    Parameters
    ----------
    dials : sequence of Dial
        One or two receivers, the first on the left.
    heading_deg : float, optional
        Heading. [deg magnetic]
    alt_ft : float, optional
        What the altimeter reads. [ft]
    ias_kt : float, optional
        Indicated airspeed. [kt]
    vs_fpm : float, optional
        Vertical speed, up positive. [ft/min]
    dme_nm : float, optional
        DME reading; nan shows dashes. [NM]
    dme_from : str
        Station, or receiver, the DME is tuned with.
    clock_s : float, optional
        Stopwatch. [s]
    title : str
        Words above.

    Returns
    -------
    list of Axes
        The dials, then one box for each reading.
    """
    if not 1 <= len(dials) <= 2:
        raise OutOfRange(f"dials holds {len(dials)} receivers: expected one or two")
    boxes: list[tuple[str, str, str]] = []
    if heading_deg is not None:
        boxes.append(("heading", three_digits(direction_deg=heading_deg, reference=""), "magnetic"))
    if alt_ft is not None:
        boxes.append(("altimeter", f"{alt_ft:,.0f}", "ft"))
    if vs_fpm is not None:
        boxes.append(("vertical speed", f"{round(vs_fpm, -1):+,.0f}".replace("-", "−").replace("+0", "0"), "ft/min"))
    if ias_kt is not None:
        boxes.append(("airspeed", f"{ias_kt:.0f}", "kt"))
    if dme_nm is not None:
        boxes.append((f"DME {dme_from}".strip(), "- -" if math.isnan(dme_nm) else f"{dme_nm:.1f}", "NM"))
    if clock_s is not None:
        boxes.append(("stopwatch", clock_words(clock_s), "min:s"))

    columns = 2
    rows = max(3, -(-len(boxes) // columns))
    figure = new_figure(2.5 * len(dials) + (3.4 if boxes else 0.0), 3.4 + 0.3 * bool(title))
    grid = figure.add_gridspec(1, len(dials) + bool(boxes), width_ratios=[2.5] * len(dials) + [3.4] * bool(boxes))
    axes = []
    for number, dial in enumerate(dials, 1):
        letter = str(number) if len(dials) > 1 else ""
        face = figure.add_subplot(grid[number - 1])
        axes.append(
            draw_needle(dial.needle_deg, dial.course_deg, dial.flag, dme_nm=dial.dme_nm, letter=letter, ax=face)
        )
        tell(face, f"Receiver {number}: {dial_words(dial)}.")
    if boxes:
        inner = grid[len(dials)].subgridspec(rows, columns)
        for index, (name, reading, unit) in enumerate(boxes):
            ax = figure.add_subplot(inner[index // columns, index % columns])
            _draw_box(ax, name, reading, unit)
            axes.append(ax)
        words = "; ".join(f"{name} {reading} {unit}" for name, reading, unit in boxes)
        tell(axes[len(dials)], f"{words[0].upper()}{words[1:]}.")
    if title:
        figure.suptitle(title, fontsize=12, fontweight="bold")
    caution(axes[0])
    return axes


show_cockpit = shown(draw_cockpit)
