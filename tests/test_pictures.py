"""The still pictures: what is drawn is read from the artists, what is said from the sentence."""

import subprocess
import sys

import numpy as np
import pytest
from matplotlib.path import Path
from needlework.basis.errors import OutOfRange
from needlework.showing import pictures, what_ifs
from needlework.showing.pictures import style
from needlework.showing.pictures.labels import Labels
from needlework.trade import vor


def line(ax, label):
    found = [one for one in ax.lines if one.get_label() == label]
    assert len(found) == 1, f"{len(found)} lines labelled {label!r} among {[one.get_label() for one in ax.lines]}"
    return found[0]


def words_in(picture):
    return [text.get_text() for text in style.every(style.figure_of(picture), "Text") if text.get_text()]


def outline_of(text):
    """The rectangle of a text once drawn, turned as the text is, in pixels."""
    spin = text.get_rotation()
    box = text.get_window_extent()
    text.set_rotation(0)
    flat = text.get_window_extent()
    text.set_rotation(spin)
    wide, tall = 0.5 * flat.width, 0.5 * flat.height
    turned = np.deg2rad(spin)
    spread = np.array([[-wide, -tall], [wide, -tall], [wide, tall], [-wide, tall], [-wide, -tall]])
    turn = np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]])
    return Path(spread @ turn + [0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1)])


def words_that_collide(ax):
    """Pairs of texts of the axes that are written over each other once drawn."""
    style.figure_of(ax).draw_without_rendering()
    outlines = [(text.get_text(), outline_of(text)) for text in ax.texts if text.get_text()]
    return [
        (one, other)
        for index, (one, outline) in enumerate(outlines)
        for other, other_outline in outlines[:index]
        if outline.intersects_path(other_outline, filled=True)
    ]


def luminance(colour):
    parts = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


# ------------------------------------------------------------------------------------------------ style
@pytest.mark.parametrize("role", style.LINE_ROLES)
def test_lines_can_be_seen(role):
    """Web Content Accessibility Guidelines 2.1, 1.4.11: graphics have contrast 3:1 or more with what is behind."""
    assert contrast(style.PALETTE[role], style.PALETTE["paper"]) >= 3.0


@pytest.mark.parametrize("role", style.TEXT_ROLES)
@pytest.mark.parametrize("behind", ["paper", "band", "cone"])
def test_words_can_be_read(role, behind):
    """Web Content Accessibility Guidelines 2.1, 1.4.3: text has contrast 4.5:1 or more with what is behind."""
    assert contrast(style.PALETTE[role], style.PALETTE[behind]) >= 4.5


def test_colour_is_never_the_only_mark():
    """Definition: each role has dashes and weight of its own, so a grey print still tells them apart."""
    looks = [(str(look["linestyle"]), look["linewidth"]) for look in style.LINES.values()]
    assert len(set(looks)) == len(looks)


def test_importing_is_cheap():
    """Definition: a lesson that only checks numbers does not pay for matplotlib."""
    code = "import sys, needlework.showing.pictures; print({'matplotlib', 'IPython', 'pydantic'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_nothing_is_left_open():
    """Definition: no picture stays registered with pyplot, so no notebook shows it a second time."""
    import matplotlib.pyplot as plt

    pictures.draw_needle(2, 214, "TO")
    assert plt.get_fignums() == []


# ------------------------------------------------------------------------------------------------ showing
def test_show_says_one_sentence(capsys):
    """Definition: show returns nothing and says what the picture shows, once."""
    assert pictures.show_needle(-4, 34, "FROM") is None
    assert capsys.readouterr().out == "Course 034°M, needle 2 dots left, flag FROM.\n"


def test_show_in_a_notebook(monkeypatch):
    """Definition: in a notebook the picture carries its sentence as alternative text, escaped."""
    import IPython

    sent = []
    monkeypatch.setattr(IPython, "get_ipython", lambda: object())
    monkeypatch.setattr("IPython.display.display", lambda data, raw: sent.append(data))
    pictures.show_plan(station="A&B", aircraft=(40, 5, 220), size="classroom")
    assert len(sent) == 1
    assert (
        'alt="Plan view, north up, of station A&amp;B; aircraft on radial 040 at 5 NM, heading 220°M."'
        in sent[0]["text/html"]
    )
    assert sent[0]["text/plain"].startswith("Plan view")


def test_classroom_size(monkeypatch):
    """Definition: the classroom size is larger in both directions, asked for or by NEEDLEWORK_SIZE."""
    ax = pictures.draw_needle(0, 90, "TO")

    def width_px(size=None):
        return int.from_bytes(pictures.png_bytes(ax, size)[16:20], "big")

    page = width_px()
    assert width_px("classroom") == pytest.approx(1.6 * page, abs=2)  # rounding to whole pixels
    monkeypatch.setenv("NEEDLEWORK_SIZE", "Classroom")
    assert width_px() == width_px("classroom")
    with pytest.raises(OutOfRange, match="size = 'huge' is not a picture size: expected 'page' or 'classroom'"):
        pictures.show_needle(0, 90, "TO", size="huge")


