"""Every lesson is proved, and what is planted in one is caught: answers judged, slips made, sentences said."""

# A row of the table of plants reads best on one line.
# ruff: noqa: E501

import re
import sys

import pytest
from needlework.building import checking, proofreading, scaffold
from needlework.exercises import binding, catalogue, judging, making


@pytest.mark.parametrize("key", catalogue.ORDER)
def test_a_lesson_of_the_course_holds(key):
    """Definition: for many students worked answers get full marks, untouched ones nothing, each slip its own words."""
    assert proofreading.faults_of(catalogue.folder_of(key)) == []


# ---------------------------------------------------------------- planted faults


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A lesson with a question of each kind that the plants need, which holds."""
    folder = scaffold.new_lesson("planted", tmp_path_factory.mktemp("proofs"), package=False)
    for kind in ("plan", "flight", "order"):
        scaffold.new_question(folder, kind)
    return {name: (folder / name).read_text(encoding="utf-8") for name in ("lesson.md", "functions.py")}


def told(tmp_path, written, *changes):
    """What is said of the lesson after some changes, each a file, a text in it and what stands there instead."""
    folder = tmp_path / "planted"
    folder.mkdir(exist_ok=True)
    files = dict(written)
    for name, old, new in changes:
        assert old in files[name], old
        files[name] = files[name].replace(old, new, 1)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return proofreading.faults_of(folder)


LESSON, FUNCTIONS = "lesson.md", "functions.py"
SECONDS = '    """Give the time to the station: distance over speed. [s]"""\n    return dist_nm / gs_kt * 3600.0'
INSTEAD = SECONDS.partition("return ")[0] + "return "
PLAN = 'return {"course 1": float(inbound_deg), "heading inbound": heading}'
FLOWN = 'first = {"course_1_deg": float(inbound_deg), "follow": "needle 1"'
RADIAL = 'return {"course 1": float(angles.reciprocal(direction_deg=inbound_deg))}'

PLANTED = {
    "the right answer times 1.5": (
        [(FUNCTIONS, SECONDS, INSTEAD + "dist_nm / gs_kt * 3600.0 * 1.5")],
        r"pl-first: the worked answer does not pass for a student alone: Not yet\. You gave \d+ seconds",
    ),
    "a worked answer that cannot be run": (
        [(LESSON, 'pl_first = round(given["dist_nm"]', 'pl_first = round(given["dist_km"]')],
        r"pl-first: its worked answer cannot be run: KeyError: 'dist_km'",
    ),
    "a worked answer under another name": (
        [(LESSON, "pl_first = round(", "pl_fist = round(")],
        r"pl-first: the worked answer does not pass for a student alone: No answer yet",
    ),
    "a cell of a table": (
        [(LESSON, 'for miles in (30, 20, 10)} | {"the line": "RIGHT"}', 'for miles in (30, 20, 10)} | {"the line": "LEFT"}')],
        r"pl-places: the worked answer does not pass .*the line: Not yet\. You chose LEFT",
    ),
    "asked for more coarsely than is accepted": (
        [(LESSON, "to: 1\n", "to: 50\n")],
        r"pl-first: asked for to 50, but accept: 2 refuses a right answer that was rounded",
    ),
    "the same, which only some numbers show": (
        [(LESSON, "accept: 2\n", "accept: 0.4\n"),
         (LESSON, '/ (given["gs_kt"] / 60))', '/ (given["gs_kt"] / 60), 2) + 0.45 * (given["dist_nm"] / given["gs_kt"] == 0.1)'),
         (FUNCTIONS, SECONDS, INSTEAD + "dist_nm / gs_kt * 3600.0 + 0.45 * (dist_nm / gs_kt == 0.1)")],
        r"lesson\.md:\d+: pl-first: rounded to 1 as it is asked for, the right answer 360\.45 does not pass for the stud",
    ),
    "another unit at the end of the question": (
        [(LESSON, "unit: seconds\n", "unit: seconds\nending: Minutes, whole.\n")],
        r"pl-first: the question says Minutes, and it is judged in seconds",
    ),
    "another unit in the question": (
        [(LESSON, "How long until you are there?", "How many minutes until you are there?")],
        r"pl-first: the question says minutes, and it is judged in seconds",
    ),
    "another unit in the answer cell": (
        [(LESSON, "unit: seconds\n", "unit: seconds\nstub: NM to go\n")],
        r"pl-first: the answer cell says NM, and it is judged in seconds",
    ),
    "another unit in a table": (
        [(LESSON, "unit: NM\n", "unit: seconds\n")],
        r"pl-places, cell \{dist_nm\} NM: the question says degrees, and it is judged in seconds",
    ),
    "true for magnetic": (
        [(LESSON, "unit: seconds\n", "unit: degrees magnetic\nending: Degrees true, whole.\n")],
        r"pl-first: the question says Degrees true, and it is judged in degrees magnetic",
    ),
    "two slips that always come to the same": (
        [(FUNCTIONS, "    return gs_kt / dist_nm\n", "    return dist_nm / gs_kt\n")],
        r"pl-first: no numbers can be drawn: two slips come to the same: HOURS 0\.\d+, INV 0\.\d+",
    ),
    "a slip that always passes": (
        [(FUNCTIONS, "    return gs_kt / dist_nm\n", "    return dist_nm / gs_kt * 3600.0 + 1.0\n")],
        r"pl-first: no numbers can be drawn: slip INV comes to [\d.]+, which cannot be told from the right answer",
    ),
    "two slips of a plan that are the same": (
        [(FUNCTIONS, RADIAL, 'return {"heading inbound": float(inbound_deg)}')],
        r"pl-plan: no numbers can be drawn: slip NOWIND is the same as RADIAL",
    ),
    "two slips of an order that are the same": (
        [(LESSON, "- slip SELECT = BCAD:", "- slip AGAIN = BCAD: Once more.\n- slip SELECT = BCAD:")],
        r"pl-order: slip SELECT, BCAD, is told as AGAIN",
    ),
    "two slips in the same words": (
        [(LESSON, "Speed over distance is upside down: faster must be shorter.", "Look {gs_kt}."),
         (LESSON, "Those are hours: a knot is a mile an **hour**. What was done, what it would mean in the\n  air, where to look.", "Look {gs_kt}.")],
        r"pl-first: slips HOURS and INV are told in the same words for a student alone",
    ),
    "a plan whose right blanks miss a goal": (
        [(FUNCTIONS, PLAN, 'return {"course 1": float(inbound_deg), "heading inbound": heading + 20.0}')],
        r"pl-plan: (what `pl_plan_right` gives|the worked answer) does not pass for a student alone: Not yet",
    ),
    "a plan whose worked answer misses a goal": (
        [(LESSON, '"course 1": given["inbound_deg"],', '"course 1": (given["inbound_deg"] + 180) % 360,')],
        r"pl-plan: the worked answer does not pass for a student alone: .*: On the line \d+°M was selected\.",
    ),
    "a plan that fits the briefed wind only": (
        [(LESSON, "from_nm: 5, to_nm: 3}", "from_nm: 5, to_nm: 3, limit_deg: 0.6}")],
        r"pl-plan: the worked answer does not pass( at the desk)? for ",
    ),
    "a slip of a plan that flies well enough": (
        [(LESSON, "  - course_selected: {course: inbound_deg}\n  - on", "  - on")],
        r"pl-plan: slip RADIAL flies well enough to pass for a student alone: ",
    ),
    "a slip of a plan that changes nothing": (
        [(FUNCTIONS, RADIAL, "return {}")],
        r"pl-plan: no numbers can be drawn: slip RADIAL changes nothing that can be told from what is right",
    ),
    "a flight whose reference misses a goal": (
        [(FUNCTIONS, FLOWN, FLOWN.replace('"follow": "needle 1"', '"heading_deg": float(inbound_deg)'))],
        r"pl-flight: the right answer does not pass for a student alone: .*of the line between 5 and 3 NM",
    ),
    "a flight that is never flown to its end": (
        [(FUNCTIONS, FLOWN, FLOWN.replace("float(inbound_deg)", "400.0"))],
        r"pl-flight: its worked answer cannot be run: BadData",
    ),
    "a goal that speaks of other numbers": (
        [(LESSON, "  - course_selected: {course: inbound_deg}\n", "  - identified\n")],
        r"pl-plan: its answer cannot be judged for a student alone: KeyError: 'from_deg'",
    ),
    "an answer cell that is not empty": (
        [(LESSON, "unit: seconds\n", 'unit: seconds\nstub: "\\npl_first = 160"\n')],
        r"pl-first: the untouched answer cell is judged \w+",
    ),
    "a sentence that is never said": (
        [(FUNCTIONS, "    return gs_kt / dist_nm\n", "    return None\n")],
        r"lesson\.md:\d+: pl-first: slip INV is never said, in 200 draws",
    ),
    "a name that no sentence has": (
        [(LESSON, "unit: seconds\n", "unit: seconds\nslips by: named\n"),
         (FUNCTIONS, "def pl_first_right", 'def named(*, answer: float) -> str | None:\n    return "HUORS" if answer < 0 else None\n\n\ndef pl_first_right')],
        r"pl-first: for a student alone its slips cannot be made: LookupError: .*'HUORS', and no sentence",
    ),
    "a sentence that its name never gives": (
        [(LESSON, "right: RIGHT\n", "right: RIGHT\nslips by: named\n"),
         (LESSON, "- slip LR = LEFT:", "- slip NEVER: Not said.\n- slip LR:"),
         (FUNCTIONS, "def pl_first_right", 'def named() -> str:\n    return "LR"\n\n\ndef pl_first_right')],
        r"pl-places, cell the line: slip NEVER is never said, in 200 draws",
    ),
}  # fmt: skip


def test_what_is_planted_in_holds_without_it(tmp_path, written):
    """Definition: the lesson into which faults are planted has none of its own."""
    assert told(tmp_path, written) == []


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_fault_is_caught(tmp_path, written, name):
    """Definition: each planted fault is told once, by the question it is in, in one sentence."""
    changes, says = PLANTED[name]
    found = told(tmp_path, written, *changes)
    assert len(found) == 1, found
    assert re.search(says, found[0]), found
    assert "\n" not in found[0]


# A slip that in some draws comes to the same as another, or passes; the numbers left; what would be told of them.
SOMETIMES = {
    "coincide": (
        ("    return gs_kt / dist_nm\n", "    return gs_kt / dist_nm if gs_kt > 80 else dist_nm / gs_kt\n"),
        ("pl-first", "gs_kt", {90, 100, 110}),
        r"pl-first: slips HOURS and INV are told in the same words for the student 'student \d+'",
    ),
    "pass": (
        (
            "    return gs_kt / dist_nm\n",
            "    return gs_kt / dist_nm if gs_kt > 80 else dist_nm / gs_kt * 3600.0 + 1.0\n",
        ),
        ("pl-first", "gs_kt", {90, 100, 110}),
        r"pl-first: slip INV, [\d.]+, is told as PASS",
    ),
    "coincide in a plan": (
        (RADIAL, f'if inbound_deg < 180:\n        return {{"heading inbound": float(inbound_deg)}}\n    {RADIAL}'),
        ("pl-plan", "inbound_deg", set(range(180, 330, 10))),
        r"pl-plan: slip NOWIND is taken for RADIAL for the student 'student \d+', filled in as ",
    ),
}


@pytest.mark.parametrize("way", SOMETIMES)
def test_numbers_with_which_slips_cannot_be_told_apart_are_never_used(tmp_path, written, way, monkeypatch):
    """Definition: such draws are drawn again, for every student; were they not, the proof would tell."""
    change, (label, name, left), says = SOMETIMES[way]
    assert told(tmp_path, written, (FUNCTIONS, *change)) == []
    _, data = checking.read(tmp_path / "planted")
    question = making.questions_of(data, binding.load(tmp_path / "planted" / "functions.py", "planted"))[label]
    assert {judging.draw(question, f"student {number}")[name] for number in range(200)} == left
    monkeypatch.setattr(type(question), "sound", lambda *_: True)
    (found,) = told(tmp_path, written, (FUNCTIONS, *change))
    assert re.search(says, found)


def test_flown_slips_are_shared_among_students(tmp_path, written):
    """Definition: a slip that is flown by the second student only is proved as well."""
    wide = (LESSON, "from_nm: 5, to_nm: 3}", "from_nm: 5, to_nm: 3, limit_deg: 60}")
    (found,) = told(tmp_path, written, wide)
    assert re.search(r"pl-plan: slip NOWIND flies well enough to pass for the student 'student 1'", found)


def test_the_door_shows_nothing_and_leaves_nothing(tmp_path, written, capsys):
    """Definition: proving draws no picture, prints nothing and leaves the real door as it was."""
    import needlework.lesson as door

    before = (dict(vars(door)), sys.modules["needlework.lesson"])
    told(tmp_path, written)
    assert (dict(vars(door)), sys.modules["needlework.lesson"]) == before
    assert capsys.readouterr() == ("", "")
