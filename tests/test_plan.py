"""Plans: what a good one becomes, and one clear sentence for each fault of a bad one."""

import numpy as np
import pytest
from needlework.basis.errors import BadData
from needlework.flying import plan
from needlework.world import aircraft

START = {"radial_deg": 310, "dme_nm": 14, "altitude_ft": 3600, "heading_deg": 130, "ias_kt": 108}
FIRST = {"then": {"course_1_deg": 130, "course_2_deg": 320, "identify": True}}
FINCH = aircraft.load("finch")


def faults_of(rows, start=None):
    with pytest.raises(BadData) as problem:
        plan.make_plan(rows, START if start is None else start)
    return problem.value.faults


def test_a_good_plan_is_taken_as_it_is():
    """Definition: a plan is plain data; numpy's numbers count as numbers."""
    rows = [
        FIRST,
        {"when": {"dme_falls_to_nm": np.float64(10.5)}, "then": {"heading_deg": np.int64(45), "turn": "left"}},
        {"when": {"needle_centres": 2}, "then": {"heading_deg": 55, "course_2_deg": 330}, "note": "ten and ten"},
    ]
    made = plan.make_plan(rows, START, "An arc")
    assert made.name == "An arc"
    assert made.rows[1].when.dme_falls_to_nm == 10.5
    assert made.rows[1].then.heading_deg == 45.0
    flown = plan.compiled(made, FINCH, True, "OVK")
    assert flown[1].when == (("dme_falls_to_nm", 10.5),)
    assert [row.note for row in flown] == ["at the start", "the DME falls to 10.5", "ten and ten"]


def test_the_plan_of_the_docstring_can_be_read_from_a_file(tmp_path):
    """Definition: what the module's docstring shows is a plan."""
    text = plan.__doc__.split("::", 1)[1].split("\nRows are")[0]
    path = tmp_path / "arc.toml"
    path.write_text("\n".join(line[4:] for line in text.splitlines()), encoding="utf-8")
    made = plan.read(path)
    assert made.start.radial_deg == 310
    assert made.rows[1].then.turn == "left"
    assert made.rows[1].note == "lead for the 10 NM arc"


CASES = [
    ({"when": {"dme_falls_to_nm": "ten"}, "then": {"heading_deg": 40}},
     'row 2.when.dme_falls_to_nm = "ten" is not a number: expected 0.1 to 199 NM'),
    ({"when": {"dme_falls_to_nm": 310}, "then": {"heading_deg": 40}},
     "row 2.when.dme_falls_to_nm = 310 NM is outside 0.1 to 199 NM: is this a radial?"),
    ({"when": {"dme_falls_nm": 10}, "then": {"heading_deg": 40}},
     "row 2.when.dme_falls_nm is not a known field: did you mean dme_falls_to_nm?"),
    ({"when": {"needle_centres": 3}, "then": {"heading_deg": 40}},
     "row 2.when.needle_centres = 3: expected 1 or 2, the needle"),
    ({"when": {"flag_1": "OFF"}, "then": {"heading_deg": 40}},
     'row 2.when.flag_1 = "OFF": expected "TO" or "FROM"'),
    ({"when": {}, "then": {"heading_deg": 40}},
     "row 2.when is empty: expected what is waited for, such as dme_falls_to_nm = 10.5"),
    ({"then": {"heading_deg": 40}},
     "row 2.when is missing: only the first row may go without, all others wait for something"),
    ({"when": {"after_s": 60}},
     "row 2.then is missing: expected what is done, such as heading_deg = 40"),
    ({"when": {"after_s": 60}, "then": {}},
     "row 2.then is empty: expected what is done, such as heading_deg = 40"),
    ({"when": {"after_s": 60}, "then": {"turn": "left"}},
     'row 2.then turns left to nowhere: give heading_deg with turn = "left"'),
    ({"when": {"after_s": 60}, "then": {"heading_deg": 40, "turn": "port"}},
     'row 2.then.turn = "port": expected "left" or "right"'),
    ({"when": {"after_s": 60}, "then": {"heading_deg": 40, "follow": "needle 1"}},
     "row 2.then gives a heading and follows a needle at once: keep one of the two"),
    ({"when": {"after_s": 60}, "then": {"rate": "half"}},
     'row 2.then gives a rate of turn without a turn: give heading_deg with rate = "half"'),
    ({"when": {"after_s": 60}, "then": {"heading_deg": 400}},
     "row 2.then.heading_deg = 400 deg is outside 0 to 360 deg: is this a distance or an altitude?"),
    ({"when": {"after_s": 60}, "then": {"vs_fpm": -318000}},
     "row 2.then.vs_fpm = -318,000 ft/min is outside -3,000 to 3,000 ft/min"),
    ({"when": {"clock_s": 60}, "then": {"heading_deg": 40}},
     'row 2 waits for the clock, but no row before it has clock = "start"'),
    ({"whn": {"after_s": 60}, "then": {"heading_deg": 40}},
     "row 2.whn is not a part of a row: did you mean when?"),
    ("turn left", 'row 2 = "turn left": expected a row with when and then'),
]  # fmt: skip


