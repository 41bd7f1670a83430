"""A holding pattern with its entry sectors."""

from __future__ import annotations

import typing

import numpy as np

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import within
from needlework.showing.pictures.labels import Labels
from needlework.showing.pictures.paths import Path, hold_leg_nm, hold_path, straight, turning
from needlework.showing.pictures.plan_view import draw_aircraft, draw_north, draw_wind, variation_words
from needlework.showing.pictures.procedures import frame
from needlework.showing.pictures.show import shown
from needlework.showing.pictures.style import LINES, PALETTE, axes_or_new, caution, styled, tell
from needlework.trade.angles import reciprocal, three_digits
from needlework.trade.holding import SECTORS_DEG, TEARDROP_DEG, Lap
from needlework.trade.turns import turn_radius_nm

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

    from needlework.world.procedure import Procedure

_FILLS = {"teardrop": ("#E3EFF7", "...."), "parallel": ("#FBE5D6", "////"), "direct": ("#E8F4EF", "")}


@styled
def draw_hold(
    inbound_course_deg: float,
    side: str = "right",
    *,
    fix: str = "",
    leg_nm: float = 3.0,
    gs_kt: float = 90.0,
    sectors: bool = True,
    heading_deg: float | None = None,
    outbound_heading_deg: float | None = None,
    lap: Lap | None = None,
    wind: tuple[float, float] | None = None,
    variation_deg: float = 0.0,
    title: str = "",
    ax: Axes | None = None,
) -> Axes:
    """Draw a holding pattern from above, with the three entry sectors round the fix.

    Parameters
    ----------
    inbound_course_deg : float
        Course to the fix. [deg magnetic]
    side : {"left", "right"}
        Side of the turns.
    fix : str
        Name of the fix.
    leg_nm : float
        Length of the straight legs. [NM], 0.5 to 20.
    gs_kt : float
        Speed for the radius of the turns. [kt]
    sectors : bool
        False leaves the sectors out, for a question that asks for the entry.
    heading_deg : float, optional
        Heading on which an aircraft arrives at the fix. [deg magnetic]
    outbound_heading_deg : float, optional
        Heading flown outbound, with drift corrected; written beside the outbound leg. [deg magnetic]
    lap : needlework.trade.holding.Lap, optional
        A lap as flown in wind, see :func:`needlework.trade.holding.lap`, drawn over the pattern.
    wind : tuple (from_deg, speed_kt), optional
        Wind, by the same reference as the courses. [deg magnetic], [kt]
    variation_deg : float
        Declination, west negative; 0 draws magnetic north up. [deg]
    title : str
        Words above.
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        NM east and north of the fix; lines "hold", "lap", patches "sector direct", "sector parallel"
        and "sector teardrop".
    """
    from matplotlib.patches import Wedge

    if side not in ("left", "right"):
        raise OutOfRange(f"side = {side!r} is not a side to turn: expected 'left' or 'right'")
    leg = float(within("leg_nm", leg_nm, 0.5, 20.0, "NM", "is this in minutes?"))
    radius = float(np.asarray(turn_radius_nm(tas_kt=gs_kt)))
    inbound = inbound_course_deg + variation_deg
    outbound_deg = float(np.asarray(reciprocal(inbound_course_deg)))
    pattern = hold_path((0.0, 0.0), inbound, side, leg, radius)
    # A lap is reckoned along the reference of its courses: turn it to the drawing's north.
    spin = np.deg2rad(variation_deg)
    east, north = (np.zeros(1), np.zeros(1)) if lap is None else (lap.east_nm, lap.north_nm)
    flown = Path(east * np.cos(spin) + north * np.sin(spin), north * np.cos(spin) - east * np.sin(spin))
    drawn = pattern.then(flown)
    reach = 1.18 * float(np.max(np.hypot(drawn.x, drawn.y)))
    ax = axes_or_new(ax, 7.4, 6.2)
    if sectors or heading_deg is not None:
        ax.set(xlim=(-1.3 * reach, 1.5 * reach), ylim=(-1.15 * reach, 1.15 * reach), aspect="equal")
    else:
        frame(ax, [drawn])
    labels = Labels(ax)
    said = []

    if sectors:
        sign = 1.0 if side == "right" else -1.0
        for name, seen_deg in SECTORS_DEG.items():
            # Seen is the outbound course from the heading, so the heading lies as far the other way.
            # Whoever flies a heading comes from the opposite bearing.
            edges = sorted(outbound_deg + 180.0 + variation_deg - sign * edge for edge in seen_deg)
            colour, hatch = _FILLS[name]
            ax.add_patch(
                Wedge(
                    (0.0, 0.0),
                    0.98 * reach,
                    90.0 - edges[1],
                    90.0 - edges[0],
                    facecolor=colour,
                    edgecolor="#BDBDBD",
                    hatch=hatch,
                    linewidth=1,
                    label=f"sector {name}",
                    zorder=0.3,
                )
            )
            middle = np.deg2rad(0.5 * (edges[0] + edges[1]))
            turned = np.deg2rad(12.0)
            labels.at(
                f"{name}\nfrom here",
                [
                    (float(share * reach * np.sin(middle + swing)), float(share * reach * np.cos(middle + swing)))
                    for share in (0.72, 0.85, 0.55)
                    for swing in (0.0, turned, -turned, 3 * turned, -3 * turned)
                ],
                fontsize=10.5,
                color=PALETTE["secondary"],
            )
            headings = (three_digits(direction_deg=edge - variation_deg + 180.0) for edge in edges)
            said.append(f"{name} entry with headings {' to '.join(headings)}")

    ax.plot(pattern.x, pattern.y, label="hold", **LINES["course"] | {"linewidth": 2.6})
    for share in (0.36, 0.9):
        tail, head = pattern.at(share - 0.02), pattern.at(share)
        arrow = {"arrowstyle": "-|>,head_width=0.4,head_length=0.8", "color": PALETTE["course"], "linewidth": 0}
        ax.annotate("", head, tail, arrowprops=arrow)
    if lap is not None:
        ax.plot(flown.x, flown.y, label="lap", **LINES["track"])
        side_of = (
            "on"
            if abs(lap.off_nm) < 0.005
            else f"{abs(lap.off_nm):.2f} NM {'right' if lap.off_nm > 0 else 'left'} of"
        )
        said.append(f"lap flown: inbound turn ended {side_of} the inbound course, {lap.inbound_s:.0f} s inbound")
    if wind is not None:
        said.append(draw_wind(ax, *wind, x=0.92, y=0.6, reference="M", variation_deg=variation_deg))
    ax.plot(
        0,
        0,
        marker="^",
        color=PALETTE["ink"],
        markerfacecolor="white",
        markersize=11,
        linestyle="",
        label="fix",
        zorder=6,
    )
    if fix:
        labels.beside(fix, 0.0, 0.0, gap=11, fontsize=11, fontweight="bold")
    drift = "" if outbound_heading_deg is None else f", heading {three_digits(direction_deg=outbound_heading_deg)}"
    words = (
        f"inbound {three_digits(direction_deg=inbound_course_deg)}",
        f"outbound {three_digits(direction_deg=outbound_deg)}{drift}",
    )
    _leg_words(labels, inbound, 2.0 * radius * (1 if side == "right" else -1), leg, words)
    if heading_deg is not None:
        angle = np.deg2rad(heading_deg + variation_deg)
        place = (float(-0.7 * reach * np.sin(angle)), float(-0.7 * reach * np.cos(angle)))
        ax.plot([place[0], 0.0], [place[1], 0.0], label="arrival", **LINES["track"] | {"linestyle": (0, (2, 2))})
        draw_aircraft(ax, *place, heading_deg + variation_deg, length=0.16 * reach)
        labels.beside(
            f"heading {three_digits(direction_deg=heading_deg)}", *place, gap=15, fontsize=10.5, fontweight="bold"
        )
        said.append(f"aircraft arriving on heading {three_digits(direction_deg=heading_deg)}")
    ax.set_xlabel(f"NM east of {fix or 'the fix'}")
    ax.set_ylabel(f"NM north of {fix or 'the fix'}")
    draw_north(ax, variation_deg)
    labels.settle()
    if title:
        ax.set_title(title)
    if variation_deg:
        said.append(f"variation {variation_words(variation_deg)}")
    caution(ax)
    inward = three_digits(direction_deg=inbound_course_deg)
    first = f"Hold{' at ' + fix if fix else ''} from above: inbound {inward}, {side} turns"
    if outbound_heading_deg is not None:
        said.insert(0, f"outbound heading {three_digits(direction_deg=outbound_heading_deg)}")
    tell(ax, "; ".join([first, f"straight legs of {leg:g} NM", *said]) + ".")
    return ax


