"""Flights as answers: filled plans and recordings flown by hand, judged by what was flown."""

import numpy as np
import pytest
from needlework.exercises import judging, recording
from needlework.exercises.answers import Unreadable
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FilledPlan, FlownByHand, station
from needlework.exercises.goals import Goal, Met, judged
from needlework.exercises.goals.common import on_the_line, written_between
from needlework.exercises.goals.passage import hands_still, over_the_station
from needlework.exercises.goals.seen import Seen
from needlework.exercises.verdicts import Outcome
from needlework.flying.tracklog import COLUMNS, Track
from needlework.world import weather

INBOUND = FlownByHand(
    key="test-by-hand",
    lesson="station-passage",
    title="t",
    prompt="p",
    goal="Fly in.",
    begin=lambda g: {"radial_deg": 310, "dme_nm": 5.0, "altitude_ft": 3000, "heading_deg": 130, "ias_kt": 100},
    day=lambda g: weather.Day("d", "exercise", weather.parse("040/12"), 10.0, 1013.0),
    rows=lambda g: [
        {"then": {"identify": True, "course_1_deg": 130, "follow": "needle 1"}},
        {"when": {"dme_falls_to_nm": 2.0}, "then": {"end": True}},
    ],
    goals=(on_the_line("course_deg", 4.5, 2.5),),
    draw=lambda r: {"course_deg": 130},
)


@pytest.fixture(scope="module")
def reference():
    """The givens and the reference recording of the small question."""
    givens = judging.draw(INBOUND, "Finch 12")
    return givens, INBOUND.right(givens)


def test_a_recording_is_judged_by_what_was_flown(reference):
    """Definition: the reference flight passes, nothing is not attempted."""
    givens, text = reference
    assert judging.judge(INBOUND, givens, text).outcome is Outcome.PASS
    assert judging.judge(INBOUND, givens, None).outcome is Outcome.NOT_ATTEMPTED


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: text.replace("3000", "3100", 1), "changed"),
        (lambda text: "\n".join(text.splitlines()[:40] + text.splitlines()[44:]) + "\n", "changed"),
        (lambda text: text[: len(text) // 2], "broken off"),
        (lambda text: "hello", "not a recording"),
        (lambda text: 250, "not a recording of a flight"),
        (lambda text: text.replace("finch 12", "finch 13", 1), "changed"),
    ],
)
def test_a_changed_recording_is_noticed(reference, change, said):
    """Definition: a row changed, cut out or borrowed is told in one sentence and earns nothing."""
    givens, text = reference
    verdict = judging.judge(INBOUND, givens, change(text))
    assert verdict.outcome is Outcome.ERROR
    assert verdict.share == 0
    assert said in verdict.text


@pytest.mark.parametrize(("written", "share", "said"), [(1.5, 1.0, ""), (0.5, 0.0, "too near"), (7, 0.0, "too far")])
def test_a_line_is_read_as_written(reference, written, share, said):
    """Definition: what the flight alone would forgive is judged by the line itself."""
    givens, text = reference
    goal = written_between("correct from DME", 1.0, 2.5, "It is too near.", "It is too far.")
    flight = Seen(recording.read(text).track, station("saltmarsh"))
    met = goal.judge({**givens, "filled": {"correct from DME": float(written)}}, flight)
    assert met.share == share
    assert said in met.text


def test_drift_is_told_from_another_line(reference):
    """Definition: a few degrees are the wind's; thirty are another line, and the wind is not blamed for them."""
    givens, text = reference
    flight = Seen(recording.read(text).track, station("saltmarsh"))
    near = on_the_line("course_deg", 4.5, 2.5, limit_deg=0.01).judge({**givens, "course_deg": 128}, flight)
    far = on_the_line("course_deg", 4.5, 2.5).judge({**givens, "course_deg": 100}, flight)
    assert "Which way was the wind" in near.text
    assert "more than wind does" in far.text


