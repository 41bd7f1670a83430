"""What if: a final flown down to minimums, in a wind that changes with height, begun late, on a cold day."""

from __future__ import annotations

import functools
import typing
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.quantity import Floats
from needlework.showing.faces import Digits, Profile, ProfileLine
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.geometry import number
from needlework.showing.what_ifs.knobs import choice, slider
from needlework.showing.what_ifs.whatif import Shown, WhatIf
from needlework.trade import descent as rules
from needlework.world import procedure
from needlework.world.procedure import Procedure

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_LEVEL_NM = 1.0
_MOST_TIMES, _STEEPEST_FT_NM = 1.5, 450.0  # the planned gradient, and any, for a late start. Source: common practice.
_STEP_S = 1.0
_HIGH_FT, _LOW_FT = 2000.0, 0.0
_TOP_FT = 2200.0
_PLANNED, _NEEDED = "as planned", "what the late start needs"
_LOCAL, _REMOTE = "this field's", "another field's"


@dataclass(frozen=True)
class DescentKnobs:
    """What can be moved.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    high_kt, low_kt : float
        Headwind at 2,000 ft and at the ground, tailwind negative. [kt]
    late_nm : float
        How far past the final fix the descent is begun. [NM]
    rate : str
        Whether the rate planned at the final fix is flown, or the one a late start needs.
    step_ft : float
        Step-down altitude at PARDO. [ft]
    temperature_c : float
        Temperature at the field. [C]
    setting : str
        Whose altimeter setting is used.
    time_s : float
        Time from the final fix, before it negative. [s]
    """

    tas_kt: float = slider("True airspeed", "kt", 90, low=70, high=140, step=1)
    high_kt: float = slider("Headwind at 2,000 ft (tail −)", "kt", 10, low=-30, high=40, step=1)
    low_kt: float = slider("Headwind at ground (tail −)", "kt", 10, low=-30, high=40, step=1)
    late_nm: float = slider("Descent begun late by", "NM", 0.0, low=0.0, high=3.0, step=0.1)
    rate: str = choice("Rate of descent", (_PLANNED, _NEEDED))
    step_ft: float = slider("Step-down altitude at PARDO", "ft", 780, low=600, high=1300, step=10)
    temperature_c: float = slider("Temperature at the field", "°C", 15, low=-30, high=30, step=1)
    setting: str = choice("Altimeter setting", (_LOCAL, _REMOTE))
    time_s: float = slider("Time from the final fix", "s", 60, low=-20, high=260, step=1, play=10)


@dataclass(frozen=True, eq=False)
class DescentFlight:
    """The whole final: distances past the final fix, altitudes, and what is asked of it.

    Parameters
    ----------
    time_s, dist_nm, alt_ft, gs_kt : numpy.ndarray
        Time from the final fix, distance past it, altitude and speed over the ground. [s], [NM], [ft], [kt]
    fpm, planned_fpm, needed_fpm : float
        Rate of descent flown, the one planned, and the one that reaches minimums by the VDP. [ft/min]
    mda_ft, step_ft, fix_ft, crossing_ft : float
        Today's MDA, altitude at PARDO and at the final fix; where the line crosses the threshold. [ft]
    step_nm, vdp_nm, map_nm, end_nm : float
        PARDO, the VDP, the MAP and the end of the line, past the final fix. [NM]
    gradient_ft_nm : float
        Of the line. [ft/NM]
    """

    time_s: Floats
    dist_nm: Floats
    alt_ft: Floats
    gs_kt: Floats
    fpm: float
    planned_fpm: float
    needed_fpm: float
    mda_ft: float
    step_ft: float
    fix_ft: float
    crossing_ft: float
    step_nm: float
    vdp_nm: float
    map_nm: float
    end_nm: float
    gradient_ft_nm: float

    def altitude_ft(self, dist_nm: float) -> float:
        """Altitude flown at a place past the final fix. [ft]"""
        return float(np.interp(dist_nm, self.dist_nm, self.alt_ft))

    def line_ft(self, dist_nm: float) -> float:
        """Altitude of the line at a place past the final fix. [ft]"""
        to_go_nm = np.clip(self.end_nm - np.asarray(dist_nm), 0.0, self.end_nm)
        return number(rules.line_ft(to_go_nm=to_go_nm, end_ft=self.crossing_ft, gradient_ft_nm=self.gradient_ft_nm))


