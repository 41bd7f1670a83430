"""Pictures of intercepts, read from their artists."""

import numpy as np
import pytest
from needlework.basis.errors import OutOfRange
from needlework.showing import pictures, what_ifs
from needlework.showing.pictures.intercepts import FAULTS, fault_path
from test_pictures import line, words_that_collide


def bearing_deg(x, y):
    return np.rad2deg(np.arctan2(x, y)) % 360


@pytest.mark.parametrize(
    ("radial", "wanted", "direction", "angle", "heading", "course"),
    [
        (160, 205, "inbound", None, 295, 25),
        (90, 60, "inbound", None, 300, 240),
        (355, 10, "inbound", 30, 160, 190),
        (70, 100, "outbound", 30, 130, 100),
        (250, 210, "outbound", 40, 170, 210),
    ],
)
def test_intercept(radial, wanted, direction, angle, heading, course):
    """Instrument Flying Handbook FAA-H-8083-15B, p. 9-14 (first row), and the same rule by hand for the others."""
    ax = pictures.draw_intercept(radial, 8, wanted, direction, angle_deg=angle)
    track = line(ax, "track").get_xydata()
    assert track[0] == pytest.approx(8 * np.array([np.sin(np.deg2rad(radial)), np.cos(np.deg2rad(radial))]))
    assert bearing_deg(*(track[1] - track[0])) == pytest.approx(heading)
    assert bearing_deg(*(track[-1] - track[-2])) == pytest.approx(course)
    assert bearing_deg(*track[-1]) == pytest.approx(wanted, abs=0.01)  # the turn is drawn in chords
    parallel = line(ax, "parallel to the course").get_xydata()
    assert bearing_deg(*(parallel[1] - parallel[0])) == pytest.approx(course)
    said = pictures.sentence_of(ax)
    assert f"to the heading {heading:03d}°M" in said
    assert f"parallel {course:03d}°M first" in said
    assert not words_that_collide(ax)


def test_the_turn_begins_one_lead_early():
    """Independent method: radius x (1 - cos 60) from the line, with the radius of 90 kt at 3 degrees a second."""
    ax = pictures.draw_intercept(90, 8, 60, tas_kt=90)
    x, y = line(ax, "the turn begins").get_xydata()[0]
    off_nm = abs(x * np.cos(np.deg2rad(60)) - y * np.sin(np.deg2rad(60)))
    assert off_nm == pytest.approx(90 / (20 * np.pi * 3) * 0.5)


def test_an_intercept_that_cannot_be():
    """Definition: a distance out of range is refused in one sentence."""
    with pytest.raises(OutOfRange, match=r"dist_nm = 0 NM is outside 0\.5 to 100 NM"):
        pictures.draw_intercept(90, 0, 60)


def crossings(fault):
    path = fault_path(fault)
    off = (bearing_deg(-path.x, -path.y) - 214 + 180) % 360 - 180
    return off, int(np.sum(off[1:] * off[:-1] < 0))


def test_each_fault_looks_like_what_it_is_called():
    """Definition: no lead goes through by a lot and settles; chasing crosses again and again; away never meets."""
    through, times = crossings("NO LEAD")
    assert 2 <= times <= 4
    assert through.min() < -5  # half scale on the other side
    _chased, times = crossings("CHASED")
    assert times >= 6
    off, times = crossings("WRONG SIDE")
    assert times == 0
    assert off.min() >= 22  # never nearer than at the start, full scale all the way
    with pytest.raises(OutOfRange, match="fault = 'LATE' is not one of the three: expected NO LEAD, CHASED"):
        fault_path("LATE")


def test_faults_are_told_without_their_names():
    """Definition: the sentence says what the track does, so that the question stays open, and follows the order."""
    drawn = pictures.draw_faults(("WRONG SIDE", "CHASED", "NO LEAD"))
    assert [ax.get_title(loc="left") for ax in drawn] == ["A", "B", "C"]
    assert line(drawn[0], "track").get_xydata()[-1] == pytest.approx(fault_path("WRONG SIDE").end)
    said = pictures.sentence_of(drawn)
    assert said.startswith("A: the track leads away")
    assert not any(fault in said.upper() for fault in FAULTS)


@pytest.mark.parametrize("angle_deg", [57, 58, 59])
def test_a_turn_that_ends_on_the_line_stays_on_it(angle_deg):
    """Independent method: 2 sin 10 = r (1 - cos a), r = 140 / 60 pi NM: a = 58 degrees, and a degree is 0.01 NM."""
    what_if = what_ifs.intercept(dist_nm=2, tas_kt=140, turn_begun="when the needle comes alive", angle_deg=angle_deg)
    assert what_if.sentence.endswith("the turn ends on the line; then the needle stays.")
