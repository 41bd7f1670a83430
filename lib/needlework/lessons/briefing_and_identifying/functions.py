"""Numbers of the lesson on briefing and identifying: draws, right answers, and what the named slips lead to."""

from __future__ import annotations

import math
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any

from needlework.trade import altimetry, angles, dme, ident, missed, units, vor
from needlework.world.procedure import load

if TYPE_CHECKING:
    from needlework.world.procedure import Procedure
    from needlework.world.weather import Day

# ---------------------------------------------------------------- plates

_PLATES = {"Saltmarsh": "saltmarsh", "Wygate": "wygate", "Ezrick": "ezrick"}


@cache
def _plate(plate: str) -> Procedure:
    return load(_PLATES[plate])


def a_plate(random: Random) -> dict[str, Any]:
    """Draw one of three plates."""
    return {"plate": random.choice(list(_PLATES))}


def final_course(*, plate: str) -> float:
    """Give the course of the final. [deg magnetic]"""
    return _plate(plate).final_course_deg


def course_reversed(*, plate: str) -> float:
    """Give the other end of the final's line. [deg magnetic]"""
    return float(angles.reciprocal(direction_deg=final_course(plate=plate)))


def runway_heading(*, plate: str) -> float:
    """Give the runway's heading. [deg magnetic]"""
    return _plate(plate).runway.heading_deg


def first_course(*, plate: str) -> float:
    """Give the course of the first leg. [deg magnetic]"""
    return float(_plate(plate).legs[0].course_deg or 0.0)


def course_to_the_final_fix(*, plate: str) -> float | None:
    """Give the course that leads to the final fix, where it is another one. [deg magnetic]"""
    legs = _plate(plate).legs
    before = legs[legs.index(_plate(plate).final_legs[0]) - 1].course_deg
    return None if before is None or before == final_course(plate=plate) else before


def hold_course(*, plate: str) -> float:
    """Give the inbound course of the hold. [deg magnetic]"""
    return _plate(plate).hold.inbound_course_deg


def final_fix_ft(*, plate: str) -> float:
    """Give the lowest altitude at the final fix. [ft]"""
    return _plate(plate).final_fix_ft


def step_ft(*, plate: str) -> float:
    """Give the lowest altitude at the step-down fix. [ft]"""
    return float(_plate(plate).final_legs[0].end_ft or 0.0)


def fix_before_ft(*, plate: str) -> float:
    """Give the floor of the leg that comes before the one to the final fix. [ft]"""
    legs = _plate(plate).legs
    first = legs.index(_plate(plate).final_legs[0])
    return float(legs[first - 2].minimum_ft or 0.0)


def sector_ft(*, plate: str) -> float:
    """Give the sector altitude that holds all round. [ft]"""
    return _plate(plate).sector_altitudes[0].altitude_ft


def straight_in_mda(*, plate: str) -> float:
    """Give the MDA straight in. [ft]"""
    return _plate(plate).mda_ft("A")


def circling_mda(*, plate: str) -> float:
    """Give the MDA of a circling approach. [ft]"""
    return _plate(plate).mda_ft("A", circling=True)


def mda_of_the_note(*, plate: str) -> float | None:
    """Give the MDA with the setting of another field, where a note says it. [ft]"""
    noted = _plate(plate).mda_ft("A", remote=True) if _plate(plate).minimums.remote_setting_add_ft else None
    return noted


def mda_height(*, plate: str) -> float:
    """Give the height of the MDA above the field. [ft]"""
    return straight_in_mda(plate=plate) - _plate(plate).airport.elevation_ft


def visibility_for_mda(*, plate: str) -> float:
    """Read the line below: the visibility. [m]"""
    return _plate(plate).visibility_m("A")


def map_dme(*, plate: str) -> float:
    """Give the DME reading of the MAP. [NM]"""
    return _plate(plate).fix("MAP").dist_nm


def vdp_dme(*, plate: str) -> float:
    """Give the DME reading of the VDP. [NM]"""
    return _plate(plate).fix("VDP").dist_nm


def threshold_nm(*, plate: str) -> float:
    """Give the distance of the threshold from the station. [NM]"""
    return _plate(plate).runway.threshold_distance_nm


