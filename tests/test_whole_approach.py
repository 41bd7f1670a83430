"""A whole approach as a question: flown by hand on the panel, judged by the debrief, and what each fault costs."""

import asyncio
import dataclasses
import math
import re

import numpy as np
import pytest
from hand_pilot import HandPilot
from needlework.debrief import Conditions, debrief
from needlework.debrief import text as text_of
from needlework.desk import aloft
from needlework.exercises import judging, progress, recording
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.goals import TOLD
from needlework.exercises.goals.whole import in_time
from needlework.exercises.verdicts import Outcome
from needlework.flying import pilot, plan, reference_pilot
from needlework.showing import panel, pictures
from needlework.showing.panel import shown
from needlework.showing.pictures.runs import whole_flights
from needlework.world import aircraft, procedure

KELD, FINCH = procedure.load("keld"), aircraft.load("finch")


pytestmark = pytest.mark.usefixtures("panels")


def offered(key, student):
    """Panel, question and givens as the lesson gives them."""
    question = QUESTIONS[key]
    givens = judging.draw(question, student)
    one, two = question.courses(givens)
    made = panel.fly(
        key,
        "Fly.",
        start=question.starts(givens),
        course_1_deg=one,
        course_2_deg=two,
        of=question.on,
        day=question.day(givens),
        seed=1,
        most_min=question.most_min,
        about=question.about(givens),
        whole=bool(question.entry),
        tuned=question.tuned(givens),
        dme_fails_at_nm=question.fails(givens),
        sight_at_nm=question.sees(givens),
        given={name: givens[name] for name in TOLD if name in givens},
    )
    return question, givens, made


def with_hands(made):
    """A pilot who sees the panel's words and presses its buttons."""

    async def begun():
        made.press("pause")
        made.press("pause")  # the recording has begun; from here on time is given by hand

    def press(action):
        if action == "pause":
            asyncio.run(begun())
        elif made.cockpit.begun and action != "end":
            made.cockpit.act(action)  # what the panel's button does, without a picture for every press
        else:
            made.press(action)

    def wait(seconds):
        for _ in range(round(seconds)):
            if not made.ended:
                made._fly(1.0)

    return HandPilot(
        lambda name: shown.instruments(made.cockpit)[name].words(),
        lambda name: shown.readings(made.cockpit, True)[name],
        press,
        wait,
    )


def test_flown_by_hand_from_the_first_key_to_the_hold():
    """Independent method: flown by the panel's words and its buttons alone, and the debrief agrees with it.

    Held against the debrief: the wind that was found, where it was levelled, where the turn was.
    """
    question, givens, made = offered("wa-hand", "pupil 1")

    hands = with_hands(made)
    hands.fly()
    assert made.ended == "by the pilot"
    flown = recording.newest("wa-hand")
    verdict = judging.judge(question, givens, flown.text)
    assert verdict.outcome is Outcome.PASS, [cell.text for _, cell in verdict.cells]
    assert aloft.cannot_be_flown(question, givens, flown.text) == ""
    assert "Debrief: Passed" in made.report.value
    report = debrief(flown.track, KELD, FINCH)
    assert report.passed
    assert report.outcome == "missed"
    true_kt = question.day(givens).wind.at(2600.0)[1]
    assert np.hypot(*hands.wind) == pytest.approx(true_kt, abs=4.0)
    assert hands.read["minimums"] - KELD.mda_ft("A") == pytest.approx(20.0, abs=10.0)
    assert "20 ft above minimums" in report.judgement("mda").fact
    assert hands.read["turn"] >= 2.0
    assert report.judgement("missed_turn").verdict == "met"
    assert [name for name, *_ in whole_flights("wa-")] == ["hand"]
    assert progress.read().flights[-1]["passed"]


def seeing(key, wanted):
    """A student to whom the runway comes in sight at a DME that is wanted."""
    question = QUESTIONS[key]
    return next(n for n in map(str, range(99)) if wanted(judging.draw(question, n)["sight_from_nm"]))


