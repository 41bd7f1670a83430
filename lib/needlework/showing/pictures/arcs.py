"""A DME arc flown in straight steps: radials to set, headings to fly, and where that leads."""

from __future__ import annotations

import typing

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Floats
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import Path
from needlework.showing.pictures.plan_view import draw_north, draw_station, draw_wind, variation_words, xy_nm
from needlework.showing.pictures.procedures import frame, size_in
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, caution, styled, tell
from needlework.showing.pictures.words import short_radial, spoken_radial
from needlework.trade import arc, wind
from needlework.trade.angles import three_digits, turn_deg, wrap360

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes


def _steps(
    arc_nm: float,
    from_radial_deg: float,
    to_radial_deg: float,
    turn: str,
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    step_deg: float,
    inside_deg: float | None,
) -> tuple[Floats, Floats, Floats]:
    """Radials crossed, distances there, and the heading of each leg."""
    if inside_deg is None:
        legs = arc.plan_steps(
            arc_nm=arc_nm,
            from_radial_deg=from_radial_deg,
            to_radial_deg=to_radial_deg,
            turn=turn,
            tas_kt=tas_kt,
            wind_from_deg=wind_from_deg,
            wind_kt=wind_kt,
            step_deg=step_deg,
        )
        radials = np.array([legs[0].from_radial_deg, *(leg.to_radial_deg for leg in legs)])
        return radials, np.full(radials.size, arc_nm), np.array([leg.heading_deg for leg in legs])
    sweep = float(np.asarray(turn_deg(from_deg=from_radial_deg, to_deg=to_radial_deg, side=turn)))
    count = max(1, round(sweep / step_deg))
    dists = arc.flown_distances_nm(
        dist_nm=arc_nm,
        from_radial_deg=from_radial_deg,
        turn=turn,
        legs=count,
        inside_deg=inside_deg,
        tas_kt=tas_kt,
        wind_from_deg=wind_from_deg,
        wind_kt=wind_kt,
        step_deg=step_deg,
    )
    sign = 1.0 if turn == "right" else -1.0
    radials = np.asarray(wrap360(from_radial_deg + sign * step_deg * np.arange(count + 1)))
    return (
        radials,
        dists,
        np.asarray(wrap360(np.asarray(arc.tangent_deg(radial_deg=radials[:-1], turn=turn)) + sign * inside_deg)),
    )


