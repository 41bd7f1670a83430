"""Missed approach: climb, decision, no early turn, radial outbound, order of actions."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import missed, units
from needlework.trade.missed import Conditions, decide
from needlework.trade.turns import turn_radius_nm


@pytest.mark.parametrize(
    ("gradient_ft_nm", "gs_kt", "wanted_fpm"),
    [
        (200, 60, 200), (200, 90, 300), (200, 120, 400), (200, 150, 500), (200, 180, 600), (250, 90, 375),
        (250, 120, 500), (300, 90, 450), (300, 120, 600), (400, 90, 600), (400, 120, 800), (240, 95, 380),
    ],
)  # fmt: skip
def test_gradient_to_rate(gradient_ft_nm, gs_kt, wanted_fpm):
    """AIM 5-4-21 b names the conversion table; its cells by hand."""
    assert missed.climb_fpm(gradient_ft_nm=gradient_ft_nm, gs_kt=gs_kt) == pytest.approx(wanted_fpm)
    assert missed.climb_gradient_ft_nm(vs_fpm=wanted_fpm, gs_kt=gs_kt) == pytest.approx(gradient_ft_nm)


def test_gradient_in_other_units():
    """AIM 5-4-21 b: 200 ft/NM; definition: 3.29 %, 4.94 %, 6.58 % and 1.885 degrees."""
    assert units.percent_from_ft_nm([200, 300, 400]) == pytest.approx([3.29, 4.94, 6.58], abs=0.005)  # printed
    assert units.deg_from_ft_nm(missed.CLIMB_FT_NM) == pytest.approx(1.885, abs=5e-4)


def test_tailwind_flattens_the_climb():
    """Definition: 650 fpm at 110 kt over the ground is 355 ft/NM, at 75 kt 520."""
    assert missed.climb_gradient_ft_nm(vs_fpm=[650, 650], gs_kt=[110, 75]) == pytest.approx([355, 520], abs=0.5)


def test_obstacle_surface():
    """FAA Order 8260.3 (40:1, from memory) and AIM 5-4-21 b: 152 ft/NM (151.9); 200 leaves 48 ft/NM, 24 %."""
    assert round(float(missed.SURFACE_FT_NM), 1) == 151.9
    assert round(missed.SURFACE_FT_NM) == 152
    assert missed.clearance_ft(dist_nm=1) == pytest.approx(48, abs=0.5)
    assert missed.clearance_ft(dist_nm=1) / missed.CLIMB_FT_NM == pytest.approx(0.24, abs=0.005)
    assert missed.clearance_ft(dist_nm=4, gradient_ft_nm=[200, 150]).tolist() == pytest.approx(
        [4 * 48.1, -7.6], abs=0.1
    )


ALL = {"runway"}
AT_MDA = {"alt_ft": 560, "mda_ft": 560, "tdz_ft": 62, "to_map_nm": 0.5, "visibility_m": 2000, "required_m": 1500}


@pytest.mark.parametrize(
    ("changed", "action", "missing"),
    [
        # The five published cases: below the minimum, approach lights alone above and below 100 ft.
        ({"alt_ft": 212, "references": {"approach lights"}}, "continue", ()),
        ({"alt_ft": 152, "references": {"approach lights"}}, "go around", ("reference",)),
        ({"alt_ft": 152, "references": {"approach lights", "red bars"}}, "continue", ()),
        ({"alt_ft": 400, "references": ALL, "visibility_m": 1400}, "go around", ("visibility",)),
        ({"alt_ft": 400, "references": ALL, "in_position": False}, "go around", ("position",)),
        # At the minimum, before the missed approach point.
        ({}, "level", ("reference",)),
        ({"visibility_m": 1000}, "level", ("visibility", "reference")),
        ({"references": ALL, "visibility_m": 1000}, "level", ("visibility",)),
        ({"references": ALL}, "continue", ()),
        ({"references": ALL, "to_vdp_nm": 0.3}, "level", ()),
        ({"references": ALL, "to_vdp_nm": 0.0}, "continue", ()),
        ({"references": ALL, "to_vdp_nm": -0.4, "in_position": False}, "go around", ("position",)),
        ({"references": ALL, "to_vdp_nm": 0.4, "in_position": False}, "level", ("position",)),
        ({"alt_ft": 640, "references": ()}, "level", ("reference",)),
        # Above it.
        ({"alt_ft": 900}, "continue", ("reference",)),
        # At the missed approach point and past it.
        ({"to_map_nm": 0.0}, "go around", ("reference",)),
        ({"to_map_nm": -0.2, "alt_ft": 900}, "go around", ("reference",)),
        ({"to_map_nm": 0.0, "references": ALL}, "continue", ()),
        ({"to_map_nm": 0.0, "references": ALL, "visibility_m": 1499}, "go around", ("visibility",)),
        # Constant angle to a decision altitude: no level part.
        ({"constant_angle": True}, "go around", ("reference",)),
        ({"constant_angle": True, "alt_ft": 610}, "continue", ("reference",)),
        ({"constant_angle": True, "references": ALL}, "continue", ()),
        # Red bars by themselves are no reference.
        ({"alt_ft": 152, "references": {"red bars"}}, "go around", ("reference",)),
    ],
)  # fmt: skip
def test_decisions(changed, action, missing):
    """14 CFR 91.175(c); AIM 5-4-5 f (VDP); AIM 5-4-21 (the point): a table of cases."""
    decision = decide(Conditions(**{**AT_MDA, **changed}))
    assert (decision.action, decision.missing) == (action, missing)
    if action == "level":
        assert all(word in decision.reason for word in missing)
    assert decision.reason.endswith(".")


@given(
    st.floats(100, 1500), st.floats(-1, 3), st.floats(0, 5000), st.booleans(), st.booleans(),
    st.sets(st.sampled_from([*missed.REFERENCES, missed.RED_BARS])), st.none() | st.floats(-2, 2),
)  # fmt: skip
def test_never_down_without_all_three(alt_ft, to_map_nm, visibility_m, in_position, constant_angle, seen, to_vdp_nm):
    """14 CFR 91.175(c): below the minimum, or at the point, nothing but all three allows to go on."""
    c = Conditions(alt_ft, 560, 62, to_map_nm, visibility_m, 1500, seen, in_position, to_vdp_nm, constant_angle)
    lights = "approach lights" in seen and (alt_ft - 62 >= 100 or "red bars" in seen)
    three = in_position and visibility_m >= 1500 and (lights or bool(seen - {"approach lights", "red bars"}))
    action = decide(c).action
    if alt_ft < 560 or to_map_nm <= 0:
        assert action == ("continue" if three else "go around")
    if action == "level":
        assert alt_ft >= 560
        assert not constant_angle
    assert decide(c).missing == () or not three


def test_ten_references():
    """14 CFR 91.175(c)(3): ten references; only the approach lights have a limit."""
    assert len(missed.REFERENCES) == 10
    for one in missed.REFERENCES:
        assert missed.reference_enough(references={one}, height_ft=100)
        assert missed.reference_enough(references={one}, height_ft=99) == (one != "approach lights")
    assert not missed.reference_enough(references=(), height_ft=300)
    assert missed.reference_enough(references="runway", height_ft=20)
    with pytest.raises(OutOfRange, match="references = 'a road' is not one of the visual references"):
        missed.reference_enough(references={"a road"}, height_ft=100)
    with pytest.raises(OutOfRange, match="altitude above the sea"):
        missed.reference_enough(references={"runway"}, height_ft=5600)
    with pytest.raises(OutOfRange, match="visibility_m"):
        decide(Conditions(560, 560, 62, 0.5, np.nan, 1500))


def test_climb_at_once():
    """AIM 5-4-21 b, 5-5-5 a 4: climb to the point, not above a maximum published before it."""
    assert missed.climb_by_map_ft(alt_ft=900, to_map_nm=1.5, vs_fpm=600, gs_kt=90) == pytest.approx(1500)
    assert missed.climb_by_map_ft(alt_ft=900, to_map_nm=1.5, vs_fpm=600, gs_kt=90, limit_ft=1200) == 1200
    assert missed.climb_by_map_ft(alt_ft=900, to_map_nm=[0, 1.5], vs_fpm=600, gs_kt=90).tolist() == [900, 1500]
    assert (
        missed.climb_by_map_ft(alt_ft=900, to_map_nm=1, vs_fpm=600, gs_kt=90, limit_ft=800) == 900
    )  # never a descent


def test_early_turn():
    """Independent method: two tracks drawn from points a distance apart; the gap between the parallels."""
    early_nm, course_deg, change_deg = 0.8, 214, 94
    start = np.array([0.0, 0.0])
    point = early_nm * np.array([np.sin(np.radians(course_deg)), np.cos(np.radians(course_deg))])
    track = np.radians(course_deg - change_deg)
    along = np.array([np.sin(track), np.cos(track)])
    gap = abs(along[0] * (point - start)[1] - along[1] * (point - start)[0])
    assert missed.early_turn_nm(early_nm=early_nm, change_deg=change_deg) == pytest.approx(gap)
    assert missed.early_turn_nm(early_nm=[0, 1], change_deg=90).tolist() == [0, 1]


@pytest.mark.parametrize(
    ("climb_ft_nm", "tas_kt", "met_nm"), [(650 / 75 * 60, 75, 8.2), (1100 / 105 * 60, 105, 8.2), (200, 94, 9.8)]
)
def test_scenario_intercept(climb_ft_nm, tas_kt, met_nm):
    """The course's scenario: P1, turned at 900 ft, heading 120 meets R165 at about 8.2 DME, at 200 ft/NM at 9.8."""
    radial_deg, dist_nm = missed.after_turn(
        radial_deg=214,
        dist_nm=4.7 + (900 - 560) / climb_ft_nm,
        start_track_deg=214,
        end_track_deg=120,
        side="left",
        radius_nm=turn_radius_nm(tas_kt=tas_kt),
    )
    found_nm, _ = missed.meets_radial_nm(radial_deg=radial_deg, dist_nm=dist_nm, track_deg=120, wanted_radial_deg=165)
    assert found_nm == pytest.approx(met_nm, abs=0.06)  # printed digit, and "about"
    # Turned on the spot at the missed approach point: the sine rule alone.
    on_the_spot_nm, flown_nm = missed.meets_radial_nm(
        radial_deg=214, dist_nm=4.7, track_deg=120, wanted_radial_deg=165
    )
    assert on_the_spot_nm == pytest.approx(4.7 * np.sin(np.deg2rad(94)) / np.sin(np.deg2rad(45)))
    assert flown_nm == pytest.approx(4.7 * np.sin(np.deg2rad(49)) / np.sin(np.deg2rad(45)))


