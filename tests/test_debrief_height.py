"""What the heights of a recording are worth: offsets, shares of the height, and what cannot be told apart."""

import dataclasses

import numpy as np
import pytest
from needlework.debrief import height as heights
from needlework.debrief.geoid import geoid_m
from test_debrief_rows import judged, recorded, the

FIELD_FT = 66.0  # of the procedure that is flown here
LOW_FT = 500.0  # about the minimums, above the field


def satellite(offset_ft, share, **faults):
    """A flown track as a satellite receiver records it: a share of the height above the field more, and an offset."""
    track = recorded(**faults)
    true_ft = FIELD_FT + (track.alt_ft - FIELD_FT) * (1.0 + share) + offset_ft
    return track, judged(dataclasses.replace(track, alt_ft=true_ft, height_kind="satellite"))


def put_back_ft(height, indicated_ft, offset_ft, share):
    """What the debrief makes of an indicated altitude that was recorded with an offset and a share."""
    true_ft = FIELD_FT + (indicated_ft - FIELD_FT) * (1.0 + share) + offset_ft
    return FIELD_FT + (true_ft - FIELD_FT - height.offset_ft) / (1.0 + height.share)


@pytest.mark.parametrize("offset_ft", [-140.0, -60.0, 0.0, 70.0, 150.0])
@pytest.mark.parametrize("share", [-0.07, -0.04, 0.0, 0.04, 0.06])
def test_neither_air_nor_offset_is_the_pilots_fault(offset_ft, share):
    """Independent method: a flight without a fault, in cold and warm air, above ellipsoids of both signs."""
    _, report = satellite(offset_ft, share)
    assert not [finding.text for finding in report.findings if finding.critical]


@pytest.mark.parametrize(("offset_ft", "share"), [(0.0, 0.05), (-120.0, 0.05), (0.0, -0.06), (110.0, -0.06)])
def test_far_below_is_found_in_any_air(offset_ft, share):
    """Independent method: 250 ft below the minimums lies outside whatever the models leave open."""
    _, report = satellite(offset_ft, share, below_mda_ft=250.0)
    assert report.judgement("mda").verdict == "missed"


@pytest.fixture
def put_right_from(monkeypatch):
    """Put heights right from level parts that are given, not cut out of a flight."""

    def put_right(parts, kind="satellite"):
        levels = [heights._Level(off, FIELD_FT + above, above, length) for off, above, length in parts]
        monkeypatch.setattr(heights, "_levels", lambda *_: iter(levels))
        alt_ft = np.array([FIELD_FT + LOW_FT, FIELD_FT + 3000.0])
        seen = Seen(alt_ft, heights.prior(kind))
        return heights.put_right(seen, None, the("saltmarsh"), FIELD_FT + LOW_FT, lambda feet: feet)[1]

    return put_right


@dataclasses.dataclass
class Seen:
    """As much of what was seen as heights are put right by."""

    alt_ft: np.ndarray
    height: object
    alt_grain_ft: float = 0.0


@pytest.mark.parametrize("share", [-0.06, 0.05])
@pytest.mark.parametrize("offset_ft", [-100.0, 0.0, 120.0])
def test_what_the_level_parts_leave_open_is_kept_as_uncertainty(put_right_from, offset_ft, share):
    """Independent method: level parts high up only; near the ground the error stays within what is stated."""
    parts = [(35.0 + offset_ft + share * above, above, 120.0) for above in (3200.0, 2800.0, 3300.0, 1800.0)]
    height = put_right_from(parts)
    for indicated_ft in (FIELD_FT + LOW_FT, FIELD_FT + 1800.0, FIELD_FT + 3200.0):
        off = put_back_ft(height, indicated_ft, offset_ft, share) - indicated_ft
        assert abs(off) <= float(height.within_at_ft(np.array([indicated_ft]))[0]) + 5.0  # feet