def step_dme(*, plate: str) -> float:
    """Give the DME reading of the step-down fix. [NM]"""
    return _plate(plate).fix(_plate(plate).step_downs[0]).dist_nm


def final_fix_dme(*, plate: str) -> float | None:
    """Give the DME reading of the final fix, where it is not the station itself. [NM]"""
    return _plate(plate).fix(_plate(plate).final_fix).dist_nm or None


def climb_to_ft(*, plate: str) -> float:
    """Give the altitude of the missed approach at which the turn begins. [ft]"""
    return _plate(plate).missed.climb_to_ft


def gradient_holds_to_ft(*, plate: str) -> float | None:
    """Give the altitude to which the gradient of the climb is asked for, where the plate gives one. [ft]"""
    return _plate(plate).missed.gradient_until_ft


def missed_ft(*, plate: str) -> float:
    """Give the altitude at which the missed approach ends. [ft]"""
    return _plate(plate).missed.altitude_ft


def missed_heading(*, plate: str) -> float:
    """Give the heading to which the missed approach turns. [deg magnetic]"""
    return float(_plate(plate).missed.heading_deg or 0.0)


def missed_radial(*, plate: str) -> float:
    """Give the radial on which the missed approach goes out. [deg magnetic]"""
    return float(_plate(plate).missed.intercept_radial_deg or 0.0)


def missed_side(*, plate: str) -> str:
    """Say to which side the missed approach turns."""
    return _plate(plate).missed.turn.upper()


def other_side(*, plate: str) -> str:
    """Say the other side."""
    return "LEFT" if missed_side(plate=plate) == "RIGHT" else "RIGHT"


# ---------------------------------------------------------------- a number read in another band


@cache
def _numbers(plate: str, unit: str) -> dict[float, set[str]]:
    """Give for each number of a plate in a unit the bands in which it stands."""
    whole = _plate(plate)
    down = whole.straight_in_legs()
    on_final = {name for leg in down for name in (leg.start, leg.end)} | {"VDP"}
    around = {whole.missed.fix, whole.missed.turn_after, whole.hold.fix}
    bands: dict[str, list[Any]] = {
        "ELEVATION": [whole.airport, whole.runway, whole.station, *whole.other_stations],
        "WAYIN": [*whole.sector_altitudes, *whole.entries, *(leg for leg in whole.legs if leg not in down)],
        "WAYDOWN": list(down),
        "AROUND": [whole.missed, whole.hold],
    }
    for fix in whole.fixes:
        band = "WAYDOWN" if fix.name in on_final else "AROUND" if fix.name in around else "WAYIN"
        bands[band].append(fix)
    found: dict[float, set[str]] = {}
    for band, things in bands.items():
        for name, value in (each for thing in things for each in vars(thing).items()):
            if name.endswith(unit) and isinstance(value, (int, float)):
                found.setdefault(float(value), set()).add(band)
    return found


def _read_in(plate: str, unit: str, answer: float) -> str | None:
    bands = _numbers(plate, unit).get(float(answer), set())
    return next(iter(bands)) if len(bands) == 1 and bands != {"WAYDOWN"} else None


def read_direction(*, plate: str, answer: float) -> str | None:
    """Name the band in which a direction stands."""
    found = _read_in(plate, "_deg", answer)
    return found if found == "WAYIN" else None


def read_altitude(*, plate: str, answer: float) -> str | None:
    """Name the band in which feet stand."""
    return _read_in(plate, "_ft", answer)


def read_distance(*, plate: str, answer: float) -> str | None:
    """Name the band in which miles stand."""
    found = _read_in(plate, "_nm", answer)
    return found if found == "WAYIN" else None


def _stands_in(plate: str, unit: str, band: str) -> float | None:
    """Give the largest number of a unit that stands in this band alone."""
    return max((number for number, bands in _numbers(plate, unit).items() if bands == {band}), default=None)


def an_elevation(*, plate: str) -> float | None:
    """Give an elevation. [ft]"""
    return _stands_in(plate, "_ft", "ELEVATION")


def an_altitude_of_the_way_in(*, plate: str) -> float | None:
    """Give an altitude of the way in. [ft]"""
    return _stands_in(plate, "_ft", "WAYIN")