@given(st.floats(0, 360), st.floats(1, 20), st.floats(0, 360), st.floats(0, 360))
def test_meeting_point_lies_on_both(radial_deg, dist_nm, track_deg, wanted_deg):
    """Independent method: coordinates of the meeting point along the track and along the radial."""
    try:
        met_nm, flown_nm = missed.meets_radial_nm(
            radial_deg=radial_deg, dist_nm=dist_nm, track_deg=track_deg, wanted_radial_deg=wanted_deg
        )
    except NoSolution:
        return
    if max(met_nm, flown_nm) > 1e4:
        return  # nearly parallel: digits are lost
    polar = lambda deg, nm: nm * np.exp(1j * np.radians(deg))  # noqa: E731 - one line of geometry
    there = polar(radial_deg, dist_nm) + polar(track_deg, flown_nm)
    # Digits lost by the cut: distances up to 10,000 NM in floats.
    assert abs(there - polar(wanted_deg, met_nm)) < 1e-4


def test_track_that_never_meets():
    """Definition: parallel tracks and those that point away have no meeting point."""
    for track_deg in (165, 345, 300):
        with pytest.raises(NoSolution, match="never meets that radial"):
            missed.meets_radial_nm(radial_deg=214, dist_nm=4.7, track_deg=track_deg, wanted_radial_deg=165)
    assert missed.meets_radial_nm(radial_deg=[214, 210], dist_nm=4.7, track_deg=120, wanted_radial_deg=165)[
        0
    ].shape == (2,)