def test_what_can_kill_costs_at_least_half(reference):
    """Common practice, no source: a flight that broke a floor is not nearly right."""
    givens, text = reference
    flight = [Seen(recording.read(text).track, station("saltmarsh"))]

    def goal(share, critical):
        return Goal("low" if critical else "slow", 1.0, lambda g, seen: Met(share, "200 ft low."), critical)

    fine = goal(1.0, False)
    harmless = judged((fine, fine, fine, goal(0.0, False)), givens, flight)
    assert (harmless.outcome, harmless.share) == (Outcome.CLOSE, 0.75)
    deadly = judged((fine, fine, fine, goal(0.0, True)), givens, flight)
    assert (deadly.outcome, deadly.share) == (Outcome.WRONG, 0.5)
    assert "200 ft low." in deadly.text
    assert judged((fine, goal(1.0, True)), givens, flight).outcome is Outcome.PASS


def test_what_was_not_flown_is_not_said_to_kill(reference):
    """Definition: a critical goal that nothing was flown for costs as much, in other words."""
    givens, text = reference
    flight = [Seen(recording.read(text).track, station("saltmarsh"))]

    def goal(flown, says):
        return Goal("low", 1.0, lambda g, seen: Met(0.0, says, flown), critical=True)

    nothing = judged((goal(False, "No descent was flown."),), givens, flight)
    assert nothing.share == 0.0
    assert "No descent was flown." in nothing.text
    assert "kill" not in nothing.text
    both = judged((goal(False, "No descent was flown."), goal(True, "200 ft low.")), givens, flight)
    assert "This is what can kill: 200 ft low." in both.text


@pytest.mark.parametrize("label", ["climb from DME", "turn not before DME", "turn not below"])
def test_the_line_that_is_wrong_is_named_first(label):
    """Definition: with the other nine lines as in a plan that passes, it is this one, whatever the flight showed."""
    plan = QUESTIONS["ma-plan"]
    givens = judging.draw(plan, "Finch 12")
    right = plan.right(givens)
    other = {"climb from DME": 3.5, "turn not before DME": 5.4, "turn not below": 1300}[label]
    verdict = judging.judge(plan, givens, {**right, label: other})
    assert verdict.outcome is not Outcome.PASS
    assert verdict.text.startswith(
        f"Not yet. Correct “{label}”: with that line right, the rest of your plan flies well."
    )


def test_a_neighbour_s_recording_is_not_mine(reference):
    """Definition: a recording says whose numbers were flown, under its seal."""
    _, text = reference
    verdict = judging.judge(INBOUND, judging.draw(INBOUND, "Finch 13"), text)
    assert "another student" in verdict.text


def test_a_recording_without_the_flag_column_cannot_show_a_passage(reference):
    """Definition: what was not recorded is not assumed."""
    givens, text = reference
    seen = Seen(recording.read(text).track, station("saltmarsh"))
    bare = Track(seen.track.time_s, seen.track.lat_deg, seen.track.lon_deg, seen.track.alt_ft)
    with pytest.raises(Unreadable, match="holds no flag_1"):
        hands_still().judge(givens, Seen(bare, seen.station))


def test_off_the_line_is_measured_from_the_track(reference):
    """Independent method: a straight track made here, 3 degrees left of the inbound line."""
    givens, _ = reference
    salt = station("saltmarsh")
    dist = np.linspace(5.0, 2.0, 60)
    from needlework.trade import geodesy

    lat, lon = geodesy.fix_position(
        station_lat_deg=salt.lat_deg,
        station_lon_deg=salt.lon_deg,
        declination_deg=salt.declination_deg,
        radial_deg=313.0,
        dist_nm=dist,
    )
    track = Track(np.arange(60.0), np.asarray(lat), np.asarray(lon), np.full(60, 3000.0))
    seen = Seen(track, salt)
    # Radial 313 is 3 degrees clockwise of 310; flying 130 inbound that is to the left of the line.
    assert seen.off_deg(130.0) == pytest.approx(-3.0, abs=0.01)  # geodesic against itself
    assert on_the_line("course_deg", 4.5, 2.5, limit_deg=5.0).judge(givens, seen).share == 1.0
    strict = on_the_line("course_deg", 4.5, 2.5, limit_deg=2.0).judge(givens, seen)
    assert strict.share == 0.0
    assert "3.0 degrees left" in strict.text
    assert over_the_station().judge(givens, seen).share == 0.0


