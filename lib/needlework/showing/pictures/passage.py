"""The station passed overhead or abeam, seen from the side: height, cone, path, seconds inside."""

from __future__ import annotations

import typing

import numpy as np

from needlework.basis.quantity import within
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import HATCHES, LINES, PALETTE, axes_or_new, caution, halo, styled, tell
from needlework.trade import vor

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_FT_PER_NM = 1852.0 / 0.3048


@styled
def draw_passage(
    height_ft: float,
    gs_kt: float,
    *,
    half_angle_deg: float = 45.0,
    offset_nm: float = 0.0,
    station: str = "OVK",
    aircraft_nm: float | None = None,
    show_seconds: bool = True,
    title: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw the cone of confusion from the side, to scale, with the path through or beside it.

    Parameters
    ----------
    height_ft : float
        Height above the station (not altitude). [ft], 100 to 40,000.
    gs_kt : float
        Ground speed. [kt], 30 to 400.
    half_angle_deg : float
        Angle between the vertical and the edge of the cone. [deg], 30 to 50.
    offset_nm : float
        Sideways distance of the path from the station. [NM], -20 to 20.
    station : str
        Ident to write under the station.
    aircraft_nm : float, optional
        Where the aircraft is, before the station negative; default: just short of the cone. [NM]
    show_seconds : bool
        False leaves the seconds out, for a question that asks for them.
    title : str
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        x in NM along the path (before the station negative), y in ft above the station; lines "path" and
        "inside the cone" (absent when the path stays outside).
    """
    from matplotlib.ticker import FuncFormatter

    height = float(within("height_ft", height_ft, 100.0, 40_000.0, "ft", "is this a height above the station?"))
    speed = float(within("gs_kt", gs_kt, 30.0, 400.0, "kt"))
    half_angle = float(half_angle_deg)
    offset = float(within("offset_nm", offset_nm, -20.0, 20.0, "NM"))
    radius = float(np.asarray(vor.cone_radius_nm(height_ft=height, half_angle_deg=half_angle)))
    seconds = float(
        np.asarray(vor.cone_s(height_ft=height, gs_kt=speed, offset_nm=offset, half_angle_deg=half_angle))
    )
    inside = 0.5 * seconds * speed / 3600.0
    level = height / _FT_PER_NM
    slope = radius / level

    reach = max(1.9 * radius, 2.1 * level, 0.3)
    top = 1.38 * height
    # The drawing is to scale, so its shape follows from the numbers.
    ax = axes_or_new(ax, 8.6, 7.7 * top / (2 * reach * _FT_PER_NM) + 1.1)
    x = np.linspace(-reach, reach, 401)
    # The plane of the path cuts the cone in a hyperbola when it passes beside the station.
    edge = np.sqrt(x**2 + offset**2) / slope * _FT_PER_NM
    ax.fill_between(
        x,
        np.minimum(edge, top),
        top,
        facecolor=PALETTE["cone"],
        edgecolor=PALETTE["warning"],
        hatch=HATCHES["cone"],
        linewidth=0,
    )
    ax.plot(x, np.where(edge <= top, edge, np.nan), label="edge of the cone", **LINES["warning"])
    ax.plot([-reach, reach], [height, height], label="path", **LINES["track"])
    if inside > 0:
        ax.plot(
            [-inside, inside],
            [height, height],
            label="inside the cone",
            color=PALETTE["warning"],
            linewidth=6,
            solid_capstyle="butt",
        )
        for end in (-inside, inside):
            ax.plot([end, end], [height - 0.05 * top, height + 0.05 * top], color=PALETTE["ink"], linewidth=1.6)
    nose = -inside - 0.16 * reach if aircraft_nm is None else aircraft_nm
    ax.plot(
        nose,
        height,
        marker=(3, 0, -90),
        markersize=17,
        color=PALETTE["ink"],
        markeredgecolor="white",
        label="aircraft",
        zorder=6,
    )
    ax.plot(
        0,
        0,
        marker="o",
        markersize=11,
        color="white",
        markeredgecolor=PALETTE["ink"],
        markeredgewidth=1.8,
        clip_on=False,
        zorder=6,
    )
    ax.plot(0, 0, marker="o", markersize=4, color=PALETTE["ink"], clip_on=False, zorder=7)
    ax.annotate(
        station, (0, 0), (12, 8), textcoords="offset points", fontsize=11, fontweight="bold", zorder=7, **halo(4)
    )

    said = f"{height:,.0f} ft above the station"
    ax.annotate(
        "", (0.93 * reach, height), (0.93 * reach, 0), arrowprops={"arrowstyle": "<->", "color": PALETTE["secondary"]}
    )
    ax.text(
        0.91 * reach,
        0.5 * height,
        f"{height:,.0f} ft\nabove the\nstation",
        ha="right",
        va="center",
        fontsize=10,
        **halo(),
    )
    if offset:
        across = np.abs(x) / slope * _FT_PER_NM
        ax.plot(
            x,
            np.where(across <= top, across, np.nan),
            label="cone over the station",
            **LINES["secondary"] | {"linestyle": ":"},
        )
    else:
        # The angle's arc, from the vertical to the right-hand edge, is part of the drawing's scale.
        bow = np.deg2rad(np.linspace(0, half_angle, 40))
        ax.plot([0, 0], [0, 0.62 * height], color=PALETTE["secondary"], linewidth=1, linestyle=(0, (4, 3)))
        ax.plot(0.45 * level * np.sin(bow), 0.45 * height * np.cos(bow), color=PALETTE["secondary"], linewidth=1.2)
        middle = np.deg2rad(half_angle / 2)
        ax.text(
            0.62 * level * np.sin(middle),
            0.62 * height * np.cos(middle),
            f"{half_angle:g}°",
            ha="center",
            va="center",
            fontsize=10.5,
            **halo(),
        )
    verdict = f"outside the cone: abeam at {abs(offset):.2f} NM, cone radius {radius:.2f} NM"
    if inside > 0:
        verdict = (
            f"{f'{seconds:.1f}'.removesuffix('.0')} s inside the cone at {speed:.0f} kt"
            if show_seconds
            else f"? s inside the cone at {speed:.0f} kt"
        )
    ax.text(
        0,
        1.21 * height,
        verdict,
        ha="center",
        va="center",
        fontsize=12,
        fontweight="bold",
        color=PALETTE["warning text"],
        **halo(5),
    )

    ax.set(xlim=(-reach, reach), ylim=(0, top), aspect=1 / _FT_PER_NM)
    ax.set_xlabel("NM along the path: before the station (-), after it (+)")
    ax.set_ylabel("ft above the station")
    ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:,.0f}"))
    if title:
        ax.set_title(title)
    caution(ax)
    words = f"Side view, to scale, of a passage of {station} {said} with a cone of {half_angle:g} degrees half angle"
    beside = f", {abs(offset):.2f} NM beside it" if offset else ""
    tell(ax, f"{words}{beside}: {verdict.replace('? s', 'so many seconds')}.")
    return ax


show_passage = shown(draw_passage)