def an_altitude_of_the_way_out(*, plate: str) -> float | None:
    """Give an altitude of the missed approach. [ft]"""
    return _stands_in(plate, "_ft", "AROUND")


def a_direction_of_the_way_in(*, plate: str) -> float | None:
    """Give a direction of the way in. [deg]"""
    return _stands_in(plate, "_deg", "WAYIN")


def a_distance_of_the_way_in(*, plate: str) -> float | None:
    """Give a distance of the way in. [NM]"""
    return _stands_in(plate, "_nm", "WAYIN")


# ---------------------------------------------------------------- what changes the minimums


def a_remote_setting(random: Random) -> dict[str, Any]:
    """Draw an MDA and what a note adds to it."""
    return {
        "mda_ft": random.choice([520, 560, 600, 640, 680, 720]),
        "note_ft": random.choice([50, 70, 80, 90, 110]),
        "elevation_ft": random.choice([66, 101, 220, 245]),
    }


def mda_with_note(*, mda_ft: float, note_ft: float) -> float:
    """Add what the note adds. [ft]"""
    return mda_ft + note_ft


def mda_less_note(*, mda_ft: float, note_ft: float) -> float:
    """Take it away. [ft]"""
    return mda_ft - note_ft


def mda_note_twice(*, mda_ft: float, note_ft: float) -> float:
    """Add it twice. [ft]"""
    return mda_ft + 2.0 * note_ft


def mda_and_elevation(*, mda_ft: float, elevation_ft: float) -> float:
    """Add the elevation in place of the note. [ft]"""
    return mda_ft + elevation_ft


def mda_above_the_field(*, mda_ft: float, elevation_ft: float) -> float:
    """Take the elevation off, without the note. [ft]"""
    return mda_ft - elevation_ft


def mda_with_half(*, mda_ft: float, note_ft: float) -> float:
    """Add half of the note. [ft]"""
    return mda_ft + 0.5 * note_ft


def mda_with_saltmarshs_note(*, mda_ft: float, note_ft: float) -> float | None:
    """Add what the note of Saltmarsh adds, where this one adds something else. [ft]"""
    saltmarsh_ft = float(_plate("Saltmarsh").minimums.remote_setting_add_ft or 0.0)
    return None if note_ft == saltmarsh_ft else mda_ft + saltmarsh_ft


def mda_with_another_note(*, mda_ft: float, note_ft: float) -> float:
    """Add ten feet less than the note. [ft]"""
    return mda_ft + note_ft - 10.0


def why_not_this_note(*, answer: float, mda_ft: float, note_ft: float) -> str | None:
    """Name an addition that could be a note's, and is not that of this one."""
    return "OTHERNOTE/other" if 30.0 <= answer - mda_ft <= 150.0 and answer - mda_ft != note_ft else None


def mda_rounded_up(*, mda_ft: float, note_ft: float) -> float:
    """Round up to a full hundred. [ft]"""
    return math.ceil((mda_ft + note_ft) / 100.0) * 100.0


def height_with_note(*, mda_ft: float, note_ft: float, elevation_ft: float) -> float:
    """Give the height above the field. [ft]"""
    return mda_ft + note_ft - elevation_ft


def mda_with_elevation(*, mda_ft: float, note_ft: float, elevation_ft: float) -> float:
    """Add the field's elevation as well. [ft]"""
    return mda_ft + note_ft + elevation_ft


# ---------------------------------------------------------------- faulty copies


def a_faulty_copy(random: Random) -> dict[str, Any]:
    """Draw one of the faulty copies that ask for no rule but what the page itself shows."""
    return {"copy": random.randrange(5, 9)}


def another_faulty_copy(random: Random) -> dict[str, Any]:
    """Draw one of the other four: frequency, channel, DME, arc."""
    return {"copy": random.randrange(1, 5)}


def fault_letter(*, copy: int) -> str:
    """Give the option that names the fault of a copy: they are counted in the order of their files' names."""
    return "ABCDEFGH"[copy - 1]


# ---------------------------------------------------------------- frequencies


