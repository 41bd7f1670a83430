"""What-ifs driven through their traits, without a browser."""

import math
import re

import nbformat
import pytest
from nbclient import NotebookClient
from needlework import pictures, sliders
from needlework.errors import OutOfRange


def test_every_what_if_shows_what_its_sliders_say():
    """Definition: every what-if of the course draws, speaks and has a still twin with sliders at both ends."""
    made = [sliders.station_passage()]
    for what_if in made:
        for control in what_if.controls.values():
            choices = (
                [control.min, control.max]
                if hasattr(control, "min")
                else list(getattr(control, "options", ())) or [False, True]
            )
            for value in choices:
                control.value = value
                assert what_if.sentence.endswith(".")
                assert "nan" not in repr(what_if.board.state)
                assert all(face["words"].endswith(".") for face in what_if.board.state.values())
        assert pictures.sentence_of(what_if.still())


def test_passage_thirty_seconds():
    """Definition: at 90 kt and 45 degrees the cone lasts 30 s at h = 90/120 NM/2 = 0.375 NM = 2,280 ft."""
    what_if = sliders.station_passage(offset_nm=0)
    what_if.controls["height_ft"].value = 2280
    assert "The cone lasts 30 s at 90 kt" in what_if.sentence
    what_if.controls["height_ft"].value = 2000
    assert "The cone lasts 26 s" in what_if.sentence


def test_passage_moves_needle_flag_and_dme_together():
    """Independent method: right triangles by hand, 90 kt, 0.2 NM right of the course, 3,000 ft above."""
    what_if = sliders.station_passage(offset_nm=0.2, crosswind_kt=0, half_angle_deg=30)
    seen = {}
    for time_s in (-120, 0, 120):
        what_if.controls["time_s"].value = time_s
        state = what_if.board.state
        seen[time_s] = (state["needle"]["deviation_dots"], state["needle"]["flag"])
        along = 90 * time_s / 3600
        wanted_nm = math.sqrt(along**2 + 0.2**2 + (3000 * 0.3048 / 1852) ** 2)
        assert state["dme"]["value"] == pytest.approx(wanted_nm, abs=1e-6)  # same triangle, other constants
    off_deg = math.degrees(math.atan(0.2 / 3))
    assert seen[-120] == (pytest.approx(-off_deg / 2, abs=1e-6), "TO")  # 2 degrees a dot
    assert seen[120] == (pytest.approx(-off_deg / 2, abs=1e-6), "FROM")  # still right of the course
    assert seen[0][1] == "NONE"


def test_passage_wind():
    """Definition: with the nose held into the wind the track is the course; without, the wind carries it off."""
    what_if = sliders.station_passage(crosswind_kt=20, offset_nm=0, time_s=-120)
    assert what_if.board.state["plan"]["heading_deg"] == pytest.approx(
        214 + math.degrees(math.atan(20 / 90)), abs=1e-6
    )
    assert what_if.board.state["needle"]["deviation_dots"] == pytest.approx(0, abs=1e-6)
    what_if.controls["held"].value = False
    assert what_if.board.state["plan"]["heading_deg"] == 214
    # The wind from the right drifts it left: before passage it was right of the course.
    assert what_if.board.state["needle"]["deviation_dots"] == -5
    assert what_if.board.state["plan"]["wind_from_deg"] == 304


@pytest.mark.parametrize(
    ("start", "text"),
    [
        ({"height_ft": 90}, "height_ft = 90 ft is outside 500 to 9,000 ft"),
        ({"speed": 90}, "there is no slider 'speed' here: expected one of height_ft"),
        ({"held": 1}, "held = 1 is neither True nor False"),
    ],
)
def test_wrong_start(start, text):
    """Definition: a starting value the slider cannot show is refused in one sentence."""
    with pytest.raises(OutOfRange, match=re.escape(text)):
        sliders.station_passage(**start)


def test_runs_without_a_browser():
    """Definition: a cell with a what-if ends at once without a browser and leaves its still twin and sentence."""
    book = nbformat.v4.new_notebook()
    book.cells = [nbformat.v4.new_code_cell("from needlework import sliders\nsliders.station_passage()")]
    NotebookClient(book, timeout=60, kernel_name="python3").execute()
    live, still = (output.data for output in book.cells[0].outputs)
    assert "application/vnd.jupyter.widget-view+json" in live
    assert still["text/plain"].startswith("60 s before the station: needle")
    assert 'class="nw-still"' in still["text/html"]
    assert len(still["image/png"]) > 10_000
