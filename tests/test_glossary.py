"""The words of the course: explained where they are first used, in one meaning, shown at the end of a lesson."""

import json
import re
from pathlib import Path

import pytest
from needlework.basis.errors import BadData
from needlework.building import glossary
from needlework.building.faults import Faults
from needlework.building.reading import read
from needlework.building.scan import Block, Prose
from needlework.exercises.catalogue import ORDER, folder_of

TERMS, NEVER = glossary.read()
LESSONS = Path(__file__).parents[1] / "lessons"


def parts():
    """Every text of the lessons in the order they are taken: lesson, section, text."""
    for key in ORDER:
        section = ""
        for part in read(folder_of(key) / "lesson.md", Faults()).parts:
            if isinstance(part, Prose):
                if part.lines[0].startswith("## "):
                    section = part.lines[0][3:].strip()
                yield key, section, " ".join(part.lines[1:] if part.lines[0].startswith("## ") else part.lines)
            elif isinstance(part, Block):
                items = [item.says for block in (part, *part.cells) for item in block.items]
                yield key, section, " ".join([part.prompt, *items])


PARTS = [(key, section, re.sub(r"\s+", " ", text.replace("**", ""))) for key, section, text in parts()]


def used(term):
    """Number of the first part that uses a term."""
    words = "|".join(map(re.escape, (term.term, *term.forms)))
    pattern = re.compile(rf"(?<![\w-])(?:{words})(?![\w])", re.I if term.term.islower() else 0)
    return next((n for n, (_, _, text) in enumerate(PARTS) if pattern.search(text)), None)


@pytest.mark.parametrize("term", TERMS, ids=lambda term: term.term)
def test_a_term_is_explained_where_it_is_first_used(term):
    """Definition: in the order of the lessons nothing uses a term before the words that explain it."""
    first = used(term)
    assert first is not None, "no lesson uses it"
    if term.known:
        assert PARTS[first][0] == term.lesson
        return
    explained = [n for n, (key, section, text) in enumerate(PARTS) if key == term.lesson and term.said in text]
    assert explained, "these words do not stand in its lesson"
    assert PARTS[explained[0]][1] == term.place
    assert first >= explained[0], PARTS[first]


@pytest.mark.parametrize("never", NEVER, ids=lambda never: never.instead)
def test_no_second_meaning(never):
    """Definition: a word of the course is not said for something else, nor something else for it."""
    pattern = re.compile(never.pattern, re.I)
    explained = " ".join(term.said for term in TERMS)
    for key, section, text in PARTS:
        for found in pattern.finditer(text):
            assert found[0] in explained, (key, section, found[0])


@pytest.mark.parametrize("key", ORDER)
def test_the_words_stand_at_the_end_of_their_lesson(key):
    """Definition: folded, before the learner's standing; every term of the lesson with the trade's abbreviation."""
    book = json.loads((LESSONS / key / f"{key}.ipynb").read_text(encoding="utf-8"))
    page = "".join(book["cells"][-2]["source"])
    assert page.startswith("<details><summary><b>Words of this lesson</b></summary>\n\n|")
    assert page.endswith("|\n\n</details>")
    for term in TERMS:
        shown = f"| **{term.term}**" + (f" ({term.trade})" if term.trade else "")
        assert (shown in page) is (term.lesson == key)
    assert "|" not in "".join(term.meaning + term.trade for term in TERMS)


def test_a_lesson_of_somebody_else_s_brings_no_words():
    """Definition: an instructor's own lesson ends as it did."""
    assert glossary.words_of("my-own-lesson") == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[terms]]\nterm = "a"\nmeaning = "b"\nlesson = "nowhere"\nknown = true\n', "no lesson 'nowhere'"),
        ('[[terms]]\nterm = "a"\nmeaning = "b"\nlesson = "station-passage"\n', "say where it is explained"),
        ('[[terms]]\nterm = "a"\n', "compare with the terms beside it"),
        (2 * '[[terms]]\nterm = "a"\nmeaning = "b"\nlesson = "station-passage"\nknown = true\n', "stands twice"),
    ],
)
def test_a_faulty_glossary_is_told(tmp_path, text, said):
    """Definition: one sentence, with the term at fault."""
    (tmp_path / "glossary.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadData, match=said):
        glossary.read(tmp_path / "glossary.toml")
