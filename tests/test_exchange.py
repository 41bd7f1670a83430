"""Homework through nbgrader's exchange: taken whole, under the right name, and back to who handed it in."""

from __future__ import annotations

import os
import shutil
import sys
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
import tiny_lesson
from nbgrader.utils import notebook_hash
from needlework.basis import places
from needlework.basis.errors import BadData
from needlework.course import command, hub
from needlework.desk import exchange
from needlework.desk.homework import Desk, settings_for
from needlework.exercises import progress

EARLY, LATE = "2026-11-27 02:06:31.404671 UTC", "2026-11-27 02:09:00.000001 UTC"
SECRET, OTHER = "ab12" * 32, "cd34" * 32


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A desk that has handed out the tiny lesson through an exchange; used by copying both."""
    folder = tmp_path_factory.mktemp("school")
    desk = Desk(folder / "desk", tiny_lesson.write_solutions(folder / "solutions"))
    desk.hand_out("tiny")
    assert desk.put_out("tiny", str(folder / "exchange")) == folder / "exchange"
    return folder


@pytest.fixture
def desk(made, tmp_path):
    for name in ("desk", "exchange"):
        shutil.copytree(made / name, tmp_path / name)
    exchange.remember(tmp_path / "desk", tmp_path / "exchange")
    return Desk(tmp_path / "desk", made / "solutions")


@pytest.fixture
def book(made):
    return (made / "exchange" / "needlework" / "outbound" / "tiny" / "tiny.ipynb").read_text(encoding="utf-8")


def handed_in(desk, student, content, when=EARLY, secret=SECRET, lesson="tiny"):
    """Lay a hand-in as nbgrader does. Source: nbgrader 0.9, exchange/default/submit.py."""
    home = desk.folder.parent / "exchange" / "needlework" / "inbound" / f"{student}+{lesson}+{when}+x{secret[:4]}"
    home.mkdir(parents=True)
    (home / f"{lesson}.ipynb").write_text(content, encoding="utf-8")
    (home / "timestamp.txt").write_text(when)
    (home / "submission_secret.txt").write_text(secret)
    return home


# nbgrader leaves a file open when it releases a page.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_there_and_back(desk, book):
    """Definition: time and secret are kept as they came, and the page lies where nbgrader looks by the secret."""
    home = handed_in(desk, "finch-7", book)
    # The student's folder also holds what came back earlier, and other homework lies beside it.
    (home / "feedback" / "2026-11-20").mkdir(parents=True)
    (home / "feedback" / "2026-11-20" / "tiny.html").write_text("earlier")
    handed_in(desk, "finch-7", book, lesson="another")
    report = desk.collect("tiny", None)
    assert [student for student, _ in report.taken] == ["finch-7"] and report.listed == []
    came = desk.folder / "submitted" / "finch-7" / "tiny"
    assert (came / "timestamp.txt").read_text() == EARLY
    assert (came / "submission_secret.txt").read_text() == SECRET
    back = desk.folder / "feedback" / "finch-7" / "tiny"
    back.mkdir(parents=True)
    (back / "tiny.html").write_text("the page")
    assert desk.put_back("tiny", ["finch-7", "wren-3"]) == (["finch-7"], "")
    page = (
        desk.folder.parent
        / "exchange"
        / "needlework"
        / "feedback"
        / f"{notebook_hash(secret=SECRET, notebook_id='tiny')}.html"
    )
    assert page.read_text() == "the page" and page.stat().st_mode & 0o004
    assert desk.collect("tiny", None).same == ["finch-7"]


@pytest.mark.parametrize("way", ["folder", "zip"])
def test_the_folder_of_an_exchange_as_files(desk, book, tmp_path, way):
    """Definition: given as a folder or a zip it is understood all the same; stamps and secrets are no hand-ins."""
    handed_in(desk, "finch-7", book)
    handed_in(desk, "wren-3", book.replace("# A tiny", "# My tiny"), LATE, OTHER)
    place = tmp_path / "exchange" / "needlework" / "inbound"
    if way == "zip":
        with zipfile.ZipFile(tmp_path / "came.zip", "w") as archive:
            for path in sorted(place.rglob("*.*")):
                if path.is_file():
                    archive.write(path, path.relative_to(place))
        place = tmp_path / "came.zip"
    report = desk.collect("tiny", place)
    assert [student for student, _ in report.taken] == ["finch-7", "wren-3"] and report.listed == []
    assert (desk.folder / "submitted" / "wren-3" / "tiny" / "submission_secret.txt").read_text() == OTHER


def test_every_version_keeps_its_own_secret(desk, book):
    """Definition: the later one counts; an earlier one that is chosen comes back with its time and its secret."""
    handed_in(desk, "finch-7", book)
    desk.collect("tiny", None)
    handed_in(desk, "finch-7", book.replace("# A tiny", "# My tiny"), LATE, OTHER)
    came = desk.folder / "submitted" / "finch-7" / "tiny"
    desk.collect("tiny", None)
    assert (came / "submission_secret.txt").read_text() == OTHER
    (earlier,) = (desk.folder / "earlier" / "finch-7").glob("tiny-*/tiny.ipynb")
    desk.collect("tiny", earlier, this_one=True)
    assert (came / "submission_secret.txt").read_text() == SECRET
    assert exchange.of_stamp((came / "timestamp.txt").read_text()) == datetime(2026, 11, 27, 2, 6, 31, 404671, UTC)
    assert desk.collect("tiny", None).taken == []


def test_a_file_first_and_the_exchange_afterwards(desk, book, tmp_path):
    """Definition: the same work once more through the exchange is no later for that, and its page can go back."""
    (tmp_path / "finch-7.ipynb").write_text(book, encoding="utf-8")
    os.utime(tmp_path / "finch-7.ipynb", (1_700_000_000, 1_700_000_000))
    desk.collect("tiny", tmp_path / "finch-7.ipynb")
    came = desk.folder / "submitted" / "finch-7" / "tiny"
    before = exchange.of_stamp((came / "timestamp.txt").read_text())
    handed_in(desk, "finch-7", book)
    assert desk.collect("tiny", None).same == ["finch-7"]
    assert (came / "submission_secret.txt").read_text() == SECRET
    assert exchange.of_stamp((came / "timestamp.txt").read_text()) == before


def test_whose_it_is_is_never_a_part_of_a_name(desk, book):
    """Definition: the exchange's name is the id on the class list, with or without what some hubs put before it."""
    (desk.folder / "students.csv").write_text("student,name\nfinch-7,Finch Seven\nwren-3,Wren Three\n")
    for number, student in enumerate(("finch-7", "jupyter-wren-3", "wren", "finch-70", "my-finch-7")):
        handed_in(desk, student, book, secret=f"{number:08x}")
    report = desk.collect("tiny", None)
    assert [student for student, _ in report.taken] == ["finch-7", "wren-3"]
    assert sorted(why.split(" ")[0] for _, why in report.listed) == ["finch-70", "my-finch-7", "wren"]
    assert all("is not on the class list: collect this file with --student NAME" in why for _, why in report.listed)