@styled
def draw_arc(
    arc_nm: float,
    from_radial_deg: float,
    to_radial_deg: float,
    turn: str,
    *,
    tas_kt: float = 100.0,
    wind_from_deg: float = 0.0,
    wind_kt: float = 0.0,
    step_deg: float = 10.0,
    inside_deg: float | None = None,
    final_radial_deg: float | None = None,
    show_headings: bool = True,
    station: str = "OVK",
    variation_deg: float = 0.0,
    title: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw an arc flown in steps: each radial to set, each heading to fly, and the band of 1 NM either side.

    Parameters
    ----------
    arc_nm : float
        Radius of the arc over the ground. [NM]
    from_radial_deg, to_radial_deg : float
        Radials where the steps begin and end. [deg magnetic]
    turn : {"right", "left"}
        Which way the arc bends: right is clockwise, station on the right.
    tas_kt : float
        True airspeed. [kt]
    wind_from_deg, wind_kt : float
        Wind, by the same reference as the radials. [deg magnetic], [kt]
    step_deg : float
        Size of a step. [deg]
    inside_deg : float, optional
        When left out, each heading holds the arc in this wind. When given, what becomes of the arc if every
        leg is begun with the nose so far to the station's side of the perpendicular, whatever the wind does. [deg]
    final_radial_deg : float, optional
        Radial on which the arc is left, with the lead to turn on to it. [deg magnetic]
    show_headings : bool
        False leaves the headings out, for a question that asks for them.
    station : str
        Ident of the station.
    variation_deg : float
        Declination of the station, west negative; 0 draws magnetic north up. [deg]
    title : str
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        NM east and north of the station; lines "arc", "flown", "radial <nnn>", "lead radial".
    """
    if turn not in ("left", "right"):
        raise OutOfRange(f"turn = {turn!r} is not a side to turn: expected 'left' or 'right'")
    radials, dists, headings = _steps(
        arc_nm, from_radial_deg, to_radial_deg, turn, tas_kt, wind_from_deg, wind_kt, step_deg, inside_deg
    )
    sign = 1.0 if turn == "right" else -1.0
    sweep = float(np.asarray(turn_deg(from_deg=from_radial_deg, to_deg=to_radial_deg, side=turn)))
    along = from_radial_deg + sign * np.linspace(0.0, sweep, max(12, int(sweep)))
    flown = Path(*xy_nm(radials, dists, variation_deg))
    outer = Path(*xy_nm(along, max(float(dists.max()), arc_nm + 1.0) + 0.06 * arc_nm, variation_deg))
    centre = Path(np.zeros(1), np.zeros(1))
    names_nm = max(float(dists.max()) + 0.05 * arc_nm, arc_nm + 1.0) + 0.05 * arc_nm
    ax = axes_or_new(ax, *size_in([flown, outer, centre]))
    frame(ax, [flown, outer, centre])
    labels = Labels(ax)

    east, north = (
        np.concatenate([near, far[::-1]])
        for near, far in zip(
            xy_nm(along, arc_nm - arc.ARC_TOLERANCE_NM, variation_deg),
            xy_nm(along, arc_nm + arc.ARC_TOLERANCE_NM, variation_deg),
            strict=True,
        )
    )
    ax.fill(east, north, facecolor=PALETTE["band"], edgecolor=PALETTE["course"], ls=":", linewidth=0.8, label="1 NM")
    for radial in radials:
        x, y = xy_nm(radial, np.array([0.12 * arc_nm, names_nm - 0.05 * arc_nm]), variation_deg)
        ax.plot(
            x,
            y,
            label=f"radial {three_digits(direction_deg=radial, reference='').rstrip('°')}",
            **LINES["radial"] | {"linewidth": 1.1},
        )
        x, y = xy_nm(radial + np.array([0, -1.5, 1.5]), names_nm, variation_deg)
        labels.at(
            short_radial(radial),
            list(zip(x, y, strict=True)),
            fontsize=9.5,
            color=PALETTE["radial text"],
        )
    x, y = xy_nm(along, arc_nm, variation_deg)
    ax.plot(x, y, label="arc", **LINES["course"])
    ax.plot(flown.x, flown.y, label="flown", marker="o", markersize=4, **LINES["track"])
    if show_headings:
        inner_nm = min(arc_nm - arc.ARC_TOLERANCE_NM, float(dists.min()) - 0.03 * arc_nm)
        for start, radial, heading in zip(radials[:-1], radials[1:], headings, strict=True):
            middle = start + 0.5 * sign * float(np.asarray(turn_deg(from_deg=start, to_deg=radial, side=turn)))
            x, y = xy_nm(middle, inner_nm * np.array([0.94, 0.9, 0.86, 0.82]), variation_deg)
            labels.at(
                three_digits(direction_deg=heading, reference=""),
                list(zip(x, y, strict=True)),
                fontsize=10,
                fontweight="bold",
            )
    draw_station(ax, size=0.05 * arc_nm)
    labels.beside(station, 0.0, 0.0, gap=9, fontsize=11, fontweight="bold")

    what = "that hold it" if inside_deg is None else f"with the nose {inside_deg:g} degrees inside the perpendicular"
    first, last = spoken_radial(from_radial_deg), spoken_radial(to_radial_deg)
    said = [
        f"{arc_nm:g} NM arc round {station}",
        f"from {first} to {last}, {turn} turns, in {headings.size} steps {what}",
    ]
    if show_headings:
        said.append(
            "headings "
            + ", ".join(three_digits(direction_deg=heading, reference="").rstrip("°") for heading in headings)
        )
    if inside_deg is not None:
        said.append(f"distance at the end {dists[-1]:.2f} NM")
        labels.beside(f"{dists[-1]:.1f} NM", *flown.end, gap=9, fontsize=11, fontweight="bold")
    if final_radial_deg is not None:
        course = float(np.asarray(arc.tangent_deg(radial_deg=final_radial_deg, turn=turn)))
        gs = float(
            np.asarray(
                wind.ground_speed_kt(course_deg=course, tas_kt=tas_kt, wind_from_deg=wind_from_deg, wind_kt=wind_kt)
            )
        )
        said.append(_draw_lead(ax, labels, arc_nm, final_radial_deg, turn, gs, variation_deg))
    if wind_kt:
        said.append(draw_wind(ax, wind_from_deg, wind_kt, x=0.92, y=0.6, reference="M", variation_deg=variation_deg))
    if variation_deg:
        said.append(f"variation {variation_words(variation_deg)}")
    ax.set_xlabel("NM east of the station")
    ax.set_ylabel("NM north of the station")
    draw_north(ax, variation_deg)
    labels.settle()
    if title:
        ax.set_title(title)
    caution(ax)
    tell(ax, "Plan view, north up: " + "; ".join(said) + ".")
    return ax


def _draw_lead(
    ax: Axes, labels: Labels, arc_nm: float, final_radial_deg: float, turn: str, gs_kt: float, variation_deg: float
) -> str:
    """Draw the final radial and the lead radial before it; the lead is for the ground speed on the arc there."""
    lead_deg = float(np.asarray(arc.lead_radial_deg(arc_nm=arc_nm, tas_kt=gs_kt, direction="inbound")))
    lead = float(np.asarray(arc.radial_before_deg(radial_deg=final_radial_deg, lead_deg=lead_deg, turn=turn)))
    x, y = xy_nm(final_radial_deg, np.array([1.08, 0.1]) * arc_nm, variation_deg)
    ax.plot(x, y, label="final", **LINES["course"] | {"linewidth": 2.6})
    x, y = xy_nm(lead, np.array([0.55, 1.1]) * arc_nm, variation_deg)
    ax.plot(x, y, label="lead radial", **LINES["warning"])
    x, y = xy_nm(lead, arc_nm * np.array([0.6, 0.7, 0.5]), variation_deg)
    labels.at(
        f"turn at {short_radial(lead)}",
        list(zip(x, y, strict=True)),
        shifts=[(12, 0), (-12, 0), (12, -12), (-12, -12)],
        fontsize=10,
        color=PALETTE["warning text"],
    )
    final, begun = spoken_radial(final_radial_deg), spoken_radial(lead)
    return f"final on {final}, turn begun at {begun}, {lead_deg:.0f} degrees before"


show_arc = shown(draw_arc)