@dataclass(frozen=True, eq=False)
class DescentScene:
    """One moment of a final.

    Parameters
    ----------
    knobs : DescentKnobs
        What led to it.
    flight : DescentFlight
        The whole of it.
    dist_nm : float
        Distance past the final fix, before it negative. [NM]
    alt_ft : float
        Altitude. [ft]
    gs_kt : float
        Speed over the ground. [kt]
    above_line_ft : float
        Height above the line, below it negative. [ft]
    level_at_minimums : bool
        True past PARDO at the MDA.
    too_low : bool
        True below the altitude that holds here.
    """

    knobs: DescentKnobs
    flight: DescentFlight
    dist_nm: float
    alt_ft: float
    gs_kt: float
    above_line_ft: float
    level_at_minimums: bool
    too_low: bool


@functools.cache
def _way() -> Procedure:
    return procedure.load("saltmarsh")


def _flown(knobs: DescentKnobs) -> DescentFlight:
    way, tas_kt = _way(), knobs.tas_kt
    field_ft = way.airport.elevation_ft
    remote_ft = way.minimums.remote_setting_add_ft if knobs.setting == _REMOTE else 0.0
    cold_c = min(knobs.temperature_c, 0.0) if knobs.temperature_c <= 0 else None
    mda = number(
        rules.mda_today_ft(mda_ft=way.mda_ft(), elevation_ft=field_ft, temperature_c=cold_c, remote_ft=remote_ft)
    )
    step, fix_ft, crossing = knobs.step_ft, way.final_fix_ft, way.crossing_ft
    if cold_c is not None:
        # On the final every floor takes the correction of the MDA; the final fix has its own.
        cold = {"temperature_c": cold_c, "elevation_ft": field_ft}
        step = number(rules.cold_altitude_ft(alt_ft=step, reference_ft=way.mda_ft() + remote_ft, **cold))
        fix_ft = number(rules.cold_altitude_ft(alt_ft=fix_ft, **cold))

    def headwind_kt(alt_ft: ArrayLike) -> Any:
        return rules.headwind_at_kt(
            alt_ft=alt_ft, low_ft=_LOW_FT, low_kt=knobs.low_kt, high_ft=_HIGH_FT, high_kt=knobs.high_kt
        )

    end = way.fix_to_go_nm(way.final_fix)
    gradient = (fix_ft - crossing) / end
    vdp = end - way.vdp_to_go_nm(mda)
    at_fix_kt = tas_kt - number(headwind_kt(fix_ft))
    late = number(rules.late_gradient_ft_nm(lose_ft=fix_ft - mda, dist_nm=vdp, late_nm=knobs.late_nm))
    planned = number(rules.vs_fpm(gradient_ft_nm=gradient, gs_kt=at_fix_kt))
    needed = number(rules.vs_fpm(gradient_ft_nm=late, gs_kt=at_fix_kt))
    fpm = planned if knobs.rate == _PLANNED else needed
    # Level before the fix and until the late start, then down at one rate, then level at minimums.
    begin_s = (knobs.late_nm + _LEVEL_NM) / at_fix_kt * 3600.0
    slowest_kt = max(tas_kt - max(knobs.high_kt, knobs.low_kt), 30.0)
    time = np.arange(0.0, begin_s + (end + 1.0) / slowest_kt * 3600.0, _STEP_S)
    alt = np.maximum(fix_ft - fpm * np.maximum(time - begin_s, 0.0) / 60.0, mda)
    gs = tas_kt - np.asarray(headwind_kt(alt))
    dist = -_LEVEL_NM + np.concatenate([[0.0], np.cumsum(0.5 * (gs[1:] + gs[:-1]) * _STEP_S / 3600.0)])
    keep = dist <= end
    start_s = float(np.interp(0.0, dist, time))
    return DescentFlight(
        time_s=time[keep] - start_s,
        dist_nm=dist[keep],
        alt_ft=alt[keep],
        gs_kt=gs[keep],
        fpm=fpm,
        planned_fpm=planned,
        needed_fpm=needed,
        mda_ft=mda,
        step_ft=step,
        fix_ft=fix_ft,
        crossing_ft=crossing,
        step_nm=end - way.fix_to_go_nm("PARDO"),
        vdp_nm=vdp,
        map_nm=end - way.fix_to_go_nm("MAP"),
        end_nm=end,
        gradient_ft_nm=gradient,
    )


