"""The form of a lesson: what is read from its file, which faults are told, what is made of it."""

# A row of the table of faults reads best on one line.
# ruff: noqa: E501

import json
import re
import textwrap

import form_lesson
import pytest
from needlework.basis.errors import BadData
from needlework.building import checking, lessons
from needlework.building.faults import Faults
from needlework.building.settings import LOADERS
from needlework.building.settings import read as read_settings
from needlework.exercises import binding, catalogue, judging, making
from needlework.exercises.verdicts import Outcome

COURSE = [catalogue.folder_of(key) for key in catalogue.ORDER]


@pytest.fixture(scope="module")
def tiny(tmp_path_factory):
    """The tiny lesson's data and questions."""
    folder = form_lesson.write(tmp_path_factory.mktemp("lesson"))
    _, data = checking.read(folder)
    return data, making.questions_of(data, binding.load(folder / "functions.py", "tiny"))


def faults(tmp_path, lesson, functions=form_lesson.FUNCTIONS, loader=LOADERS[0]):
    """The faults of a lesson as they are told."""
    found = checking.examine(form_lesson.write(tmp_path, lesson, functions), loader)[2]
    return [fault.told("lesson.md") for fault in found.sorted()]


# ---------------------------------------------------------------- faults

PLANTED = [
    # what is changed, into what, a piece of the line that is named, what is said
    ("key: tiny", "kee: tiny", "kee: tiny", r"top of the file: `kee` does not belong here; .* did you mean `key`\?"),
    ("  - say why\n", "", "afterwards:", r"`afterwards` is a list of three things"),
    ("far: plain", "far: plane", "far: plane", r"far: `plane` is no kind of quantity; .* did you mean `plain`\?"),
    (
        "<!-- part: recall -->",
        "<!-- part: recal -->",
        "<!-- part: recal -->",
        r"`recal` is no part of a lesson; .* `recall`\?",
    ),
    ("<!-- part: recall -->\n", "", "## Recall", r"expected `<!-- part: recall -->`"),
    ("sitting: 20 minutes", "sitting: long", "sitting: long", r"`long`: expected `<!-- sitting: 50 minutes -->`"),
    ("<!-- sitting: 15", "<!-- sittin: 15", "<!-- sittin: 15", r"`sittin` is no note; .* did you mean `sitting`\?"),
    ("No hints.", "<!-- to do -->", "<!-- to do -->", r"`<!-- to do -->`: a comment would be released"),
    (":::{order} t-order", ":::{oder} t-order", ":::{oder}", r"t-order: `oder` is no kind of block; .* `order`\?"),
    (":::{choice} t-flag", ":::{choice} t-course", "choice} t-course", r"label stands twice \(first on line 25\)"),
    (":::{rule} t-rule", ":::{rule}", ":::{rule}", r"this rule has no label"),
    (":::{rule} t-rule", ":::{rule} t rule", ":::{rule} t", r"label `t rule`: expected small letters, digits and hyph"),
    ("key: tiny", "key: Tiny/1", "key: Tiny/1", r"key: `Tiny/1`: expected small letters, digits and hyphens"),
    ("draw: a_radial\nright: other_end\n", "drew: a_radial\nright: 5\n", "drew:", r"`drew` is no setting of a number; "),
    ("draw: a_radial\nright: oth", "draw: other_end\nright: oth", "draw: other", r"draw: no draw, which takes `random`"),
    ("draw: a_height", "draw: a_heigth", "draw: a_heigth", r"no function `a_heigth` .*; did you mean `a_height`\?"),
    ("right: the_flag", "right: the_flags", "right: the_flags", r"neither an option \(TO, FROM\) nor a function; did"),
    ("slips by: which_mistake", "slips by: mistake", "slips by: mistake", r"slips by: no function `mistake`"),
    ("passes: [800, most]", "passes: [800]", "passes: [800]", r"t-band, cell outside: passes: expected \[least, great"),
    ("also: {from: 20}", "also: {form: 20}", "also: {form", r"also: expected `\{from: value\}`"),
    ("- also: Twenty is taught, too.\n", "", "also: {from", r"`also: \{from: value\}` and `- also: text` belong tog"),
    ("accept: 1.5", "accept: other_end", "accept: other", r"accept: only in a cell of a table may it differ"),
    ("sound: is_low", "sound: is_lo", "sound: is_lo", r"sound: no function `is_lo` .* did you mean `is_low`\?"),
    ("with: {share: 3}", "with: {shore: 3}", "slip DOUBLE", r"`times` asks for `share`, not drawn here \(drawn: "),
    ("with: {share: 3}", "with: {share: tree}", "with: {share", r"with share: `tree` is neither drawn here nor a fun"),
    ("like: t-course", "like: t-curse", "like: t-curse", r"there is no question `t-curse` .* did you mean `t-course`\?"),
    ("like: t-course", "like: t-band/inside", "like: t-band", r"`t-band` has no cell `inside`; it has `again`, `also`"),
    ("like: t-course", "like: t-flag", "like: t-flag", r"like: `t-flag` is a choice, and this is a number"),
    ("right: CAB", "right: CAD", "right: CAD", r"right: `CAD` does not use each of A, B, C once"),
    ("because CA:", "because CD:", "because CD:", r"because CD: there are only the cards A, B, C"),
    ("within: 10 %", "within: a bit", "within: a bit", r"within: expected a percentage"),
    ("right: ten_times", "right: times", "right: times", r"`times` asks for `number`, `share`, not drawn here \(drawn: `h`"),
    ("as: flag\n", "as: my flag\n", "as: my flag", r"as: expected a name as Python takes it"),
    ("as: flag\n", "as: course\n", "as: course\nright: B", r"as: `course` is the answer of another question as well"),
    ("marks: 3", "marks: three", "marks: three", r"marks: expected a number above zero"),
    ("task: true", "task: yes", "task: yes", r"task: expected true or false"),
    (":::{reveal}\n\n:::\n", "", ":::{number} t-task", r"a task needs a block `:::\{reveal\}`"),
    ("```python worked\nflags = {}\n```\n", "", "::::{table} t-places", r"the worked answer is missing"),
    ("- hint: Neither has changed, so ...\n", "", "{choice} t-flag", r"t-flag: 2 hints where three are expected"),
    ("- why: In is the other end of out.\n", "", "{number} t-course", r"t-course: expected `- why: ` and a text"),
    ("- hint: Sketch it.\n- hint: Add", "- hnit: Sketch it.\n- hint: Add", "- hnit", r"`- hnit: Sketch it.`: .*`hint`\?"),
    ("- hint: Place or heading?", "- hint:", "- hint:\n", r"t-flag: hint has no text"),
    ("  Which end is in?", "Which end is in?", "Which end is in?", r"a text goes on with two blanks before it"),
    ("  - slip FAULT: Turning takes no signal away.\n", "", "- C: nothing", r"option C has no slip: every wrong letter"),
    ("- B: the same\n", "- B: the same\n  - slip SAME: No.\n", "- B: the same", r"option B is right and has a slip"),
    ("slip SQUARE = a_quarter:", "slip SQUARE:", "slip SQUARE", r"slip SQUARE has no value: expected `- slip SQUARE ="),
    ("- slip HEADING: The", "- rare HEADING: The", "rare HEADING", r"rare HEADING: only where a number is asked for; expected `- slip`"),
    ("slip SQUARE = a_quarter", "slip RECIP = a_quarter", "slip RECIP = a_q", r"slip RECIP stands twice \(first on line"),
    ("= a_quarter", "= a_quartet", "= a_quartet", r"slip: `a_quartet` is neither drawn .*; did you mean `a_quarter`\?"),
    ("slip MANY/much = 2000", "slip MANY/much", "MANY/much", r"slip MANY/much needs an example"),
    ("You are on radial {radial_deg}", "You are on {radal_deg}", "number} t-course", r"`\{radal_deg\}` is not drawn here"),
    ("itself: it says", "itself {gs_kt}: it", "itself {gs_kt}", r"`\{gs_kt\}` is not drawn here \(drawn: `radial_deg`\)"),
    ("- hint: {radial_deg} and", "- hint: {radial_deg:deg} and", "{radial_deg:deg}", r"`deg` is no kind of quantity"),
    ("  gs_kt: plain\n", "", "speed {gs_kt} kt", r"`\{gs_kt\}` has no kind: add it to `quantities:`"),
    ("You chose {chosen}; it lies", "You } chose {chosen}; it lies", "You }", r"a brace stands alone"),
    ("for: {places: [radial_deg, course_deg]}\noptions", "for: {place: 3}\noptions", "for: {place: 3}", r"for: expected"),
    ("options: [TO, FROM]\n", "", "radial {radial_deg}, course", r"a choice needs options"),
    ("listed: 4", "listed: 5", "listed: 5", r"t-places: listed: 5, and there are 4 cells"),
    ("listed: 4\n", "", "{table} t-places", r"its labels are drawn, .* say `listed: 4`"),
    ("right: B\n", "right: B\nfigure: {needel: {}}\n", "figure: {needel", r"no picture `needel`; did you mean `needle`\?"),
    (":::{reveal}", ":::{what-if} passages\n\n:::\n\n:::{reveal}", "{what-if} passages", r"there is no what-if `passages`"),
    (":::{reveal}", ":::{picture} arc\n```yaml\narc: 5\n```\n\n:::\n\n:::{reveal}", "arc: 5", r"the picture arc takes .*`arc`"),
    # ---- what a cell gives, and families
    ("to: 10\npasses", "to: 10\ngives: height_ft\npasses", "gives: height_ft", r"gives: `height_ft` is drawn here; what a cell"),
    ("right: number\n", "right: number\ngives: miles\n", "gives: miles", r"a cell that is repeated gives nothing to the cells"),
    ("to: 10\npasses", "to: 10\ngives: my feet\npasses", "gives: my feet", r"gives: expected a name as Python takes it"),
    ("right: 30\n", "right: 30\nfamily: heading\n", "family: heading", r"family: expected one of heading in wind, ground"),
    ("right: 30\n", "right: 30\nfamily: {lead: {far_nm: 5}}\n", "family: {lead", r"expected quantities of this family: dist_nm, gs_kt"),
    ("right: 30\n", "right: 30\nfamily: {lead: {gs_kt: speed}}\n", "family: {lead", r"family: `speed`, for gs_kt, is not drawn here"),
    # ---- lines
    ("so ...\n- model: {answer}, the same.", "so ...\n- model {answer}, the same.", "- model {answer}", r"expected `- hint:`"),
    ("(numbers(\"t-course\")[\"radial_deg\"] + 180) % 360\n```\n\n:::", "5\n```\n", "{number} t-course", r"this block is not closed before line \d+: expected a line `:::`"),
    ("- why: Heading is in neither.\n\n:::", "- why: Heading is in neither.\n:::", ":::\n\n<!-- sitting: 15", r"expected an empty line before `:::`"),
    ("No hints.", ":::\n", ":::\n\n\n:::{number} t-task", r"`:::` closes nothing"),
    ("```yaml\ntitle: The task", "```toml\ntitle: The task", "```toml", r"expected a fence of `yaml`"),
    # ---- settings
    ('title: "Course: the other end"', "title: Course: the other end", "title: Course: the", r"cannot be read at column 14 .* needs quotation"),
    ("title: In order", "title: In order\ntitle: Once more", "title: Once more", r"`title` stands twice \(first on line \d+\)"),
    ("title: In order", "title: In order #1", "title: In order #1", r"everything from ` #` on is lost \(`#1`\)"),
    ("title: In order", "title: *In* order", "title: *In* order", r"t-order: .*needs quotation marks"),
    ("title: In order", "title: &In order", "title: &In order", r"a value that begins with \* or & needs quotation marks"),
    ("title: In order", "title: !In order", "title: !In order", r"a value that begins with ! needs quotation marks"),
    ("right: 30", "right: 030", "right: 030", r"`030`: numbers have no leading zeros"),
]  # fmt: skip


