"""What if: a final flown down to minimums, in a wind that changes with height, begun late, on a cold day."""

from __future__ import annotations

import functools
import typing
from dataclasses import dataclass
from typing import Any

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.faces import Digits, Profile, ProfileLine
from needlework.showing.faces import dme as dme_window
from needlework.showing.what_ifs.scene import Knob, Scene, WhatIf
from needlework.trade import descent as rules
from needlework.world import procedure
from needlework.world.procedure import Procedure

if typing.TYPE_CHECKING:
    from matplotlib.axes import Axes

_LEVEL_NM = 1.0
_STEP_S = 1.0
_HIGH_FT, _LOW_FT = 2000.0, 0.0
_TOP_FT = 2200.0
_PLANNED, _NEEDED = "as planned", "what the late start needs"
_LOCAL, _REMOTE = "this field's", "another field's"

_KNOBS = (
    Knob("tas_kt", "True airspeed", "kt", 90, 70, 140, 1),
    Knob("high_kt", "Headwind at 2,000 ft (tail −)", "kt", 10, -30, 40, 1),
    Knob("low_kt", "Headwind at ground (tail −)", "kt", 10, -30, 40, 1),
    Knob("late_nm", "Descent begun late by", "NM", 0.0, 0.0, 3.0, 0.1),
    Knob("rate", "Rate of descent", "", _PLANNED, options=(_PLANNED, _NEEDED)),
    Knob("step_ft", "Step-down altitude at PARDO", "ft", 800, 600, 1300, 10),
    Knob("temperature_c", "Temperature at the field", "°C", 15, -30, 30, 1),
    Knob("setting", "Altimeter setting", "", _LOCAL, options=(_LOCAL, _REMOTE)),
    Knob("time_s", "Time from the final fix", "s", 60, -20, 260, 1, play=True),
)


@functools.cache
def _way() -> Procedure:
    return procedure.load("saltmarsh")


@dataclass(frozen=True)
class _Final:
    """The whole final: distances past the final fix, altitudes, and what is asked of it."""

    time_s: Floats
    dist_nm: Floats
    alt_ft: Floats
    gs_kt: Floats
    fpm: float
    needed_fpm: float
    mda_ft: float
    step_ft: float
    step_nm: float
    vdp_nm: float
    map_nm: float
    end_nm: float
    fix_ft: float
    crossing_ft: float
    gradient_ft_nm: float


def _fly(
    tas_kt: float,
    high_kt: float,
    low_kt: float,
    late_nm: float,
    rate: str,
    step_ft: float,
    temperature_c: float,
    setting: str,
) -> _Final:
    way = _way()
    field_ft = way.airport.elevation_ft
    remote_ft = way.minimums.remote_setting_add_ft if setting == _REMOTE else 0.0
    cold = min(temperature_c, 0.0) if temperature_c <= 0 else None
    mda = float(
        np.asarray(
            rules.mda_today_ft(mda_ft=way.mda_ft(), elevation_ft=field_ft, temperature_c=cold, remote_ft=remote_ft)
        )
    )
    step, fix_ft, crossing = step_ft, way.final_fix_ft, way.crossing_ft
    if cold is not None:
        # On the final every floor takes the correction of the MDA; the final fix has its own.
        step = float(
            np.asarray(
                rules.cold_altitude_ft(
                    alt_ft=step, temperature_c=cold, elevation_ft=field_ft, reference_ft=way.mda_ft() + remote_ft
                )
            )
        )
        fix_ft = float(np.asarray(rules.cold_altitude_ft(alt_ft=fix_ft, temperature_c=cold, elevation_ft=field_ft)))
    end = way.fix_to_go_nm(way.final_fix)
    gradient = (fix_ft - crossing) / end
    places = {name: end - way.fix_to_go_nm(name) for name in ("PARDO", "MAP")}
    vdp = end - way.vdp_to_go_nm(mda)
    at_fix_kt = tas_kt - float(
        np.asarray(
            rules.headwind_at_kt(alt_ft=fix_ft, low_ft=_LOW_FT, low_kt=low_kt, high_ft=_HIGH_FT, high_kt=high_kt)
        )
    )
    planned = float(np.asarray(rules.vs_fpm(gradient_ft_nm=gradient, gs_kt=at_fix_kt)))
    late = float(np.asarray(rules.late_gradient_ft_nm(lose_ft=fix_ft - mda, dist_nm=vdp, late_nm=late_nm)))
    needed = float(np.asarray(rules.vs_fpm(gradient_ft_nm=late, gs_kt=at_fix_kt)))
    fpm = planned if rate == _PLANNED else needed
    # Level before the fix and until the late start, then down at one rate, then level at minimums.
    begin_s = (late_nm + _LEVEL_NM) / at_fix_kt * 3600.0
    time = np.arange(0.0, begin_s + (end + 1.0) / max(tas_kt - max(high_kt, low_kt), 30.0) * 3600.0, _STEP_S)
    alt = np.maximum(fix_ft - fpm * np.maximum(time - begin_s, 0.0) / 60.0, mda)
    gs = tas_kt - np.asarray(
        rules.headwind_at_kt(alt_ft=alt, low_ft=_LOW_FT, low_kt=low_kt, high_ft=_HIGH_FT, high_kt=high_kt)
    )
    dist = -_LEVEL_NM + np.concatenate([[0.0], np.cumsum(0.5 * (gs[1:] + gs[:-1]) * _STEP_S / 3600.0)])
    keep = dist <= end
    start_s = float(np.interp(0.0, dist, time))
    return _Final(
        time[keep] - start_s, dist[keep], alt[keep], gs[keep], fpm, needed, mda, step,
        places["PARDO"], vdp, places["MAP"], end, fix_ft, crossing, gradient,
    )  # fmt: skip


