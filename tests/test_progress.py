"""The progress file: what is in it survives crashes, damage and two writers at once."""

import json
import multiprocessing

import pytest
from needlework.exercises import progress


def test_round_trip(tmp_path):
    """Definition: what was noted is read back."""
    assert progress.note_open("station-passage", tmp_path) == ""
    progress.note_try("q1", "SLIP", 0.0, "RECIP", "214", tmp_path)
    progress.note_try("q1", "PASS", 1.0, "", "034", tmp_path)
    progress.note_try("q1", "WRONG", 0.0, "", "7", tmp_path)
    progress.note_hint("q1", 2, tmp_path)
    progress.note_task("q2", "seconds: 40", tmp_path)
    progress.note_flight({"name": "arc", "score": 81.5}, tmp_path)
    read = progress.read(tmp_path)
    record = read.record("q1")
    assert (record.outcome, record.best, record.tries, record.rungs) == ("WRONG", 1.0, 3, 2)
    assert record.slips == ["RECIP"]
    assert record.passed and not record.noted
    assert read.record("q2").noted and not read.record("q2").passed and read.record("q2").tries == 0
    assert list(read.opened) == ["station-passage"]
    assert read.flights[0]["score"] == 81.5
    assert read.warning == ""
    assert read.record("never").outcome == "NOT_ATTEMPTED"


def test_begun_afresh(tmp_path):
    """Definition: what was done in a lesson before it was begun afresh counts no more, and stays in the file."""
    progress.note_open("arc", tmp_path)
    for student in ("", "finch 7"):
        progress.note_try("q1", "PASS", 1.0, where=tmp_path, student=student)
    progress.note_try("q2", "PASS", 1.0, where=tmp_path)
    progress.note_again("arc", ["q1", "q3"], tmp_path)
    for student in (None, "", "finch 7"):
        read = progress.read(tmp_path, student)
        assert read.opened == {} and "q1" not in read.questions and read.warning == ""
    assert progress.read(tmp_path).record("q2").passed
    progress.note_try("q1", "CLOSE", 0.5, where=tmp_path, student="finch 7")
    assert progress.read(tmp_path, "finch 7").record("q1").best == 0.5
    assert len((tmp_path / progress.FILE_NAME).read_bytes().splitlines()) == 6


def test_nothing_there_yet(tmp_path):
    """Definition: no file is no fault."""
    assert progress.read(tmp_path / "nowhere") == progress.Progress()


@pytest.mark.parametrize("cut", [1, 10, 40])
def test_a_crash_while_writing_costs_one_line_at_most(tmp_path, cut):
    """Definition: a torn last line is set aside and said; everything before it and after it is kept."""
    for n in range(3):
        progress.note_try(f"q{n}", "PASS", 1.0, where=tmp_path)
    path = tmp_path / progress.FILE_NAME
    path.write_bytes(path.read_bytes()[:-cut])
    progress.note_try("q9", "PASS", 1.0, where=tmp_path)
    damaged = path.read_bytes()
    read = progress.read(tmp_path)
    kept = {"q0", "q1", "q9"} | ({"q2"} if cut == 1 else set())
    assert set(read.questions) == kept
    if cut > 1:
        assert "could not be read" in read.warning
        aside = next(tmp_path.glob("progress-damaged-*.jsonl"))
        assert aside.read_bytes() == damaged
        assert aside.name in read.warning
        assert progress.read(tmp_path).warning == ""
        assert set(progress.read(tmp_path).questions) == kept


@pytest.mark.parametrize(
    "junk",
    [b"\xff\xfe\x00", b"[]", b"{}", b'{"kind": "try"}', b'{"kind": "x", "when_s": 1}', b"[" * 100_000, b"x" * 300_000,
     b'{"kind":"try","key":"q","when_s":1,"outcome":"PASS","share":"much"}', b"null"],
)  # fmt: skip
def test_junk_is_set_aside(tmp_path, junk):
    """Definition: a damaged file is kept whole under another name and said; good lines go on working."""
    progress.note_try("q1", "PASS", 1.0, where=tmp_path)
    path = tmp_path / progress.FILE_NAME
    path.write_bytes(junk + b"\n" + path.read_bytes())
    read = progress.read(tmp_path)
    assert read.record("q1").outcome == "PASS"
    assert read.warning
    assert next(tmp_path.glob("progress-damaged-*")).read_bytes().startswith(junk[:20])


def test_a_share_outside_nothing_to_all_is_clamped(tmp_path):
    """Definition: nobody has more than everything right, whatever the file says."""
    progress.note_try("q1", "PASS", 7.0, where=tmp_path)
    assert progress.read(tmp_path).record("q1").best == 1.0


def test_the_marking_desk_writes_nothing(tmp_path, monkeypatch):
    """Definition: marking a submission leaves the marker's own progress alone."""
    monkeypatch.setenv("NEEDLEWORK_GRADING", "1")
    progress.note_try("q1", "PASS", 1.0, where=tmp_path)
    assert not list(tmp_path.iterdir())


def test_a_place_that_cannot_be_written_is_said(tmp_path):
    """Definition: the answer still counts and one sentence says that it could not be saved."""
    (tmp_path / "file").write_text("in the way")
    said = progress.note_try("q1", "PASS", 1.0, where=tmp_path / "file")
    assert "could not be saved" in said
    assert (tmp_path / "file").read_text() == "in the way"


def _write_many(where, name):
    for n in range(50):
        progress.note_try(f"{name}{n}", "PASS", 1.0, where=where)


def test_two_notebooks_at_once(tmp_path):
    """Definition: two kernels writing at the same time lose nothing."""
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_write_many, args=(tmp_path, name)) for name in "ab"]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    assert len(progress.read(tmp_path).questions) == 100
    # One that comes while the other's line is half written takes it for torn and ends it: an empty line, no more.
    for line in filter(None, (tmp_path / progress.FILE_NAME).read_text().splitlines()):
        json.loads(line)