def line_of(text, piece):
    """Number of the line at which a piece begins."""
    return text[: text.index(piece)].count("\n") + 1


@pytest.mark.parametrize(("old", "new", "piece", "says"), PLANTED)
def test_a_planted_fault_is_told_with_its_line(tmp_path, old, new, piece, says):
    """Definition: each fault is told once, with its line and what was expected; none of the rest follows from it."""
    assert old in form_lesson.LESSON
    lesson = form_lesson.LESSON.replace(old, new, 1)
    told = faults(tmp_path, lesson)
    assert len(told) == 1, told
    assert re.search(says, told[0]), told
    assert told[0].startswith(f"lesson.md:{line_of(lesson, piece)}: ")
    assert "\n" not in told[0]


def test_all_faults_are_told_at_once(tmp_path):
    """Definition: faults in three blocks and at the top are told together, in the order of the file."""
    lesson = form_lesson.LESSON.replace("far: plain", "far: plane").replace("right: CAB", "right: CCB")
    lesson = lesson.replace("= a_quarter", "= a_quartet").replace("task: true", "task: yes")
    told = faults(tmp_path, lesson)
    lines = [int(text.split(":")[1]) for text in told]
    assert len(told) == 4
    assert lines == sorted(lines)
    with pytest.raises(BadData) as caught:
        checking.read(tmp_path / "tiny")
    assert str(caught.value).splitlines() == [f"tiny/{text}" for text in told]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "None if radial_deg == 90 else (radial_deg + 90.0) % 360",
            "(radial_deg + 180.0) % 360",
            r"t-course: no numbers can be drawn: slip SQUARE comes to (\d+), which cannot be told from the right answer, \1$",
        ),
        (
            "None if radial_deg == 90 else (radial_deg + 90.0) % 360",
            "radial_deg",
            r"t-course: no numbers can be drawn: two slips come to the same: RECIP (\d+), SQUARE \1$",
        ),
        ('return "BEHIND" if', 'return "BEHINT" if', "t-places: .* named 'BEHINT', and no sentence has that name"),
        ('if answer == "TO" else "AHEAD"', 'if answer == "TO" else None', "the wrong answer `FROM` gets no sentence"),
        ('return "FROM" if', 'return "NEAR" if', "`NEAR` is right and is no option"),
        ("height_ft < 1100", "height_ft < 100", "no numbers can be drawn: also: `sound` takes none of them"),
        ("    return float(reciprocal", "    return 0.3 + float(reciprocal", ""),
        ('{"radial_deg": random', '{"radial_deg": 1 / 0, "x": random', "draw: `a_radial` fails: ZeroDivisionError"),
        ("height_ft + 200.0", "height_ft - 200.0", "t-band: no numbers can be drawn"),
        (
            "float(number * share)",
            "float(number * share) / 0",
            "t-places: no numbers can be drawn: ZeroDivisionError",
        ),
    ],
)
def test_what_shows_only_when_it_is_tried_out(tmp_path, old, new, says):
    """Definition: functions whose numbers cannot be used are told by the question, and why."""
    assert old in form_lesson.FUNCTIONS
    told = faults(tmp_path, form_lesson.LESSON, form_lesson.FUNCTIONS.replace(old, new, 1))
    assert (len(told) > 0) == bool(says)
    assert all(re.search(says, text) for text in told[:1]), told


