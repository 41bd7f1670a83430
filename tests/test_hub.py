"""A class on a JupyterHub: an instructor and two students, each a user of the system with a closed home."""

from __future__ import annotations

import json
from pathlib import Path

import hub
import pytest
import surface

LESSON = "station-passage"
FIRST, SECOND = "finch-7", "wren-3"

# What a curious student would try, as a program of theirs: it prints what it could read.
CURIOUS = """
import glob, json, os, sys
place, own = sys.argv[1:]
wanted = glob.glob(place + "/**", recursive=True) + [
    place + "/home/instructor/needlework-desk/gradebook.db",
    place + "/home/instructor/needlework-desk/ledger/secret",
    place + "/home/instructor/needlework/progress.jsonl",
    place + "/home/{other}/needlework/homework/{lesson}/{lesson}.ipynb",
    place + "/home/{other}/needlework/progress.jsonl",
    place + "/solutions/{lesson}/{lesson}.ipynb",
    place + "/hub/jupyterhub_cookie_secret",
    place + "/hub/jupyterhub.sqlite",
    place + "/hub/jupyterhub_config.py",
]
read = []
for path in wanted:
    for what in (open, os.listdir):
        try:
            what(path)
        except OSError:
            continue
        read.append(path)
tokens = []
for path in glob.glob("/proc/[0-9]*/environ"):
    try:
        held = open(path, "rb").read()
    except OSError:
        continue
    if b"JUPYTERHUB_USER=" + own.encode() not in held and (b"_TOKEN=" in held):
        tokens.append(path)
try:
    listed = os.listdir(place + "/exchange/needlework/inbound")
except OSError:
    listed = None
print("READ" + json.dumps([sorted(set(read)), tokens, listed]))
"""


@pytest.fixture(scope="module")
def school():
    with hub.running([FIRST, SECOND], ["--LabApp.expose_app_in_browser=True"]) as running:
        yield running


@pytest.mark.slow
@pytest.mark.browser
def test_homework_of_a_class_on_a_hub(school):
    """Definition: fetched, worked, handed in, marked and handed back by the hub's ways, each with their rights."""
    instructor = school.log_in(hub.INSTRUCTOR)
    first = school.log_in(FIRST, "lab/tree/start.ipynb")
    second = school.log_in(SECOND)
    instructor.wait()
    said = instructor.types(f"needlework desk hand-out {LESSON}")
    assert f"Your students can fetch '{LESSON}' now" in said
    assert f"needlework desk collect {LESSON}" in said

    page = first.page
    page.wait_for_selector("[data-start=ready]", timeout=hub.START_SECONDS * 1000)
    assert first.asked("api/sessions") == []
    assert not any("kernel" in each for each in first.asked("api/kernels"))
    # What can be exported is told without nbconvert, which needs charset_normalizer.
    assert first.asked("api/nbconvert")["html"] == {"output_mimetype": "text/html"}
    loaded = first.loaded()
    assert "tornado" in loaded and not loaded & {"numpy", "sqlalchemy", "charset_normalizer"}
    page.get_by_role("button", name="Fetch or hand in").click()
    page.get_by_role("button", name="Fetch", exact=True).click()
    page.get_by_role("button", name="Submit", exact=True).wait_for()
    page.locator(".lm-TabBar-tab", has_text="start.ipynb").click()
    page.locator("section", has_text="Homework").get_by_role("button", name="Station passage").click()
    page.locator(surface.READY).wait_for()
    # The name is that of the log-in, is said, and stands in the file before a number is drawn.
    assert page.locator(".nl-begun input").input_value() == FIRST
    assert f"You are logged in as {FIRST}" in page.locator(".nl-begun").inner_text()
    for key, answer in (
        ("sp-recall-flag", surface.right("sp-recall-flag", FIRST)),
        ("sp-recall-course", surface.typed(surface.right("sp-recall-course", FIRST), "degrees magnetic")),
    ):
        card = surface.Card(page, key)
        card.show()
        card.fill(answer)
        assert card.check()["verdict"]["outcome"] == "PASS"
    page.wait_for_function("() => !window.jupyterapp.shell.currentWidget.context.model.dirty")
    page.get_by_role("button", name="All lessons").click()
    page.get_by_role("button", name="Fetch or hand in").click()
    page.get_by_role("button", name="Submit", exact=True).click()
    page.locator("#submitted_assignments_list, .tree_container").get_by_text(LESSON).last.wait_for()
    assert first.errors == [] and first.outside == []
    loaded = first.loaded()
    assert "rapidfuzz" in loaded and "sqlalchemy" not in loaded

    # The other one works on the command line, hands in twice, and once more under the neighbour's name.
    second.wait()
    forged = f"{FIRST}+{LESSON}+2030-01-01 00:00:00.000000 UTC+guess"
    inbound = school.exchange / "needlework" / "inbound"
    handing_in = f"cd ~/needlework/homework; nbgrader fetch_assignment {LESSON} && nbgrader submit {LESSON}"
    handing_in += f" && nbgrader submit {LESSON} && cp -r {LESSON} '{inbound}/{forged}'"
    second.types(handing_in)

    said = instructor.types(f"needlework desk collect {LESSON}")
    assert f"taken      {FIRST}" in said and f"taken      {SECOND}" in said
    assert f"was put there by the user {SECOND}" in said
    assert "2 taken, 0 unchanged, 1 not taken" in said
    said = instructor.types(f"needlework desk mark {LESSON}")
    rows = [line.split() for line in said.splitlines() if line.startswith((FIRST, SECOND))]
    marks = {row[0]: float(row[1]) for row in rows}
    assert marks == {FIRST: 2.0, SECOND: 0.0}
    said = instructor.types(f"needlework desk hand-back {LESSON}")
    assert "2 of them can be fetched through the exchange now" in said
    told = second.types(f"nbgrader fetch_feedback {LESSON}; ls -R ~/needlework/homework/{LESSON}/feedback")
    assert f"{LESSON}.html" in told

    _nobody_reads_the_others(school, instructor, first, second)