def test_help_shows_the_parameters():
    """Definition: a show function has the parameters of its draw function, a size, and no axes."""
    import inspect

    names = list(inspect.signature(pictures.show_needle).parameters)
    assert names[:3] == ["needle_deg", "course_deg", "flag"]
    assert "size" in names
    assert "ax" not in names


# ------------------------------------------------------------------------------------------------ dial
@pytest.mark.parametrize(
    ("needle_deg", "place", "said"),
    [(0, 0, "centred"), (2, 0.2, "1 dot right"), (-5, -0.5, "2.5 dots left"), (25, 1, "full scale right")],
)
def test_needle_place(needle_deg, place, said):
    """IFH9 p. 9-11: five dots of 2 degrees to full scale; beyond it the needle stands at the stop."""
    ax = pictures.draw_needle(needle_deg, 214, "TO")
    assert line(ax, "needle").get_xdata() == pytest.approx([place, place])
    assert said in pictures.sentence_of(ax)


@pytest.mark.parametrize(("flag", "written"), [("TO", "TO"), ("from", "FROM"), ("NONE", "blank")])
def test_flag(flag, written):
    """IFH9 p. 9-11: the flag reads TO, FROM or nothing."""
    assert written in words_in(pictures.draw_needle(0, 7, flag))


def test_dial_digits_and_no_signal():
    """Common practice, no source: three digits; a dead needle is not a centred one."""
    ax = pictures.draw_needle(np.nan, 7, "NONE", dme_nm=4.04)
    assert {"007°M", "no signal", "DME 4.0 NM"} <= set(words_in(ax))
    assert "no signal" in pictures.sentence_of(ax)
    with pytest.raises(OutOfRange, match="flag = 'UP' is not a flag: expected 'TO', 'FROM' or 'none'"):
        pictures.draw_needle(0, 7, "UP")


def test_row_of_dials():
    """Definition: one face per choice, each named with its letter in the sentence."""
    axes = pictures.draw_needles([(2, 34, "TO"), (-2, 34, "TO"), (2, 34, "FROM"), pictures.Dial(0, 34, "NONE")])
    assert [ax.texts[-1].get_text() for ax in axes] == list("ABCD")
    said = pictures.sentence_of(axes)
    assert said.startswith("A: Course 034°M, needle 1 dot right, flag TO. B: ")
    assert said.endswith("D: Course 034°M, needle centred, flag blank.")
    with pytest.raises(OutOfRange, match="dials holds 0 faces"):
        pictures.draw_needles([])


# ------------------------------------------------------------------------------------------------ plan
def test_radials_on_the_plan():
    """Scenario: variation 13 W; a magnetic radial of 103 runs due east on a true-north-up plan."""
    ax = pictures.draw_plan(radials=(103,), variation_deg=-13, reach_nm=10)
    ends = line(ax, "radial 103").get_xydata()
    assert ends[1] == pytest.approx([10, 0], abs=1e-9)  # floats
    assert ax.get_aspect() == 1
    said = words_in(ax)
    assert "R103" in said
    assert any("variation 13° W" in text for text in said)
    assert style.CAUTION in said