def eight_frequencies(random: Random) -> dict[str, Any]:
    """Draw eight frequencies: three to five of a VOR, at least one of each kind that is none."""
    good = [10800 + step for step in range(20, 400, 20)] + [10805 + step for step in range(20, 380, 20)]
    good += list(range(11200, 11800, 5))
    odd = [10810 + step for step in range(0, 400, 20)] + [10815 + step for step in range(0, 380, 20)]
    between = [10800 + step for step in range(3, 990, 5)]
    outside = [10795, 10780, 11800, 11805, 11830, 10760, 11850, 12010]
    chosen = random.sample(good, 3) + random.sample(odd, 2) + random.sample(between, 1) + random.sample(outside, 2)
    random.shuffle(chosen)
    return {"frequencies": [hundredths / 100.0 for hundredths in chosen]}


def vor_or_not(*, mhz: float) -> str:
    """Say whether a frequency is a VOR's."""
    return "VOR" if vor.is_vor_frequency(mhz) else "NONE"


def why_no_vor(*, mhz: float, answer: str) -> str:
    """Name what was missed about a frequency."""
    if answer == "NONE":
        odd, five = round(mhz * 100) // 10 % 2 == 1, round(mhz * 100) % 10 == 5
        return "GOOD/both" if odd and five else "GOOD/odd" if odd else "GOOD/five" if five else "GOOD"
    if not 108.0 <= mhz < 117.975:
        return "RANGE"
    return "STEP" if round(mhz * 100) % 5 else "ODD"


def three_channels(random: Random) -> dict[str, Any]:
    """Draw three VOR frequencies: low and high ones, with and without a last 5."""
    low = random.choice([108.2, 108.6, 109.4, 110.2, 110.8, 111.6])
    fives = random.choice([109.25, 110.25, 110.65, 111.05, 111.45])
    high = random.choice([113.15, 114.6, 115.6, 116.15, 116.35, 117.2])
    frequencies = [low, fives, high]
    random.shuffle(frequencies)
    return {"frequencies": frequencies}


def channel_number(*, mhz: float) -> float:
    """Give the number of the paired channel."""
    return float(str(dme.channel(mhz))[:-1])


def channel_letter(*, mhz: float) -> str:
    """Give the letter of the paired channel."""
    return str(dme.channel(mhz))[-1]


def letter_swapped(*, mhz: float) -> str:
    """Give the other letter."""
    return "Y" if channel_letter(mhz=mhz) == "X" else "X"


def channel_other_branch(*, mhz: float) -> float:
    """Take away the number that belongs to the other half of the band."""
    return channel_number(mhz=mhz) + (10.0 if mhz < 112.3 else -10.0)


def channel_rounded_up(*, mhz: float) -> float | None:
    """Round up what stands behind the point; None where nothing stands there."""
    return channel_number(mhz=mhz) + 1.0 if round(mhz * 100) % 10 else None


def channel_other_branch_rounded_up(*, mhz: float) -> float | None:
    """Round up, and take away the number of the other half of the band."""
    return channel_other_branch(mhz=mhz) + 1.0 if round(mhz * 100) % 10 else None


