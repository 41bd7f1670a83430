"""What stands in the corners of a procedure's plan: the end of the final, enlarged, and the sector altitudes."""

from __future__ import annotations

import typing
from collections.abc import Mapping, Sequence

import numpy as np

from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import Path, point_of, runway_begins
from needlework.showing.pictures.plan_view import draw_station, xy_nm
from needlework.showing.pictures.style import HAIR, LINES, PALETTE, figure_of, halo
from needlework.showing.pictures.words import fix_words, runway_words, short_radial, spoken_radial
from needlework.trade.angles import turn_deg
from needlework.trade.units import NM_M

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import SectorAltitude

_WIDE = 0.3
_LOW, _HIGH = 0.34, 0.66
_MARGIN_NM = 0.55


def _runway_ends(procedure: Procedure) -> tuple[float, float]:
    angle = np.deg2rad(procedure.runway.heading_deg + procedure.station.declination_deg)
    x, y = np.asarray(runway_begins(procedure)) + procedure.runway.length_m / NM_M * np.array(
        [np.sin(angle), np.cos(angle)]
    )
    return float(x), float(y)


def draw_runway(ax: Axes, procedure: Procedure) -> None:
    """Draw the runway as a thick line from its threshold."""
    ends = np.array([runway_begins(procedure), _runway_ends(procedure)])
    ax.plot(
        ends[:, 0], ends[:, 1], color=PALETTE["ink"], linewidth=6, solid_capstyle="butt", zorder=4, label="runway"
    )


def draw_fixes(
    ax: Axes, labels: Labels, procedure: Procedure, names: Sequence[str], floors_ft: Mapping[str, str]
) -> None:
    """Draw fixes with their names; ``floors_ft`` gives what stands below the names of some."""
    for name in names:
        x, y = point_of(procedure, name)
        ax.plot(
            x,
            y,
            marker="d" if name == "VDP" else "^",
            color=PALETTE["ink"],
            markerfacecolor="white",
            markersize=8,
            linestyle="",
            zorder=5,
            label=f"fix {name}",
        )
        words = [*fix_words(procedure, name), *filter(None, [floors_ft.get(name)])]
        labels.beside("\n".join(words), x, y, gap=8, fontsize=9, linespacing=1.05)


def close_names(procedure: Procedure) -> tuple[str, ...]:
    """Fixes at the end of the final that are too close together for a plan of the whole procedure; may be none."""
    names = (*procedure.step_downs, *(["VDP"] if procedure.has_vdp() else []), "MAP")
    return names if len(names) > 1 else ()


def draw_final(
    ax: Axes, procedure: Procedure, floors_ft: Mapping[str, str], flown: Path | None, missed: Path | None
) -> None:
    """Draw the end of the final once more, enlarged, on the right of a plan whose frame is set."""
    names = close_names(procedure)
    corners = np.array(
        [*(point_of(procedure, name) for name in names), runway_begins(procedure), _runway_ends(procedure)]
    )
    size_in = np.array(figure_of(ax).get_size_inches()) * [ax.get_position().width, ax.get_position().height]
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    share = (_HIGH - _LOW) * size_in[1] / (_WIDE * size_in[0])
    wide = max(x1 - x0 + 2 * _MARGIN_NM, (y1 - y0 + 2 * _MARGIN_NM) / share)
    middle, half = 0.5 * np.array([x0 + x1, y0 + y1]), 0.5 * wide * np.array([1.0, share])
    small = ax.inset_axes((1.0 - _WIDE, _LOW, _WIDE, _HIGH - _LOW), label="final, enlarged")
    small.set(
        xlim=(middle[0] - half[0], middle[0] + half[0]), ylim=(middle[1] - half[1], middle[1] + half[1]),
        xticks=[], yticks=[], aspect="equal",
    )  # fmt: skip
    small.set_title("final, enlarged", fontsize=8.5, fontweight="normal", pad=3)
    for spine in small.spines.values():
        spine.set(visible=True, color=PALETTE["secondary"], linewidth=HAIR)
    labels = Labels(small)
    course = [point_of(procedure, name) for name in (procedure.final_fix, "MAP")]
    small.plot(*zip(*course, strict=True), label="final", **LINES["course"])
    if missed is not None:
        small.plot(missed.x, missed.y, label="missed approach", **LINES["warning"])
    if flown is not None:
        small.plot(flown.x, flown.y, label="track", zorder=4, **LINES["track"])
    draw_runway(small, procedure)
    draw_fixes(small, labels, procedure, names, floors_ft)
    if abs(middle[0]) < half[0] and abs(middle[1]) < half[1]:
        draw_station(small, size=0.06 * wide)
        labels.beside(procedure.station.ident, 0.0, 0.0, gap=9, fontsize=9, fontweight="bold")
    labels.beside(runway_words(procedure)[0], *runway_begins(procedure), gap=9, fontsize=9)
    labels.settle()
    rim = middle + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
    ax.plot(rim[:, 0], rim[:, 1], color=PALETTE["secondary"], linewidth=0.8, linestyle=":", label="enlarged")