def _tried(user, school, other):
    """Let a user's own program try what it can read: what it read of what it named, tokens, what was handed in."""
    (school.home(user.name) / "curious.py").write_text(CURIOUS.format(other=other, lesson=LESSON))
    said = user.types(f"python ~/curious.py {school.place} {user.name}")
    read, tokens, listed = json.loads(said.partition("READ")[2].splitlines()[0])
    return set(read), tokens, listed


def _nobody_reads_the_others(school, instructor, first, second):
    place = str(school.place)
    read, tokens, listed = _tried(second, school, FIRST)
    own = (f"{school.home(SECOND)}/", f"{school.exchange}/")
    open_to_all = {
        place,
        f"{place}/",
        f"{place}/home",
        f"{place}/passwd",
        f"{place}/group",
        *(one[:-1] for one in own),
    }
    assert {path for path in read - open_to_all if not path.startswith(own)} == set()
    assert tokens == [] and listed is None
    # What lies open in the exchange is the homework as it was handed out.
    assert {Path(path).name for path in read if path.startswith(own[1]) and Path(path).is_file()} == {
        f"{LESSON}.ipynb"
    }
    # All of it is there: the same program reads it as the instructor, but for what is the students' and the hub's.
    read, tokens, listed = _tried(instructor, school, FIRST)
    desk = f"{school.home(hub.INSTRUCTOR)}/needlework-desk"
    assert {f"{desk}/gradebook.db", f"{desk}/ledger/secret", f"{place}/solutions/{LESSON}/{LESSON}.ipynb"} <= read
    assert len(listed) == 4 and tokens == []
    students = (f"{school.home(FIRST)}/", f"{school.home(SECOND)}/", f"{place}/hub/")
    assert {path for path in read if path.startswith(students)} == set()
    for path in ("home/finch-7/needlework/progress.jsonl", "hub/jupyterhub_cookie_secret", "hub/jupyterhub.sqlite"):
        assert (school.place / path).is_file()
    for path in ("api/contents", "lab", "files/progress.jsonl"):
        for other in (FIRST, hub.INSTRUCTOR):
            assert second.status_of(f"user/{other}/{path}") == 403, path
    assert second.status_of("hub/admin") == 403
    assert first.status_of(f"user/{FIRST}/api/contents") == 200