def test_two_users_whose_names_look_alike(desk, book):
    """Definition: without a class list two users who would be one student at the desk are listed, not mixed."""
    handed_in(desk, "finch-7", book)
    handed_in(desk, "finch_7", book, LATE, OTHER)
    report = desk.collect("tiny", None)
    assert report.taken == [] and len(report.listed) == 2


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() != 0, reason="only root can give a folder away")
def test_what_somebody_else_put_there_is_not_taken(desk, book):
    """Definition: a folder under a student's name that belongs to another user is listed; links are not followed."""
    home = handed_in(desk, "finch-7", book)
    os.chown(home, 1, 1)
    (home.parent / f"wren-3+tiny+{LATE}+link").symlink_to(home)
    report = desk.collect("tiny", None)
    assert report.taken == []
    assert [why for _, why in report.listed] == [
        "it says finch-7, and was put there by the user daemon",
        "it is a link, not a folder",
    ]


def test_without_an_exchange_it_is_said_what_to_type(made, tmp_path, monkeypatch):
    """Definition: one sentence, with the command as it is typed."""
    monkeypatch.delenv(hub.EXCHANGE, raising=False)
    shutil.copytree(made / "desk", tmp_path / "desk")
    (tmp_path / "desk" / "ledger" / "exchange.txt").unlink()
    plain = Desk(tmp_path / "desk", made / "solutions")
    assert plain.put_out("tiny") is None
    with pytest.raises(BadData, match=r"Say where the hand-ins are: type '.* collect tiny FOLDER-OR-ZIP'"):
        plain.collect("tiny", None)
    monkeypatch.setenv(hub.EXCHANGE, str(tmp_path / "nothing"))
    with pytest.raises(BadData, match="Nothing was handed out through"):
        plain.collect("tiny", None)
    assert settings_for(tmp_path / "desk").Exchange.root == str(tmp_path / "nothing")


