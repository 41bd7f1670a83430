"""Scaffolds: a lesson or a question that is written by a command reads, builds and proves as it stands."""

import json
import re
from pathlib import Path

import pytest
from needlework.basis.errors import BadData
from needlework.building import checking, lessons, proofreading, reading, scaffold
from needlework.building.faults import Faults
from needlework.course import command
from needlework.exercises import catalogue

OFF = re.compile(r"(?m)^#(\w[\w ]*): .*$")


@pytest.fixture
def folder(tmp_path):
    """A lesson as the command writes it."""
    return scaffold.new_lesson("DME arrivals", tmp_path / "lessons", package=False)


def block(folder, label):
    """The text of one block, from its opening line to its closing one."""
    text = (folder / "lesson.md").read_text(encoding="utf-8")
    return re.search(rf"(?ms)^(:::+)\{{\w+\}} {label}$.*?^\1$", text)[0]


def faults(folder):
    return [fault.told("lesson.md") for fault in checking.examine(folder)[2].sorted()]


def test_a_lesson_holds_as_it_is_written(folder):
    """Definition: the scaffold reads without faults, its notebook is built, its answers and slips are proved."""
    assert proofreading.faults_of(folder) == []
    key, _, book = lessons.built(folder)
    assert key == "dme-arrivals"
    tags = [tag for cell in json.loads(book)["cells"] for tag in cell["metadata"]["tags"]]
    assert set(reading.PARTS) - set(tags) == {"flight"}, "what is flown is added by who wants it"


@pytest.mark.parametrize("kind", reading.KINDS)
def test_a_question_holds_as_it_is_written(folder, kind):
    """Definition: with one question more the lesson still reads, builds and is proved; nothing of it is changed."""
    before = {name: (folder / name).read_text(encoding="utf-8") for name in ("lesson.md", "functions.py")}
    added = scaffold.new_question(folder, kind)
    assert added.label == f"da-{kind}"
    text, source = (folder / "lesson.md").read_text("utf-8"), (folder / "functions.py").read_text("utf-8")
    assert text.splitlines()[added.line - 1] == f"{':::' if kind != 'table' else '::::'}{{{kind}}} da-{kind}"
    assert re.match(r"(def |# Only)", source.splitlines()[added.functions_line - 1])
    assert text.partition("\n---\n")[2].startswith(before["lesson.md"].partition("\n---\n")[2])
    assert before["functions.py"].partition("\n\n\ndef ")[2] in source
    assert proofreading.faults_of(folder) == []
    assert lessons.built(folder)[0] == "dme-arrivals"


@pytest.mark.parametrize("kind", reading.KINDS)
def test_every_setting_of_a_kind_is_shown_with_a_comment(folder, kind):
    """Definition: what a kind can be told stands in its scaffold, each with one line above it that says what for."""
    scaffold.new_question(folder, kind)
    lines = block(folder, f"da-{kind}").splitlines()
    cells = set(reading.settings_of("number", cell=True)) if kind == "table" else set()
    for name in {*reading.settings_of(kind), *cells}:
        shown = [at for at, line in enumerate(lines) if re.match(rf"#?{name}:", line)]
        assert shown, name
        # What every cell needs is explained once, for all of it.
        assert kind == "table" or lines[shown[0] - 1].startswith("# "), name


@pytest.mark.parametrize("kind", reading.KINDS)
def test_what_is_switched_off_can_be_switched_on(folder, kind):
    """Definition: each setting behind a ``#`` reads without faults once the ``#`` is taken away."""
    scaffold.new_question(folder, kind)
    text, whole = (folder / "lesson.md").read_text(encoding="utf-8"), block(folder, f"da-{kind}")
    switched = [found for found in OFF.finditer(whole) if found[1] not in ("like", "task")]
    assert len(switched) > 5
    for found in switched:
        on = whole[: found.start()] + found[0][1:] + whole[found.end() :]
        if found[1] == "also":
            on = on.replace("\n- slip", "\n- also: Taught as well.\n- slip", 1)
        (folder / "lesson.md").write_text(text.replace(whole, on), encoding="utf-8")
        assert faults(folder) == [], found[0]


def test_a_task_and_a_likeness_can_be_switched_on(folder):
    """Definition: without its hints a question is a task; with ``like`` it takes what it leaves out."""
    scaffold.new_question(folder, "number")
    path, whole = folder / "lesson.md", block(folder, "da-number")
    text = path.read_text(encoding="utf-8")
    task = re.sub(r"(?m)^- hint:.*\n", "", whole.replace("#task: true", "task: true"))
    path.write_text(text.replace(whole, task), encoding="utf-8")
    assert faults(folder) == []
    alike = whole.replace("#like: OTHER-QUESTION", "like: da-first")
    assert alike != whole
    path.write_text(text.replace(whole, alike), encoding="utf-8")
    assert faults(folder) == []


