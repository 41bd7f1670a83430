"""Procedures: the scenario's four as data, and everything a file can get wrong."""

import copy
import datetime
import itertools
import pickle
import tomllib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import BadData, OutOfRange
from needlework.trade.dme import slant_nm
from needlework.trade.units import deg_from_ft_nm, minutes_from_mm_ss
from needlework.world import datafiles, procedure

DAY = datetime.date(2026, 11, 25)
FOLDER = datafiles.datasets_dir() / "procedures"
RAW = {name: tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8")) for name in procedure.names()}
GOOD = {name: procedure.load(name, DAY) for name in RAW}

POSITIONS = """
saltmarsh TUMSI 37.08100 -45.64540
saltmarsh GELPO 36.97562 -45.38533
saltmarsh DOVAN 37.05577 -45.12538
saltmarsh KESTU 36.97789 -45.16273
saltmarsh PARDO 36.85326 -45.22233
saltmarsh MAP 36.82677 -45.23497
saltmarsh threshold 36.81898 -45.23868
saltmarsh BELDU 36.69363 -45.06379
wygate NULBO 37.59792 -47.09308
wygate FOSKA 37.45280 -46.89362
wygate JETIR 37.55140 -46.87184
wygate MAP 37.63192 -46.85401
wygate LIDRA 37.74379 -46.62736
ezrick SEMPA 36.36578 -47.02196
ezrick KALWE 36.15349 -46.78250
ezrick HEXAL 36.37634 -47.22499
ezrick threshold 36.14312 -47.14635
tarvue threshold 37.27569 -48.26617
"""


def changed(name, *path_and_value):
    """Copy a procedure's tables with one value changed (or taken out with ``del``)."""
    raw = copy.deepcopy(RAW[name])
    *path, value = path_and_value
    table = raw
    for step in path[:-1]:
        table = table[step]
    if value is DELETE:
        del table[path[-1]]
    else:
        table[path[-1]] = value
    return raw


DELETE = object()


def faults_of(raw, on_date=DAY):
    with pytest.raises(BadData) as caught:
        procedure.read(raw, "own.toml", on_date)
    return caught.value.faults


# --- what the files hold --------------------------------------------------------------------------


@pytest.mark.parametrize("row", POSITIONS.strip().splitlines())
def test_positions(row):
    """The course's scenario, s. 4: positions of the fixes."""
    name, fix, lat_deg, lon_deg = row.split()
    found = GOOD[name].position(fix)
    assert found == pytest.approx((float(lat_deg), float(lon_deg)), abs=0.5e-5)  # half the last digit printed


@pytest.mark.parametrize(
    ("name", "angle_deg", "height_ft"),
    [("saltmarsh", 2.99, 498), ("wygate", 3.03, 425), ("ezrick", 3.10, 595), ("tarvue", 3.18, 422)],
)
def test_descent_line(name, angle_deg, height_ft):
    """The course's scenario, s. 3: descent angles and heights above threshold."""
    made = GOOD[name]
    assert deg_from_ft_nm(made.gradient_ft_nm) == pytest.approx(angle_deg, abs=0.005)  # half the last digit
    assert made.descent_angle_deg == angle_deg
    assert made.mda_ft() - made.runway.threshold_elevation_ft == height_ft


@pytest.mark.parametrize(("name", "gradient_ft_nm"), [("saltmarsh", 317), ("tarvue", 338)])
def test_gradient_printed(name, gradient_ft_nm):
    """The course's scenario, s. 3: 317 and 338 ft/NM."""
    assert GOOD[name].gradient_ft_nm == pytest.approx(gradient_ft_nm, abs=0.5)  # half the last digit printed


@pytest.mark.parametrize("name", RAW)
def test_every_final_leg_is_flyable(name):
    """FAA Order 8260.3B, straight-in finals at most 400 ft/NM; at least 250 is the scenario's rule."""
    made = GOOD[name]
    steps = [(row.to_go_nm, row.altitude_ft) for row in made.final_table() if row.name not in ("VDP", "MAP")]
    steps.append((0.0, made.crossing_ft))
    for (far_nm, high_ft), (near_nm, low_ft) in itertools.pairwise(steps):
        assert 250 <= (high_ft - low_ft) / (far_nm - near_nm) <= 400


@pytest.mark.parametrize(
    "row", ["60 4:18", "70 3:41", "80 3:14", "90 2:52", "100 2:35", "110 2:21", "120 2:09", "140 1:51"]
)
def test_times_on_the_clock_procedure(row):
    """The course's scenario, s. 3, P4: times for the box on the plate."""
    gs_kt, text = row.split()
    time_min = 60 * GOOD["tarvue"].final_fix_to_map_nm / float(gs_kt)
    assert time_min * 60 == pytest.approx(minutes_from_mm_ss(text) * 60, abs=0.5 + 1e-9)  # printed to the second


def test_where_the_runway_lies():
    """The course's scenario, s. 3: P1 3 and P3 5 degrees off; the lines of P3 and P2 cross the centre line before it.

    Plane geometry: 0.8 NM at 5 degrees is 130 m, 0.9 at 3 is 87; the field station stands 1.5 NM past the crossing.
    """
    p1, p2, p3, p4 = (GOOD[name] for name in ("saltmarsh", "wygate", "ezrick", "tarvue"))
    assert [p.runway_turn_deg for p in (p1, p2, p3, p4)] == [-3, -3, -5, 0]
    metres = [p.threshold_right_nm * 1852 for p in (p1, p2, p3, p4)]
    assert metres == pytest.approx([0, -87, -130, 0], abs=0.5)  # to the metre
    assert p2.station_off_centre_line_nm * 1852 == pytest.approx(145, abs=0.5)  # to the metre


# --- what can be asked of a procedure ----------------------------------------------------------------


def test_final_table():
    """The course's scenario, s. 3, P1: final fix, step-down, VDP, MAP, with the DME rising past the station.

    With the setting of the other field there is no VDP; worked out, that of an MDA raised by 70 ft lies 70 / 317 NM
    farther out.
    """
    rows = [(r.name, r.dme_nm, r.altitude_ft, r.trend) for r in GOOD["saltmarsh"].final_table("B")]
    assert rows == [
        ("OVK", 0.0, 1760, "falls"),
        ("PARDO", 3.0, 780, "rises"),
        ("VDP", pytest.approx(3.8), 560, "rises"),
        ("MAP", 4.7, 560, "rises"),
    ]
    remote = GOOD["saltmarsh"].final_table("B", remote=True)
    assert [(r.name, r.altitude_ft) for r in remote] == [("OVK", 1760), ("PARDO", 780), ("MAP", 630)]
    saltmarsh = GOOD["saltmarsh"]
    assert saltmarsh.vdp_to_go_nm(saltmarsh.mda_ft(remote=True)) == pytest.approx(5.2 - 3.8 + 70 / 317, abs=0.001)
    wygate = GOOD["wygate"]
    assert wygate.vdp_to_go_nm(wygate.mda_ft()) == wygate.fix_to_go_nm("VDP")
    assert wygate.vdp_to_go_nm(740.0) == pytest.approx(wygate.fix_to_go_nm("VDP") + 100 / wygate.gradient_ft_nm)
    assert [row.trend for row in GOOD["wygate"].final_table()] == ["falls"] * 4
    assert [row.dme_nm for row in GOOD["tarvue"].final_table()] == [None, None]


def test_floor_along_the_line():
    """Definition: a fix's floor holds up to the fix; the next one past it; DME falls, then rises."""
    floor = GOOD["saltmarsh"].floor_at
    inbound = floor([10, 7, 5, 4.9, 0.1, 0], inbound=True)
    assert inbound.tolist() == [2400, 2400, 2400, 1760, 1760, 1760]
    assert floor([0, 0.1, 3, 3.1, 4.7, 5.2], inbound=False).tolist() == [1760, 780, 780, 560, 560, 560]
    assert floor(4.0, inbound=False, remote=True) == 630
    assert GOOD["wygate"].floor_at([12, 6, 5, 3, 2, 1.1], inbound=True).tolist() == [2000, 2000, 1000, 1000, 640, 640]
    assert GOOD["ezrick"].floor_at([13, 5, 1], inbound=True).tolist() == [3200, 3200, 2500]
    assert GOOD["tarvue"].floor_at([8.0, 0.0], inbound=True).tolist() == [1600, 1600]
    assert GOOD["tarvue"].floor_at(0.1, inbound=False) == 520
    with pytest.raises(OutOfRange, match="lies before DOVAN"):
        floor(10.1, inbound=True)
    with pytest.raises(OutOfRange, match="dme_nm = nan"):
        floor(np.nan, inbound=True)


def test_distances_to_the_threshold():
    """Independent method: along the line by radial and DME, over the ellipsoid by geodesic."""
    made = GOOD["saltmarsh"]
    for name in ("DOVAN", "KESTU", "OVK", "PARDO", "MAP"):
        # Both fixes lie on one geodesic through the station, to rounding.
        assert made.fix_to_go_nm(name) == pytest.approx(made.to_threshold_nm(name), abs=1e-6)
    assert made.to_go_nm(5.0, inbound=True) == pytest.approx(10.2)
    assert made.to_go_nm([3.0, 5.2, 6.0], inbound=False) == pytest.approx([2.2, 0, -0.8])
    assert GOOD["wygate"].to_go_nm([6.0, 0.6], inbound=True) == pytest.approx([5.4, 0])
    assert made.line_ft([5.2, 0]) == pytest.approx([1760, 112])


def test_facts_of_the_four():
    """The course's scenario, s. 1 and 3."""
    p1, p2, p3, p4 = (GOOD[name] for name in ("saltmarsh", "wygate", "ezrick", "tarvue"))
    assert [p.final_fix for p in (p1, p2, p3, p4)] == ["OVK", "JETIR", "EZJ", "TVU"]
    assert [p.station_before_runway for p in (p1, p2, p3, p4)] == [True, False, True, True]
    assert [p.map_by_dme for p in (p1, p2, p3, p4)] == [True, True, True, False]
    assert [p.final_course_deg for p in (p1, p2, p3, p4)] == [214, 23, 277, 82]
    assert [p.final_fix_to_map_nm for p in (p1, p2, p3, p4)] == pytest.approx([4.7, 4.9, 4.2, 4.3])
    assert p1.step_downs == ("PARDO",) and p4.step_downs == ()
    assert p2.mda_ft(step_down=False) == p2.mda_ft(step_down=False, circling=True) == 1000
    assert [p2.visibility_m(step_down=there) for there in (True, False)] == [1400, 2000]
    assert p1.remote_setting_nm == pytest.approx(19.0, abs=0.05) and p2.remote_setting_nm is None
    assert [p1.has_vdp(), p1.has_vdp(remote=True), p2.has_vdp(), p4.has_vdp()] == [True, False, True, False]
    assert p1.mda_ft("B", circling=True, remote=True) == 770
    assert [p1.sector_altitude_ft(radial) for radial in (249, 250, 300, 340, 341)] == [3100, 3600, 3600, 3600, 3100]
    assert [p1.trend(leg) for leg in p1.route()] == ["rises", "steady", "steady", "falls", "falls", "rises", "rises"]
    assert [leg.start for leg in p1.route("TUMSI")][:2] == ["TUMSI", "GELPO"]
    assert p1.leg_floor_ft(p1.legs[-1], "B", remote=True) == 630
    assert [station.ident for station in p1.other_stations] == ["OUK"]
    assert p4.trend(p4.legs[0]) == "rises"
    assert p3.missed.gradient_until_ft == 3500


@pytest.mark.parametrize(("fix", "alt_ft", "reads_nm"), [("DOVAN", 3000, 10.009), ("OVK", 1760, 0.21)])
def test_what_the_dme_reads_at_a_fix(fix, alt_ft, reads_nm):
    """The course's scenario, s. 4: slant distance at DOVAN and overhead OVK."""
    made = GOOD["saltmarsh"]
    slant = slant_nm(ground_nm=made.fix(fix).dist_nm, height_ft=alt_ft - made.station.elevation_ft)
    assert slant == pytest.approx(reads_nm, abs=0.5e-3 if fix == "DOVAN" else 0.5e-2)  # half the last digit


def test_frozen_and_portable():
    """Definition: a procedure cannot be changed, and survives a copy to another process."""
    made = GOOD["wygate"]
    with pytest.raises(AttributeError):
        made.name = "other"
    with pytest.raises(ValueError, match="frozen"):
        made.station.lat_deg = 0.0
    assert pickle.loads(pickle.dumps(made)) == made
    assert hash(made) == hash(procedure.load("wygate", DAY))


@pytest.mark.parametrize(
    ("ask", "text"),
    [
        (lambda p: p.fix("PARDOE"), "has no fix PARDOE: did you mean PARDO?"),
        (lambda p: p.route("GELPO"), "does not begin at GELPO: expected OVK or TUMSI"),
        (lambda p: p.mda_ft("C"), "no straight-in minimums for category C: expected A or B"),
        (lambda p: procedure.load("saltmarch"), 'There is no procedure "saltmarch": did you mean saltmarsh?'),
        (lambda p: procedure.load("../x"), "x does not exist"),
        (
            lambda p: GOOD["tarvue"].minimum("A", circling=True),
            "no circling minimums: circling is not authorised",
        ),
    ],
)
def test_questions_without_an_answer(ask, text):
    """Definition: one sentence that says what was wrong and what was expected."""
    with pytest.raises(BadData, match=None) as caught:
        ask(GOOD["saltmarsh"])
    assert text in str(caught.value)
    assert "\n" not in str(caught.value)


# --- the eight faulty copies -------------------------------------------------------------------------

EIGHT = {
    "frequency": ["station.frequency_mhz = 114.63 MHz is no VOR channel"],
    "channel": ['station.dme_channel = "39X" does not pair with 110.25 MHz: expected "39Y"'],
    "map_beyond_runway": ["fixes.MAP.dme_nm = 5 NM: the missed approach point lies 0.3 NM beyond the threshold"],
    "steep_final": ["leg 7 (OVK to PARDO): gradient = 87 ft/NM", "leg 8 (PARDO to MAP): gradient = 631 ft/NM"],
    "arc_wrong_way": ['leg 3 (NULBO to FOSKA).turn = "right" goes 295 degrees round the station: expected "left"'],
    "dme_without_dme": ["fixes.MAP.dme_nm = 4.3 NM: TVU has no DME"],
    "out_of_date": ["effective_until = 2025-01-22: out of date on 2026-11-25 (UTC)"],
    "reversed_course": ["leg 5 (DOVAN to KESTU).course_deg = 034: expected 214, the reciprocal of radial 034"],
}


@pytest.mark.parametrize("name", EIGHT)
def test_deliberately_faulty_copies(name):
    """The course's scenario, s. 3, deliberately faulty copies: exactly the fault that was put in."""
    with pytest.raises(BadData) as caught:
        procedure.load(f"faulty/{name}", DAY)
    faults = caught.value.faults
    assert len(faults) == len(EIGHT[name])
    for fault, wanted in zip(faults, EIGHT[name], strict=True):
        assert fault.startswith(wanted)
        assert "expected" in fault and fault in str(caught.value)


def test_the_eight_are_all_there_is():
    """Definition: every faulty file is known to this test, and every file says that its data are invented."""
    assert sorted(procedure.names(faulty=True)) == sorted(f"faulty/{name}" for name in EIGHT)
    for path in FOLDER.rglob("*.toml"):
        assert path.read_text("utf-8").startswith("# Invented data, for training only, not for navigation\n")


FAULTY = {
    "frequency": ("saltmarsh", {("station", "frequency_mhz")}),
    "channel": ("wygate", {("station", "dme_channel")}),
    "map_beyond_runway": ("ezrick", {("fixes", "MAP", "dme_nm")}),
    "steep_final": ("saltmarsh", {("legs", 6, "minimum_ft"), ("legs", 6, "at_end_ft")}),
    "arc_wrong_way": ("wygate", {("legs", 2, "turn")}),
    "dme_without_dme": ("tarvue", {("fixes", "MAP", "dme_nm"), ("fixes", "MAP", "distance_nm")}),
    "out_of_date": ("saltmarsh", {("effective_from",), ("effective_until",)}),
    "reversed_course": ("saltmarsh", {("legs", 4, "course_deg")}),
}


@pytest.mark.parametrize("name", FAULTY)
def test_a_faulty_copy_is_a_copy(name):
    """Definition: nothing but the fault differs from the good file, so that the two never drift apart."""
    base, planted = FAULTY[name]
    faulty = tomllib.loads((FOLDER / "faulty" / f"{name}.toml").read_text("utf-8"))
    good, bad = (dict(_leaves(raw)) for raw in (RAW[base], faulty))
    assert {place for place in {*good, *bad} if good.get(place) != bad.get(place)} == planted


def _leaves(table, path=()):
    for key, value in table.items() if isinstance(table, dict) else enumerate(table):
        if isinstance(value, (dict, list)):
            yield from _leaves(value, (*path, key))
        else:
            yield (*path, key), value


def test_files_of_earlier_versions_load():
    """Definition: what was added since may be left out; the threshold then stands on the final line."""
    for name, raw in RAW.items():
        old = copy.deepcopy(raw)
        old["runway"].pop("centre_line_crossed_nm", None)
        for field in ("lat_deg", "lon_deg"):
            old["minimums"].pop(f"remote_setting_{field}", None)
        for field in ("vdp_not_with_remote", "without_step_down_visibility_m"):
            old["minimums"].pop(field, None)
        made = procedure.read(old, "own.toml", DAY)
        assert made.legs == GOOD[name].legs
        assert made.threshold_right_nm == 0 and made.remote_setting_nm is None
        assert made.has_vdp(remote=True) == made.has_vdp()
        assert made.visibility_m(step_down=False) == made.visibility_m()


def test_out_of_date_copy_was_good_in_its_time():
    """Definition: the day asked for decides, both ends included."""
    for day in ("2024-01-25", "2025-01-22"):
        assert procedure.load("faulty/out_of_date", datetime.date.fromisoformat(day)).airport.ident == "XSAM"
    with pytest.raises(BadData, match="not yet in force on 2024-01-24"):
        procedure.load("faulty/out_of_date", datetime.date(2024, 1, 24))
    assert procedure.load("saltmarsh").name  # today, whatever day it is


# --- one fault at a time -----------------------------------------------------------------------------

FIX = "fixes"
ONE_FAULT = [
    # fields: missing, misspelt, of the wrong type, out of range
    ("saltmarsh", ("name", DELETE), "name is missing: expected the procedure's name in quotes"),
    ("saltmarsh", ("effective_from", "2025-01-23"), 'effective_from = "2025-01-23": expected a date such as'),
    ("saltmarsh", ("effective_from", datetime.datetime(2025, 1, 23, 7)), "effective_from = 2025-01-23 07:00:00"),
    ("saltmarsh", ("effective_until", datetime.date(2025, 1, 1)), "is before effective_from"),
    ("saltmarsh", ("notes", "one"), 'notes = "one": expected a list of texts'),
    ("saltmarsh", ("note", []), "note is not a known field: did you mean notes?"),
    ("saltmarsh", ("airport", DELETE), "airport is missing: expected a table that begins with [airport]"),
    ("saltmarsh", ("airport", 5), "airport = 5: expected a table of ident, name, elevation_ft"),
    ("saltmarsh", ("airport", "elevation_ft", "66"), 'airport.elevation_ft = "66" is not a number: expected'),
    ("saltmarsh", ("airport", "elevation_ft", True), "airport.elevation_ft = true is not a number"),
    ("saltmarsh", ("airport", "elevation_ft", float("nan")), "airport.elevation_ft = nan is not a number"),
    ("saltmarsh", ("airport", "elevation_ft", 10**400), "airport.elevation_ft is far outside"),
    ("saltmarsh", ("runway", "lights", "yes"), 'runway.lights = "yes": expected true or false'),
    ("saltmarsh", ("runway", "length_m", 13), "runway.length_m = 13 m is outside 300 to 6,000 m"),
    ("saltmarsh", ("station", "ident", "ovk"), 'station.ident = "ovk": expected two or three capital letters'),
    ("saltmarsh", ("station", "service_class", "X"), 'station.service_class = "X": expected "T", "L"'),
    ("saltmarsh", ("other_stations", {}), "other_stations = a table of nothing: expected a list, each begun with [["),
    ("saltmarsh", ("other_stations", 0, "ident", "OVK"), 'other station ident = "OVK" stands twice'),
    ("saltmarsh", ("other_stations", 0, "dme_channel", "103Y"), 'other station 1.dme_channel = "103Y" does not pair'),
    ("saltmarsh", ("receiver_checks", 1, "frequency_mhz", DELETE), "receiver check 2.frequency_mhz is missing"),
    ("saltmarsh", ("sector_altitudes", 1, "to_radial_deg", DELETE), "sector altitude 2 has one limiting radial"),
    ("saltmarsh", ("sector_altitudes", DELETE), "sector_altitudes is missing: expected at least one"),
    ("saltmarsh", (FIX, "GELPO", "dme", 1), "fixes.GELPO.dme is not a known field: did you mean"),
    ("saltmarsh", (FIX, "GELPO", {"radial_deg": 310}), "fixes.GELPO has neither dme_nm nor distance_nm"),
    ("saltmarsh", (FIX, "GELPO", "distance_nm", 10), "fixes.GELPO has both dme_nm and distance_nm"),
    ("saltmarsh", (FIX, "GELPO", "name", "x"), "fixes.GELPO.name is not a known field"),
    ("saltmarsh", (FIX, "OVK", {"radial_deg": 0, "dme_nm": 0}), "fixes.OVK is known already"),
    ("saltmarsh", (FIX, 3), "fixes = 3: expected lines such as"),
    # legs
    ("saltmarsh", ("legs", 2, "arc_dme_nm", DELETE), "leg 3 (GELPO to R345).arc_dme_nm is missing: expected it for"),
    ("saltmarsh", ("legs", 4, "from", DELETE), 'leg 5 (to KESTU).from is missing: expected "DOVAN", where the leg'),
    ("saltmarsh", ("legs", 0, "lead_radial_deg", 3), "leg 1 (OVK to GELPO).lead_radial_deg does not belong to"),
    ("saltmarsh", ("legs", 0, "kind", "line"), 'leg 1 (OVK to GELPO).kind = "line": expected "radial", "arc"'),
    ("saltmarsh", ("legs", 2, "turn", "up"), 'leg 3 (GELPO to R345).turn = "up": expected "left" or "right"'),
    ("saltmarsh", ("legs", 0, "entry", "OVKK"), 'entry = "OVKK" is not among the entries: did you mean OVK?'),
    ("saltmarsh", ("legs", 2, "arc_dme_nm", 11), "leg 3 (GELPO to R345).arc_dme_nm = 11 NM: expected 10 NM, the"),
    ("saltmarsh", ("legs", 3, "lead_radial_deg", 41), "does not reach its lead-in there: expected a radial shortly"),
    ("saltmarsh", ("legs", 3, "lead_radial_deg", 352), "lead_radial_deg = 352: the arc from radial 345 right to 034"),
    ("saltmarsh", ("legs", 0, "course_deg", 300), "leg 1 (OVK to GELPO).course_deg = 300: expected 310, outbound on"),
    ("saltmarsh", ("legs", 7, "course_deg", 216), "leg 8 (PARDO to MAP).course_deg = 216: expected 214, outbound"),
    ("saltmarsh", ("legs", 4, "at_end_ft", 2300), "at_end_ft = 2,300 ft: KESTU lies below the minimum of its leg"),
    ("saltmarsh", ("legs", 3, "minimum_ft", 3500), "leg 4 (R345 to DOVAN).minimum_ft = 3,500 ft lies above the"),
    ("saltmarsh", ("legs", 6, "minimum_ft", "MDA"), 'leg 7 (OVK to PARDO).minimum_ft = "MDA": expected feet: only'),
    ("saltmarsh", ("legs", 7, "minimum_ft", 560), 'leg 8 (PARDO to MAP).minimum_ft = 560 ft: expected "MDA"'),
    ("saltmarsh", ("legs", 7, "minimum_ft", "mda"), 'minimum_ft = "mda": expected feet without quotes, or "MDA"'),
    ("saltmarsh", ("legs", 7, "at_end_ft", 560), "at_end_ft = 560 ft: expected it left out"),
    ("saltmarsh", ("entries", 0, "minimum_ft", 3000), "entries: OVK minimum_ft = 3,000 ft lies below the minimum of"),
    (
        "saltmarsh",
        ("legs", 4, "segment", "initail"),
        'leg 5 (DOVAN to KESTU).segment = "initail": expected "initial"',
    ),
    ("tarvue", ("legs", 1, "heading_out_deg", 307), "heading_out_deg = 307: expected 217, 45 degrees left"),
    ("tarvue", ("legs", 1, "heading_in_deg", 47), "heading_in_deg = 047: expected 037, the reciprocal"),
    (
        "tarvue",
        ("legs", 2, "course_deg", 262),
        "leg 3 (to TVU).course_deg = 262: expected 082, the reciprocal of the out",
    ),
    # final
    ("saltmarsh", ("runway", "threshold_radial_deg", 211), "runway.threshold_radial_deg = 211: expected 214"),
    ("saltmarsh", ("runway", "heading_deg", 31), "runway.heading_deg = 031: expected within 30 degrees of the final"),
    (
        "wygate",
        (FIX, "MAP", "dme_nm", 0.4),
        "fixes.MAP.dme_nm = 0.4 NM: the missed approach point lies 0.2 NM beyond",
    ),
    ("saltmarsh", ("descent", "angle_deg", 3.1), "descent.angle_deg = 3.1 deg: expected 2.99, from 1,760 ft at OVK"),
    ("saltmarsh", ("descent", "angle_deg", 318), "descent.angle_deg = 318 deg is outside 1 to 7 deg: is this a grad"),
    ("saltmarsh", (FIX, "VDP", "dme_nm", 3.6), "fixes.VDP.dme_nm = 3.6 NM: expected 3.8 NM, where the descent line"),
    ("saltmarsh", (FIX, "VDP", "radial_deg", 34), "fixes.VDP.radial_deg = 034"),
    # minimums
    ("saltmarsh", ("minimums", "straight_in", DELETE), "minimums.straight_in is missing: expected a line for each"),
    ("saltmarsh", ("minimums", "straight_in", 5), "minimums.straight_in = 5: expected straight_in.A = {"),
    (
        "saltmarsh",
        ("minimums", "straight_in", "A", "visibility_m", 1),
        "minimums.straight_in.A.visibility_m = 1 m is",
    ),
    ("saltmarsh", ("minimums", "straight_in", "F", {"mda_ft": 560, "visibility_m": 1500}), 'expected "A" to "E"'),
    (
        "saltmarsh",
        ("minimums", "circling", "A", "mda_ft", 500),
        "minimums.circling.A.mda_ft = 500 ft: expected at le",
    ),
    (
        "saltmarsh",
        ("minimums", "remote_setting_from", DELETE),
        "remote_setting_from and remote_setting_add_ft belong",
    ),
    (
        "saltmarsh",
        ("minimums", "without_step_down_ft", 500),
        "without_step_down_ft = 500 ft: expected at least the MDA",
    ),
    ("tarvue", ("minimums", "without_step_down_ft", 900), "the final has no step-down fix"),
    (
        "saltmarsh",
        ("minimums", "remote_setting_lon_deg", DELETE),
        "remote_setting_lat_deg and remote_setting_lon_deg",
    ),
    ("wygate", ("minimums", "vdp_not_with_remote", True), "vdp_not_with_remote is given without remote_setting_from"),
    ("saltmarsh", (FIX, "VDP", DELETE), "vdp_not_with_remote is given but there is no fix VDP: expected it left out"),
    (
        "wygate",
        ("minimums", "without_step_down_ft", DELETE),
        "without_step_down_visibility_m is given without without",
    ),
    (
        "wygate",
        ("minimums", "without_step_down_visibility_m", 1200),
        "expected at least 1,400 m, as with the step-do",
    ),
    ("wygate", ("minimums", "without_step_down_visibility_m", 2), "is this in statute miles or km?"),
    (
        "ezrick",
        ("runway", "centre_line_crossed_nm", 1400),
        "runway.centre_line_crossed_nm = 1,400 NM is outside 0 to",
    ),
    ("tarvue", ("minimums", DELETE), "minimums is missing: expected a table"),
    # missed approach and hold
    ("saltmarsh", ("missed", "course_deg", 34), "missed.course_deg = 034: expected straight ahead, 214"),
    ("saltmarsh", ("missed", "climb_to_ft", 500), "missed.climb_to_ft = 500 ft: expected above the MDA of 560 ft"),
    ("saltmarsh", ("missed", "gradient_ft_nm", 150), "missed.gradient_ft_nm = 150 ft/NM: expected 200 or more"),
    ("saltmarsh", ("missed", "gradient_until_ft", 3700), "missed.gradient_until_ft = 3,700 ft: expected between"),
    ("saltmarsh", ("missed", "turn", "right"), 'missed.turn = "right" goes 266 degrees round to heading 120'),
    (
        "saltmarsh",
        ("missed", "intercept_radial_deg", 156),
        "missed.intercept_radial_deg = 156: expected 165, the radial",
    ),
    (
        "saltmarsh",
        ("missed", "intercept_radial_deg", DELETE),
        "missed: expected heading_deg and intercept_radial_deg",
    ),
    ("saltmarsh", ("missed", "direct", True), "missed: expected heading_deg and intercept_radial_deg together, or"),
    ("saltmarsh", ("missed", "heading_deg", 170), "does not meet radial 165 before BELDU"),
    (
        "wygate",
        ("missed", "turn_after", "MAP"),
        "after a turn 1.1 NM short of the station it does not meet radial 075",
    ),
    ("saltmarsh", ("hold", "fix", "TUMSI"), 'hold.fix = "TUMSI", which is not on the missed approach radial 165'),
    (
        "tarvue",
        ("hold", "fix", "MAP"),
        'hold.fix = "MAP", which is not where the missed approach leads: expected "TVU"',
    ),
    ("saltmarsh", ("hold", "inbound_course_deg", 300), "hold.inbound_course_deg = 300: expected 345 or 165, along"),
    ("saltmarsh", ("hold", "altitude_ft", 3500), "hold.altitude_ft = 3,500 ft: expected 3,600 ft, as in the missed"),
    ("saltmarsh", ("hold", "leg_min", 1), "hold: expected either leg_dme_nm or leg_min"),
]


@pytest.mark.parametrize(("name", "change", "text"), ONE_FAULT)
def test_one_change_one_fault(name, change, text):
    """Definition: a change that breaks one thing is told as one thing, with what was expected."""
    faults = faults_of(changed(name, *change))
    assert len(faults) == 1, faults
    assert text in faults[0]
    assert "expected" in faults[0] or "did you mean" in faults[0] or "outside" in faults[0] or "is no" in faults[0]


@pytest.mark.parametrize(
    ("name", "change", "texts"),
    [
        (
            "saltmarsh",
            ("missed", "fix", "BELDO"),
            ['missed.fix = "BELDO" is no fix', "did you mean BELDU?", "hold.fix"],
        ),
        (
            "saltmarsh",
            ("legs", 2, "to", "R360"),
            ['leg 3 (GELPO to R360).to = "R360" is no fix', "leg 4 (R345 to DOVAN)"],
        ),
        (
            "tarvue",
            ("legs", 0, "course_deg", 252),
            ["heading_out_deg = 217: expected 207", "expected 072, the recip"],
        ),
        ("saltmarsh", ("legs", 7, "to", "VDP"), ['leg 8 (PARDO to VDP).to = "VDP": expected "MAP" at the end']),
        (
            "saltmarsh",
            (FIX, "R345", "dme_nm", 11),
            ["leg 3 (GELPO to R345): R345 at 11 NM is not on the arc", "leg 4"],
        ),
        ("saltmarsh", ("legs", 5, "segment", "final"), ["(KESTU to OVK)"]),
        ("saltmarsh", ("station", "dme_channel", DELETE), ["fixes.GELPO.dme_nm", "arc_dme_nm", "hold.leg_dme_nm"]),
        (
            "saltmarsh",
            ("legs", 6, "at_end_ft", 815),
            ["at_end_ft = 815 ft: the straight line to the threshold passes"],
        ),
        ("tarvue", ("legs", 2, "minimum_ft", 3000), ["at_end_ft = 1,600 ft", "lies above the minimum before it"]),
    ],
)
def test_changes_with_more_than_one_consequence(name, change, texts):
    """Definition: every fault is told, and each names its field."""
    faults = "\n".join(faults_of(changed(name, *change)))
    for text in texts:
        assert text in faults


def test_a_misspelt_field_is_one_fault():
    """Definition: the wrong name is told with the right one, not as missing besides."""
    raw = changed("saltmarsh", "station", "frequency_mhz", DELETE)
    raw["station"]["frequncy_mhz"] = 114.6
    assert faults_of(raw) == ("station.frequncy_mhz is not a known field: did you mean frequency_mhz?",)


def test_faults_of_all_kinds_at_once():
    """Definition: a fault in one field hides none in another table; the text numbers them."""
    raw = changed("saltmarsh", "station", "frequency_mhz", 114.63)
    raw["runway"]["length"] = raw["runway"].pop("length_m")
    raw["hold"]["altitude_ft"] = 3500
    raw["legs"][4]["course_deg"] = 34
    raw["minimums"]["straight_in"]["A"]["mda_ft"] = "560"
    with pytest.raises(BadData) as caught:
        procedure.read(raw, "own.toml", datetime.date(2020, 1, 1))
    assert len(caught.value.faults) == 6
    assert str(caught.value).startswith("own.toml has 6 faults:\n  1. ")
    assert caught.value._render_traceback_() == [str(caught.value)]


# --- bad files ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"", "is empty: copy one of the course's files"),
        (b" \n\n", "is empty"),
        (b"name = ", "is not valid TOML: "),
        (
            b"name\n= 1",
            "is not valid TOML: line 1, column 5: ",
        ),
        (b'a = 1\nname = "Ezr\xefck"', "line 2: a character is not UTF-8"),
        (
            b"a = 1\nM = { radial_deg = 82, dme_nm = 4,3 }",
            "in M = { radial_deg = 82, dme_nm = 4,3 }; expected lines such as elevation_ft = 66",
        ),
        (b"a = 1\nturn = left", "in turn = left; expected lines such as"),
        (b"x = " + b"[" * 50_000, "is not a file a person wrote"),
        (b"x = " + b"9" * 5_000, "is not a file a person wrote"),
        (b"# long\n" * 100_000, "is larger than 200 kB"),
        (b"\x89PNG\r\n\x1a\n\x00", "line 1: a character is not UTF-8"),
        (b"a = 1", "has 14 faults"),
    ],
)
def test_files_that_are_no_procedure(tmp_path, content, text):
    """Definition: one sentence for a file that cannot be read at all."""
    path = tmp_path / "own.toml"
    path.write_bytes(content)
    with pytest.raises(BadData) as caught:
        procedure.load(path)
    assert text in str(caught.value)
    assert str(caught.value).startswith("own.toml")