def outbound(beside_nm, drift_nm_nm):
    """Straight out of Saltmarsh along 90: so far right of the line a mile out, and so much more each mile."""
    from needlework.trade import geodesy

    salt, along = station("saltmarsh"), np.linspace(0.2, 6.5, 240)
    across = beside_nm + drift_nm_nm * (along - 1.0)
    lat, lon = geodesy.fix_position(
        station_lat_deg=salt.lat_deg,
        station_lon_deg=salt.lon_deg,
        declination_deg=salt.declination_deg,
        radial_deg=90.0 + np.rad2deg(np.arctan2(across, along)),
        dist_nm=np.hypot(across, along),
    )
    return Seen(Track(np.arange(240.0), np.asarray(lat), np.asarray(lon), np.full(240, 3000.0)), salt)


def test_a_line_flown_beside_with_the_wind_held_is_not_put_down_to_the_wind():
    """Definition: parallel to the line the heading is right; from the line away it is not."""
    goal = on_the_line("out_deg", 3.0, 6.0)
    beside = goal.judge({"out_deg": 90.0}, outbound(0.5, 0.0))
    assert "The heading held the wind" in beside.text
    assert "0.5 NM beside the line" in beside.text
    blown = goal.judge({"out_deg": 90.0}, outbound(0.1, 0.12))
    assert "Which way was the wind" in blown.text


@pytest.mark.parametrize(
    ("blank", "value", "said"),
    [
        ("turn when the flag shows", "OFF", 'takes one of "TO", "FROM"'),
        ("heading outbound", "two fifty", "is text"),
        ("heading outbound", 400, "“heading outbound”: 400 is on no compass"),
        ("correct from DME", 400, "“correct from DME”: 400 is not to be flown; the DME reads from 0.1 to 199 NM"),
        ("correct from DME", float("nan"), "no number"),
        ("course 1 inbound", None, "Still empty: course 1 inbound"),
    ],
)
def test_a_plan_that_cannot_be_flown_says_why(blank, value, said):
    """Definition: one sentence: what was wrong, what was expected."""
    question = QUESTIONS["sp-plan"]
    givens = judging.draw(question)
    verdict = judging.judge(question, givens, {**question.right(givens), blank: value})
    assert verdict.outcome is Outcome.ERROR
    assert verdict.share == 0
    assert said in verdict.text


def test_a_plan_may_be_a_list_and_its_flags_small_letters():
    """Definition: what is meant is taken."""
    question = QUESTIONS["sp-plan"]
    right = question.right(judging.draw(question))
    values = [value.lower() if isinstance(value, str) else value for value in right.values()]
    assert question.read(values) == right
    with pytest.raises(Unreadable, match="not a line of this plan"):
        question.read({"altitude": 3})
    with pytest.raises(Unreadable, match="A table was asked for"):
        question.read(7)


def class_of(question):
    """Plans of a class, right and mistaken by turns, the second at the desk, with unreadable ones between."""
    endless = []
    endless.append(endless)
    asked = []
    for number in range(15):
        givens = judging.draw(question, f"student {number}")
        mistakes = question.mistakes(givens)
        answer = mistakes[number % len(mistakes)][1] if number % 3 else question.right(givens)
        asked.append((givens, answer, number == 1))
    return [*asked[:2], (givens, None, False), *asked[2:], (givens, endless, False), (givens, {"altitude": 3}, True)]


