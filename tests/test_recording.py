"""Recordings of flights flown by hand: written row by row, sealed, survivors of a crash."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import BadData
from needlework.exercises import recording
from needlework.flying import tracklog

ROWS = 12


def row(second):
    values = dict.fromkeys((column.name for column in tracklog.COLUMNS), 0.0)
    values |= {"time_s": float(second), "lat_deg": 36.9 + second * 1e-4, "lon_deg": -45.2, "alt_ft": 3600.0 - second}
    return values | {"heading_deg": 214.0, "ias_kt": 98.0, "flag_1": 1.0, "flag_2": -1.0, "dme_nm": math.nan}


def flown(folder, name="The arc", rows=ROWS, how="by the pilot"):
    recorder = recording.Recorder(name, {"procedure": "saltmarsh"}, folder)
    for second in range(rows):
        recorder.add(row(second))
    if how:
        recorder.close(how)
    else:  # the kernel dies here
        recorder._file.close()
    return recorder


def test_round_trip(tmp_path):
    """Definition: what is recorded reads back, and the tracklog reads the same file like any other."""
    path = flown(tmp_path).path
    back = recording.read(path)
    assert back.intact
    assert back.ended == "by the pilot"
    assert (back.about["name"], back.about["procedure"]) == ("The arc", "saltmarsh")
    assert back.flown_s == ROWS - 1
    for track in (back.track, tracklog.read(path)):
        assert len(track) == ROWS
        assert track.alt_ft[3] == 3597
        assert track.flag_1[0] == 1
        assert track.flag_2[0] == -1
        assert track.dme_nm is None or np.isnan(track.dme_nm).all()
    assert recording.read(back.text).intact


def test_every_row_is_on_the_disk(tmp_path):
    """Definition: a crash at any moment loses at most the row being written."""
    recorder = recording.Recorder("arc", {}, tmp_path)
    for second in range(ROWS):
        recorder.add(row(second))
        assert recording.read(recorder.path).flown_s == second
    text = recorder.path.read_text()
    recorder.close("the end")
    whole = len(text) - len(text.splitlines(keepends=True)[-2]) - len(text.splitlines(keepends=True)[-1])
    for cut in range(whole, len(text)):
        broken = recording.read(text[:cut])
        assert broken.intact, text[whole:cut]
        assert broken.flown_s == ROWS - 2
        assert not broken.ended


@given(st.data())
def test_an_edit_is_noticed(tmp_path_factory, data):
    """Definition: a recording changed anywhere inside is no longer intact, or no recording at all."""
    text = flown(tmp_path_factory.mktemp("seal"), rows=3).path.read_text()
    at = data.draw(st.integers(0, len(text) - 2))
    sign = data.draw(st.sampled_from("0123456789.,#aT\n"))
    changed = text[:at] + sign + text[at + 1 :]
    if changed == text:
        return
    try:
        back = recording.read(changed)
    except BadData:
        return
    # A broken last line looks like a crash: then the rows before it stand, and nothing else.
    assert not back.intact or text.startswith(back.text)


@pytest.mark.parametrize(
    "edit",
    [
        lambda lines: lines[:6] + lines[8:],
        lambda lines: [*lines[:-1], lines[5], lines[7]],
        lambda lines: lines[:5] + lines[7:9] + lines[5:7] + lines[9:],
        lambda lines: [line.replace("saltmarsh", "wygate") for line in lines],
        lambda lines: [line for line in lines if not line.startswith("# seal")],
        lambda lines: [line.replace("3597", "3600") for line in lines],
    ],
    ids=["cut out", "added", "moved", "another procedure", "seals taken off", "an altitude"],
)
def test_edits_by_hand(tmp_path, edit):
    """Definition: rows cut out, added, moved or changed are noticed and said in one sentence."""
    lines = flown(tmp_path).path.read_text().splitlines(keepends=True)
    back = recording.read("".join(edit(lines)))
    assert not back.intact
    assert back.why.endswith(".")


def test_newest(tmp_path):
    """Definition: the newest flight flown to an end is the one that counts; others are kept."""
    assert recording.newest("The arc", tmp_path) is None
    first = flown(tmp_path).path
    second = flown(tmp_path, how="").path
    flown(tmp_path, name="The arc again")
    (tmp_path / "the-arc-notes.csv").write_text("my notes\n")
    assert first != second
    assert recording.newest("The arc", tmp_path).path == first
    assert [one.path for one in recording.every("The arc", tmp_path)] == [first, second]


def test_refusals(tmp_path):
    """Definition: what is no recording is refused in one sentence."""
    for text in ("", "time_s,lat_deg\n0,1\n", "# flight {}\n", '# flight {"name": "x"}\n', "# flight not json\n"):
        with pytest.raises(BadData, match="not a recording of a flight"):
            recording.read(text)
    with pytest.raises(BadData, match="cannot be read"):
        recording.read(tmp_path / "none.csv")
    blocked = tmp_path / "file"
    blocked.write_text("")
    with pytest.raises(BadData, match="cannot be recorded"):
        recording.Recorder("x", {}, blocked / "below")


def test_falls_back_to_the_learners_folder(tmp_path, monkeypatch):
    """Definition: where the notebook's folder cannot be written to, the learner's own takes the flight."""
    blocked = tmp_path / "here"
    blocked.write_text("")
    monkeypatch.setattr(recording, "folder", lambda: blocked / "flights")
    monkeypatch.setenv("NEEDLEWORK_FOLDER", str(tmp_path / "own"))
    recorder = recording.Recorder("x", {})
    assert recorder.path.is_relative_to(tmp_path / "own" / "flights")
    recorder.close("at once")
    recorder.close("again")
    assert Path(recorder.path).read_text().count("# ended") == 1


def test_a_recording_survives_packing():
    """Definition: what travels in a notebook's output comes out as it went in; a cut one is refused."""
    track = tracklog.Track(np.arange(60.0), np.full(60, 36.9), np.full(60, -45.2), np.full(60, 3000.0))
    text = recording.sealed("packed", {"student": "finch 12"}, track, "the end")
    assert recording.unpacked(recording.packed(text)).text == text
    assert recording.read(text).intact
    for cut in (recording.packed(text)[:-40], "hello", None, 7):
        with pytest.raises(BadData, match="cannot be unpacked"):
            recording.unpacked(cut)