def test_a_tolerance_that_refuses_a_rounded_answer_is_told(tmp_path):
    """Definition: an answer rounded as asked for passes, judged by the right answers that are drawn."""
    lesson = form_lesson.LESSON.replace("accept: 1.5", "accept: 0.2", 1)
    assert faults(tmp_path, lesson) == []
    told = faults(tmp_path, lesson, form_lesson.FUNCTIONS.replace("float(reciprocal", "0.4 + float(reciprocal"))
    assert "asked for to 1, but accept: 0.2 refuses a right answer that was rounded (at least 0.5)" in told[0]


def test_functions_that_cannot_be_run_are_told(tmp_path):
    """Definition: a module with a fault is told in one sentence with its line."""
    folder = form_lesson.write(tmp_path, functions="import nothing_of_that_name\n")
    with pytest.raises(BadData, match=r"functions\.py:1 of the lesson tiny cannot be run: ModuleNotFoundError"):
        checking.examine(folder)
    (folder / "functions.py").write_text("x = (\n")
    with pytest.raises(BadData, match=r"functions\.py:1 of the lesson tiny cannot be run: SyntaxError"):
        checking.examine(folder)
    (folder / "functions.py").unlink()
    with pytest.raises(BadData, match=r"tiny has no functions\.py"):
        checking.examine(folder)


