"""Whether a recorded flight can have been flown: by this aircraft, from its beginning, in the wind of its day.

The seal of a recording can be made by anyone who has the library, so it proves little. What is recorded must agree
with itself: from one row to the next the aircraft goes where its heading, its airspeed and the wind that was drawn
for this student take it, turns and climbs no faster than it can, and the clock runs.

Of a flight handed in as a file neither aircraft nor wind is known. Its track must be one that some light aircraft can
fly; the rest nobody but a person can judge, and :func:`to_look_at` says what for.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from needlework.basis.errors import NeedleworkError
from needlework.exercises import own_flight, recording
from needlework.exercises.flown import FlownByHand, station
from needlework.exercises.goals.seen import Seen
from needlework.exercises.kinds import Givens, Question
from needlework.exercises.own_flight import OwnFlight
from needlework.flying.tracklog import CAUTION
from needlework.trade.angles import difference_deg
from needlework.trade.units import NM_FT

if TYPE_CHECKING:
    from needlework.basis.quantity import Floats
    from needlework.flying.tracklog import Track

_LONGEST_GAP_S = 5.0
_START_NM, _START_FT = 0.3, 60.0
# Positions are written to a centimetre, headings to a tenth of a degree, speeds to a tenth of a knot.
_SIDESTEP_KT = 30.0
_DRIFT_KT, _DRIFT_OVER_S = 4.0, 60.0
_ROOM = 1.3
_FASTEST_DESCENT_FPM = 3_000.0
_FASTEST_KT, _FASTEST_CLIMB_FPM = 350.0, 6_000.0
_HEAD_BYTES = 2_000


def cannot_be_flown(question: Question, givens: Givens, text: str) -> str:
    """Say in what a recording of a flight flown by hand is beyond any aircraft; judge it only where nothing is.

    Parameters
    ----------
    question : Question
        A flight flown by hand.
    givens : mapping
        As drawn for the student: with them, start and wind.
    text : str
        The recording.

    Returns
    -------
    str
        A clause; empty where it can have been flown, and where it is no recording of this flight at all.
    """
    if not isinstance(question, FlownByHand):
        return ""
    try:
        flown = recording.read(text)
        if {name: flown.about.get(name) for name in question.about(givens)} != question.about(givens):
            return ""
        if isinstance(flown, OwnFlight):
            return _of_no_aircraft(flown.track)
        return _found(question, givens, flown.track)
    except NeedleworkError:
        # Whoever judges it says what is wrong.
        return ""


def to_look_at(text: str) -> str:
    """Say why a person has to look at a flight that was handed in as a file.

    Parameters
    ----------
    text : str
        What was handed in.

    Returns
    -------
    str
        A sentence; empty for a flight of the panel, and for what cannot be read.
    """
    if not text.startswith(recording.OWN_HEAD):
        return ""
    try:
        flown = own_flight.read(text)
        content, track = flown.content, flown.track
    except NeedleworkError:
        return ""
    own = flown.about.get("procedure")
    said = f"a flight handed in as a file ({flown.file}{', on a procedure file of their own' if own else ''})"
    found = []
    if CAUTION.encode() in content[:_HEAD_BYTES]:
        found.append("the file was written by this course, not by a simulator or an aircraft")
    if track.start_utc is None:
        found.append("it holds no date")
    elif track.start_utc > datetime.fromisoformat(str(flown.about["start_utc"])):
        found.append("its clock is ahead of the day it was handed in")
    return f"{said}: {'; '.join(found) or 'its track can have been flown'}; who flew it, and in what, no file says"


def digest_of(text: object) -> str:
    """Give what tells a file that was handed in from every other; empty where none was.

    Parameters
    ----------
    text : object
        An answer.

    Returns
    -------
    str
        A digest of the file.
    """
    if not isinstance(text, str) or not text.startswith(recording.OWN_HEAD):
        return ""
    try:
        return own_flight.read(text).digest
    except NeedleworkError:
        return ""


def _of_no_aircraft(track: Track) -> str:
    """Say where a track of an unknown aircraft is beyond any light one."""
    from needlework.flying.tracklog import ground_velocity_kt

    gaps = np.diff(track.time_s)
    if (gaps <= 0.0).any():
        return "its clock jumps"
    east, north = ground_velocity_kt(track.time_s, track.lat_deg, track.lon_deg)
    speed = np.hypot(east, north)
    if (speed > _FASTEST_KT).any():
        worst = int(np.argmax(speed))
        return f"{_at(track, worst)} it goes {speed[worst]:.0f} kt over the ground"
    # Over ten seconds: one height out of line is the receiver's.
    steps = max(1, round(10.0 / float(np.median(gaps))))
    if len(track.time_s) > steps:
        climb = np.abs(track.alt_ft[steps:] - track.alt_ft[:-steps]) / (
            track.time_s[steps:] - track.time_s[:-steps]
        ) * 60.0  # fmt: skip
        if (climb > _FASTEST_CLIMB_FPM).any():
            worst = int(np.argmax(climb))
            return f"{_at(track, worst)} it changes height by {climb[worst]:.0f} ft a minute"
    return ""


def _at(track: Track, where: int) -> str:
    minutes, seconds = divmod(int(track.time_s[where]), 60)
    return f"at {minutes}:{seconds:02d}"


def _found(question: FlownByHand, givens: Givens, track: Track) -> str:
    from needlework.flying import flight, plan
    from needlework.world import aircraft

    chosen, craft = station(question.on), aircraft.load(question.flown_by)
    begin = plan.Start(**question.starts(givens))
    seen = Seen(track, chosen)
    time_s, alt_ft = track.time_s, track.alt_ft
    if track.heading_deg is None or track.ias_kt is None or np.isnan(track.heading_deg).any():
        return "it has no headings or speeds"
    gaps = np.diff(time_s)
    if np.isnan(track.ias_kt).any() or (gaps <= 0.0).any() or (gaps > _LONGEST_GAP_S).any():
        return "its clock jumps"
    if time_s[0] > _LONGEST_GAP_S or abs(float(alt_ft[0]) - begin.altitude_ft) > _START_FT:
        return "it does not begin where this flight begins"
    fastest = max(craft.cruise_kt * 1.25, begin.ias_kt + 10.0, 0.0)
    if (track.ias_kt > fastest).any() or (track.ias_kt[1:] < 0.5 * craft.threshold_kt).any():
        return f"its airspeed is not that of the {craft.name}"
    air = flight.air_over(chosen, question.day(givens))
    true_ft = np.asarray(air.true_ft(alt_ft))
    angle = np.radians(seen.radial_deg + chosen.declination_deg)
    east, north = seen.dist_nm * np.sin(angle), seen.dist_nm * np.cos(angle)
    asked = np.radians(begin.radial_deg + chosen.declination_deg)
    height_nm = max(float(true_ft[0]) - chosen.elevation_ft, 0.0) / NM_FT
    ground_nm = float(np.sqrt(max(begin.dme_nm**2 - height_nm**2, 0.0))) if chosen.has_dme else begin.dme_nm
    if np.hypot(east[0] - ground_nm * np.sin(asked), north[0] - ground_nm * np.cos(asked)) > _START_NM:
        return "it does not begin where this flight begins"
    climb = np.diff(alt_ft) / gaps * 60.0
    if (climb > craft.climb_fpm * _ROOM + 200.0).any() or (climb < -_FASTEST_DESCENT_FPM).any():
        worst = int(np.argmax(np.abs(climb)))
        return f"{_at(track, worst)} it changes height by {abs(climb[worst]):.0f} ft a minute"
    return _off_the_wind(track, air, gaps, true_ft, (east, north)) or _turns(track, gaps, craft)


def _off_the_wind(track: Track, air: object, gaps: Floats, true_ft: Floats, place: tuple[Floats, Floats]) -> str:
    """Compare the way over the ground with what heading, airspeed and the day's wind make of it."""
    from needlework.flying.flight import Air

    assert isinstance(air, Air) and track.heading_deg is not None and track.ias_kt is not None
    east, north = place
    middle_s = track.time_s[:-1] + gaps / 2.0
    middle_ft = (true_ft[:-1] + true_ft[1:]) / 2.0
    turned = np.asarray(difference_deg(from_deg=track.heading_deg[:-1], to_deg=track.heading_deg[1:]))
    heading = track.heading_deg[:-1] + turned / 2.0
    tas = np.asarray(air.tas_kt((track.ias_kt[:-1] + track.ias_kt[1:]) / 2.0, middle_ft))
    blown = [air.wind_kt(np.array([ft]), float(s)) for ft, s in zip(middle_ft, middle_s, strict=True)]
    wind_east, wind_north = (np.array([float(each[n][0]) for each in blown]) for n in (0, 1))
    # True north at the aircraft leans against true north at the station, as in the model of the flight.
    slope = np.tan(np.radians(air.lat_deg))
    e, n = np.radians(east[:-1] / 60.0), np.radians(north[:-1] / 60.0)
    lean = e * (slope + n * (0.5 + slope * slope))
    true = np.radians(heading + air.variation_deg)
    over_east, over_north = tas * np.sin(true) + wind_east, tas * np.cos(true) + wind_north
    off_east = np.diff(east) / gaps * 3600.0 - (over_east * np.cos(lean) - over_north * np.sin(lean))
    off_north = np.diff(north) / gaps * 3600.0 - (over_north * np.cos(lean) + over_east * np.sin(lean))
    off = np.hypot(off_east, off_north)
    if (off > _SIDESTEP_KT).any():
        worst = int(np.argmax(off))
        at, kt = _at(track, worst), off[worst]
        return f"{at} it goes {kt:.0f} kt otherwise than its heading, its airspeed and the wind take it"
    steps = max(1, round(_DRIFT_OVER_S / float(np.mean(gaps))))
    if len(gaps) >= steps:
        even = np.ones(steps) / steps
        drift = np.hypot(np.convolve(off_east, even, "valid"), np.convolve(off_north, even, "valid"))
        if (drift > _DRIFT_KT).any():
            return f"{_at(track, int(np.argmax(drift)))} it drifts as in another wind than that of its day"
    return ""


def _turns(track: Track, gaps: Floats, craft: object) -> str:
    """Compare the turns with what the bank limit allows."""
    from needlework.world.aircraft import Aircraft

    assert isinstance(craft, Aircraft) and track.heading_deg is not None and track.ias_kt is not None
    turned = np.abs(np.asarray(difference_deg(from_deg=track.heading_deg[:-1], to_deg=track.heading_deg[1:])))
    # Rate of a level turn: g tan(bank) / V; 1091 gives degrees a second with knots.
    most = 1091.0 * np.tan(np.radians(craft.bank_limit_deg)) / np.maximum(track.ias_kt[:-1], 1.0)
    over = turned / gaps - (most * _ROOM + 0.5)
    if (over > 0.0).any():
        worst = int(np.argmax(over))
        return f"{_at(track, worst)} it turns {turned[worst] / gaps[worst]:.0f} degrees in a second"
    return ""
