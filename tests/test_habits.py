"""Habits that are kept by machine: the shape of the tree, words that do not belong, sources of tests."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TOP = {"README.md", "DEVELOPERS.md", "datasets", "lessons", "lib", "pyproject.toml", "solutions", "tests"}
# Written in pieces, so that this file does not hold them itself.
FOREIGN_WORDS = ["seed" + " document", "tran" + "script"]


def _tracked():
    """Every file of the checkout under version control, or every file there is where git is not."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=ROOT, capture_output=True
    )
    if listed.returncode == 0:
        return [ROOT / name for name in listed.stdout.decode().split("\0") if name and (ROOT / name).is_file()]
    return [path for path in ROOT.rglob("*") if path.is_file() and not _hidden(path)]


def _hidden(path):
    return any(part.startswith(".") or part.endswith(".egg-info") for part in path.relative_to(ROOT).parts)


def test_top_level():
    """Definition: what a visitor sees first is exactly this."""
    assert {path.relative_to(ROOT).parts[0] for path in _tracked() if not _hidden(path)} == TOP


@pytest.mark.parametrize("word", FOREIGN_WORDS)
def test_foreign_words(word):
    """Definition: the tree speaks of its subject, not of how it came to be written."""
    found = []
    for path in _tracked():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        if re.search(rf"\b{word}s?\b", text, re.I):
            found.append(str(path.relative_to(ROOT)))
    assert found == []


def test_every_test_names_its_source():
    """Definition: the first line of a test's docstring says where its truth comes from."""
    import ast

    missing = []
    for path in sorted((ROOT / "tests").glob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_") and not ast.get_docstring(node):
                missing.append(f"{path.name}: {node.name}")
    assert missing == []


def test_readme_commands_are_those_that_ci_runs():
    """Definition: the suite runs in CI by the very command that the README gives."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = "python3 lib/start.py test"
    assert f"\n{command}\n" in readme
    assert "\npython3 lib/start.py open\n" in readme
    assert f"\n{command}\n" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


GUIDES = [
    "DEVELOPERS.md",
    "README.md",
    *sorted(str(p.relative_to(ROOT)) for p in ROOT.glob("lib/needlework/**/README.md")),
]


@pytest.mark.parametrize("page", GUIDES)
def test_paths_in_the_guides_are_there(page):
    """Definition: a path that a guide names, from the root of the checkout, exists."""
    text = (ROOT / page).read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:lib|tests|datasets|lessons|solutions)/[\w./-]+)`", text))
    named = {name for name in named if not re.search(r"\b(NAME|KEY|FOLDER)\b", name)}  # what the reader fills in
    gone = sorted(name for name in named if not (ROOT / name).exists())
    assert gone == [], f"{page} names what is not there"
    assert named or page != "DEVELOPERS.md"


def test_readme_lists_the_lessons_as_they_are():
    """Definition: the README's table has every lesson, in order, with the minutes of its sittings."""
    from needlework.exercises import catalogue

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = [
        line.strip("| ").split(" | ") for line in readme.splitlines() if re.fullmatch(r"\|.* \| [\d +]+ \|", line)
    ]
    listed = [(row[0], [int(each) for each in row[-1].split(" + ")]) for row in rows]
    assert listed == [(lesson.title, list(lesson.sittings)) for lesson in catalogue.LESSONS.values()]