def draw_sectors(ax: Axes, procedure: Procedure) -> str:
    """Draw the sector altitudes in the corner, as a small circle round the station; returns what is said."""
    from matplotlib.patches import Circle

    station = procedure.station
    wide = ax.get_position().width * figure_of(ax).get_figwidth()
    tall = ax.get_position().height * figure_of(ax).get_figheight()
    side = 0.2 * min(tall / wide, 1.0)
    middle = 1.0 - 0.5 * (_WIDE if close_names(procedure) else side)
    small = ax.inset_axes((middle - 0.5 * side, 0.03, side, side * wide / tall), label="sector altitudes")
    small.set(xlim=(-1.05, 1.05), ylim=(-1.05, 1.05), aspect="equal")
    small.axis("off")
    small.add_patch(Circle((0, 0), 1.0, fill=False, edgecolor=PALETTE["secondary"], linewidth=1.2))
    small.plot(0, 0, marker="o", markersize=3, color=PALETTE["ink"])
    said: list[str] = []
    for sector in procedure.sector_altitudes:
        begin, end = sector.from_radial_deg, sector.to_radial_deg
        if begin is None or end is None:
            # All round: it stands opposite the other sectors.
            others = [one for one in procedure.sector_altitudes if one.from_radial_deg is not None]
            at_deg = _middle_deg(others[0]) + 180.0 if others else 180.0 - station.declination_deg
            said.insert(0, f"sector altitude {sector.altitude_ft:,.0f} ft within {sector.within_nm:g} NM")
        else:
            at_deg = _middle_deg(sector)
            for edge in (begin, end):
                x, y = xy_nm(edge, np.array([0.0, 1.0]), station.declination_deg)
                small.plot(x, y, **LINES["secondary"] | {"linewidth": 1.2})
                x, y = xy_nm(edge, 1.0, station.declination_deg)
                small.annotate(
                    short_radial(edge), (float(x), float(y)), (10.0 * float(x), 8.0 * float(y)),
                    textcoords="offset points", ha="right" if x < 0 else "left", va="center", fontsize=8,
                    color=PALETTE["secondary"],
                )  # fmt: skip
            said.append(f"{sector.altitude_ft:,.0f} ft from {spoken_radial(begin)} clockwise to {spoken_radial(end)}")
        x, y = xy_nm(at_deg, 0.52, station.declination_deg)
        small.text(float(x), float(y), f"{sector.altitude_ft:,.0f}", ha="center", va="center", fontsize=9, **halo())
    reach_nm = procedure.sector_altitudes[0].within_nm
    words = f"sector altitudes, ft\n{reach_nm:g} NM of {station.ident}"
    small.set_title(words, fontsize=8.5, fontweight="normal", pad=3)
    return ", ".join(said)


def _middle_deg(sector: SectorAltitude) -> float:
    """Middle radial of a sector."""
    begin, end = float(sector.from_radial_deg or 0.0), float(sector.to_radial_deg or 0.0)
    return begin + 0.5 * float(turn_deg(from_deg=begin, to_deg=end, side="right"))