def test_landed_by_hand_where_the_runway_came_in_sight_in_time():
    """Independent method: by the panel's words and buttons to the wheels down."""
    student = seeing("wa-again", lambda nm: nm > 3.7)
    question, givens, made = offered("wa-again", student)
    assert shown.note(made.cockpit).startswith("Outside: cloud.")
    hands = with_hands(made)
    hands.fly(lands=True)
    assert made.ended == "on the runway"
    assert shown.note(made.cockpit).startswith("Outside: the runway is in sight.")
    flown = recording.newest("wa-again")
    cells = dict(judging.judge(question, givens, flown.text).cells)
    decided = cells["landed, or around, by the moment of sight"]
    assert decided.share == 1.0
    assert f"{givens['sight_from_nm']:.1f} DME, in time" in decided.text
    assert cells["the missed approach"].text == "Landed: none was flown."
    assert cells["minimums"].share == 1.0, cells["minimums"].text
    assert aloft.cannot_be_flown(question, givens, flown.text) == ""
    assert "Debrief: Passed" in made.report.value


def test_seen_too_late_is_not_landed():
    """Common practice: 412 ft at 450 ft a mile are 0.92 NM, before a threshold at 2.4 DME; VDP of the file at 3.7."""
    assert [in_time(KELD, nm) for nm in (3.7, 3.3, 3.2, 3.0)] == [True, True, False, False]
    question = QUESTIONS["wa-again"]
    late = judging.draw(question, seeing("wa-again", lambda nm: nm < 3.3))
    day = question.day(late)
    landed = reference_pilot.fly(KELD, FINCH, day, entry="RIMVO", seed=1, lands=True).one(0)
    text = recording.sealed("wa-again", question.about(late), landed.track(), "on the runway")
    verdict = judging.judge(question, late, text)
    assert dict(verdict.cells)["landed, or around, by the moment of sight"].share == 0.0
    assert verdict.share <= 0.5
    around = judging.judge(question, late, question.right(late))
    assert around.share == 1.0
    assert "you went around" in dict(around.cells)["landed, or around, by the moment of sight"].text
    early = judging.draw(question, seeing("wa-again", lambda nm: nm > 3.7))
    around = reference_pilot.fly(KELD, FINCH, question.day(early), entry="RIMVO", seed=1, laps=1).one(0)
    text = recording.sealed("wa-again", question.about(early), around.track(), "by the pilot")
    assert judging.judge(question, early, text).share > 0.8  # never wrong, and not all of the marks


def landed_in_sight():
    """The question with a runway in time, its givens, and a landing flown by the reference pilot."""
    question = QUESTIONS["wa-again"]
    givens = judging.draw(question, seeing("wa-again", lambda nm: nm > 3.7))
    flown = reference_pilot.fly(KELD, FINCH, question.day(givens), entry="RIMVO", seed=1, lands=True).one(0)
    return question, givens, flown.track()


def moved(track, along_nm=0.0, across_nm=0.0):
    """The same flight with its last two minutes elsewhere: farther along the final course, and right of it."""
    share = np.clip((track.time_s - track.time_s[-1] + 120.0) / 120.0, 0.0, 1.0) / 60.0
    angle = math.radians(KELD.final_course_deg + KELD.station.declination_deg)
    north = along_nm * math.cos(angle) - across_nm * math.sin(angle)
    east = along_nm * math.sin(angle) + across_nm * math.cos(angle)
    lon = east / math.cos(math.radians(track.lat_deg[-1]))
    return dataclasses.replace(track, lat_deg=track.lat_deg + share * north, lon_deg=track.lon_deg + share * lon)