# ---------------------------------------------------------------- parsers and formatters


@pytest.mark.parametrize("loader", LOADERS, ids=lambda loader: loader.__name__)
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3", 3), ("-3", -3), ("3.50", 3.5), ("true", True), ("false", False), ("yes", "yes"), ("NO", "NO"),
        ("on", "on"), ("~", "~"), ("null", "null"), ("3:21", "3:21"), ("2026-01-01", "2026-01-01"), ("1_000", "1_000"),
        ("1e3", "1e3"), ("0x10", "0x10"), ("10 %", "10 %"), ("45°", "45°"), ("−13", "−13"), ('"3"', "3"), ("'true'", "true"),
        ("TO", "TO"), ("", ""), ("[A, 2, B]", ["A", 2, "B"]), ("{a: 1.5, b: no}", {"a": 1.5, "b": "no"}),
    ],
)  # fmt: skip
def test_a_value_is_what_it_looks_like(loader, text, value):
    """YAML 1.2.2, core schema: plain numbers, true and false; here everything else is a text, in both parsers."""
    found = Faults()
    read = read_settings(f"name: {text}\n", 1, "x", found, loader)
    assert not len(found)
    assert read == {"name": value}
    assert type(read["name"]) in (type(value), type(read))


@pytest.mark.parametrize("change", [each[:2] for each in PLANTED if "```" not in each[0]], ids=lambda c: c[1][:40])
def test_both_parsers_tell_the_same_faults(tmp_path, change):
    """Definition: what is told does not depend on whether libyaml is there; only YAML's own words may differ."""
    lesson = form_lesson.LESSON.replace(*change, 1)
    fast, pure = (
        faults(tmp_path / str(n), lesson, loader=loader) for n, loader in enumerate((LOADERS[0], LOADERS[-1]))
    )
    assert [re.sub(r" \([^()]*\)$", "", text) for text in fast] == [
        re.sub(r" \([^()]*\)$", "", text) for text in pure
    ]