@pytest.mark.parametrize(("step_deg", "least", "most"), [(28, "9.8", "10.1"), (30, "9.8", "10.1"), (10, "", "10.0")])
def test_the_arc_of_the_slider_tells_how_far_in_its_steps_cut(step_deg, least, most):
    """Independent method: a leg is nearest where it is at right angles to a radial: in the middle of its step."""
    told = what_ifs.arc(step_deg=step_deg, inside_deg=step_deg // 2).sentence
    assert f"10.0 to {most} NM at their ends" in told
    assert ("in between" in told) == bool(least)
    if least:
        assert f"down to {least} in between" in told
        # Joined at 10.0 NM, three degrees into the first step; every leg after it comes as near.
        assert 10.0 * np.cos(np.radians(step_deg / 2 - 3.0)) == pytest.approx(float(least), abs=0.05)


def test_plan_lines_and_aircraft():
    """Definition: course through the station, arc at its radius, track as given, nose on the heading."""
    ax = pictures.draw_plan(
        course_deg=90, arcs=[(8, 310, 20)], track=([310, 320], [8, 8]), aircraft=(0, 4, 90, "A"), wind=(270, 20)
    )
    assert line(ax, "selected course").get_ydata() == pytest.approx([0, 0], abs=1e-9)  # floats
    arc = line(ax, "arc 8").get_xydata()
    assert np.hypot(*arc.T) == pytest.approx(8)
    swept = np.rad2deg(np.unwrap(np.arctan2(*arc.T)))
    assert swept[-1] - swept[0] == pytest.approx(70)  # clockwise from 310 to 020
    assert np.hypot(*line(ax, "track").get_xydata().T) == pytest.approx(8)
    plane = next(patch for patch in ax.patches if patch.get_label() == "aircraft A").get_path().vertices
    assert plane[:, 0].max() == pytest.approx(plane[0, 0])  # the nose is the easternmost point
    assert plane[0, 1] == pytest.approx(4)
    assert pictures.sentence_of(ax) == (
        "Plan view, north up, of station OVK; selected course 090°M; aircraft A on radial 360 at 4 NM, heading "
        "090°M; 8 NM arc from radial 310 clockwise to radial 020; wind 270°M 20 kt."
    )


def test_cone_on_the_plan():
    """Definition: the cone is a circle of the radius given."""
    ax = pictures.draw_plan(cone_radius_nm=0.49)
    cone = next(patch for patch in ax.patches if patch.get_label() == "cone of confusion")
    assert cone.radius == 0.49
    assert cone.get_hatch()


def test_plan_labels_keep_clear():
    """Definition: with many names near each other no two are written over each other."""
    ax = pictures.draw_plan(
        radials=(34, 214, 310, 350, 355, 0),
        course_deg=214,
        aircraft=[(34, 4, 214, "A"), (150, 3, 300, "B"), (150, 1.5, 300, "C"), (160, 2, 300, "D")],
        arcs=[(10, 310, 34)],
        fixes={"GELPO": (310, 10), "DOVAN": (34, 10), "KESTU": (34, 5)},
        cone_radius_nm=1.0,
        variation_deg=-13,
        wind=(280, 18),
    )
    assert words_that_collide(ax) == []


def test_labels_choose_a_free_side():
    """Definition: where the first place lies on a line, a later one is taken."""
    ax = style.new_figure(4, 4).add_subplot()
    ax.set(xlim=(-1, 1), ylim=(-1, 1))
    ax.plot([0.0, 1.0], [0.0, 1.0])
    labels = Labels(ax)
    labels.beside("NAME", 0, 0)
    labels.settle()
    assert tuple(np.sign(ax.texts[0].get_position())) != (1, 1)


def test_band_round_an_arc():
    """Definition: the band reaches as far to either side as it says, from the first radial to the second."""
    ax = pictures.draw_plan(arcs=[(10, 310, 34)], band_nm=1)
    (band,) = [patch for patch in ax.patches if patch.get_label() == "band 1"]
    rim = band.get_xy()
    assert sorted({round(float(dist), 6) for dist in np.hypot(*rim.T)}) == [9, 11]
    radials = np.rad2deg(np.arctan2(*rim.T))
    assert (radials.min(), radials.max()) == pytest.approx((-50, 34))
    assert "a band of 1 NM to either side of the arc" in pictures.sentence_of(ax)
    assert ax.get_ylim()[1] > 11
    with pytest.raises(OutOfRange, match="band_nm = 6"):
        pictures.draw_plan(arcs=[(10, 310, 34)], band_nm=6)


def test_several_tracks_have_names():
    """Definition: each track is a line of its own, named where it ends."""
    ax = pictures.draw_plan(track={"A": ([150, 120], [8, 5]), "B": ([150, 150], [8, 3])})
    assert np.hypot(*line(ax, "track A").get_xydata().T) == pytest.approx([8, 5])
    assert {"A", "B"} <= set(words_in(ax))
    assert "track B ends on radial 150 at 3 NM" in pictures.sentence_of(ax)


# ------------------------------------------------------------------------------------------------ cockpit
def test_cockpit():
    """Definition: each reading has its box, what was not given has none, a dead DME shows dashes."""
    axes = pictures.draw_cockpit(
        [pictures.Dial(3, 214, "TO"), pictures.Dial(-10, 330, "FROM")],
        heading_deg=0, alt_ft=2420, vs_fpm=-503, dme_nm=np.nan, dme_from="OVK", clock_s=125,
    )  # fmt: skip
    assert [ax.texts[0].get_text() for ax in axes[2:]] == [
        "heading", "altimeter", "vertical speed", "DME OVK", "stopwatch",
    ]  # fmt: skip
    assert pictures.sentence_of(axes) == (
        "Receiver 1: course 214°M, needle 1.5 dots right, flag TO. "
        "Receiver 2: course 330°M, needle at full scale left, flag FROM. "
        "Heading 360° magnetic; altimeter 2,420 ft; vertical speed −500 ft/min; DME OVK - - NM; stopwatch 2:05 min:s."
    )
    with pytest.raises(OutOfRange, match="dials holds 3 receivers: expected one or two"):
        pictures.draw_cockpit([pictures.Dial(0, 0, "TO")] * 3)


# ------------------------------------------------------------------------------------------------ passage
def test_passage_seconds():
    """trade 3, lesson 1: at 90 kt and half angle 45 the cone lasts 30 s at 2,280 ft."""
    ax = pictures.draw_passage(2280, 90)
    assert "30 s inside the cone at 90 kt" in words_in(ax)
    ends = line(ax, "inside the cone").get_xdata()
    assert ends[1] - ends[0] == pytest.approx(30 * 90 / 3600, rel=0.002)  # 2,280 ft is rounded to ten feet
    assert line(ax, "path").get_ydata() == pytest.approx([2280, 2280])


def test_passage_is_to_scale():
    """Definition: one NM along and one NM up have the same length, so that the half angle is a true angle."""
    ax = pictures.draw_passage(3000, 90, half_angle_deg=30)
    edge = line(ax, "edge of the cone").get_xydata()
    edge = edge[np.isfinite(edge[:, 1]) & (edge[:, 1] > 0)]
    style.figure_of(ax).draw_without_rendering()
    shown = ax.transData.transform(edge) - ax.transData.transform([0, 0])
    assert np.rad2deg(np.arctan2(np.abs(shown[:, 0]), shown[:, 1])) == pytest.approx(30, abs=0.01)  # layout in pixels


def test_passage_beside_the_cone():
    """Definition: a path further off than the cone's radius is never inside; a question hides its answer."""
    ax = pictures.draw_passage(3000, 90, offset_nm=0.75)
    assert not any(one.get_label() == "inside the cone" for one in ax.lines)
    assert "outside the cone: abeam at 0.75 NM" in pictures.sentence_of(ax)
    asked = pictures.draw_passage(3000, 90, show_seconds=False)
    answer = f"{vor.cone_s(height_ft=3000, gs_kt=90):.0f} s"
    assert not any(answer in text for text in [*words_in(asked), pictures.sentence_of(asked)])


# ------------------------------------------------------------------------------------------------ strips
def test_strips_draw_what_was_given():
    """Definition: each reading is a line over time; what is outside its band is drawn again and counted."""
    time = np.arange(0.0, 101.0)
    alt = np.where((time >= 20) & (time < 30), 2850.0, 3000.0)
    axes = pictures.draw_strips(
        time,
        {"flag_1": np.where(time < 50, "TO", "FROM"), "alt_ft": alt},
        bands={"alt_ft": (2900, 3100)},
        marks=[(50, "passage")],
        shades=[(40, 60, "in the cone")],
    )
    assert line(axes[0], "flag_1").get_ydata()[[0, 49, 50]].tolist() == [1, 1, -1]
    assert line(axes[1], "alt_ft").get_ydata() == pytest.approx(alt)
    outside = np.asarray(line(axes[1], "alt_ft outside").get_ydata())
    assert np.flatnonzero(np.isfinite(outside)).tolist() == list(range(20, 30))
    said = pictures.sentence_of(axes)
    assert "flag 1 TO, FROM from 0:50" in said
    assert "altitude 3,000 to 3,000 ft, lowest 2,850 at 0:20 (outside its band for 10 s)" in said
    assert "passage at 0:50" in said
    assert "in the cone from 0:40 to 1:00" in said


def test_heading_strip_has_no_jump_at_north():
    """Definition: a heading that goes through north is one line."""
    axes = pictures.draw_strips([0, 1, 2, 3], {"heading_deg": [350, 358, 6, 14]}, targets={"heading_deg": 0})
    assert np.diff(line(axes[0], "heading_deg").get_ydata()) == pytest.approx([8, 8, 8])


def test_strips_refuse_what_they_cannot_draw():
    """Definition: bad input gets one sentence with what was expected."""
    with pytest.raises(OutOfRange, match="columns has alt_m: expected some of"):
        pictures.draw_strips([0, 1], {"alt_m": [1, 2]})
    with pytest.raises(OutOfRange, match="time_s does not increase"):
        pictures.draw_strips([0, 0], {"alt_ft": [1, 2]})
    with pytest.raises(OutOfRange, match="alt_ft holds 3 readings for 2 times"):
        pictures.draw_strips([0, 1], {"alt_ft": [1, 2, 3]})


def test_close_marks_get_rows_of_their_own():
    """Definition: names of moments close together are written below each other."""
    time = np.arange(0.0, 300.0)
    marks = [(100, "flag flickers"), (104, "needle swings"), (108, "steady FROM")]
    axes = pictures.draw_strips(time, {"dme_nm": np.abs(time - 104) / 40}, marks=marks)
    lane = style.figure_of(axes).axes[-1]
    assert words_that_collide(lane) == []