@pytest.mark.parametrize(("row", "sentence"), CASES)
def test_each_fault_gets_one_sentence(row, sentence):
    """Definition: a fault says where it is, what was found and what was expected."""
    assert sentence in faults_of([FIRST, row])


def test_all_faults_are_named_at_once():
    """Definition: a learner who made three slips reads three sentences, not one after the other."""
    found = faults_of(
        [{"then": {"heading_deg": 400}}, {"then": {"turn": "left"}}, {"when": {"flag_1": "TO"}, "then": {}}], {}
    )
    assert len(found) == 5 + 1 + 2 + 1
    assert sum(sentence.startswith("start.") for sentence in found) == 5


@pytest.mark.parametrize(
    ("when", "receiver"), [({"needle_centres": 2}, 2), ({"needle_alive": 1}, 1), ({"flag_2": "FROM"}, 2)]
)
def test_a_needle_needs_its_course(when, receiver):
    """Common practice, no source: a needle means nothing before its course is set."""
    found = faults_of([{"then": {"identify": True}}, {"when": when, "then": {"heading_deg": 40}}])
    assert found == (f"row 2 waits for receiver {receiver}, but no row before it sets course_{receiver}_deg",)


def test_following_needs_a_course_too():
    """Common practice, no source: nobody can follow a needle whose course was never set."""
    found = faults_of([{"then": {"follow": "needle 1"}}])
    assert found == ("row 1 follows needle 1, but no row up to it sets course_1_deg",)


@pytest.mark.parametrize("rows", [None, [], {}, "left", 7])
def test_no_rows(rows):
    """Definition: a plan is a list of rows."""
    assert faults_of(rows)[0].endswith("expected a list of at least one row with when and then")


def test_what_does_not_fit_aircraft_or_station():
    """Definition: the same plan may fit one station and not another; every misfit is named."""
    made = plan.make_plan(
        [FIRST, {"when": {"dme_falls_to_nm": 10}, "then": {"configuration": "aproach flap"}}], START
    )
    with pytest.raises(BadData) as problem:
        plan.compiled(made, FINCH, False, "TVU")
    assert problem.value.faults == (
        "row 2 waits for the DME, but TVU has none: use the clock or a radial",
        'row 2: the Finch has no configuration "aproach flap": did you mean approach flap?',
    )


def test_a_file_with_something_else_in_it(tmp_path):
    """Definition: an unknown part of the file is named, with the nearest known one."""
    path = tmp_path / "plan.toml"
    path.write_text("strat = 1\n[[rows]]\nthen = { heading_deg = 1 }\n", encoding="utf-8")
    with pytest.raises(BadData) as problem:
        plan.read(path)
    assert problem.value.faults == (
        "strat is not a part of a plan: did you mean start?",
        "start is missing: expected where the flight begins: radial, DME, altitude, heading, airspeed",
    )


def test_too_many_rows():
    """Definition: a kneepad has an end, and a hostile file does not eat the memory."""
    rows = [FIRST] + [{"when": {"after_s": 1}, "then": {"heading_deg": 1}}] * 400
    assert faults_of(rows) == ("the plan has 401 rows: expected at most 300",)