@pytest.mark.parametrize("folder", COURSE, ids=lambda folder: folder.name)
def test_both_parsers_give_the_same_data(folder):
    """Definition: a lesson's data do not depend on whether libyaml is there."""
    committed = (folder / "lesson.json").read_text(encoding="utf-8")
    for loader in LOADERS:
        assert lessons.as_lines(checking.read(folder, loader)[1]) == committed


_STARTS_A_LIST = re.compile(r"([-+*]|\d+[.)]|#+|[|>]) ")


def _wrapped(text, first, rest, width=60):
    """Wrap as a formatter does: never so that a line begins with what Markdown takes for a list or a title."""
    lines, line = [], first
    for word in text.split(" "):
        if len(line) + len(word) > width and line.strip() and not _STARTS_A_LIST.match(word + " "):
            lines.append(line.rstrip())
            line = rest
        line += word + " "
    return [*lines, line.rstrip()]


def formatted(text):
    """What a Markdown formatter makes of a lesson: other bullets, other line ends, empty lines between everything."""
    top, body = text.split("---\n", 2)[1:]
    made, paragraph, fence = [], [], False

    def flush():
        if paragraph:
            item = re.match(r"( *)- ", paragraph[0])
            if item and paragraph[0].startswith(("- ", "  - ")):
                indent = item[1]
                joined = " ".join(line.strip() for line in paragraph)[2:]
                made.extend(_wrapped(joined, f"{indent}* ", f"{indent}  "))
            elif paragraph[0].startswith(("|", ">", "#", "1.", ":::", "<!--")):
                made.extend(paragraph)
            else:
                made.extend(_wrapped(" ".join(line.strip() for line in paragraph), "", ""))
            made.append("")
            paragraph.clear()

    for line in body.split("\n"):
        starts = line.startswith(("#", ":::", "<!--", "- ", "  - ", "1.", "```"))
        if line.startswith("```") or fence:
            if not fence:
                flush()
            made.append(line)
            if line.startswith("```"):
                fence = not fence
                made.extend([] if fence else [""])
            continue
        if not line.strip() or starts:
            flush()
        if line.strip():
            paragraph.append(line)
            if line.startswith(("#", ":::", "<!--")):
                flush()
    flush()
    return "---\n" + top + "---\n" + "\n".join(made)