@given(st.floats(0, 360), st.floats(0, 20), st.floats(0, 360), st.floats(1, 359), st.sampled_from(["left", "right"]))
def test_turn_by_small_steps(radial_deg, dist_nm, start_deg, turned_deg, side):
    """Independent method: the turn as four thousand short straight legs."""
    hand, steps = (1 if side == "right" else -1), 4000
    end_deg = start_deg + hand * turned_deg
    tracks = np.radians(start_deg + hand * turned_deg * (np.arange(steps) + 0.5) / steps)
    leg_nm = 0.6 * np.radians(turned_deg) / steps
    east = dist_nm * np.sin(np.radians(radial_deg)) + leg_nm * np.sin(tracks).sum()
    north = dist_nm * np.cos(np.radians(radial_deg)) + leg_nm * np.cos(tracks).sum()
    got_deg, got_nm = missed.after_turn(
        radial_deg=radial_deg,
        dist_nm=dist_nm,
        start_track_deg=start_deg,
        end_track_deg=end_deg,
        side=side,
        radius_nm=0.6,
    )
    assert got_nm * np.sin(np.radians(got_deg)) == pytest.approx(east, abs=1e-5)  # chords for arcs
    assert got_nm * np.cos(np.radians(got_deg)) == pytest.approx(north, abs=1e-5)


