"""The panel's receivers: what is active is received, what is dialled is not; a flight that was not identified."""

import math

import pytest
from needlework.basis.errors import BadData, OutOfRange
from needlework.exercises import judging, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.verdicts import Outcome
from needlework.flying.plan import Start
from needlework.flying.tracklog import Track
from needlework.showing.panel import shown
from needlework.showing.panel.cockpit import Cockpit
from needlework.showing.panel.controls import ACTIONS
from needlework.showing.panel.receivers import is_tuning
from needlework.trade import geodesy
from needlework.world import aircraft, procedure, weather

WAY = procedure.load("saltmarsh")
OTHER = WAY.other_stations[0]
TUNED = {"active_mhz": 115.60, "standby_mhz": 113.50}


def cockpit(tuned=TUNED, course_deg=130.0, **start):
    begin = Start(
        **({"radial_deg": 310, "dme_nm": 8, "altitude_ft": 3600, "heading_deg": 130, "ias_kt": 105} | start)
    )
    day = weather.day("Still", field_elevation_ft=66, seed=0)
    return Cockpit(WAY, aircraft.load("Finch"), day, begin, course_deg, course_deg, tuned=tuned)


def dialled(fly, number=1):
    """Dial Overfall into standby, as a pilot does, and change over."""
    for action in (f"tune{number}+100", f"tune{number}+5", f"tune{number}+5", f"change over {number}"):
        fly.act(action)


def test_the_active_station_is_what_needle_and_dme_speak_of():
    """Independent method: radial and slant distance of each station by the geodesic from the recorded position."""
    fly = cockpit()
    for at, tune in ((OTHER, lambda: None), (WAY.station, lambda: dialled(fly))):
        tune()
        row = fly.row()
        radial, ground = geodesy.radial_and_distance(
            station_lat_deg=at.lat_deg, station_lon_deg=at.lon_deg, declination_deg=at.declination_deg,
            lat_deg=row["lat_deg"], lon_deg=row["lon_deg"],
        )  # fmt: skip
        slant = math.hypot(float(ground), (3600 - at.elevation_ft) / 6076.1)
        assert fly.dme_nm() == pytest.approx(slant, abs=0.11)  # read to a tenth; the plane is good to 0.05 at 60 NM
        beyond = (float(radial) - 130.0 + 180.0) % 360.0 - 180.0
        assert row["flag_1"] == (-1 if abs(beyond) < 90 else 1)


def test_dialled_is_not_received_and_changed_over_is_not_heard():
    """Definition: standby becomes active by the change-over alone, and what is active is identified anew."""
    fly = cockpit()
    assert "Receiver 1 hears ––– ··– –·–. OVK is ––– ···– –·–" in fly.act("identify")
    assert not fly.identified
    for action in ("tune1+100", "tune1+5", "tune1+5"):
        fly.act(action)
    assert shown.readings(fly, True)["radio 1"] == "115.60 active, 114.60 standby, DME"
    assert "––– ··– –·–" in fly.act("identify") and not fly.identified
    fly.act("change over 1")
    assert shown.readings(fly, True)["radio 1"] == "114.60 active, 115.60 standby, DME"
    assert not fly.identified
    assert "––– ···– –·–" in fly.act("identify")  # O V K
    assert fly.identified and fly.row()["identified"] == 1.0
    fly.act("change over 1")
    assert not fly.identified and fly.row()["identified"] == 0.0


def test_dme_hangs_on_one_receiver():
    """Definition: it counts from the station of the receiver it hangs on."""
    fly = cockpit()
    dialled(fly)
    near = fly.dme_nm()
    fly.act("DME on")
    assert near < 9 < 50 < fly.dme_nm()
    dialled(fly, 2)
    assert fly.dme_nm() == near
    assert fly.act("identify 2").startswith("Receiver 2 hears ––– ···– –·–") and not fly.identified