@pytest.mark.parametrize("folder", COURSE, ids=lambda folder: folder.name)
def test_a_formatter_changes_no_question(folder, tmp_path):
    """Definition: bullets, line ends and empty lines are layout: the same data comes out of the same words."""
    text = (folder / "lesson.md").read_text(encoding="utf-8")
    changed = formatted(text)
    assert sum(a != b for a, b in zip(text.split("\n"), changed.split("\n"), strict=False)) > 100
    copy = tmp_path / folder.name
    copy.mkdir()
    (copy / "lesson.md").write_text(changed.replace("\n", "\r\n"), encoding="utf-8-sig", newline="")
    (copy / "functions.py").write_text((folder / "functions.py").read_text(encoding="utf-8"), encoding="utf-8")
    _, data = checking.read(copy)
    assert data == json.loads((folder / "lesson.json").read_text(encoding="utf-8"))


# ---------------------------------------------------------------- what is made of it


def test_the_course_is_what_its_files_give():
    """Definition: data and solved notebooks committed are what the lessons' files give."""
    assert lessons.build(check=True) == []


def test_a_lesson_whose_folder_is_called_otherwise_is_refused(tmp_path):
    """Definition: a lesson is found by its key, so its folder has the key's name."""
    folder = form_lesson.write(tmp_path, form_lesson.LESSON.replace("key: tiny", "key: tiny-one"))
    with pytest.raises(
        BadData, match=r"tiny/lesson\.md:2: the key is `tiny-one`, so the folder is called `tiny_one`"
    ):
        lessons.built(folder)


def test_building_writes_once_and_then_has_nothing_to_do(tmp_path):
    """Definition: data and solved notebook are written; the second time, and with check, nothing is."""
    folder, solutions = form_lesson.write(tmp_path / "lessons").parent, tmp_path / "solutions"
    told = ["tiny/lesson.json", "solutions/tiny/tiny.ipynb"]
    assert lessons.build(folder, solutions, check=True) == [f"{name} differs from its lesson.md." for name in told]
    assert not solutions.exists()
    assert lessons.build(folder, solutions) == [f"{name} written." for name in told]
    assert lessons.build(folder, solutions) == []
    (folder / "tiny" / "lesson.md").write_text(form_lesson.LESSON.replace("`", "´"), encoding="utf-8")
    with pytest.raises(BadData, match=r"tiny/lesson\.md:25: t-course: "):
        lessons.build(folder, solutions)