def _leg_words(
    labels: Labels, inbound_deg_true: float, across_nm: float, leg_nm: float, words: tuple[str, str]
) -> None:
    """Write on the inbound and the outbound leg, outside of the pattern; ``across_nm`` is right positive."""
    angle = np.deg2rad(inbound_deg_true)
    back, right = np.array([-np.sin(angle), -np.cos(angle)]), np.array([np.cos(angle), -np.sin(angle)])
    spin = (90.0 - inbound_deg_true + 90.0) % 180.0 - 90.0
    outside = 12.0 * np.sign(across_nm) * right
    for text, beside_nm, shift in ((words[0], 0.0, -outside), (words[1], across_nm, outside)):
        along = [share * leg_nm * back + beside_nm * right for share in (0.5, 0.6, 0.7, 0.4, 0.8)]
        shifts = [(float(share * shift[0]), float(share * shift[1])) for share in (1.0, 1.3, -1.0, 2.2, 3.5, 5.0)]
        labels.at(
            text,
            [(float(x), float(y)) for x, y in along],
            shifts=shifts,
            rotation=spin,
            fontsize=10.5,
            color=PALETTE["course text"],
        )


@styled
def draw_procedure_hold(
    procedure: Procedure,
    *,
    heading_deg: float | None = None,
    sectors: bool = True,
    gs_kt: float = 90.0,
    ax: Axes | None = None,
) -> Axes:
    """Draw the hold of a procedure's missed approach, as :func:`draw_hold`.

    Parameters
    ----------
    procedure : Procedure
        What :func:`needlework.world.procedure.load` returned.
    heading_deg : float, optional
        Heading on which an aircraft arrives at the fix. [deg magnetic]
    sectors : bool
        False leaves the entry sectors out.
    gs_kt : float
        Ground speed, for turns and for legs flown by time. [kt]
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        As :func:`draw_hold` returns them.
    """
    hold = procedure.hold
    measure = (
        f"{hold.leg_dme_nm:g} NM legs by DME" if hold.leg_dme_nm is not None else f"legs of {hold.leg_min:g} min"
    )
    return draw_hold(
        hold.inbound_course_deg,
        hold.turn,
        fix=hold.fix,
        leg_nm=hold_leg_nm(procedure, gs_kt),
        gs_kt=gs_kt,
        sectors=sectors,
        heading_deg=heading_deg,
        variation_deg=procedure.station.declination_deg,
        title=f"Hold at {hold.fix}, {hold.altitude_ft:,.0f} ft, {measure}",
        ax=ax,
    )


