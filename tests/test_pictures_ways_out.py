"""Missed approaches side by side, read from their artists."""

import numpy as np
import pytest
from needlework.basis.errors import OutOfRange
from needlework.showing import pictures
from needlework.world import procedure
from test_pictures import line

OUT = (np.array([214.0, 214.0, 205.0, 165.0, 165.0]), np.array([2.0, 4.8, 5.0, 7.0, 10.0]))
THROUGH = (np.array([214.0, 214.0, 150.0]), np.array([2.0, 4.8, 9.0]))
EARLY = (np.array([214.0, 214.0, 165.0, 165.0]), np.array([2.0, 3.5, 6.0, 10.0]))


def test_ways_out_are_drawn_and_told():
    """Definition: radial and distance become a place; the words say where it left the final and where it ends."""
    drawn = pictures.draw_ways_out({"A": OUT, "B": THROUGH, "C": EARLY}, procedure.load("saltmarsh"))
    assert [ax.get_title(loc="left") for ax in drawn] == ["A", "B", "C"]
    x, y = line(drawn[0], "track").get_xydata()[-1]
    assert (x, y) == pytest.approx((10 * np.sin(np.deg2rad(165)), 10 * np.cos(np.deg2rad(165))))
    assert line(drawn[0], "MAP").get_xydata()[0] == pytest.approx(
        4.7 * np.array([np.sin(np.deg2rad(214)), np.cos(np.deg2rad(214))])
    )
    a, b, c = (pictures.sentence_of(ax) for ax in drawn)
    assert "at the missed approach point, turning left, and ends on radial 165" in a
    assert "15 degrees beyond radial 165" in b
    assert "1.2 NM before the missed approach point" in c


def test_a_way_out_without_a_radial_is_refused():
    """Definition: Tarvue's missed approach goes back to its station."""
    with pytest.raises(OutOfRange, match="leads to no radial"):
        pictures.draw_ways_out({"A": OUT}, procedure.load("tarvue"))