def test_order_of_actions():
    """Common practice, no source: power, pitch, climb, clean up, navigate, talk."""
    assert missed.first_out_of_order(missed.ACTIONS) is None
    assert missed.first_out_of_order(()) is None
    assert missed.first_out_of_order(["first flap", "power"]) == ("first flap", "power")
    assert missed.first_out_of_order(["radio", "power", "pitch"]) == ("radio", "power")
    right = [p for p in permutations(missed.ACTIONS[:4]) if missed.first_out_of_order(p) is None]
    assert right == [missed.ACTIONS[:4]]
    with pytest.raises(OutOfRange, match="'tea' is not one of the actions"):
        missed.first_out_of_order(["tea"])
    with pytest.raises(OutOfRange, match="comes twice"):
        missed.first_out_of_order(["power", "power"])


@pytest.mark.parametrize("bad", [-1, np.nan])
def test_refused(bad):
    """Definition: nan and negative numbers are refused."""
    for call in (
        lambda: missed.climb_fpm(gradient_ft_nm=bad, gs_kt=90),
        lambda: missed.climb_gradient_ft_nm(vs_fpm=500, gs_kt=bad),
        lambda: missed.clearance_ft(dist_nm=bad),
        lambda: missed.early_turn_nm(early_nm=bad, change_deg=90),
        lambda: missed.climb_by_map_ft(alt_ft=900, to_map_nm=bad, vs_fpm=600, gs_kt=90),
        lambda: missed.meets_radial_nm(radial_deg=0, dist_nm=bad, track_deg=0, wanted_radial_deg=0),
        lambda: missed.after_turn(
            radial_deg=0, dist_nm=bad, start_track_deg=0, end_track_deg=90, side="left", radius_nm=1
        ),
    ):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(OutOfRange, match="side = 'up'"):
        missed.after_turn(radial_deg=0, dist_nm=1, start_track_deg=0, end_track_deg=90, side="up", radius_nm=1)