@pytest.mark.parametrize("share", [-0.05, 0.05])
def test_level_parts_at_every_height_tell_a_share_from_an_offset(put_right_from, share):
    """Definition: with a level part near the ground the models differ no more, and the share is found."""
    above = (3500.0, 2900.0, 2300.0, 1700.0, 1100.0, 500.0)
    height = put_right_from([(35.0 + share * each, each, 120.0) for each in above])
    assert height.share == pytest.approx(share, abs=0.01)
    assert height.within_ft < 60.0  # feet: the habit of flying a little high or low is left


def test_less_is_known_away_from_the_level_parts(put_right_from):
    """Definition: an offset and a share agree where the flight was level, and part below it."""
    height = put_right_from([(150.0, 3200.0, 120.0), (140.0, 2800.0, 120.0), (146.0, 3000.0, 120.0)])
    low, high = height.within_at_ft(np.array([FIELD_FT + LOW_FT, FIELD_FT + 3000.0]))
    assert low > 80.0 > high  # feet


def rolled_out(track, seconds=20.0):
    """The track with the end of the landing roll behind it."""
    more = np.arange(1.0, seconds)
    step = 0.1 / 60.0 / 60.0  # degrees of latitude a second: some 20 kt
    return dataclasses.replace(
        track,
        time_s=np.concatenate([track.time_s, track.time_s[-1] + more]),
        lat_deg=np.concatenate([track.lat_deg, track.lat_deg[-1] - step * more]),
        lon_deg=np.concatenate([track.lon_deg, np.full(len(more), track.lon_deg[-1])]),
        alt_ft=np.concatenate([track.alt_ft, np.full(len(more), FIELD_FT)]),
    )


@pytest.mark.parametrize("offset_ft", [-100.0, 150.0])
def test_the_runway_tells_the_setting(offset_ft):
    """Definition: on the runway an altimeter shows the elevation of the field; what it shows more is its setting."""
    track = rolled_out(recorded(end="landing"))
    report = judged(dataclasses.replace(track, alt_ft=track.alt_ft + offset_ft))
    assert report.height.offset_ft == pytest.approx(offset_ft, abs=10.0)
    assert not [finding.text for finding in report.findings]


def test_the_runway_checks_heights_whose_level_parts_do_not_agree(monkeypatch):
    """Definition: at the field the offset is seen, above it only the air is not known."""
    monkeypatch.setattr(heights, "_fitting", lambda *_: [])
    track = rolled_out(recorded(end="landing"))
    low_ft = np.where(track.alt_ft > 2900.0, 400.0, 0.0)
    report = judged(
        dataclasses.replace(track, alt_ft=track.alt_ft - 60.0 - low_ft, height_kind="unknown"), temperature_c=15.0
    )
    assert report.height.offset_ft == pytest.approx(-60.0, abs=10.0)
    assert report.judgement("floor").verdict == "missed"


def test_heights_by_pressure_are_not_in_cold_air(put_right_from):
    """Definition: air changes what a true height is, not what a pressure is; below in proportion the pilot flew."""
    parts = [(-0.06 * above, above, 120.0) for above in (3200.0, 2800.0, 1800.0, 500.0)]
    assert put_right_from(parts, "pressure").share >= 0.0
    assert put_right_from(parts, "satellite").share < -0.03


def test_two_settings_explain_the_level_parts_as_well(put_right_from):
    """Definition: three parts agree on one setting and two on another: which is the recorder's nobody can tell."""
    parts = [(240.0, 3200.0, 120.0), (250.0, 2800.0, 120.0), *[(-540.0, above, 120.0) for above in (3300.0, 3250.0)]]
    assert put_right_from([*parts, (-550.0, 3300.0, 120.0)], "pressure").offset_ft == 0.0
    assert (
        put_right_from([(-545.0, above, 120.0) for above in (3200.0, 2800.0, 3300.0)], "pressure").offset_ft < -500.0
    )


