"""Plan view round one station: north up, equal scales, radials, courses, arcs, aircraft, track, wind."""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.quantity import Floats, within
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import HATCHES, LINES, PALETTE, axes_or_new, caution, figure_of, styled, tell
from needlework.showing.pictures.words import short_radial, spoken_radial
from needlework.trade.angles import three_digits

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes


Way = tuple[ArrayLike, ArrayLike]
"""Radials [deg magnetic] and distances [NM] along a path."""


@dataclasses.dataclass(frozen=True)
class Place:
    """An aircraft on a plan view.

    Parameters
    ----------
    radial_deg : float
        Radial it is on. [deg magnetic]
    dist_nm : float
        Ground distance from the station. [NM]
    heading_deg : float
        Where the nose points. [deg magnetic]
    name : str
        Letter or words beside it.
    """

    radial_deg: float
    dist_nm: float
    heading_deg: float
    name: str = ""


def xy_nm(radial_deg: ArrayLike, dist_nm: ArrayLike, variation_deg: float = 0.0) -> tuple[Floats, Floats]:
    """Turn radial and distance into NM east and north of the station on a flat, true-north-up drawing.

    Parameters
    ----------
    radial_deg, dist_nm : array_like
        Radials [deg magnetic] and ground distances [NM], broadcast against each other.
    variation_deg : float
        The station's declination, west negative. [deg]
    """
    angle = np.deg2rad(np.asarray(radial_deg, dtype=np.float64) + variation_deg)
    dist = np.asarray(dist_nm, dtype=np.float64)
    return dist * np.sin(angle), dist * np.cos(angle)


def variation_words(variation_deg: float) -> str:
    """Write a variation as a pilot reads it: ``"13° W"``."""
    return f"{abs(variation_deg):.3g}° {'W' if variation_deg < 0 else 'E'}"


def draw_north(ax: Axes, variation_deg: float, x: float = 0.93, y: float = 0.97) -> None:
    """Draw the north arrow and, if there is any, the variation; x and y in fractions of the axes."""
    arrow = {"arrowstyle": "-|>", "color": PALETTE["ink"], "linewidth": 1.6}
    ax.annotate("", (x, y), (x, y - 0.13), "axes fraction", "axes fraction", arrowprops=arrow)
    ax.text(x, y - 0.145, "N", transform=ax.transAxes, ha="center", va="top", fontweight="bold")
    words = f"true north up\nvariation {variation_words(variation_deg)}" if variation_deg else "magnetic\nnorth up"
    ax.text(x + 0.06, y - 0.205, words, transform=ax.transAxes, ha="right", va="top", fontsize=9.5)


def draw_wind(
    ax: Axes,
    from_deg: float,
    speed_kt: float,
    x: float = 0.09,
    y: float = 0.9,
    *,
    reference: str = "T",
    variation_deg: float = 0.0,
) -> str:
    """Draw an arrow that blows with the wind, with words; x and y in fractions of the axes; returns the words.

    ``reference`` is "M" where the direction is a magnetic one; ``variation_deg`` then turns it to the
    drawing's north, 0 where magnetic north is up.
    """
    from matplotlib.transforms import offset_copy

    angle = np.deg2rad(from_deg + variation_deg)
    words = (
        f"wind {three_digits(direction_deg=from_deg, reference=reference)} {speed_kt:.0f} kt"
        if speed_kt
        else "wind calm"
    )
    if speed_kt:
        # In points, so that the arrow keeps its direction whatever the shape of the axes.
        reach, figure = np.array([np.sin(angle), np.cos(angle)]) * 22.0, figure_of(ax)
        ax.annotate(
            "",
            (x, y),
            (x, y),
            xycoords=offset_copy(ax.transAxes, figure, -reach[0], -reach[1], "points"),
            textcoords=offset_copy(ax.transAxes, figure, reach[0], reach[1], "points"),
            arrowprops={
                "arrowstyle": "-|>,head_width=0.45,head_length=0.9",
                "color": PALETTE["warning"],
                "linewidth": 3,
            },
            annotation_clip=False,
        )
    right = x > 0.5
    ax.text(
        min(x + 0.07, 0.99) if right else max(x - 0.08, 0.01),
        y - 0.09,
        words,
        transform=ax.transAxes,
        ha="right" if right else "left",
        va="top",
        fontsize=10,
        color=PALETTE["warning text"],
    )
    return words