def _at(final: _Final, time_s: float) -> tuple[float, float, float]:
    moment = float(np.clip(time_s, final.time_s[0], final.time_s[-1]))
    dist, alt, gs = (float(np.interp(moment, final.time_s, v)) for v in (final.dist_nm, final.alt_ft, final.gs_kt))
    return dist, alt, gs


def _line_ft(final: _Final, dist_nm: Any) -> Any:
    to_go = np.clip(final.end_nm - np.asarray(dist_nm), 0.0, final.end_nm)
    return rules.line_ft(to_go_nm=to_go, end_ft=final.crossing_ft, gradient_ft_nm=final.gradient_ft_nm)


def _words(final: _Final, at: dict[str, Any]) -> str:
    dist, alt, gs = _at(final, at["time_s"])
    way = _way()
    where = f"{abs(dist):.1f} NM {'before' if dist < 0 else 'past'} {way.final_fix}"
    off = alt - float(_line_ft(final, dist))
    line = "on the line" if abs(off) < 15 else f"{abs(off):.0f} ft {'above' if off > 0 else 'below'} the line"
    if alt <= final.mda_ft + 1.0 and dist > final.step_nm:
        line = "level at minimums"
    said = [f"{where}, {alt:,.0f} ft, {line}; ground speed {gs:.0f} kt, {final.fpm:.0f} ft/min"]
    if at["late_nm"] > 0:
        limit = "" if final.needed_fpm <= rules.LOW_LIMIT_FPM else ": more than 1,000, too much near the ground"
        needs = f"it needs {final.needed_fpm:.0f} ft/min to be at minimums by the VDP"
        said.append(f"begun {at['late_nm']:.1f} NM late {needs}{limit}")
    at_step = float(np.interp(final.step_nm, final.dist_nm, final.alt_ft))
    if at_step < final.step_ft - 0.5:
        said.append(f"PARDO is crossed {final.step_ft - at_step:.0f} ft below its {final.step_ft:,.0f} ft")
    else:
        said.append(f"PARDO is crossed {at_step - final.step_ft:.0f} ft above its {final.step_ft:,.0f} ft")
    at_vdp = float(np.interp(final.vdp_nm, final.dist_nm, final.alt_ft))
    if at_vdp <= final.mda_ft + 1:
        reached = float(final.dist_nm[np.argmax(final.alt_ft <= final.mda_ft)])
        where = "at" if final.vdp_nm - reached < 0.1 else "before"
        said.append(f"minimums, {final.mda_ft:,.0f} ft, are reached {where} the VDP, D{final.vdp_nm:.1f}")
    else:
        still = f"still {at_vdp - final.mda_ft:.0f} ft above {final.mda_ft:,.0f} ft"
        said.append(f"at the VDP, D{final.vdp_nm:.1f}, it is {still}")
    return "; ".join(said) + "."