def test_data_survive_being_written(tiny):
    """Definition: the text of lesson.json gives the same data, and holds no worked answer and no line."""
    data, _ = tiny
    text = lessons.as_lines(data)
    assert json.loads(text) == data
    assert "numbers(" not in text
    assert len(text.splitlines()) == len(data["questions"]) + 10


def test_cells_of_the_same_rows_go_row_by_row(tiny):
    """Definition: consecutive cells with the same ``for`` alternate; labels are written by their quantities."""
    table = tiny[1]["t-places"]
    givens = {**judging.draw(table), "places": [(20, 20), (200, 20)]}
    cells = table.cells(givens)
    assert list(cells) == ["radial 020, course 020", "miles to 020", "radial 200, course 020", "miles to 200"]
    assert [cell.right(givens) for cell in cells.values()] == ["FROM", 1.0, "TO", 2.0]
    # ``with`` gives the slip's function its share.
    assert [wrong for _, wrong in cells["miles to 200"].mistakes(givens)] == [6.0]


def test_a_function_names_the_sentence(tiny):
    """Definition: ``slips by`` names a declared sentence; what stands before its slash is recorded."""
    table = tiny[1]["t-places"]
    givens = {**judging.draw(table), "places": [(20, 20), (200, 20)]}
    flag = table.cells(givens)["radial 020, course 020"]
    verdict = judging.judge(flag, givens, "to")
    assert (verdict.outcome, verdict.slip) == (Outcome.SLIP, "BEHIND")
    assert (
        verdict.text == "Not yet. You chose TO. You chose TO; the station is behind you."
    )  # ``derive``, ``{chosen}``
    band = tiny[1]["t-band"]
    givens = {**judging.draw(band), "height_ft": 900}
    outside = band.cells(givens)["outside"]
    said = {value: judging.judge(outside, givens, value) for value in (799, 800, 1100, 1101, 5000)}
    assert [(v.slip, v.share) for v in said.values()] == [("FEW", 0), ("", 1), ("", 1), ("MANY", 0), ("MANY", 0)]
    assert said[1101].text.endswith("Too much.")
    assert said[5000].text.endswith("Far too much.")
    assert "with your own figures: 700." in judging.judge(outside, givens, "some").text


def test_two_values_that_are_taught_pass(tiny):
    """Definition: ``also`` passes what lies between the two values and says so; beyond them nothing does."""
    band = tiny[1]["t-band"]
    givens = judging.draw(band)
    also = band.cells(givens)["also"]
    said = {value: judging.judge(also, givens, value) for value in (31, 30, 25, 20, 19)}
    assert [v.share for v in said.values()] == [0, 1, 1, 1, 0]
    assert said[30].text == "Right: 30 degrees."
    assert said[25].text == "Right: 25 degrees. Twenty is taught, too."


def test_what_is_like_another_takes_all_but_what_stands_there(tiny):
    """Definition: settings and slips are taken; an own setting, and an own slip of the same code, replaces them."""
    band = tiny[1]["t-band"]
    givens = {**judging.draw(band), "height_ft": 900}
    again = band.cells(givens)["again"]
    assert (again.unit, again.tolerance, again.to, again.circle) == ("ft", 1.5, 1.0, False)
    assert [(slip.code, wrong, slip.says) for slip, wrong in again.mistakes(givens)] == [
        ("RECIP", 5.0, "Five."),
        ("SQUARE", 270.0, "A quarter round. Which end is in?"),
    ]
    assert again.where_to_look(givens) == "Sketch it."


def test_numbers_may_be_refused_by_a_function(tiny):
    """Definition: ``sound`` leaves out the numbers it does not take."""
    band = tiny[1]["t-band"]
    drawn = {judging.draw(band, f"student {n}")["height_ft"] for n in range(40)}
    assert drawn == {900, 1000}


