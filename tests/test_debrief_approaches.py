"""Several approaches in one recording without a pause are judged one by one."""

import dataclasses

import numpy as np
import pytest
from needlework.course import command
from needlework.debrief import approaches
from needlework.flying import tracklog
from needlework.flying.tracklog import Track
from test_debrief_rows import judged, recorded, the

KT = 100.0


def joined(first, second):
    """One recording of two, with a straight way at one speed from the end of the first to the second."""
    east_nm = (second.lon_deg[0] - first.lon_deg[-1]) * 60 * np.cos(np.deg2rad(second.lat_deg[0]))
    between_s = max(30.0, np.hypot(east_nm, (second.lat_deg[0] - first.lat_deg[-1]) * 60) / KT * 3600)
    share = np.arange(1.0, between_s) / between_s

    def column(name):
        a, b = getattr(first, name), getattr(second, name)
        return np.concatenate([a, a[-1] + (b[0] - a[-1]) * share, b])

    rest_s = first.time_s[-1] + between_s + second.time_s - second.time_s[0]
    time_s = np.concatenate([first.time_s, first.time_s[-1] + share * between_s, rest_s])
    return Track(time_s, column("lat_deg"), column("lon_deg"), column("alt_ft")), float(first.time_s[-1]), rest_s[0]


@pytest.mark.parametrize("ends", [("missed", "missed"), ("missed", "landing"), ("landing", "missed")])
def test_two_approaches_are_told_apart(ends):
    """Definition: each is judged as it would be alone, whatever the way between them."""
    alone = [recorded(end=end) for end in ends]
    track, ended_s, begun_s = joined(*alone)
    parts = approaches(track, the("saltmarsh"))
    assert len(parts) == 2
    assert ended_s - 30.0 <= parts[0].time_s[-1] <= begun_s + 30.0
    for part, single, end in zip(parts, alone, ends, strict=True):
        report = judged(part)
        assert report.outcome == end
        assert report.verdict == judged(single).verdict
        assert {finding.row for finding in report.findings if finding.critical} == set()


def test_one_approach_stays_one():
    """Definition: what goes down again after the missed approach is no approach, nor is half a flight two."""
    track = recorded()
    sunk = dataclasses.replace(track, alt_ft=np.where(track.time_s > track.time_s[-1] - 90, 600.0, track.alt_ft))
    assert len(approaches(track, the("saltmarsh"))) == len(approaches(sunk, the("saltmarsh"))) == 1


def test_every_approach_gets_its_report(tmp_path, capsys):
    """Definition: two approaches in one file, two reports, and the file says so."""
    track, _, _ = joined(recorded(), recorded())
    path = tracklog.write(track, tmp_path / "two.csv")
    words = ["debrief", str(path), "--procedure", "saltmarsh", "--out", str(tmp_path)]
    assert command.main(words) == 0
    assert "Approach 2 of 2 in the flight" in capsys.readouterr().out
    assert len(list(tmp_path.glob("debrief-two*.html"))) == 2


def test_one_recording_of_another_place_is_left_out(tmp_path, capsys):
    """Definition: of several recordings each is judged or refused by itself; the others keep their reports."""
    near = tracklog.write(recorded(), tmp_path / "near.csv")
    away = dataclasses.replace(recorded(), lat_deg=recorded().lat_deg + 5.0)
    far = tracklog.write(away, tmp_path / "far.csv")
    assert command.main(["debrief", str(far), str(near), "--procedure", "saltmarsh", "--out", str(tmp_path)]) == 1
    said = capsys.readouterr().out
    assert "Left out: The track stays" in said
    assert (tmp_path / "debrief-near.html").exists()