@pytest.mark.slow
@pytest.mark.parametrize("key", [key for key, question in QUESTIONS.items() if isinstance(question, FilledPlan)])
def test_the_plans_of_a_class_fly_together_as_they_do_alone(key):
    """Definition: each flight comes out as it does alone, to the last digit, and so does its verdict."""
    question = QUESTIONS[key]
    asked = class_of(question)
    together = question.fly_all(asked)
    assert len(together) == len(asked)
    for (givens, answer, hidden), flights in zip(asked, together, strict=True):
        alone = judging.judge(question, givens, answer, hidden)
        verdict = judging.judge(question, givens, answer, hidden, flights)
        assert (verdict.outcome, verdict.text, verdict.share, verdict.slip) == (
            alone.outcome, alone.text, alone.share, alone.slip,
        )  # fmt: skip
        assert isinstance(flights, Unreadable) == (alone.outcome in (Outcome.ERROR, Outcome.NOT_ATTEMPTED))
        if isinstance(flights, Unreadable):
            continue
        assert len(flights) == len(alone.evidence) == len(question.days(givens, hidden))
        for seen, other in zip(flights, alone.evidence, strict=True):
            for name in ("time_s", *(column.name for column in COLUMNS)):
                np.testing.assert_array_equal(getattr(seen.track, name), getattr(other.track, name), strict=True)


def test_what_makes_one_plan_unflyable_leaves_the_rest_of_the_class():
    """Definition: for a plan that nobody can fly there is its sentence, for all others there are their flights."""
    question = QUESTIONS["sp-plan"]
    givens = judging.draw(question)
    right = question.right(givens)
    first, second, third = question.fly_all(
        [(givens, right, False), (givens, {**right, "heading outbound": 400}, False), (givens, right, False)]
    )
    assert isinstance(second, Unreadable)
    assert "400 is on no compass" in str(second)
    np.testing.assert_array_equal(first[0].track.alt_ft, third[0].track.alt_ft)
    assert question.fly_all([]) == []
    # Kept with where it was raised, it would keep the memory of the whole class.
    assert judging.judge(question, givens, {**right, "heading outbound": 400}, False, second).text.count("400") == 1
    assert second.__traceback__ is None
    assert second.__context__ is None


def test_the_second_mistake_of_a_plan_is_told_with_the_first():
    """Definition: lines that the mistake named leaves alone may hold another; one in two lines is one."""
    question = QUESTIONS["sp-plan"]
    givens = judging.draw(question, "merrow 8")
    made = {slip.name: wrong for slip, wrong in question.mistakes(givens)}
    right, both = question.right(givens), made["WCASIGN"]
    verdict = judging.judge(question, givens, {**both, "course 1 outbound": made["RECIP"]["course 1 outbound"]})
    assert "And besides: " in verdict.text
    assert "Course 1 outbound is the other end of the line" in verdict.text
    assert "And besides: " not in judging.judge(question, givens, both).text
    # A degree off by hand in one of the two: still both.
    near = {**both, "heading inbound": both["heading inbound"] - 1.0}
    assert question.slip_in(givens, near).name != "WCASIGN/out"
    assert right["heading outbound"] != near["heading outbound"]
    outbound = dict(verdict.cells)["heading outbound right for the wind"].text
    off = round((both["heading outbound"] - right["heading outbound"] + 180) % 360 - 180)
    assert abs(int(outbound.split()[2]) - abs(off)) <= 1


def test_a_third_mistake_of_a_plan_is_told_too():
    """Definition: each in lines of its own."""
    plan = QUESTIONS["arc-plan"]
    numbers = judging.draw(plan, "ann")
    made = {slip.name: wrong for slip, wrong in plan.mistakes(numbers)}
    lines = {"LEADSGN": "turn at DME", "LATELEAD": "turn to final on radial", "RECIP": "course 1 by half way"}
    three = {**plan.right(numbers), **{line: made[name][line] for name, line in lines.items()}}
    text = judging.judge(plan, numbers, three).text
    assert text.count("And besides: ") == 2
    assert "Course 1 is the other end of the final" in text


def test_a_plan_that_leads_away_from_the_procedure_is_judged_by_what_was_written():
    """Definition: it was read and flown, so a line is wrong; what goals find in the lines still counts."""
    plan = QUESTIONS["wa-plan"]
    givens = judging.draw(plan)
    verdict = judging.judge(plan, givens, {**plan.right(givens), "course 1 inbound": 268})
    assert (verdict.outcome, verdict.slip) == (Outcome.SLIP, "RECIP")
    assert 0.0 < verdict.share < 0.5
    assert "leads away from the procedure" in verdict.text