@pytest.mark.parametrize(
    ("along_nm", "across_nm", "place"),
    [
        (2.0, 0.0, "past the end of the runway"),
        (-0.5, 0.0, "short of the runway"),
        (0.3, 0.4, "beside the runway"),
    ],
)
def test_the_ground_beside_the_runway_is_critical_in_question_and_debrief_alike(along_nm, across_nm, place):
    """Common practice, no source: a flight that ends on the ground away from the runway is an accident."""
    question, givens, track = landed_in_sight()
    track = moved(track, along_nm, across_nm)
    report = debrief(track, KELD, FINCH)
    assert report.verdict == "not passed"
    found = next(each for each in report.findings if "on the ground, not on the runway" in each.what)
    assert found.critical
    assert report.worst == found, "before all else that is critical"
    assert place in found.what
    assert "a landing or a missed approach" not in report.missing
    assert "ended on the ground, not on the runway" in text_of(report)
    verdict = judging.judge(question, givens, recording.sealed("wa-again", question.about(givens), track, "down"))
    cells = dict(verdict.cells)
    for label in ("the whole of it flown", "landed, or around, by the moment of sight"):
        assert cells[label].text.startswith("The flight ended on the ground, not on the runway"), label
        assert cells[label].share == 0.0
    assert verdict.outcome is not Outcome.PASS


def test_a_landing_on_the_runway_is_no_accident():
    """Definition: the reference landing ends on the runway; cut off on short final it has not come down."""
    _, _, track = landed_in_sight()
    for kept in (len(track.time_s), len(track.time_s) - 15):
        columns = {
            each.name: getattr(track, each.name)[:kept]
            for each in dataclasses.fields(track)
            if isinstance(getattr(track, each.name), np.ndarray)
        }
        assert "on the ground" not in text_of(debrief(dataclasses.replace(track, **columns), KELD, FINCH))


def test_the_speed_of_the_landing_may_be_taken_once_the_runway_is_in_sight():
    """The question: down to the runway at 72 kt, from the visual descent point on; the final is flown at 84."""
    _, givens, track = landed_in_sight()
    slowed = np.where(track.dme_nm < 3.75, 70.0, track.ias_kt)
    slowed[: np.flatnonzero(track.alt_ft < 600)[0]] = track.ias_kt[: np.flatnonzero(track.alt_ft < 600)[0]]
    slow = dataclasses.replace(track, ias_kt=slowed)
    told = debrief(slow, KELD, FINCH, given=Conditions(temperature_c=8.0, sight_from_nm=givens["sight_from_nm"]))
    assert told.judgement("speed_final").verdict == "met"


def test_a_full_circle_on_the_way_in_is_told():
    """Definition: a circle of half a mile flown on the arc in two minutes."""
    _, _, track = landed_in_sight()
    at = int(np.flatnonzero(track.dme_nm < 12.2)[0]) + 150
    assert "full circle" not in text_of(debrief(track, KELD, FINCH))
    step_lat, step_lon = track.lat_deg[at] - track.lat_deg[at - 1], track.lon_deg[at] - track.lon_deg[at - 1]
    squeeze = math.cos(math.radians(track.lat_deg[at]))
    turned = np.deg2rad(3.0 * np.arange(1, 121))
    east = step_lon * squeeze * np.cos(turned) + step_lat * np.sin(turned)
    north = step_lat * np.cos(turned) - step_lon * squeeze * np.sin(turned)
    columns = {}
    for each in dataclasses.fields(track):
        values = getattr(track, each.name)
        if isinstance(values, np.ndarray):
            columns[each.name] = np.concatenate([values[:at], np.full(120, values[at - 1]), values[at:]])
    columns["lat_deg"][at : at + 120] += np.cumsum(north)
    columns["lon_deg"][at : at + 120] += np.cumsum(east) / squeeze
    columns["heading_deg"][at : at + 120] = (columns["heading_deg"][at] + 3.0 * np.arange(1, 121)) % 360.0
    columns["time_s"] = np.arange(len(columns["time_s"]), dtype=float)
    said = text_of(debrief(dataclasses.replace(track, **columns), KELD, FINCH))
    told = re.search(r"(\d+):(\d\d), [^:]*: a full circle to the right, which the procedure does not ask for", said)
    assert abs(60 * int(told[1]) + int(told[2]) - at) < 15