def scene(knobs: DescentKnobs) -> DescentScene:
    """Fly the final and stop at a moment.

    Parameters
    ----------
    knobs : DescentKnobs
        How and when.

    Returns
    -------
    DescentScene
        The moment asked for, with the whole of it.

    Raises
    ------
    OutOfRange, NoSolution
        If it cannot be flown so.
    """
    flight = _flown(knobs)
    moment = float(np.clip(knobs.time_s, flight.time_s[0], flight.time_s[-1]))
    dist, alt, gs = (
        float(np.interp(moment, flight.time_s, v)) for v in (flight.dist_nm, flight.alt_ft, flight.gs_kt)
    )
    floor_ft = flight.fix_ft if dist < 0 else flight.step_ft
    return DescentScene(
        knobs=knobs,
        flight=flight,
        dist_nm=dist,
        alt_ft=alt,
        gs_kt=gs,
        above_line_ft=alt - flight.line_ft(dist),
        level_at_minimums=alt <= flight.mda_ft + 1.0 and dist > flight.step_nm,
        too_low=dist < flight.step_nm and alt < floor_ft - 1,
    )


def _beyond(flight: DescentFlight) -> str:
    """Say which limit of a late start is passed; the smallest one counts."""
    if flight.needed_fpm > rules.LOW_LIMIT_FPM:
        return ": more than 1,000, too much near the ground"
    times = flight.needed_fpm / flight.planned_fpm
    if times > _MOST_TIMES:
        return f": more than one and a half times the {flight.planned_fpm:.0f} planned, so go around"
    if times * flight.gradient_ft_nm > _STEEPEST_FT_NM:
        return f": steeper than {_STEEPEST_FT_NM:.0f} ft a mile, so go around"
    return ""


def _words(now: DescentScene) -> str:
    flight, way, late_nm = now.flight, _way(), now.knobs.late_nm
    where = f"{abs(now.dist_nm):.1f} NM {'before' if now.dist_nm < 0 else 'past'} {way.final_fix}"
    off = now.above_line_ft
    line = "on the line" if abs(off) < 15 else f"{abs(off):.0f} ft {'above' if off > 0 else 'below'} the line"
    if now.level_at_minimums:
        line = "level at minimums"
    said = [f"{where}, {now.alt_ft:,.0f} ft, {line}; ground speed {now.gs_kt:.0f} kt, {flight.fpm:.0f} ft/min"]
    if late_nm > 0:
        needs = f"it needs {flight.needed_fpm:.0f} ft/min to be at minimums by the VDP"
        said.append(f"begun {late_nm:.1f} NM late {needs}{_beyond(flight)}")
    at_step = flight.altitude_ft(flight.step_nm)
    if at_step < flight.step_ft - 0.5:
        said.append(f"PARDO is crossed {flight.step_ft - at_step:.0f} ft below its {flight.step_ft:,.0f} ft")
    else:
        said.append(f"PARDO is crossed {at_step - flight.step_ft:.0f} ft above its {flight.step_ft:,.0f} ft")
    at_vdp = flight.altitude_ft(flight.vdp_nm)
    if at_vdp <= flight.mda_ft + 1:
        reached = float(flight.dist_nm[np.argmax(flight.alt_ft <= flight.mda_ft)])
        where = "at" if flight.vdp_nm - reached < 0.1 else "before"
        said.append(f"minimums, {flight.mda_ft:,.0f} ft, are reached {where} the VDP, {flight.vdp_nm:.1f} DME")
    else:
        still = f"still {at_vdp - flight.mda_ft:.0f} ft above {flight.mda_ft:,.0f} ft"
        said.append(f"at the VDP, {flight.vdp_nm:.1f} DME, it is {still}")
    return "; ".join(said) + "."


def _floors(flight: DescentFlight) -> tuple[tuple[float, float, float], ...]:
    """Stretches of the final with the altitude that holds there: from, to, altitude. [NM], [NM], [ft]"""
    return (-_LEVEL_NM, 0.0, flight.fix_ft), (0.0, flight.step_nm, flight.step_ft)


def _marks(flight: DescentFlight) -> tuple[tuple[float, str], ...]:
    return (0.0, _way().final_fix), (flight.step_nm, "PARDO"), (flight.vdp_nm, "VDP"), (flight.map_nm, "MAP")


