"""What a procedure designer would remark on: the scenario's four pass, one faulty copy for each rule."""

import copy
import datetime
import tomllib

import numpy as np
import pytest
from needlework.trade.geodesy import direct, radial_and_distance
from needlework.world import aircraft, datafiles, designer, procedure

DAY = datetime.date(2026, 11, 25)
FOLDER = datafiles.datasets_dir() / "procedures"
RAW = {name: tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8")) for name in procedure.names()}
GOOD = {name: procedure.load(name, DAY) for name in RAW}
LOWEST_CLIMB_KT, HIGHEST_CLIMB_KT = 75.0, 105.0


def copy_of(name, changes):
    """Load a procedure with some of its values changed; None takes one out."""
    raw = copy.deepcopy(RAW[name])
    for path, value in changes.items():
        table = raw
        for step in path[:-1]:
            table = table[step]
        if value is None:
            del table[path[-1]]
        else:
            table[path[-1]] = value
    return procedure.read(raw, "own.toml", DAY)


@pytest.mark.parametrize("name", RAW)
def test_the_four_pass(name):
    """Definition: the course's own procedures are what a designer would sign."""
    assert GOOD[name].remarks == ()


A, B, C = "straight_in", "circling", "without_step_down_visibility_m"
LOW_HOLD = {("missed", "altitude_ft"): 3300, ("hold", "altitude_ft"): 3300}
FAULTY = [
    # rule, copy of, what was changed, what is said, the source's title
    (
        "lead",
        "saltmarsh",
        {("legs", 3, "lead_radial_deg"): 27},
        "027 lies 1.2 NM before DOVAN: expected 2 NM",
        "8168",
    ),
    ("lead", "wygate", {("legs", 2, "lead_radial_deg"): 210}, "210 lies 1.5 NM before FOSKA", "8168"),
    ("lead", "ezrick", {("legs", 2, "lead_radial_deg"): None}, "SEMPA to KALWE ends in a turn of 90 degrees", "8168"),
    (
        "alignment",
        "ezrick",
        {("runway", "heading_deg"): 271, ("runway", "centre_line_crossed_nm"): 0.0},
        "6 degrees off the runway and crosses its centre line 0 m before the threshold: expected 1,400 m or more",
        "5.2.2.3",
    ),
    ("alignment", "wygate", {("runway", "centre_line_crossed_nm"): 3.0}, "218 m beside the centre line", "5.2.2.3"),
    (
        "station",
        "wygate",
        {("runway", "centre_line_crossed_nm"): 0.0},
        "WYG stands 58 m beside the centre",
        "Annex 14",
    ),
    (
        "step-down",
        "saltmarsh",
        {("legs", 6, "minimum_ft"): 800, ("legs", 6, "at_end_ft"): 800},
        "passes PARDO 9 ft above its minimum: expected 15 ft",
        "common practice",
    ),
    (
        "remote setting",
        "saltmarsh",
        {
            ("minimums", "remote_setting_from"): "XWYG",
            ("minimums", "remote_setting_lat_deg"): 37.65,
            ("minimums", "remote_setting_lon_deg"): -46.85,
        },
        "XWYG lies 92 NM from the runway: expected an altimeter setting from at most 75 NM",
        "8260.3G",
    ),
    (
        "remote setting",
        "saltmarsh",
        {("minimums", "remote_setting_add_ft"): 40},
        "XKEL, 19 NM away, the MDA goes up by 40 ft: expected 70 ft",
        "5 ft for each NM: from memory",
    ),
    (
        "remote setting",
        "saltmarsh",
        {("minimums", "vdp_not_with_remote"): None},
        "may be used with",
        "common practice",
    ),
    ("visibility", "saltmarsh", {("minimums", A, "A", "visibility_m"): 1200}, "1,200 m without approach", "AMC5"),
    (
        "visibility",
        "wygate",
        {("minimums", A, "A", "visibility_m"): 2000, ("minimums", B, "A", "visibility_m"): 2800},
        "2,000 m at a height of 425 ft with approach lights",
        "AMC5",
    ),
    (
        "visibility",
        "wygate",
        {("minimums", A, "B", "visibility_m"): 700},
        "Category B: visibility 700 m with approach lights: expected 750 m",
        "AMC5",
    ),
    (
        "visibility",
        "ezrick",
        {("minimums", B, "B", "visibility_m"): 2400},
        "140 ft higher with a visibility",
        "common",
    ),
    (
        "visibility",
        "saltmarsh",
        {("minimums", B, "A", "mda_ft"): 560, ("minimums", B, "A", "visibility_m"): 1400},
        "494 ft above the airport and 1,400 m: expected 400 ft and 1,500 m or more",
        "AMC5",
    ),
    (
        "back again",
        "wygate",
        LOW_HOLD | {("sector_altitudes", 0, "altitude_ft"): 3200},
        "begin again without",
        "common",
    ),
    (
        "sector altitude",
        "wygate",
        {("sector_altitudes", 0, "altitude_ft"): 3500},
        "begins at WYG at 3,400 ft",
        "common",
    ),
    (
        "sector altitude",
        "saltmarsh",
        {("sector_altitudes", 0, "within_nm"): 20},
        "TUMSI lies 24 NM out",
        "Aeronautical",
    ),
    (
        "sector altitude",
        "ezrick",
        {("sector_altitudes", 0, "altitude_ft"): 2100},
        "over ground of 1,150 ft",
        "Aeronaut",
    ),
    ("room", "ezrick", {("fixes", "HEXAL", "dme_nm"): 13}, "radial 340 at 10.7 NM and HEXAL is at 13 NM", "common"),
    (
        "meeting",
        "wygate",
        {("missed", "turn_after"): "WYG"},
        "Flown by the Plover the missed approach meets",
        "common",
    ),
    ("climb", "saltmarsh", {("missed", "gradient_ft_nm"): 240}, "does not say up to which altitude", "5-4-21"),
    (
        "climb",
        "saltmarsh",
        {("missed", "gradient_ft_nm"): 560, ("missed", "gradient_until_ft"): 2000},
        "asks for 560 ft/NM: the Finch makes 520",
        "geometry",
    ),
]


@pytest.mark.parametrize(("rule", "name", "changes", "says", "cited"), FAULTY)
def test_a_faulty_copy_is_remarked_on(rule, name, changes, says, cited):
    """Definition: the copy loads, and what was broken is told in one sentence with its source, nothing else."""
    made = copy_of(name, changes)
    found = designer.remarks(made)
    assert {remark.rule for remark in found} == {rule}, made.remarks
    said = " ".join(made.remarks)
    assert says in said
    assert cited in said
    for sentence in made.remarks:
        assert sentence.endswith(".") and "\n" not in sentence and ". Source: " in sentence


def test_every_rule_has_a_faulty_copy():
    """Definition: no rule stands in the check that no copy breaks."""
    written = {
        "lead", "alignment", "station", "step-down", "remote setting", "visibility", "back again", "sector altitude",
        "climb", "meeting", "room",
    }  # fmt: skip
    assert {rule for rule, *_ in FAULTY} == written


def test_remarks_come_all_at_once():
    """Definition: an odd procedure still loads; every oddity is told."""
    made = copy_of(
        "wygate",
        {
            ("legs", 2, "lead_radial_deg"): 210,
            ("missed", "turn_after"): "WYG",
            ("runway", "centre_line_crossed_nm"): 0,
        },
    )
    assert [remark.rule for remark in designer.remarks(made)] == ["lead", "station", "meeting", "meeting"]


@pytest.mark.parametrize(
    ("name", "climb_ft_nm", "tas_kt", "met_nm"),
    [
        ("saltmarsh", 650 / LOWEST_CLIMB_KT * 60, LOWEST_CLIMB_KT, 8.2),
        ("saltmarsh", 1100 / HIGHEST_CLIMB_KT * 60, HIGHEST_CLIMB_KT, 8.2),
        ("saltmarsh", 200, 94, 9.8),
    ],
)
def test_where_a_missed_approach_meets_its_radial(name, climb_ft_nm, tas_kt, met_nm):
    """The course's scenario, s. 3, P1: about 8.2 DME for both aircraft, at the published gradient 9.8."""
    met = designer.missed_geometry(GOOD[name], climb_ft_nm=climb_ft_nm, tas_kt=tas_kt)
    assert met.met_nm == pytest.approx(met_nm, abs=0.06)  # printed to the tenth
    assert GOOD[name].missed.intercept_radial_deg - GOOD[name].missed.heading_deg == 45


def test_the_geometry_on_the_ellipsoid():
    """Independent method: climb, turn and heading walked over the ellipsoid second by second."""
    made, at = GOOD["saltmarsh"], GOOD["saltmarsh"].station
    tas_kt, climb_ft_nm = 75.0, 520.0
    lat_deg, lon_deg = made.position("MAP")
    heading_deg, alt_ft, met = 214.0, 560.0, None
    for _ in range(1200):
        step_nm = tas_kt / 3600.0
        lat_deg, lon_deg = direct(
            lat_deg=lat_deg, lon_deg=lon_deg, bearing_deg_true=heading_deg + at.declination_deg, dist_nm=step_nm
        )
        alt_ft += climb_ft_nm * step_nm
        if alt_ft >= 900.0:
            heading_deg = max(120.0, heading_deg - 3.0)
        radial_deg, dist_nm = radial_and_distance(
            station_lat_deg=at.lat_deg, station_lon_deg=at.lon_deg, declination_deg=at.declination_deg,
            lat_deg=lat_deg, lon_deg=lon_deg,
        )  # fmt: skip
        if radial_deg <= 165.0:
            met = dist_nm
            break
    found = designer.missed_geometry(made, climb_ft_nm=climb_ft_nm, tas_kt=tas_kt)
    assert found.met_nm == pytest.approx(met, abs=0.05)  # a second is 0.02 NM, twice: the turn's begin and the radial


def test_no_meeting_to_work_out():
    """Definition: direct to the fix there is none; nor where the heading runs clear of the radial."""
    assert designer.missed_geometry(GOOD["tarvue"], climb_ft_nm=200, tas_kt=90) is None
    early = copy_of("wygate", {("missed", "turn_after"): "WYG", ("missed", "climb_to_ft"): 1500})
    found = designer.missed_geometry(early, climb_ft_nm=2000, tas_kt=40)
    assert found is None or found.met_nm < designer.NEEDLE_NM
    assert np.isfinite(designer.missed_geometry(GOOD["ezrick"], climb_ft_nm=300, tas_kt=75).met_nm)


def test_the_aircraft_flown_are_named():
    """Definition: only the aircraft asked for are flown."""
    made = copy_of("wygate", {("missed", "turn_after"): "WYG"})
    told = [str(remark) for remark in designer.remarks(made, [aircraft.load("finch")])]
    assert any("Finch" in sentence for sentence in told) and not any("Plover" in sentence for sentence in told)