def ten_times(*, mhz: float) -> float:
    """Forget to take anything away."""
    return float(round(mhz * 100) // 10)


# ---------------------------------------------------------------- idents

_HEARD = (
    ("OVK", "OVK"), ("", "OVK"), ("OVK", ""), ("TEST", ""), ("", ""), ("OUK", "OUK"), ("OVR", "OVR"),
)  # fmt: skip
"""What may be heard of a station that should be OVK: in the low tone, in the high tone."""
_WANTED = "OVK"


def five_recordings(random: Random) -> dict[str, Any]:
    """Draw five recordings: both may be used, each alone, another station's, and one that sends nothing of use."""
    chosen = [*_HEARD[:3], random.choice(_HEARD[5:]), random.choice(_HEARD[3:5])]
    random.shuffle(chosen)
    return {"heard": [list(pair) for pair in chosen]}


def _proof(low: str, high: str) -> ident.Proof:
    return ident.prove(letters=_WANTED, vor_heard=low, dme_heard=high)


def usable(*, low: str, high: str) -> str:
    """Say what may be used."""
    proof = _proof(low, high)
    return {(True, True): "BOTH", (True, False): "VOR", (False, True): "DME", (False, False): "NONE"}[
        proof.vor, proof.dme
    ]


def ident_cause(*, low: str, high: str, answer: str) -> str:
    """Name what was not heard, and by which answer."""
    if "TEST" in (low, high):
        cause = "TEST"
    elif not low and not high:
        cause = "SILENT"
    elif (low or high) != _WANTED:
        cause = "LETTER"
    else:
        cause = "GOOD" if low and high else "ONLYLOW" if low else "ONLYHIGH"
    return f"{cause}/{answer.lower()}"


# ---------------------------------------------------------------- before the flight

_STARTS = {
    "dme": ("the title says VOR/DME; your DME is dead", "NO"),
    "vor": ("the title says VOR; your DME is dead, and no fix of it needs one", "YES"),
    "date": ("the plate was in force until yesterday; nothing on it has changed, a friend says", "NO"),
    "check": ("your receiver check was logged 31 days ago", "NO"),
    "notice": ("the station is notified out of service, and its ident is heard", "NO"),
    "climb": ("your climb today: 260 ft/NM in still air; published 240 ft/NM, no wind", "YES"),
    "steep": (
        "your climb today: 260 ft/NM in still air; published 240 ft/NM, 15 kt of tail wind at 80 kt of airspeed",
        "NO",
    ),
}
"""What is found before the flight, and whether the approach may be begun with it."""


def five_starts(random: Random) -> dict[str, Any]:
    """Draw five of the things found before a flight: two with which it may be begun."""
    fine = [name for name, (_, may) in _STARTS.items() if may == "YES"]
    not_fine = random.sample([name for name, (_, may) in _STARTS.items() if may == "NO"], 3)
    chosen = fine + not_fine
    random.shuffle(chosen)
    return {"cases": [{"said": _STARTS[name][0], "about": name} for name in chosen]}


def may_begin(*, about: str) -> str:
    """Say whether the approach may be begun."""
    return _STARTS[about][1]


def begin_cause(*, about: str, answer: str) -> str:
    """Name what was overlooked."""
    return f"START/{about}" if answer == "YES" else f"CAREFUL/{about}"


_CHECKS = {
    "test signal": 4,
    "checkpoint on the ground": 4,
    "checkpoint in the air": 6,
    "two receivers, one station": 4,
}
_KINDS = {
    "test signal": "test signal", "checkpoint on the ground": "surface checkpoint",
    "checkpoint in the air": "airborne checkpoint", "two receivers, one station": "two receivers",
}  # fmt: skip


def five_checks(random: Random) -> dict[str, Any]:
    """Draw five receiver checks: 5 degrees in the air and on the ground among them."""
    cases = [("checkpoint in the air", 5), ("checkpoint on the ground", 5)]
    cases.append(("two receivers, one station", random.choice([3, 4, 5, 6])))
    cases.append(("test signal", random.choice([2, 3, 4, 6])))
    cases.append(("checkpoint in the air", random.choice([7, 8])))
    random.shuffle(cases)
    return {"cases": [{"check": check, "error_deg": error} for check, error in cases]}


def check_holds(*, check: str, error_deg: float) -> str:
    """Say whether a receiver may be used after a check."""
    return "USE" if vor.check_passed(error_deg=error_deg, kind=_KINDS[check]) else "NOT"


def check_cause(*, check: str, answer: str) -> str:
    """Name the limit that was missed."""
    side = "many" if answer == "USE" else "few"
    return f"AIR/{side}" if _CHECKS[check] == 6 else f"GROUND/{side}"


def an_altimeter(random: Random) -> dict[str, Any]:
    """Draw what an altimeter shows on the apron, and an MDA."""
    elevation_ft = random.choice([66, 101, 220, 912])
    error_ft = random.choice([-90, -50, 40, 50, 60, 60, 90, 90, 110, 110])
    return {
        "elevation_ft": elevation_ft,
        "shown_ft": elevation_ft + error_ft,
        "mda_ft": random.choice([560, 640, 700, 780]) + (900 if elevation_ft == 912 else 0),
    }


def altimeter_holds(*, shown_ft: float, elevation_ft: float) -> str:
    """Say whether the altimeter is within its limit on the apron."""
    return "YES" if altimetry.field_check_passed(indicated_ft=shown_ft, elevation_ft=elevation_ft) else "NO"


def altimeter_otherwise(*, shown_ft: float, elevation_ft: float) -> str:
    """Say the opposite."""
    return "NO" if altimeter_holds(shown_ft=shown_ft, elevation_ft=elevation_ft) == "YES" else "YES"


def really_ft(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Give the altitude flown when it shows the MDA. [ft]"""
    return mda_ft - (shown_ft - elevation_ft)


def really_wrong_way(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Take the error the other way. [ft]"""
    return mda_ft + (shown_ft - elevation_ft)


def error_alone(*, shown_ft: float, elevation_ft: float) -> float:
    """Give the error. [ft]"""
    return abs(shown_ft - elevation_ft)


def really_by_the_shown(*, shown_ft: float, mda_ft: float) -> float:
    """Add what is shown in place of the error. [ft]"""
    return mda_ft + shown_ft


def really_of_both(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Add what is shown and the elevation. [ft]"""
    return mda_ft - (shown_ft + elevation_ft)


def really_less_the_shown(*, shown_ft: float, mda_ft: float) -> float:
    """Take off what is shown in place of the error. [ft]"""
    return mda_ft - shown_ft


def really_less_the_elevation(*, elevation_ft: float, mda_ft: float) -> float:
    """Take off the elevation in place of the error. [ft]"""
    return mda_ft - elevation_ft


def really_with_the_elevation(*, elevation_ft: float, mda_ft: float) -> float:
    """Add the elevation. [ft]"""
    return mda_ft + elevation_ft


def really_twice(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Take the error off twice. [ft]"""
    return mda_ft - 2.0 * (shown_ft - elevation_ft)


_LIMIT_FT = 75.0


def really_less_the_limit(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Take the limit for the error. [ft]"""
    return mda_ft - math.copysign(_LIMIT_FT, shown_ft - elevation_ft)


def really_and_the_limit(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float:
    """Take the limit for the error, the other way. [ft]"""
    return mda_ft + math.copysign(_LIMIT_FT, shown_ft - elevation_ft)


def really_beyond_the_limit(*, shown_ft: float, elevation_ft: float, mda_ft: float) -> float | None:
    """Take off what goes beyond the limit; None where nothing does. [ft]"""
    error = shown_ft - elevation_ft
    return mda_ft - math.copysign(abs(error) - _LIMIT_FT, error) if abs(error) > _LIMIT_FT else None


def a_climb(random: Random) -> dict[str, Any]:
    """Draw a published gradient, today's ground speed and what the aircraft climbs, clear of the limit."""
    gradient, gs = random.choice([240, 300]), random.choice([75, 80, 84, 90, 96])
    needed = gradient * gs / 60.0
    climb = round((needed + random.choice([-90, -60, 60, 110])) / 10.0) * 10
    return {"gradient_ft_nm": gradient, "gs_kt": gs, "climb_fpm": climb}


def climb_needed(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Give the rate that the gradient asks for. [ft/min]"""
    return float(missed.climb_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt))


def climb_upside_down(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Divide by the speed. [ft/min]"""
    return gradient_ft_nm * 60.0 / gs_kt


def climb_of_a_hundred(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Take an hour of a hundred minutes. [ft/min]"""
    return gradient_ft_nm * gs_kt / 100.0


def climb_at_200(*, gs_kt: float) -> float:
    """Take the least that is protected where nothing is published (AIM 5-4-21 b). [ft/min]"""
    return climb_needed(gradient_ft_nm=float(missed.CLIMB_FT_NM), gs_kt=gs_kt)


def climb_a_mile(*, climb_fpm: float, gs_kt: float) -> float:
    """Give what the aircraft climbs in a mile. [ft]"""
    return climb_fpm * 60.0 / gs_kt


def climb_at_300(*, gradient_ft_nm: float, gs_kt: float) -> float | None:
    """Take 300 feet a mile; None where that is published. [ft/min]"""
    return None if gradient_ft_nm == 300 else climb_needed(gradient_ft_nm=300.0, gs_kt=gs_kt)


def climb_missing(*, gradient_ft_nm: float, gs_kt: float, climb_fpm: float) -> float:
    """Give what lies between the two rates. [ft/min]"""
    return abs(climb_needed(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) - climb_fpm)


def climb_undivided(*, gradient_ft_nm: float, gs_kt: float) -> float:
    """Leave out the 60 minutes of the hour. [ft/min]"""
    return gradient_ft_nm * gs_kt


def climb_enough(*, gradient_ft_nm: float, gs_kt: float, climb_fpm: float, needed_fpm: float | None = None) -> str:
    """Say whether the aircraft climbs as steeply as asked for.

    A rate of the learner's own may turn YES into NO, never NO into YES: what is not enough stays not enough.
    """
    truly = climb_needed(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt)
    return "YES" if climb_fpm >= max(truly, needed_fpm or 0.0) else "NO"


def climb_not_enough(
    *, gradient_ft_nm: float, gs_kt: float, climb_fpm: float, needed_fpm: float | None = None
) -> str:
    """Say the opposite."""
    enough = climb_enough(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt, climb_fpm=climb_fpm, needed_fpm=needed_fpm)
    return "NO" if enough == "YES" else "YES"


def a_plate_of_the_day(random: Random) -> dict[str, Any]:
    """Draw a plate, and how much farther out than published the VDP of the day lies."""
    plate = a_plate(random)["plate"]
    farther_nm = random.choice([0.0, 0.1, 0.2, 0.3, 0.4])
    out = 1.0 if vdp_dme(plate=plate) > threshold_nm(plate=plate) else -1.0
    return {
        "plate": plate,
        "today_dme": round(vdp_dme(plate=plate) + out * farther_nm, 1),
        "threshold_nm": threshold_nm(plate=plate),
        "visibility_m": visibility_for_mda(plate=plate),
    }


def _to_runway_nm(threshold_nm: float, today_dme: float) -> float:
    return abs(threshold_nm - today_dme)


def vdp_metres(*, threshold_nm: float, today_dme: float) -> float:
    """Give the distance from the VDP to the threshold. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * float(units.NM_M)


def vdp_thousand(*, threshold_nm: float, today_dme: float) -> float:
    """Take a mile for a kilometre. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * 1000.0


def vdp_statute(*, threshold_nm: float, today_dme: float) -> float:
    """Take a nautical mile for a land mile. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * 1609.0


def vdp_rough(*, threshold_nm: float, today_dme: float) -> float:
    """Take 1,800 m for a mile. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * 1800.0


def vdp_rougher(*, threshold_nm: float, today_dme: float) -> float:
    """Take 2,000 m for a mile. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * 2000.0


def vdp_to_map(*, plate: str, today_dme: float) -> float:
    """Take the distance from the VDP to the MAP. [m]"""
    return abs(map_dme(plate=plate) - today_dme) * float(units.NM_M)


def threshold_from_station(*, threshold_nm: float) -> float:
    """Take the threshold's distance from the station. [m]"""
    return threshold_nm * float(units.NM_M)


def vdp_and_threshold(*, threshold_nm: float, today_dme: float) -> float:
    """Add the two readings. [m]"""
    return (threshold_nm + today_dme) * float(units.NM_M)


def vdp_less_visibility(*, threshold_nm: float, today_dme: float, visibility_m: float) -> float:
    """Take the visibility off. [m]"""
    return abs(vdp_metres(threshold_nm=threshold_nm, today_dme=today_dme) - visibility_m)


def vdp_divided(*, threshold_nm: float, today_dme: float) -> float:
    """Divide by the kilometres of a mile. [m]"""
    return _to_runway_nm(threshold_nm, today_dme) * 1e6 / float(units.NM_M)


def vdp_as_printed(*, plate: str, threshold_nm: float, today_dme: float) -> float | None:
    """Take the VDP of the plate, where that of the day is another. [m]"""
    return (
        None
        if today_dme == vdp_dme(plate=plate)
        else vdp_metres(threshold_nm=threshold_nm, today_dme=vdp_dme(plate=plate))
    )


def vdp_as_printed_from_station(*, plate: str, today_dme: float) -> float | None:
    """Take the distance of the plate's VDP from the station, where that of the day is another. [m]"""
    return None if today_dme == vdp_dme(plate=plate) else vdp_from_station(today_dme=vdp_dme(plate=plate))


def vdp_from_station(*, today_dme: float) -> float:
    """Take the distance from the station. [m]"""
    return today_dme * float(units.NM_M)


def vdp_from_map(*, plate: str) -> float:
    """Take the distance from the MAP. [m]"""
    return _plate(plate).fix_to_go_nm("MAP") * float(units.NM_M)


def a_task(random: Random) -> dict[str, Any]:
    """Draw a plate and today's ground speed in the climb."""
    return {"plate": random.choice(["Wygate", "Ezrick"]), "gs_kt": random.choice([78, 84, 90, 96])}


def plate_climb(*, plate: str, gs_kt: float) -> float:
    """Give the rate of climb that a plate asks for. [ft/min]"""
    return climb_needed(gradient_ft_nm=_plate(plate).missed.gradient_ft_nm, gs_kt=gs_kt)


def plate_gradient(*, plate: str) -> float:
    """Give the gradient as published. [ft/NM]"""
    return _plate(plate).missed.gradient_ft_nm


def plate_climb_upside_down(*, plate: str, gs_kt: float) -> float:
    """Divide by the speed. [ft/min]"""
    return climb_upside_down(gradient_ft_nm=plate_gradient(plate=plate), gs_kt=gs_kt)


def plate_climb_of_the_other(*, plate: str, gs_kt: float) -> float:
    """Take the gradient of the other of the two plates. [ft/min]"""
    return plate_climb(plate="Ezrick" if plate == "Wygate" else "Wygate", gs_kt=gs_kt)


def plate_climb_of_a_hundred(*, plate: str, gs_kt: float) -> float:
    """Take a hundred minutes for an hour. [ft/min]"""
    return climb_of_a_hundred(gradient_ft_nm=plate_gradient(plate=plate), gs_kt=gs_kt)


def plate_climb_undivided(*, plate: str, gs_kt: float) -> float:
    """Leave the minutes of an hour out. [ft/min]"""
    return climb_undivided(gradient_ft_nm=plate_gradient(plate=plate), gs_kt=gs_kt)


# ---------------------------------------------------------------- by hand

_ACTIVE_MHZ = 115.60  # Outer Keld, one letter away


def a_tuning(random: Random) -> dict[str, Any]:
    """Draw a course in, and what stands in standby."""
    return {
        "inbound_deg": random.choice([80, 110, 130, 150, 250, 280, 310]),
        "standby_mhz": random.choice([113.50, 113.70, 112.45, 113.65]),
    }


def tuning_begin(*, inbound_deg: int) -> dict[str, Any]:
    """Say where the flight begins: on the inbound course, nose along it."""
    return {
        "radial_deg": float(angles.reciprocal(direction_deg=inbound_deg)),
        "dme_nm": 8.0,
        "altitude_ft": 3600,
        "heading_deg": float(inbound_deg),
        "ias_kt": 105,
    }


def tuning_day() -> Day:
    """Give the day: no wind."""
    from needlework.world import weather

    return weather.day("Still", field_elevation_ft=66, seed=0)


def tuning_rows(*, inbound_deg: int) -> list[dict[str, Any]]:
    """Give the rows of a plan that flies it well."""
    first = {"course_1_deg": float(inbound_deg), "follow": "needle 1", "identify": True, "ias_kt": 105}
    return [
        {"then": first, "note": "inbound"},
        {"when": {"dme_falls_to_nm": 3.0}, "then": {"end": True}, "note": "end"},
    ]


def tuning_courses(*, inbound_deg: int) -> tuple[float, float]:
    """Give what the selectors show at first: other lines. [deg magnetic]"""
    first, second = (float(angles.wrap360(inbound_deg + off)) for off in (95.0, 155.0))
    return first or 360.0, second or 360.0


def tuning_radios(*, standby_mhz: float) -> dict[str, Any]:
    """Give what the receivers begin with. [MHz]"""
    return {"active_mhz": _ACTIVE_MHZ, "standby_mhz": standby_mhz}


def tuning_radials(*, inbound_deg: int) -> tuple[float, ...]:
    """Give the radial of the plan view. [deg magnetic]"""
    return (float(angles.reciprocal(direction_deg=inbound_deg)),)


def tuning_drawn(*, inbound_deg: int) -> dict[str, Any]:
    """Say what is drawn with the way flown."""
    return {"reach_nm": 9.0, "course_deg": float(inbound_deg)}