def _scene(**at: Any) -> Scene:
    final = _fly(**{name: value for name, value in at.items() if name != "time_s"})
    dist, alt, gs = _at(final, at["time_s"])
    words = _words(final, at)
    done = final.time_s <= at["time_s"]
    line_nm = np.array([-_LEVEL_NM, 0.0, final.end_nm])
    profile = Profile(
        -_LEVEL_NM,
        final.end_nm + 0.1,
        0.0,
        _TOP_FT,
        words,
        floors=(
            (-_LEVEL_NM, 0.0, final.fix_ft),
            (0.0, final.step_nm, final.step_ft),
        ),
        minimum_ft=final.mda_ft,
        minimum_left_nm=final.step_nm,
        minimum_label=f"MDA {final.mda_ft:,.0f}",
        marks=_marks(final),
        lines=(
            ProfileLine("planned", line_nm, [final.fix_ft, final.fix_ft, final.crossing_ft]),
            ProfileLine("ghost", final.dist_nm[::4], final.alt_ft[::4]),
            ProfileLine("track", np.append(final.dist_nm[done][::4], dist), np.append(final.alt_ft[done][::4], alt)),
        ),
        aircraft_dist_nm=dist,
        aircraft_alt_ft=alt,
        altitude_ticks_ft=(500, 1000, 1500, 2000),
        distance_ticks=tuple((float(n), f"D{n}") for n in range(6)),
        axis="",
    )
    return Scene(
        {
            "profile": profile,
            "dme": dme_window(abs(dist)),
            "altitude": Digits("altitude", "ft", alt, warn=dist < final.step_nm and alt < _floor_ft(final, dist) - 1),
            "rate": Digits("rate", "ft/min", final.fpm, warn=final.fpm > rules.LOW_LIMIT_FPM),
            "speed": Digits("ground speed", "kt", gs),
        },
        words,
    )


def _marks(final: _Final) -> tuple[tuple[float, str], ...]:
    return (0.0, _way().final_fix), (final.step_nm, "PARDO"), (final.vdp_nm, "VDP"), (final.map_nm, "MAP")


def _floor_ft(final: _Final, dist_nm: float) -> float:
    return final.fix_ft if dist_nm < 0 else final.step_ft


def _still(**at: Any) -> Axes:
    from needlework.showing.pictures.style import HATCHES, LINES, PALETTE, caution, new_figure, styled, tell

    final = _fly(**{name: value for name, value in at.items() if name != "time_s"})
    way = _way()
    dist, alt, _gs = _at(final, at["time_s"])

    @styled
    def drawn() -> Axes:
        ax = new_figure(8.6, 4.2).add_subplot()
        for left, right, floor in ((-_LEVEL_NM, 0.0, final.fix_ft), (0.0, final.step_nm, final.step_ft)):
            ax.fill_between(
                [left, right], 0, floor, facecolor="none", edgecolor=PALETTE["secondary"], hatch=HATCHES["floor"]
            )
            ax.annotate(f"{floor:,.0f}", ((left + right) / 2, floor), (0, 4), textcoords="offset points", ha="center")
        ax.plot([final.step_nm, final.end_nm], [final.mda_ft] * 2, label="minimums", **LINES["minimums"])
        ax.annotate(
            f"MDA {final.mda_ft:,.0f}", (final.end_nm, final.mda_ft), (0, 5), textcoords="offset points", ha="right"
        )
        ax.plot(
            [-_LEVEL_NM, 0, final.end_nm],
            [final.fix_ft, final.fix_ft, final.crossing_ft],
            label="line",
            **LINES["course"],
        )
        ax.plot(final.dist_nm, final.alt_ft, label="track", **LINES["track"])
        ax.plot(dist, alt, marker=(3, 0, -90), markersize=15, color=PALETTE["ink"], markeredgecolor="white", zorder=6)
        for place, name in (
            (0.0, way.final_fix),
            (final.step_nm, "PARDO"),
            (final.vdp_nm, "VDP"),
            (final.map_nm, "MAP"),
        ):
            ax.axvline(place, color=PALETTE["secondary"], linewidth=1, linestyle=":")
            ax.annotate(name, (place, _TOP_FT), (0, 3), textcoords="offset points", ha="center")
        ax.set(xlim=(-_LEVEL_NM, final.end_nm + 0.1), ylim=(0, _TOP_FT))
        ax.set_xlabel(f"NM past {way.final_fix}")
        ax.set_ylabel("altitude, ft")
        caution(ax)
        tell(ax, _words(final, at))
        return ax

    return drawn()


def descent(**start: Any) -> WhatIf:
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
    return WhatIf(_KNOBS, _scene, _still, [[["profile"], ["dme", "altitude", "rate", "speed"]]], start)