@pytest.mark.parametrize("kind", ["pressure", "unknown"])
@pytest.mark.parametrize("off_ft", [-600.0, 350.0])
def test_one_altitude_held_for_long_does_not_outvote_the_rest(put_right_from, kind, off_ft):
    """Definition: an altitude chosen once is one witness of the setting, in however many laps it was held."""
    chosen = [(35.0, above, 120.0) for above in (3200.0, 2800.0, 1800.0, 500.0)]
    height = put_right_from([*chosen, *[(off_ft, 3300.0, each) for each in (90.0, 130.0, 650.0)]], kind)
    assert abs(put_back_ft(height, FIELD_FT + 3300.0 + off_ft, 0.0, 0.0) - FIELD_FT - 3300.0 - off_ft) < 50.0  # feet
    assert float(height.within_at_ft(np.array([FIELD_FT + 3300.0]))[0]) < abs(off_ft) / 2


def test_heights_far_above_everything_prove_nothing_too_high():
    """Definition: level parts that all lie 300 ft high are a setting or a habit, nothing flown through."""
    track = recorded()
    report = judged(dataclasses.replace(track, alt_ft=track.alt_ft + 300.0))
    assert report.height.above_ft > 200.0
    assert not [finding.text for finding in report.findings]
    assert any("above what is published" in note for note in report.notes)


def test_every_recording_says_what_it_can_tell():
    """Definition: the uncertainties used in judging are stated: heights, positions, moments, spacing, pauses."""
    track = recorded()
    (said,) = [note for note in judged(track).notes if note.startswith("What it can tell")]
    assert "heights to 20 ft" in said
    assert "a sample every second)" in said
    kept = np.arange(0, len(track), 4)
    kept = kept[(kept < 400) | (kept > 430)]
    chosen = np.zeros(len(track), dtype=bool)
    chosen[kept] = True
    (said,) = [note for note in judged(track.part(chosen)).notes if note.startswith("What it can tell")]
    assert "every 4 s, the longest pause 36 s" in said


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "sea_level_m"), [(0.0, 80.0, -103.0), (-10.0, 150.0, 77.0), (64.0, -20.0, 63.0)]
)
def test_the_geoid_is_known_to_a_dozen_metres(lat_deg, lon_deg, sea_level_m):
    """EGM2008: lowest south of India, highest near New Guinea; Iceland, between the rows, from memory."""
    assert geoid_m(lat_deg, lon_deg) == pytest.approx(sea_level_m, abs=4.0)


@pytest.mark.parametrize(("offset_ft", "expected"), [(-270.0, {68}), (-150.0, set())])
def test_more_than_the_ellipsoid_is_a_wrong_setting(offset_ft, expected):
    """EGM2008: where sea level and ellipsoid lie a dozen metres apart, eighty metres are no kind of height."""
    _, report = satellite(offset_ft, 0.0)
    assert {found.error for found in report.findings if found.critical} == expected


def test_where_sea_level_lies_far_below_the_ellipsoid_an_offset_is_one(monkeypatch):
    """Near neighbour: the same heights where the geoid lies eighty metres down are a receiver's."""
    monkeypatch.setattr(heights, "geoid_m", lambda *_: -80.0)
    _, report = satellite(-270.0, 0.0)
    assert not report.findings
    assert report.height.offset_ft == pytest.approx(-270.0, abs=20.0)


@pytest.mark.parametrize(("told", "rows"), [(True, ["mda_high"]), (False, [])])
def test_a_setting_too_low_leads_high_all_the_way(told, rows):
    """ICAO standard atmosphere: 10 hPa are 270 ft; where somebody said it was an altimeter, it was the pilot."""
    track = recorded()
    report = judged(dataclasses.replace(track, alt_ft=track.alt_ft + 270.0), height_told=told)
    assert [found.row for found in report.findings] == rows
    assert {found.error for found in report.findings} == ({68} if told else set())
    assert report.passed is not told


def test_a_leg_flown_higher_is_no_wrong_setting():
    """Near neighbour: an altitude above the lowest of one leg is a pilot's right, and the rest is as published."""
    track = recorded()
    arc = next(part for part in judged(track).parts if part.text.startswith("the arc"))
    high = (track.time_s > arc.start_s) & (track.time_s < arc.end_s)
    report = judged(dataclasses.replace(track, alt_ft=track.alt_ft + np.where(high, 270.0, 0.0)), height_told=True)
    assert 68 not in {found.error for found in report.findings}