def test_a_slip_may_be_missing_from_a_draw(tiny):
    """Definition: a slip whose function gives None is no mistake that these numbers admit."""
    question = tiny[1]["t-course"]
    codes = [[slip.code for slip, _ in question.mistakes({"seed": "", "radial_deg": each})] for each in (80, 90)]
    assert codes == [["RECIP", "SQUARE"], ["RECIP"]]


def test_texts_are_filled_by_their_kind(tiny):
    """Definition: a direction has three digits; lines of a text are joined, the unit and precision are said."""
    question = tiny[1]["t-course"]
    givens = {"seed": "", "radial_deg": 40}
    assert question.fill(question.prompt, givens) == (
        "You are on radial 040. Which course leads straight in to the station? Degrees magnetic, whole."
    )
    assert judging.model_answer(question, givens) == "220 degrees magnetic: the other end of 040."


def test_paragraphs_of_a_prompt_stay_apart(tmp_path):
    """Definition: an empty line between paragraphs of a prompt becomes one line end."""
    lesson = form_lesson.LESSON.replace("What does the flag show?", "\n\nWhat does the\nflag show?")
    _, data = checking.read(form_lesson.write(tmp_path, lesson))
    assert data["questions"][1]["prompt"] == "You turn round on the spot.\nWhat does the flag show?"


def test_functions_are_loaded_under_a_name_of_their_own(tmp_path):
    """Definition: two lessons' functions do not meet, a dataclass in them works, and no path is searched for them."""
    made = []
    for name in ("mine-a", "mine_a"):
        path = tmp_path / name / "functions.py"
        path.parent.mkdir()
        path.write_text(
            textwrap.dedent(f"""\
            from __future__ import annotations
            from dataclasses import dataclass

            @dataclass
            class Row:
                name: str = {name!r}
        """)
        )
        made.append(binding.load(path, name))
    assert [module.Row().name for module in made] == ["mine-a", "mine_a"]
    assert made[0].__name__ != made[1].__name__


def test_what_a_cell_gives_is_for_functions_below_it_only(tmp_path):
    """Definition: functions of the cells below may ask for it, those above and the texts not: these would tell it."""
    functions = (
        form_lesson.FUNCTIONS + '\n\ndef half(*, given_ft):\n    """Half of it."""\n    return given_ft / 2.0\n'
    )
    below = form_lesson.LESSON.replace("to: 10\npasses", "to: 10\ngives: given_ft\npasses").replace(
        "right: 30\n", "right: half\n"
    )
    assert (
        faults(tmp_path, below.replace("  height_ft: feet", "  height_ft: feet\n  given_ft: feet"), functions) == []
    )
    told = faults(tmp_path, below.replace("Look down.", "Look down from {given_ft}."), functions)
    assert len(told) == 1
    assert "`{given_ft}` is not drawn here" in told[0]
    above = form_lesson.LESSON.replace("right: 30\n", "right: 30\ngives: given_ft\n").replace(
        "- slip FEW = 700", "- slip FEW = half"
    )
    told = faults(tmp_path, above, functions)
    assert len(told) == 1
    assert "`half` asks for `given_ft`, not drawn here" in told[0]


def test_a_rare_slip_is_read_as_one(tmp_path):
    """Definition: what stands as `rare` reaches the question as a mistake that refuses no draw."""
    lesson = form_lesson.LESSON.replace("- slip SQUARE = a_quarter:", "- rare SQUARE = a_quarter:")
    folder = form_lesson.write(tmp_path, lesson)
    _, data = checking.read(folder)
    asked = making.questions_of(data, binding.load(folder / "functions.py", "tiny"))["t-course"]
    assert [(slip.code, slip.rare) for slip in asked.slips] == [("RECIP", False), ("SQUARE", True)]