@pytest.mark.parametrize(("sends", "heard"), [("nothing", "silence"), ("test", "– · ··· –")])
def test_a_station_that_is_off_or_worked_on(sends, heard):
    """AIM 1-1-11: no ident, or TEST, and the station is not to be used; a dead one shows no flag, one in test may."""
    fly = cockpit({"active_mhz": 114.60, "standby_mhz": 115.60, "sends": {"OVK": sends}})
    assert heard in fly.act("identify") and not fly.identified
    dead = sends == "nothing"
    assert (fly.dme_nm() is None) is dead and (fly.row()["flag_1"] == 0) is dead
    fly.advance(5)
    assert (fly.deviation(1).flag == "NONE") is dead


def test_no_station_on_a_frequency_is_silence():
    """Definition: no flag, a centred needle, no distance; the dial goes round the band in steps of 0.05."""
    fly = cockpit({"active_mhz": 108.00, "standby_mhz": 117.95})
    assert "silence" in fly.act("identify") and fly.deviation(1).flag == "NONE" and fly.needle_deg(1) == 0.0
    fly.act("tune1+5")
    assert fly.receivers.said(0).startswith("108.00 active, 108.00 standby")
    fly.act("tune1-5")
    assert "117.95 standby" in fly.receivers.said(0)


def test_flights_without_tuning_are_as_they_were():
    """Definition: both receivers on the procedure's station, its buttons for tuning away, identified by one press."""
    fly = cockpit(None)
    assert set(filter(is_tuning, ACTIONS)) <= set(fly.absent())
    assert not any(map(is_tuning, cockpit().absent()))
    before = fly.receivers.said(0)
    fly.act("change over 1")
    assert fly.receivers.said(0) == before
    assert fly.act("identify").startswith("You hear ––– ···– –·–") and fly.identified


def test_bad_beginnings_are_told():
    """Definition: one sentence."""
    with pytest.raises(OutOfRange, match="active_mhz"):
        cockpit({"active_mhz": 93.0})
    with pytest.raises(BadData, match="OVK sends 'music': expected ident, test, nothing"):
        cockpit({"sends": {"OVK": "music"}})


def flown(tune):
    """A flight of the lesson's exercise, as the panel records it."""
    question = QUESTIONS["bt-hand"]
    givens = judging.draw(question, "")
    day = question.day(givens)
    fly = Cockpit(
        WAY, aircraft.load("Finch"), day, Start(**question.begin(givens)), *question.courses(givens), seed=1,
        tuned=question.tuned(givens),
    )  # fmt: skip
    tune(fly, givens)
    rows = [fly.row()]
    while fly.time_s < 480 and not (fly.dme_nm() or 99.0) <= 3.0:
        fly.advance(1.0, rows.append)
    columns = {name: [row[name] for row in rows] for name in rows[0]}
    sealed = recording.sealed(question.key, question.about(givens), Track(**columns), "at DME 3")
    return judging.judge(question, givens, sealed)


def _set(fly, givens):
    while round(fly.course_deg[0]) != givens["inbound_deg"]:
        fly.act("course1+1")


def _tuned(fly, givens):
    while fly.receivers.standby[0] != 11460:
        fly.act("tune1+5")
    fly.act("change over 1")


def test_a_flight_that_was_not_identified_is_told_so():
    """Definition: tuned, heard and set passes; not listened to earns half at most and is named; wrong station too."""

    def good(fly, givens):
        _tuned(fly, givens)
        fly.act("identify")
        _set(fly, givens)

    def deaf(fly, givens):
        _tuned(fly, givens)
        _set(fly, givens)

    def wrong(fly, givens):
        fly.act("identify")
        _set(fly, givens)

    assert flown(good).outcome is Outcome.PASS
    for tune in (deaf, wrong):
        verdict = flown(tune)
        assert verdict.outcome is not Outcome.PASS and verdict.share <= 0.5
        assert "never identified" in verdict.text