def test_folders_and_missing_files(tmp_path, monkeypatch):
    """Definition: what is no file is said to be none."""
    with pytest.raises(BadData, match=r"is a folder: expected one file that ends in \.toml"):
        procedure.load(tmp_path)
    with pytest.raises(BadData, match=r"none.toml does not exist: check the name and the folder"):
        procedure.load(str(tmp_path / "none.toml"))
    with pytest.raises(BadData, match=r"cannot be read \(embedded null byte\)|does not exist"):
        procedure.load("a\0b.toml")
    with pytest.raises(BadData, match="is not an ordinary file"):
        procedure.load("/dev/null")
    monkeypatch.setenv("NEEDLEWORK_DATASETS", str(tmp_path / "nowhere"))
    with pytest.raises(BadData, match=r"NEEDLEWORK_DATASETS = '.*nowhere' is not a folder"):
        procedure.names()


def test_own_folder_and_own_file(tmp_path, monkeypatch):
    """Definition: a copied and renamed file loads by name from the folder set, and by path from anywhere."""
    (tmp_path / "procedures").mkdir()
    own = tmp_path / "procedures" / "mine.toml"
    # As Windows editors save it: a byte order mark and two characters at each line's end.
    own.write_bytes(b"\xef\xbb\xbf" + (FOLDER / "saltmarsh.toml").read_bytes().replace(b"\n", b"\r\n"))
    assert procedure.load(own, DAY).legs == GOOD["saltmarsh"].legs
    monkeypatch.setenv("NEEDLEWORK_DATASETS", str(tmp_path))
    assert procedure.names() == ("mine",)
    assert procedure.load("Mine", DAY).file == "mine.toml"