def test_what_the_hub_has_set_counts_first(tmp_path, monkeypatch):
    """Definition: settings of whoever runs the server come before the course's, nbgrader's window between them."""
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "/srv/hub/jupyter")
    monkeypatch.setenv(hub.EXCHANGE, "/srv/exchange")
    paths = hub.environment(tmp_path)["JUPYTER_CONFIG_PATH"].split(os.pathsep)
    assert [Path(path).name for path in paths] == ["jupyter", "exchange", "jupyter"]
    assert paths[0] == "/srv/hub/jupyter"
    assert hub.environment(tmp_path)["JUPYTERHUB_DEFAULT_URL"] == "/lab/tree/start.ipynb"
    assert hub.environment(tmp_path, {})["JUPYTER_CONFIG_PATH"].count(os.pathsep) == 1


def test_prepare_and_hub_user(tmp_path, monkeypatch, capsys):
    """Definition: a folder is ready without a server; the hub's command needs a hub, and says so in one sentence."""
    monkeypatch.delenv("JUPYTERHUB_API_URL", raising=False)
    assert command.main(["prepare", "--folder", str(tmp_path / "mine")]) == 0
    assert (tmp_path / "mine" / "start.ipynb").is_file()
    assert (tmp_path / "mine" / "flying-an-arc" / "flying-an-arc.ipynb").is_file()
    assert command.main(["hub-user", "--ip=127.0.0.1"]) == 2
    assert "started by a JupyterHub" in capsys.readouterr().err
    called = []
    monkeypatch.setenv("JUPYTERHUB_API_URL", "http://127.0.0.1:1/hub/api")
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path / "mine"))
    monkeypatch.setattr(command.os, "execve", lambda *given: called.append(given))
    monkeypatch.chdir(tmp_path)
    command.main(["hub-user", "--ip=127.0.0.1", "--debug"])
    ((program, words, environment),) = called
    assert words[:4] == [program, "-m", "needlework.basis.light", "jupyterhub.singleuser"]
    assert words[-2:] == [
        "--ip=127.0.0.1",
        "--debug",
    ]
    assert environment["NEEDLEWORK_FOLDER"] == str(tmp_path / "mine")


def test_commands_are_told_as_they_were_typed(monkeypatch):
    """Definition: whoever typed needlework is told needlework, by the path where it is on none."""
    monkeypatch.setattr(sys, "argv", ["/opt/hub/bin/needlework", "desk"])
    monkeypatch.setattr(places.shutil, "which", lambda name: None)
    assert places.typed("desk", "marks") == "/opt/hub/bin/needlework desk marks"
    monkeypatch.setattr(places.shutil, "which", lambda name: "/opt/hub/bin/needlework")
    assert places.typed("desk", "marks") == "needlework desk marks"


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ({}, ""),
        ({"JUPYTERHUB_USER": "finch-7"}, "finch-7"),
        ({"JUPYTERHUB_USER": "a", "NEEDLEWORK_STUDENT": "b\n c"}, "b c"),
    ],
)
def test_a_name_that_is_known(monkeypatch, given, name):
    """Definition: what the operator says, else the hub's user, in one line."""
    for each in ("JUPYTERHUB_USER", "NEEDLEWORK_STUDENT"):
        monkeypatch.delenv(each, raising=False)
    for each, value in given.items():
        monkeypatch.setenv(each, value)
    assert progress.known_name() == name