def draw_aircraft(ax: Axes, x: float, y: float, heading_deg_true: float, name: str = "", *, length: float) -> None:
    """Draw body, wing and tail in strokes, the nose on the heading, ``length`` NM long."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path
    from matplotlib.patheffects import withStroke

    angle = np.deg2rad(heading_deg_true)
    ahead, right = np.array([np.sin(angle), np.cos(angle)]), np.array([np.cos(angle), -np.sin(angle)])
    strokes = [(0.5, 0.0), (-0.5, 0.0), (0.12, -0.42), (0.12, 0.42), (-0.42, -0.18), (-0.42, 0.18)]
    points = [length * (along * ahead + aside * right) + [x, y] for along, aside in strokes]
    ax.add_patch(
        PathPatch(
            Path(np.array(points), [Path.MOVETO, Path.LINETO] * 3),
            facecolor="none",
            edgecolor=PALETTE["ink"],
            linewidth=2.2,
            capstyle="round",
            path_effects=[withStroke(linewidth=4.4, foreground=PALETTE["paper"])],
            zorder=6,
            label=f"aircraft {name}".strip(),
        )
    )


def draw_station(ax: Axes, *, size: float, x: float = 0.0, y: float = 0.0) -> None:
    """Draw a station as a ring with a dot, ``size`` NM across."""
    from matplotlib.patches import Circle

    ax.add_patch(
        Circle((x, y), size / 2, facecolor=PALETTE["paper"], edgecolor=PALETTE["ink"], linewidth=1.8, zorder=5)
    )
    ax.add_patch(Circle((x, y), size / 9, facecolor=PALETTE["ink"], zorder=5))


def _course_line(ax: Axes, course_deg: float, reach_nm: float, variation_deg: float) -> None:
    x, y = xy_nm(course_deg, np.array([-1.0, 1.0]) * reach_nm, variation_deg)
    ax.plot(x, y, label="selected course", **LINES["course"])
    angle = np.deg2rad(course_deg + variation_deg)
    ax.annotate(
        "",
        (float(x[1]), float(y[1])),
        (float(x[1] - 0.08 * reach_nm * np.sin(angle)), float(y[1] - 0.08 * reach_nm * np.cos(angle))),
        arrowprops={"arrowstyle": "-|>,head_width=0.4,head_length=0.8", "color": PALETTE["course"], "linewidth": 2},
    )


def _along_line(direction_deg_true: float) -> tuple[float, tuple[tuple[float, float], tuple[float, float]]]:
    """Rotation that lets words read along a line from left to right, and shifts to either side of it."""
    spin = (90.0 - direction_deg_true + 90.0) % 180.0 - 90.0
    across = np.array([-np.sin(np.deg2rad(spin)), np.cos(np.deg2rad(spin))]) * 11.0
    return spin, ((float(across[0]), float(across[1])), (float(-across[0]), float(-across[1])))


def _places(aircraft: Place | Sequence[typing.Any] | None) -> list[Place]:
    if aircraft is None:
        return []
    if isinstance(aircraft, Place):
        return [aircraft]
    if len(aircraft) and np.isscalar(aircraft[0]):
        return [Place(*aircraft)]
    return [one if isinstance(one, Place) else Place(*one) for one in aircraft]


def _where(radial_deg: float, dist_nm: float) -> str:
    return "over the station" if dist_nm == 0 else f"on {spoken_radial(radial_deg)} at {dist_nm:.3g} NM"


def _plan_words(
    station: str, radials: Sequence[float], course_deg: float | None, places: Sequence[Place], extra: Sequence[str]
) -> str:
    said = [f"Plan view, north up, of station {station}"]
    if radials:
        said.append("radials " + ", ".join(short_radial(radial)[1:] for radial in radials))
    if course_deg is not None:
        said.append(f"selected course {three_digits(direction_deg=course_deg)}")
    for place in places:
        where = _where(place.radial_deg, place.dist_nm)
        heading = three_digits(direction_deg=place.heading_deg)
        said.append(f"aircraft {place.name + ' ' if place.name else ''}{where}, heading {heading}")
    return "; ".join([*said, *extra]) + "."


@styled
def draw_plan(
    *,
    station: str = "OVK",
    radials: Sequence[float] = (),
    course_deg: float | None = None,
    aircraft: Place | Sequence[typing.Any] | None = None,
    track: Way | Mapping[str, Way] | None = None,
    arcs: Sequence[tuple[float, float, float]] = (),
    band_nm: float = 0.0,
    fixes: Mapping[str, tuple[float, float]] | None = None,
    wind: tuple[float, float] | None = None,
    cone_radius_nm: float | None = None,
    variation_deg: float = 0.0,
    reach_nm: float | None = None,
    title: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw the plan view round a station, north up, with equal scales.

    Parameters
    ----------
    station : str
        Ident to write beside the station.
    radials : sequence of float
        Radials to draw outwards. [deg magnetic]
    course_deg : float, optional
        Selected course: a line through the station with an arrow. [deg magnetic]
    aircraft : Place, tuple (radial_deg, dist_nm, heading_deg[, name]), or a sequence of them
        Aircraft as triangles.
    track : tuple (radials_deg, dists_nm), or mapping of name to such tuples, optional
        The path over the ground, oldest first, or several with a name at the end of each. [deg magnetic], [NM]
    arcs : sequence of tuples (dist_nm, from_radial_deg, to_radial_deg)
        DME arcs, always drawn clockwise from the first radial to the second; 0 to 360 gives the circle.
    band_nm : float
        How far to either side of each arc a band is drawn, the tolerance of a flight; 0 for none. [NM], 0 to 5.
    fixes : mapping of name to (radial_deg, dist_nm), optional
        Named places.
    wind : tuple (from_deg_true, speed_kt), optional
        Wind "from" and its speed; true, or magnetic on a drawing without variation (magnetic north up).
    cone_radius_nm : float, optional
        Radius of the cone of confusion at the height flown. [NM]
    variation_deg : float
        Declination of the station, west negative; 0 draws magnetic north up. [deg], -60 to 60.
    reach_nm : float, optional
        How far to draw from the station; default: what holds everything. [NM], 0.1 to 200.
    title : str
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        Axes in NM east and north of the station. Labelled lines: "radial 045", "selected course",
        "track" or "track <name>", "arc 10"; the cone is the patch "cone of confusion".
    """
    from matplotlib.patches import Circle

    within("variation_deg", variation_deg, -60.0, 60.0, "deg", "is west negative?")
    band = float(within("band_nm", band_nm, 0.0, 5.0, "NM"))
    places = _places(aircraft)
    tracks: Mapping[str, Way] = {} if track is None else track if isinstance(track, Mapping) else {"": track}
    fixes = dict(fixes or {})
    if reach_nm is None:
        far = [place.dist_nm for place in places] + [dist for _, dist in fixes.values()]
        far += [arc[0] + band for arc in arcs]
        far += [float(np.max(np.asarray(dists, dtype=np.float64))) for _, dists in tracks.values()]
        far += [2.5 * cone_radius_nm] if cone_radius_nm else []
        reach_nm = 1.15 * max(far) if far and max(far) > 0 else 5.0
    reach = float(within("reach_nm", reach_nm, 0.1, 200.0, "NM"))
    ax = axes_or_new(ax, 7.6, 5.8)
    ax.set(xlim=(-1.62 * reach, 1.62 * reach), ylim=(-1.22 * reach, 1.22 * reach), aspect="equal")
    ax.set_xlabel("NM east of the station")
    ax.set_ylabel("NM north of the station")
    extra = []

    labels = Labels(ax)
    labels.beside(station, 0, 0, gap=10, fontsize=11, fontweight="bold")
    if cone_radius_nm:
        ax.add_patch(
            Circle(
                (0, 0),
                cone_radius_nm,
                facecolor=PALETTE["cone"],
                edgecolor=PALETTE["warning"],
                linestyle="--",
                hatch=HATCHES["cone"],
                linewidth=1.4,
                label="cone of confusion",
            )
        )
        rim = [xy_nm(angle, cone_radius_nm, 0.0) for angle in (225, 135, 315, 45, 180, 0)]
        labels.at(
            "cone of confusion",
            [(float(x), float(y)) for x, y in rim],
            shifts=[(-16, -16), (16, -16), (-16, 16), (16, 16)],
            fontsize=9.5,
            color=PALETTE["warning text"],
            arrowprops={"arrowstyle": "-", "color": PALETTE["warning"], "linewidth": 1},
        )
        extra.append(f"cone of confusion {cone_radius_nm:.2f} NM in radius")
    for radial in radials:
        x, y = xy_nm(radial, np.array([0.0, reach]), variation_deg)
        ax.plot(
            x, y, label=f"radial {three_digits(direction_deg=radial, reference='').rstrip('°')}", **LINES["radial"]
        )
        aside, out = (
            np.array([0, -3, 3, -5, 5, -8, 8, 0, -12, 12, -4, 4]),
            np.array([1.08] * 7 + [1.16] + [1.08] * 2 + [1.16] * 2),
        )
        x, y = xy_nm(radial + aside, out * reach, variation_deg)
        labels.at(
            short_radial(radial),
            list(zip(x, y, strict=True)),
            fontsize=9.5,
            color=PALETTE["radial text"],
        )
    for dist, start, end in arcs:
        sweep = (end - start) % 360 or 360
        along = start + np.linspace(0, sweep, max(12, int(sweep)))
        if band:
            rim = [xy_nm(along[::way], dist + way * band, variation_deg) for way in (1, -1)]
            ax.fill(
                *(np.concatenate(both) for both in zip(*rim, strict=True)),
                facecolor=PALETTE["band"], edgecolor=PALETTE["course"], ls=":", linewidth=0.8, zorder=0.4,
                label=f"band {band:g}",
            )  # fmt: skip
            extra.append(f"a band of {band:g} NM to either side of the arc")
        x, y = xy_nm(along, dist, variation_deg)
        ax.plot(x, y, label=f"arc {dist:g}", **LINES["secondary"] | {"linewidth": 1.6})
        x, y = xy_nm(start + sweep * np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]), dist * 1.06, variation_deg)
        labels.at(f"{dist:g} NM", list(zip(x, y, strict=True)), fontsize=9.5, color=PALETTE["secondary"])
        extra.append(f"{dist:g} NM arc from {spoken_radial(start)} clockwise to {spoken_radial(end)}")
    if course_deg is not None:
        _course_line(ax, course_deg, reach, variation_deg)
        spin, sides = _along_line(course_deg + variation_deg)
        x, y = xy_nm(course_deg, reach * np.array([0.62, -0.62, 0.4, -0.4, 0.8, -0.8]), variation_deg)
        labels.at(
            f"course {three_digits(direction_deg=course_deg)}",
            list(zip(x, y, strict=True)),
            shifts=sides,
            rotation=spin,
            fontsize=10,
            color=PALETTE["course text"],
        )
    for name, (radial, dist) in fixes.items():
        x, y = xy_nm(radial, dist, variation_deg)
        ax.plot(
            float(x), float(y), marker="^", color=PALETTE["ink"], markerfacecolor="white", markersize=9, linestyle=""
        )
        labels.beside(name, float(x), float(y), fontsize=10)
        extra.append(f"{name} on {spoken_radial(radial)} at {dist:g} NM")
    for name, (along_radials, along_dists) in tracks.items():
        x, y = xy_nm(along_radials, along_dists, variation_deg)
        ax.plot(x, y, label=f"track {name}".strip(), **LINES["track"])
        if name:
            ax.plot(x[-1], y[-1], marker="o", markersize=6, color=PALETTE["ink"], label="_end")
            labels.beside(name, float(x[-1]), float(y[-1]), gap=10, fontsize=13, fontweight="bold")
            extra.append(
                f"track {name} ends {_where(float(np.ravel(along_radials)[-1]), float(np.ravel(along_dists)[-1]))}"
            )
    draw_station(ax, size=0.055 * reach)
    for place in places:
        x, y = xy_nm(place.radial_deg, place.dist_nm, variation_deg)
        heading_deg_true = place.heading_deg + variation_deg
        draw_aircraft(ax, float(x), float(y), heading_deg_true, place.name, length=0.15 * reach)
        if place.name:
            labels.beside(place.name, float(x), float(y), gap=13, fontsize=13, fontweight="bold")
    draw_north(ax, variation_deg)
    if wind is not None:
        extra.append(draw_wind(ax, *wind, reference="T" if variation_deg else "M"))
    if variation_deg:
        extra.append(f"variation {variation_words(variation_deg)}")
    if title:
        ax.set_title(title)
    labels.settle()
    caution(ax)
    tell(ax, _plan_words(station, radials, course_deg, places, extra))
    return ax


show_plan = shown(draw_plan)