_ARRIVING_NM = 1.2
_ARRIVES_DEG = {"direct": 180.0, "parallel": -45.0, "teardrop": 35.0}
"""Where the outbound course lies, seen from the heading an entry is drawn for; positive to the side of the turns."""
_BACK_DEG = 30.0  # angle at which a parallel entry comes back to the course


def entry_path(name: str, inbound_deg: float, side: str, leg_nm: float, radius_nm: float) -> Path:
    """Line of an entry into a hold, from before the fix until the fix is met inbound; still air, the fix at 0, 0.

    Parameters
    ----------
    name : {"direct", "parallel", "teardrop"}
        The entry.
    inbound_deg : float
        Course to the fix, in the drawing's reference. [deg]
    side : {"left", "right"}
        Side of the turns of the hold.
    leg_nm : float
        Length of the outbound leg; of a teardrop it follows from the turn. [NM]
    radius_nm : float
        Radius of the turns. [NM]

    Returns
    -------
    Path
        In flying order.
    """
    hand, other = (1.0, "left") if side == "right" else (-1.0, "right")
    outbound = inbound_deg + 180.0
    heading = outbound - hand * _ARRIVES_DEG[name]
    angle = np.deg2rad(heading)
    path = straight(
        (-_ARRIVING_NM * float(np.sin(angle)), -_ARRIVING_NM * float(np.cos(angle))), heading, _ARRIVING_NM
    )
    if name == "direct":
        return path.then(hold_path((0.0, 0.0), inbound_deg, side, leg_nm, radius_nm))
    right = np.array([np.cos(np.deg2rad(inbound_deg)), -np.sin(np.deg2rad(inbound_deg))])

    def off_nm() -> float:
        """Distance on the hold's side of the inbound course."""
        return float(hand * (np.asarray(path.end) @ right))

    if name == "teardrop":
        lean = float(TEARDROP_DEG)
        path = path.then(turning(path.end, heading, _ARRIVES_DEG[name] - lean, side, radius_nm))
        back_nm = radius_nm * (1.0 + np.cos(np.deg2rad(lean)))
        out_nm = (back_nm - off_nm()) / np.sin(np.deg2rad(lean))
        path = path.then(straight(path.end, outbound - hand * lean, float(out_nm)))
        path = path.then(turning(path.end, outbound - hand * lean, 180.0 + lean, side, radius_nm))
    else:
        path = path.then(turning(path.end, heading, -_ARRIVES_DEG[name], other, radius_nm))
        path = path.then(straight(path.end, outbound, leg_nm))
        path = path.then(turning(path.end, outbound, 180.0 + _BACK_DEG, other, radius_nm))
        last_nm = radius_nm * (1.0 - np.cos(np.deg2rad(_BACK_DEG)))
        path = path.then(
            straight(
                path.end, inbound_deg - hand * _BACK_DEG, float((off_nm() - last_nm) / np.sin(np.deg2rad(_BACK_DEG)))
            )
        )
        path = path.then(turning(path.end, inbound_deg - hand * _BACK_DEG, _BACK_DEG, side, radius_nm))
    return Path(np.append(path.x, 0.0), np.append(path.y, 0.0))