IN_THE_AIR = {
    "WCASIGN": "the arc, joined and flown",
    "INSIDE": "the arc, joined and flown",
    "LR": "the arc, joined and flown",
    "TWIST": "the whole of it flown",
    "RADIAL": "the whole of it flown",
    "NEXTFLOOR": "idents, selectors and floors",
    "LATE": "landed, or around, by the moment of sight",
    "MAP": "landed, or around, by the moment of sight",
}


def test_a_plan_of_all_of_it_is_debriefed_as_it_was_flown():
    """Definition: what was filled in is flown to the runway; a slip costs the part of the debrief it belongs to."""
    question = QUESTIONS["wa-plan"]
    givens = judging.draw(question, "pupil 1")
    right = judging.judge(question, givens, question.right(givens))
    assert right.outcome is Outcome.PASS
    assert "ft over the threshold" in dict(right.cells)["landed, or around, by the moment of sight"].text
    made = {slip.code: filled for slip, filled in question.mistakes(givens)}
    for code, part in IN_THE_AIR.items():
        verdict = judging.judge(question, givens, made[code])
        assert verdict.slip == code
        assert dict(verdict.cells)[part].share < 1.0, code


COSTS = {
    "early descent below minimums": ("minimums", True),
    "turn before the missed approach point": ("the missed approach", True),
    "missed step-down": ("idents, selectors and floors", True),
    "correction on the wrong side": ("the way in: needle, altitude, station", False),
    "selector turned the wrong way": ("the arc, joined and flown", False),
}


@pytest.mark.parametrize("fault", COSTS)
def test_a_fault_costs_the_part_it_belongs_to(fault):
    """Definition: the debrief is the mark; what can kill caps the marks at half, anything else costs its part."""
    question = QUESTIONS["wa-hand"]
    givens = judging.draw(question, "pupil 1")
    flown = reference_pilot.fly(KELD, FINCH, question.day(givens), entry="RIMVO", faults=[fault], seed=1, laps=1)
    text = recording.sealed("wa-hand", question.about(givens), flown.one(0).track(), "the plan came to its end")
    verdict = judging.judge(question, givens, text)
    part, kills = COSTS[fault]
    assert dict(verdict.cells)[part].share < 1.0, [(label, cell.share) for label, cell in verdict.cells]
    assert verdict.outcome is not Outcome.PASS
    if kills:
        assert dict(verdict.cells)[part].share == 0.0
        assert verdict.share <= 0.5
    else:
        assert verdict.share > 0.5


def test_what_was_not_flown_earns_half_at_most():
    """Definition: without the missed approach, or without the hold, an approach is not whole, however clean."""
    question = QUESTIONS["wa-hand"]
    givens = judging.draw(question, "pupil 1")
    day = question.day(givens)
    for more in ({"missed": False}, {"laps": 0}):
        flown = reference_pilot.fly(KELD, FINCH, day, entry="RIMVO", seed=1, **more).one(0)
        text = recording.sealed("wa-hand", question.about(givens), flown.track(), "by the pilot")
        verdict = judging.judge(question, givens, text)
        assert dict(verdict.cells)["the whole of it flown"].share == 0.0
        assert 0.0 < verdict.share <= 0.5


def test_cold_is_judged_by_the_altitudes_of_the_day():
    """AIM 7-3: flown as published in the cold, floors and minimums are broken; raised by the table they are not."""
    question = QUESTIONS["wa-cold-flight"]
    givens = judging.draw(question, "pupil 1")
    way = procedure.load("jarvu")
    published = reference_pilot.fly(way, FINCH, question.day(givens), entry="TEGRU", seed=1, laps=1).one(0)
    text = recording.sealed("wa-cold-flight", question.about(givens), published.track(), "by the pilot")
    cells = dict(judging.judge(question, givens, text).cells)
    assert cells["idents, selectors and floors"].share == 0.0
    assert cells["minimums"].share < 1.0
    assert cells["minimums"].text
    assert judging.judge(question, givens, question.right(givens)).share == 1.0