def test_quantities_that_are_there_keep_their_kind(folder):
    """Definition: only what is not there is added; ``quantities: {}``, or none at all, is filled as well."""
    path = folder / "lesson.md"
    text = path.read_text(encoding="utf-8").replace("  gs_kt: plain", "  gs_kt: tenths  ")
    path.write_text(text, encoding="utf-8")
    scaffold.new_question(folder, "plan")
    kinds = reading.read(path, Faults()).quantities
    assert (kinds["gs_kt"], kinds["inbound_deg"], kinds["wind_kt"]) == ("tenths", "direction", "plain")
    for instead in ("quantities: {}\n", ""):
        path.write_text(re.sub(r"quantities:\n(  .*\n)+", instead, text), encoding="utf-8")
        scaffold.new_question(folder, "number", f"x{len(instead)}-again")
        assert reading.read(path, Faults()).quantities == {"dist_nm": "short", "gs_kt": "plain"}


@pytest.mark.parametrize(
    ("source", "lines"),
    [
        ('"""Doc."""\n', ['"""Doc."""', "", "from random import Random", "from typing import Any"]),
        (
            "from typing import Final\n\nfrom needlework.trade import dme\n",
            ["from random import Random", "from typing import Any, Final", "", "from needlework.trade import dme"],
        ),
        ("from random import Random\n\n\nclass Any: ...\n", ["from random import Random", "", "", "class Any: ..."]),
    ],
)
def test_what_the_functions_need_is_imported_once(source, lines):
    """Definition: imports go where a sorter wants them; what is bound already is left."""
    assert scaffold._with_imports(source, scaffold._IMPORTS).splitlines() == lines


def test_what_cannot_be_is_said(folder, tmp_path):
    """Definition: a name that cannot be one, or is taken, and a kind that is none, are told in one sentence."""
    for what, told in (
        (lambda: scaffold.new_lesson("DME arrivals", tmp_path / "lessons", False), r"There is a folder .* already"),
        (lambda: scaffold.new_lesson("???", tmp_path / "lessons", False), r"'\?\?\?' cannot be the name of a lesson"),
        (lambda: scaffold.new_question(folder, "nummer"), r"no kind of question called 'nummer'.*mean `number`"),
        (lambda: scaffold.new_question(folder, "number", "da-first"), r"There is a question 'da-first' already"),
        (lambda: scaffold.new_question(folder, "number", "sp-cone"), r"There is a question 'sp-cone' already"),
        (lambda: scaffold.new_question(folder, "number", "Da First"), r"'Da First' cannot be a label"),
        (lambda: scaffold.lesson_folder("dme-arival", tmp_path / "lessons"), r"there are dme-arrivals; did you mean"),
    ):
        with pytest.raises(BadData, match=told) as caught:
            what()
        assert "\n" not in str(caught.value)
    assert sorted(path.name for path in folder.iterdir()) == ["functions.py", "lesson.md"]


def test_a_lesson_of_the_course_wants_its_place(folder, monkeypatch):
    """Definition: a lesson that stands among those of the course, and not in their order, is told where to go."""
    monkeypatch.setattr(catalogue, "FOLDER", folder.parent)
    (told,) = proofreading.faults_of(folder)
    assert re.match(r"dme_arrivals/lesson\.md:2: top of the file: the lesson `dme-arrivals` has no place", told)
    monkeypatch.setattr(catalogue, "ORDER", (*catalogue.ORDER, "dme-arrivals"))
    assert faults(folder) == []


def test_the_worked_example_for_developers_holds(folder):
    """Definition: the question shown in the guide of the form, put into a lesson, has no fault and is proved."""
    shown = (Path(__file__).parents[1] / "lib/needlework/lessons/README.md").read_text(encoding="utf-8")
    block_ = re.search(r"````markdown\n(:::\{number\} .*?)````", shown, re.S)[1]
    functions = re.search(r"```python\n(def dots_and_distance.*?)```", shown, re.S)[1]
    text = (
        (folder / "lesson.md").read_text(encoding="utf-8").replace("  gs_kt: plain", "  gs_kt: plain\n  dots: plain")
    )
    (folder / "lesson.md").write_text(f"{text}\n{block_}", encoding="utf-8")
    with (folder / "functions.py").open("a", encoding="utf-8") as file:
        file.write(f"\n\n{functions}")
    assert proofreading.faults_of(folder) == []


def test_labels_begin_like_no_question_of_the_course():
    """Definition: the letters before the first hyphen are no other lesson's."""
    taken = {label.split("-")[0] for lesson in catalogue.LESSONS.values() for label in lesson.questions}
    for key in ("slow-passages", "into-radials", "sp", "arc", "holding"):
        assert scaffold.prefix_of(key) not in taken
    assert scaffold.prefix_of("dme-arrivals") == "da"


def test_the_command_says_where_it_wrote(tmp_path, capsys):
    """Definition: each line printed leads to the place at which to go on."""
    assert command.main(["new", "lesson", "dme-arrivals", "--extra", str(tmp_path)]) == 0
    assert command.main(["new", "question", "dme-arrivals", "order", "--extra", str(tmp_path)]) == 0
    place = tmp_path / "lessons" / "dme_arrivals"
    said = capsys.readouterr().out
    found = re.findall(rf"^{re.escape(str(place))}/(lesson\.md|functions\.py):(\d+)", said, re.M)
    assert [(place / name).read_text("utf-8").splitlines()[int(line) - 1] for name, line in found] == [
        ":::{order} da-order",
        "# Only for settings that are switched off in da-order: delete what is not used.",
    ]
    assert f" proofread dme-arrivals --extra {tmp_path}\n" in said
    assert command.main(["new", "question", "dme-arrivals", "order", "--extra", str(tmp_path / "none")]) == 2