def _shown(now: DescentScene) -> Shown:
    flight, words = now.flight, _words(now)
    done = flight.time_s <= now.knobs.time_s
    track_nm = np.append(flight.dist_nm[done][::4], now.dist_nm)
    track_ft = np.append(flight.alt_ft[done][::4], now.alt_ft)
    profile = Profile(
        -_LEVEL_NM,
        flight.end_nm + 0.1,
        0.0,
        _TOP_FT,
        words,
        floors=_floors(flight),
        minimum_ft=flight.mda_ft,
        minimum_left_nm=flight.step_nm,
        minimum_label=f"MDA {flight.mda_ft:,.0f}",
        marks=_marks(flight),
        lines=(
            ProfileLine(
                "planned",
                np.array([-_LEVEL_NM, 0.0, flight.end_nm]),
                [flight.fix_ft, flight.fix_ft, flight.crossing_ft],
            ),
            ProfileLine("ahead", flight.dist_nm[::4], flight.alt_ft[::4]),
            ProfileLine("track", track_nm, track_ft),
        ),
        aircraft_dist_nm=now.dist_nm,
        aircraft_alt_ft=now.alt_ft,
        altitude_ticks_ft=(500, 1000, 1500, 2000),
        distance_ticks=tuple((float(n), f"{n} DME") for n in range(6)),
        axis="",
    )
    return Shown(
        {
            "profile": profile,
            "dme": dme_window(abs(now.dist_nm)),
            "altitude": Digits("altitude", "ft", now.alt_ft, warn=now.too_low),
            "rate": Digits("rate", "ft/min", flight.fpm, warn=flight.fpm > rules.LOW_LIMIT_FPM),
            "speed": Digits("ground speed", "kt", now.gs_kt),
        },
        words,
    )


def _still(now: DescentScene) -> Axes:
    from needlework.showing.pictures.style import HATCHES, LINES, PALETTE, caution, new_figure, styled, tell

    flight = now.flight

    @styled
    def drawn() -> Axes:
        ax = new_figure(8.6, 4.2).add_subplot()
        for left, right, floor in _floors(flight):
            ax.fill_between(
                [left, right], 0, floor, facecolor="none", edgecolor=PALETTE["secondary"], hatch=HATCHES["floor"]
            )
            ax.annotate(f"{floor:,.0f}", ((left + right) / 2, floor), (0, 4), textcoords="offset points", ha="center")
        ax.plot([flight.step_nm, flight.end_nm], [flight.mda_ft] * 2, label="minimums", **LINES["minimums"])
        ax.annotate(
            f"MDA {flight.mda_ft:,.0f}",
            (flight.end_nm, flight.mda_ft),
            (0, 5),
            textcoords="offset points",
            ha="right",
        )
        ax.plot(
            [-_LEVEL_NM, 0, flight.end_nm],
            [flight.fix_ft, flight.fix_ft, flight.crossing_ft],
            label="line",
            **LINES["course"],
        )
        ax.plot(flight.dist_nm, flight.alt_ft, label="track", **LINES["track"])
        ink = PALETTE["ink"]
        ax.plot(
            now.dist_nm, now.alt_ft, marker=(3, 0, -90), markersize=15, color=ink, markeredgecolor="white", zorder=6
        )
        for place, name in _marks(flight):
            ax.axvline(place, color=PALETTE["secondary"], linewidth=1, linestyle=":")
            ax.annotate(name, (place, _TOP_FT), (0, 3), textcoords="offset points", ha="center")
        ax.set(xlim=(-_LEVEL_NM, flight.end_nm + 0.1), ylim=(0, _TOP_FT))
        ax.set_xlabel(f"NM past {_way().final_fix}")
        ax.set_ylabel("altitude, ft")
        caution(ax)
        tell(ax, _words(now))
        return ax

    return drawn()


def descent(**start: Any) -> WhatIf[DescentKnobs, DescentScene]:
    """Fly the final of the Saltmarsh procedure down to minimums: wind by height, late start, cold, remote setting.

    The rate is planned for the ground speed at the final fix and kept, whatever the wind does below.

    Parameters
    ----------
    **start : float or str
        Where sliders stand at first: ``tas_kt``, ``high_kt`` and ``low_kt`` (headwind at 2,000 ft and at the
        ground, tailwind negative), ``late_nm``, ``rate``, ``step_ft``, ``temperature_c``, ``setting`` and
        ``time_s``.

    Returns
    -------
    WhatIf
        Put it on the last line of a cell.

    Raises
    ------
    OutOfRange
        If a starting value is not one the slider can show, or there is no such slider.
    """
    rows = [[["profile"], ["dme", "altitude", "rate", "speed"]]]
    return WhatIf(DescentKnobs, scene, _shown, _still, rows, start)