def test_where_the_data_are(tmp_path, monkeypatch):
    """Definition: inside an installed package, else beside lib in a checkout, else a sentence."""
    package = tmp_path / "lib" / "needlework"
    monkeypatch.setattr(datafiles, "_PACKAGE", package)
    monkeypatch.delenv("NEEDLEWORK_DATASETS", raising=False)
    with pytest.raises(BadData, match="course data was not found: install the course again, or set the environment"):
        datafiles.datasets_dir()
    (tmp_path / "datasets" / "procedures").mkdir(parents=True)
    assert datafiles.datasets_dir() == tmp_path / "datasets"
    (package / "datasets" / "procedures").mkdir(parents=True)
    assert datafiles.datasets_dir() == package / "datasets"


JUNK = st.one_of(
    st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.just([]), st.just({}),
    st.just([1]), st.just({"a": 1}), st.sampled_from(["MAP", "OVK", "MDA", "left", "arc", "timed", 0, 180, 360]),
)  # fmt: skip


def _places(table, path=()):
    for key, value in table.items() if isinstance(table, dict) else enumerate(table):
        yield (*path, key)
        if isinstance(value, (dict, list)):
            yield from _places(value, (*path, key))


PLACES = [(name, place) for name in RAW for place in _places(RAW[name])]


@given(st.sampled_from(PLACES), JUNK, st.booleans())
def test_any_change_loads_or_is_refused_in_words(where, junk, delete):
    """Definition: whatever stands in a field, the answer is a procedure or a list of plain sentences."""
    name, place = where
    raw = changed(name, *place, DELETE if delete else junk)
    try:
        made = procedure.read(raw, "own.toml", DAY)
        table = made.final_table(made.minimums.straight_in[0].category)
        assert [row.name for row in table][:: len(table) - 1] == [made.final_fix, "MAP"]
        assert all(np.isfinite(made.position(fix.name)).all() for fix in made.fixes)
        assert all(made.route(entry.fix) for entry in made.entries)
    except BadData as problem:
        assert problem.faults
        for fault in problem.faults:
            assert "pydantic" not in fault and "Input should" not in fault and "None" not in fault