def test_the_dme_goes_dark_and_stays_so():
    """Definition: at the reading named the DME goes dark; the needle lives on, and nothing brings the DME back."""
    question, givens, made = offered("wa-dark", "pupil 1")
    fly = made.cockpit
    seen = []
    for _ in range(300):
        fly.advance(1.0)
        seen.append(fly.dme_nm())
    dark = seen.index(None)
    assert seen[dark - 1] == pytest.approx(givens["lost_nm"], abs=0.06)
    assert seen[dark:] == [None] * (300 - dark)
    assert fly.deviation(1).flag == "TO"
    flown = question.right(givens)
    assert judging.judge(question, givens, flown).share == 1.0


def test_waiting_after_the_dme_is_dark_costs():
    """Definition: down to minimums without a DME is no approach."""
    question = QUESTIONS["wa-dark"]
    givens = judging.draw(question, "pupil 1")
    late = QUESTIONS["wa-dark"].rows({**givens, "lost_nm": 3.4})
    made = plan.make_plan(late, question.starts(givens), "late")
    flown = pilot.fly(made, KELD.station, FINCH, question.day(givens), seed=1, minutes=8)
    text = recording.sealed("wa-dark", question.about(givens), flown.track(), "by the pilot")
    cells = dict(judging.judge(question, givens, text).cells)
    assert cells["around as soon as the DME is gone"].share < 0.5


def test_runs_are_drawn_with_their_sentence():
    """Definition: every flight a mark, the best of each exercise its points, all of it said."""
    ax = pictures.draw_runs("wa-", [("hand", 61.0, False), ("hand", 88.0, True), ("again", 92.5, True)])
    said = pictures.sentence_of(ax)
    assert said.startswith("3 whole flights, 2 of them passed")
    assert "hand 88" in said
    assert "again 92" in said
    assert {text.get_text() for text in ax.texts} >= {"88", "92"}
    assert pictures.sentence_of(pictures.draw_runs("wa-", [])) == "No whole flight has been debriefed yet."


@pytest.mark.parametrize(
    ("label", "written", "slip"),
    [
        ("minimums", 600, ""),
        ("floor to the step-down fix", 900, ""),
        ("leave minimums at DME", 2.2, ""),
        ("first setting of selector 2", 250, ""),
        ("turn on to the arc at DME", 12.0, "NOLEADIN"),
        ("last setting of selector 2", 208, "TENS"),
        ("minimums", 720, "NOTE"),
    ],
)
def test_a_wrong_line_of_the_plan_does_not_pass_in_a_kind_wind(label, written, slip):
    """Definition: what is written against the plate costs half at least, though the model flies it well."""
    question = QUESTIONS["wa-plan"]
    givens = judging.draw(question, "Ann")
    verdict = judging.judge(question, givens, {**question.right(givens), label: written})
    assert (verdict.share <= 0.5, verdict.slip) == (True, slip), verdict.text


def test_a_heading_near_a_mistake_is_not_claimed_to_be_it():
    """Definition: to the degree it is claimed, farther off it may be."""
    question = QUESTIONS["wa-plan"]
    givens = {**judging.draw(question, "Ann"), "wind_from_deg": 350, "wind_kt": 18}
    right = question.right(givens)
    headings = ("first heading on the arc", "heading half way")
    start = judging.judge(question, givens, {**right, **dict(zip(headings, (179, 144), strict=True))})
    near = judging.judge(question, givens, {**right, **dict(zip(headings, (174, 145), strict=True))})
    assert start.slip == "STEPSTART"
    assert "It may be" not in start.text
    assert "It may be this" in near.text


def test_seconds_typed_as_a_clock_are_that_and_nothing_near():
    """Definition: 101 s typed as 1:41 is 141; the mistake whose number lies two seconds beside it is not told."""
    question = QUESTIONS["wa-outbound"]
    givens = {"tas_kt": 96, "along_kt": 18, "along": "tailwind"}
    verdict = judging.judge(question, givens, 141)
    assert "typed one behind the other" in verdict.text
    assert "Either" not in verdict.text