@styled
def draw_entries(
    inbound_course_deg: float,
    side: str = "right",
    *,
    leg_nm: float = 2.0,
    gs_kt: float = 90.0,
    ax: Axes | None = None,
) -> Axes:
    """Draw the three entries into a hold side by side, as flown in still air, magnetic north up.

    Parameters
    ----------
    inbound_course_deg : float
        Course to the fix. [deg magnetic]
    side : {"left", "right"}
        Side of the turns.
    leg_nm : float
        Length of the straight legs. [NM], 1 to 20.
    gs_kt : float
        Speed for the radius of the turns. [kt]
    ax : Axes, optional
        Where to draw; default is a new figure.

    Returns
    -------
    Axes
        NM, a hold every few miles; lines "hold" and "direct", "parallel", "teardrop".
    """
    if side not in ("left", "right"):
        raise OutOfRange(f"side = {side!r} is not a side to turn: expected 'left' or 'right'")
    leg = float(within("leg_nm", leg_nm, 1.0, 20.0, "NM", "is this in minutes?"))
    radius = float(np.asarray(turn_radius_nm(tas_kt=gs_kt)))
    pattern = hold_path((0.0, 0.0), inbound_course_deg, side, leg, radius)
    ways = {name: entry_path(name, inbound_course_deg, side, leg, radius) for name in _ARRIVES_DEG}
    all_of = [pattern, *ways.values()]
    left, right = (min(float(each.x.min()) for each in all_of), max(float(each.x.max()) for each in all_of))
    low, high = (min(float(each.y.min()) for each in all_of), max(float(each.y.max()) for each in all_of))
    apart, middle = max(1.2 * (right - left), 2.6), 0.5 * (left + right)
    ax = axes_or_new(ax, 9.6, 4.6)
    said = []
    for number, (name, way) in enumerate(ways.items()):
        beside = number * apart
        shifted = Path(way.x + beside, way.y)
        ax.plot(pattern.x + beside, pattern.y, label="hold" if not number else "_hold", **LINES["course"])
        ax.plot(shifted.x, shifted.y, label=name, **LINES["track"])
        arrow = {"arrowstyle": "-|>,head_width=0.35,head_length=0.7", "color": PALETTE["track"], "linewidth": 0}
        for share in (0.1, 0.45, 0.68, 0.9):
            ax.annotate("", shifted.at(share), shifted.at(share - 0.015), arrowprops=arrow)
        ax.plot(beside, 0, marker="^", color=PALETTE["ink"], markerfacecolor="white", markersize=10, zorder=6)
        arriving = inbound_course_deg + 180.0 - (1 if side == "right" else -1) * _ARRIVES_DEG[name]
        heading = three_digits(direction_deg=arriving)
        words = f"{name}\nfrom heading {heading}"
        ax.text(beside + middle, low - 0.3, words, ha="center", va="top", fontsize=10.5)
        said.append(f"{name} from heading {heading}")
    ax.set(
        xlim=(middle - 0.6 * apart, middle + 3.0 * apart),
        ylim=(low - 1.3, high + 0.3),
        aspect="equal",
        xticks=[],
        yticks=[],
    )
    draw_north(ax, 0.0)
    caution(ax)
    inward = three_digits(direction_deg=inbound_course_deg)
    ax.set_title(f"The three entries: inbound {inward}, {side} turns, no wind")
    tell(ax, f"Three entries into a hold, inbound {inward}, {side} turns: {'; '.join(said)}.")
    return ax


show_entries = shown(draw_entries)
show_hold = shown(draw_hold)
show_procedure_hold = shown(draw_procedure_hold)
