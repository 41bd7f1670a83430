"""Pictures of procedures, holds, descents and flown tracks, read from their artists."""

import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from matplotlib.text import Text
from needlework.basis.errors import OutOfRange
from needlework.flying import reference_pilot
from needlework.flying.tracklog import Track
from needlework.showing import pictures
from needlework.showing.pictures import style
from needlework.showing.pictures.paths import missed_path, point_of, route_paths
from needlework.trade import holding
from needlework.trade.geodesy import position_from_plane
from needlework.world import aircraft, procedure, weather
from test_pictures import line, words_in, words_that_collide

PROCEDURES = ("saltmarsh", "wygate", "ezrick", "tarvue")
LOADED = {name: procedure.load(name) for name in PROCEDURES}


def track_along(loaded, x, y, alt_ft, gs_kt=90.0):
    """A track at constant speed through points in NM round the station."""
    x, y, alt_ft = (np.asarray(values, dtype=float) for values in (x, y, alt_ft))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    steps = np.linspace(0.0, along[-1], max(20, int(along[-1] * 20)))
    at = loaded.station
    lat, lon = position_from_plane(
        station_lat_deg=at.lat_deg,
        station_lon_deg=at.lon_deg,
        east_nm=np.interp(steps, along, x),
        north_nm=np.interp(steps, along, y),
    )
    alt = np.interp(steps, along, alt_ft)
    return Track(time_s=steps / gs_kt * 3600, lat_deg=lat, lon_deg=lon, alt_ft=alt, ias_kt=np.full(steps.size, 90.0))


def straight_in(loaded, alt_ft):
    """A track down the final course of Saltmarsh from 10 NM before the station to the MAP."""
    start, end = point_of(loaded, "DOVAN"), point_of(loaded, "MAP")
    return track_along(loaded, [start[0], 0, end[0]], [start[1], 0, end[1]], alt_ft)


# ------------------------------------------------------------------------------------------------ plan
def test_procedure_plan_of_saltmarsh():
    """Scenario, P1: legs by radial and arc, 10 NM arc from R310 to R034, runway 5.2 NM out on R214."""
    loaded = LOADED["saltmarsh"]
    ax = pictures.draw_procedure_plan(loaded)
    arc = np.vstack([line(ax, f"leg {text}").get_xydata() for text in ("GELPO to R345", "R345 to DOVAN")])
    assert np.hypot(*arc.T) == pytest.approx(10)
    radials = (np.rad2deg(np.arctan2(*arc.T)) + 13) % 360
    assert radials[[0, -1]] == pytest.approx([310, 34])
    start = line(ax, "runway").get_xydata()[0]
    assert np.hypot(*start) == pytest.approx(5.2)
    assert (np.rad2deg(np.arctan2(*start)) + 13) % 360 == pytest.approx(214)
    said = pictures.sentence_of(ax)
    assert "OVK to GELPO on 310°M, at 3,600 ft or above" in said
    assert "PARDO to MAP on 214°M, to the MDA of 560 ft" in said
    assert "hold 345°M inbound, right turns, 4 NM legs, at BELDU at 3,600 ft" in said
    assert "sector altitude 3,100 ft within 25 NM, 3,600 ft from radial 250 clockwise to radial 340" in said
    assert "lead radial 022" in said and "visual descent point at 3.8 DME" in said
    assert "runway 21 on 211°M, 3 degrees left of the final course; missed approach on 214°M to 900 ft" in said


def test_positions_agree_with_the_ellipsoid():
    """Scenario, section 4: fixes on the flat drawing stand where the geodesic puts them."""
    loaded = LOADED["saltmarsh"]
    at = loaded.station
    for name in ("GELPO", "DOVAN", "BELDU"):
        east_nm, north_nm = point_of(loaded, name)
        lat, lon = position_from_plane(
            station_lat_deg=at.lat_deg, station_lon_deg=at.lon_deg, east_nm=east_nm, north_nm=north_nm
        )
        # The plane is good to 2 m (0.00002 degrees); the table is rounded to 0.00001.
        assert (lat, lon) == pytest.approx(loaded.position(name), abs=4e-5)


@pytest.mark.parametrize("name", PROCEDURES)
def test_route_is_one_line(name):
    """Definition: each leg begins where the one before ends, and the last ends at the MAP."""
    legs = [path for _, path in route_paths(LOADED[name])]
    for before, after in itertools.pairwise(legs):
        assert before.end == pytest.approx((after.x[0], after.y[0]), abs=1e-6)  # floats
    assert legs[-1].end == pytest.approx(point_of(LOADED[name], "MAP"))


def test_missed_approach_meets_its_radial():
    """Scenario, P1: heading 120 meets R165; the line then follows that radial to BELDU."""
    path = missed_path(LOADED["saltmarsh"])
    met = np.array([path.x[-2], path.y[-2]])
    assert (np.rad2deg(np.arctan2(*met)) + 13) % 360 == pytest.approx(165)
    assert path.end == pytest.approx(point_of(LOADED["saltmarsh"], "BELDU"))


def test_procedure_turn_stays_within():
    """Scenario, P4: outbound 2 minutes and the 45/180 turn, on the south side and within 10 NM."""
    legs = dict((leg.kind, path) for leg, path in route_paths(LOADED["tarvue"]))
    turn = legs["procedure turn"]
    assert np.hypot(turn.x, turn.y).max() < 10
    course = np.deg2rad(262 - 13)
    right_of_outbound = turn.x * np.cos(course) - turn.y * np.sin(course)
    assert right_of_outbound.max() < 1e-6  # left of 262 is south; floats


PLANS = [
    (name, entry.fix, missed, hold)
    for name in PROCEDURES
    for entry in LOADED[name].entries
    for missed in (True, False)
    for hold in (True, False)
]
CORE = 0.4
"""Words beside a symbol read as its own at their middle height, words above or below it at their middle."""


def at_home(ax):
    """Each name of a plan, and of the final enlarged, with the distances to its own symbol and the next. [pixels]"""
    style.figure_of(ax).canvas.draw()
    found = []
    for part in (ax, *(small for small in ax.child_axes if small.get_label() == "final, enlarged")):
        data = [np.asarray(one.get_xydata()) for one in part.lines]
        symbols = [xy[0] for one, xy in zip(part.lines, data, strict=True) if one.get_label() == "runway"]
        symbols += [xy[0] for xy in data if len(xy) == 1]
        symbols += [circle.center for circle in part.patches if hasattr(circle, "center")]
        symbols = np.array(symbols, dtype=float)
        pixels = part.transData.transform(symbols)
        for text in (one for one in part.texts if one.get_text() and getattr(one, "xycoords", "") == "data"):
            off = np.hypot(*(symbols - np.array(text.xy, dtype=float)).T)
            if off.min() > 1e-6:
                continue  # words of a line
            own = int(off.argmin())
            (x0, y0), (x1, y1) = Text.get_window_extent(text).get_points()
            up = 0.5 * (1 - CORE) * (y1 - y0)
            aside = 0.5 * (1 - CORE) * (x1 - x0) if abs(text.xyann[0]) < abs(text.xyann[1]) / 4 else 0.0
            across = np.maximum(np.maximum(x0 + aside - pixels[:, 0], pixels[:, 0] - x1 + aside), 0)
            away = np.hypot(across, np.maximum(np.maximum(y0 + up - pixels[:, 1], pixels[:, 1] - y1 + up), 0))
            others = away[np.hypot(*(pixels - pixels[own]).T) > 1]
            found.append((text.get_text(), float(away[own]), float(others.min())))
    return found


@pytest.mark.parametrize(("name", "entry", "missed", "hold"), PLANS)
def test_a_name_stands_at_its_own_symbol(name, entry, missed, hold):
    """Definition: on every plan the symbol nearest to a name is its own; no name is written over another."""
    ax = pictures.draw_procedure_plan(LOADED[name], entry=entry, missed=missed, hold=hold)
    names = at_home(ax)
    assert len(names) >= (3 if name == "tarvue" else 8)
    assert [row for row in names if row[1] >= row[2]] == []
    assert words_that_collide(ax) == []


@pytest.mark.parametrize(("name", "missed"), [*((name, True) for name in PROCEDURES), ("saltmarsh", False)])
def test_a_name_stands_at_its_own_symbol_when_flown(name, missed):
    """Definition: the same over a flown track, with numbered moments on it."""
    loaded = LOADED[name]
    day = weather.day("Breeze", field_elevation_ft=loaded.airport.elevation_ft)
    flown = reference_pilot.fly(loaded, aircraft.load("Finch"), day, missed=missed).one(0).track("flown")
    last = float(flown.time_s[-1])
    ax = pictures.draw_flown_plan(flown, loaded, marks=[(0.3 * last, "late turn"), (0.6 * last, "below the floor")])
    names = at_home(ax)
    assert {"late turn", "below the floor", "start"} <= {row[0] for row in names}
    assert [row for row in names if row[1] >= row[2]] == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("saltmarsh", ["PARDO 3.0 DME\n≥ 780 ft", "VDP 3.8 DME", "MAP 4.7 DME\nMDA 560 ft", "RWY 21, 3° left"]),
        ("wygate", ["3.0 DME\n≥ 1,000 ft", "VDP 1.8 DME", "MAP 1.1 DME\nMDA 640 ft", "RWY 02, 3° left"]),
        ("ezrick", ["2.5 DME\n≥ 1,660 ft", "VDP 3.0 DME", "MAP 4.2 DME\nMDA 1,500 ft", "RWY 27, 5° left"]),
        ("tarvue", ["MAP by time\nMDA 520 ft", "RWY 08"]),
    ],
)
def test_the_end_of_the_final(name, words):
    """Scenario, s. 3: step-down with its floor, VDP, MAP with the MDA, side of the runway; lead, hold, sectors."""
    loaded = LOADED[name]
    ax = pictures.draw_procedure_plan(loaded)
    seen = words_in(ax)
    assert set(words) <= set(seen)
    hold = {"saltmarsh": "4 NM legs", "ezrick": "4 NM legs"}.get(name, "legs of 1 min")
    assert any(hold in text for text in seen)
    assert {f"{sector.altitude_ft:,.0f}" for sector in loaded.sector_altitudes} <= set(seen)
    leads = {"saltmarsh": "lead R022", "wygate": "lead R213", "ezrick": "lead R092"}
    assert [text for text in seen if text.startswith("lead")] == ([leads[name]] if name in leads else [])
    small = [part for part in ax.child_axes if part.get_label() == "final, enlarged"]
    assert len(small) == (name != "tarvue")


def test_where_the_runway_is_drawn():
    """Scenario, P3: 5 degrees off, crossing 0.8 NM before: the threshold lies 130 m left of the line."""
    loaded = LOADED["ezrick"]
    start = line(pictures.draw_procedure_plan(loaded), "runway").get_xydata()[0]
    over = np.array(point_of(loaded, "threshold"))
    course = np.deg2rad(277 - 12)
    ahead, right = np.array([np.sin(course), np.cos(course)]), np.array([np.cos(course), -np.sin(course)])
    assert (start - over) @ ahead == pytest.approx(0, abs=1e-9)  # floats
    assert (start - over) @ right * 1852 == pytest.approx(-0.8 * np.tan(np.deg2rad(5)) * 1852)
    assert "passes the threshold 130 m to its right" in pictures.sentence_of(pictures.draw_procedure_plan(loaded))


LETTER_AND_NUMBER = re.compile(r"\bD ?\d|\bR \d|/D\d")


@pytest.mark.parametrize("name", PROCEDURES)
def test_how_distances_and_radials_are_written(name):
    """Common practice, no source: 4.7 DME, R345, in a sentence radial 345; no bare letter D before a number."""
    loaded = LOADED[name]
    for draw in (pictures.draw_procedure_plan, pictures.draw_procedure_profile, pictures.draw_procedure_hold):
        ax = draw(loaded)
        said = [*words_in(ax), pictures.sentence_of(ax)]
        assert [text for text in said if LETTER_AND_NUMBER.search(text)] == []


@pytest.mark.parametrize("name", PROCEDURES)
def test_words_of_a_line_stand_at_it(name):
    """Definition: course and floor of a leg stand nearer to it than to any other leg, hold or missed approach."""
    ax = pictures.draw_procedure_plan(LOADED[name])
    style.figure_of(ax).canvas.draw()
    ways = [one for one in ax.lines if str(one.get_label()).startswith("leg ") or one.get_label() == "hold"]
    ways += [one for one in ax.lines if one.get_label() == "missed approach"]
    seen = 0
    for text in ax.texts:
        words = text.get_text()
        # The two legs of Tarvue that lie on each other cannot be told apart by distance.
        if not re.match(r"\d{3}°M|\d+ NM arc|missed|hold", words) or getattr(text, "xycoords", "") != "data":
            continue
        (x0, y0), (x1, y1) = Text.get_window_extent(text).get_points()
        near = []
        for way in ways:
            corners = ax.transData.transform(way.get_xydata())
            along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
            steps = np.linspace(0, along[-1], 400)
            px, py = (np.interp(steps, along, corners[:, axis]) for axis in (0, 1))
            gap = np.hypot(np.maximum(np.maximum(x0 - px, px - x1), 0), np.maximum(np.maximum(y0 - py, py - y1), 0))
            near.append((float(gap.min()), way))
        least = min(gap for gap, _ in near)
        anchor = ax.transData.transform(text.xy)
        own = [
            gap
            for gap, way in near
            if np.hypot(*(ax.transData.transform(_dense(way.get_xydata())) - anchor).T).min() < 1.5
        ]
        assert min(own) <= least + 3, words  # pixels: a line and a half of the drawing
        seen += 1
    assert seen >= 5


def _dense(points):
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    steps = np.linspace(0, along[-1], 2000)
    return np.column_stack([np.interp(steps, along, points[:, axis]) for axis in (0, 1)])


# ------------------------------------------------------------------------------------------------ profile
def test_procedure_profile_of_saltmarsh():
    """Scenario, P1: floors 2,400, 1,760, 780 and MDA 560; the line passes 3.0 DME at 809 ft, the VDP at 3.8."""
    ax = pictures.draw_procedure_profile(LOADED["saltmarsh"])
    floor = line(ax, "floor").get_ydata()
    assert floor[::2].tolist() == [2400, 1760, 780, 560]
    corners = dict(zip(*line(ax, "path").get_xydata().round(2).T, strict=True))
    assert corners[15.2] == 3000
    assert corners[5.2] == 1760
    assert corners[2.2] == pytest.approx(809, abs=1)  # scenario's gradient is rounded to 317 ft/NM
    assert line(ax, "path").get_xdata()[-1] == pytest.approx(1.4, abs=0.05)  # VDP is published to 0.1 NM
    assert line(ax, "in sight only").get_xydata()[-1] == pytest.approx([0, 112])
    assert line(ax, "MDA").get_ydata()[0] == 560
    assert {"PARDO\n3.0 DME", "OVK\noverhead", "MDA 560"} <= set(words_in(ax))


def test_profile_with_the_other_fields_setting():
    """Scenario, P1: with the altimeter setting of XKEL the MDA goes up by 70 and there is no VDP."""
    ax = pictures.draw_procedure_profile(LOADED["saltmarsh"], remote=True)
    assert line(ax, "MDA").get_ydata()[0] == 630
    assert not any("VDP" in words for words in words_in(ax))
    assert "no visual descent point with the setting of XKEL" in pictures.sentence_of(ax)


def test_times_where_only_the_clock_knows():
    """Scenario, P4: times for the box on the plate."""
    ax = pictures.draw_procedure_profile(LOADED["tarvue"])
    said = pictures.sentence_of(ax)
    assert "time from TVU to the MAP 4:18 at 60 kt, 3:41 at 70 kt, 3:14 at 80 kt, 2:52 at 90 kt" in said
    assert "2:35 at 100 kt, 2:21 at 110 kt, 2:09 at 120 kt, 1:51 at 140 kt" in said
    assert any("4:18  3:41  3:14" in words for words in words_in(ax))
    assert "time from" not in pictures.sentence_of(pictures.draw_procedure_profile(LOADED["wygate"]))


@pytest.mark.parametrize("name", PROCEDURES)
def test_profile_names_keep_clear(name):
    """Definition: no two names of a profile are written over each other, and the line never cuts a floor."""
    ax = pictures.draw_procedure_profile(LOADED[name])
    assert words_that_collide(ax) == []
    path, floor = line(ax, "path").get_xydata(), line(ax, "floor").get_xydata()
    for start, end in zip(floor[::2], floor[1::2], strict=True):
        inside = np.linspace(start[0], end[0], 50)[1:-1]
        inside = inside[inside > path[-1, 0]]
        height = np.interp(-inside, -path[:, 0], path[:, 1])
        assert (height >= start[1] - 1).all()  # altitudes are whole feet


def test_descent_from_bare_numbers():
    """Definition: the same picture from numbers; nothing to draw is refused."""
    ax = pictures.draw_descent(
        [("FAF", 6.0, 6.5), ("SDF", 3.0)], [(6, 3, 1200), (3, 0, 700)], path=[(6, 2000), (0, 50)]
    )
    assert line(ax, "path").get_xydata().tolist() == [[6, 2000], [0, 50]]
    assert "FAF at 6.5 DME, 6.0 NM to go, SDF, 3.0 NM to go" in pictures.sentence_of(ax)
    flown = pictures.draw_descent(
        [("SDF", 3.0)], [(6, 3, 1200), (3, 0, 700)], flown=([6, 4, 3.5, 0], [2000, 1250, 1100, 60])
    )
    assert np.isfinite(line(flown, "below the floor").get_ydata()).tolist() == [False, False, True, False]
    assert "up to 100 ft below the floor, at 3.5 NM to go" in pictures.sentence_of(flown)
    with pytest.raises(OutOfRange, match="fixes or floors is empty"):
        pictures.draw_descent([], [])


# ------------------------------------------------------------------------------------------------ hold
@pytest.mark.parametrize(("side", "sign"), [("right", 1), ("left", -1)])
def test_hold_lies_on_its_side(side, sign):
    """AIM 5-3-8: the pattern lies on the side of the turns, the outbound leg one turn's width away."""
    ax = pictures.draw_hold(360, side, leg_nm=4, gs_kt=120)
    hold = line(ax, "hold").get_xydata()
    # Definition: standard rate at 120 kt has a radius of 0.637 NM.
    assert sign * hold[np.argmax(np.abs(hold[:, 0])), 0] == pytest.approx(2 * 0.637, abs=0.001)
    assert hold[:, 1].min() == pytest.approx(-4 - 0.637, abs=0.003)  # arc drawn in steps of four degrees


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("name", ["direct", "parallel", "teardrop"])
def test_an_entry_is_drawn_as_it_is_flown(side, name):
    """AIM 5-3-8: arriving in its sector, over the fix, and back to it along the inbound course; no sharp corner."""
    inbound_deg = 345.0
    ax = pictures.draw_entries(inbound_deg, side)
    x, y = line(ax, name).get_xydata().T
    steps = np.hypot(np.diff(x), np.diff(y)) > 1e-6
    tracks = np.rad2deg(np.arctan2(np.diff(x)[steps], np.diff(y)[steps]))
    arriving = tracks[0] % 360.0
    assert holding.entry(heading_deg=arriving, inbound_course_deg=inbound_deg, side=side) == name
    assert abs((tracks[-1] - inbound_deg + 180.0) % 360.0 - 180.0) < 2.5
    turned = (np.diff(tracks) + 180.0) % 360.0 - 180.0
    assert np.abs(turned).max() < 6.0
    # A parallel leg is left towards the hold: away from its turns, and more than half round.
    swept = np.cumsum(turned) * (1 if side == "right" else -1)
    assert (swept.min() < -200.0) if name == "parallel" else (swept.max() > 170.0 and swept.min() > -5.0)


@pytest.mark.parametrize(
    ("side", "from_deg_true", "entry"),
    [
        ("right", 325, "teardrop"),
        ("right", 45, "parallel"),
        ("right", 180, "direct"),
        ("right", 285, "direct"),
        ("right", 115, "direct"),
        ("left", 35, "teardrop"),
        ("left", 315, "parallel"),
        ("left", 75, "direct"),
    ],
)
def test_entry_sectors(side, from_deg_true, entry):
    """AIM 5-3-8, TBL and figure of entry sectors: 70 degrees teardrop, 110 parallel, 180 direct; inbound 360."""
    ax = pictures.draw_hold(360, side)
    angle = np.deg2rad(from_deg_true)
    point = ax.transData.transform((0.5 * np.sin(angle), 0.5 * np.cos(angle)))
    inside = [p.get_label() for p in ax.patches if p.get_label().startswith("sector") and p.contains_point(point)]
    assert inside == [f"sector {entry}"]


@pytest.mark.parametrize("side", ["left", "right"])
def test_sectors_agree_with_the_rule(side):
    """Definition: for every heading the sector an aircraft comes from is the entry of that heading."""
    inbound_deg = 215.0
    ax = pictures.draw_hold(inbound_deg, side)
    sectors = {p.get_label(): p for p in ax.patches if p.get_label().startswith("sector")}
    for heading_deg in np.arange(2.0, 362.0, 10.0):  # two degrees off every edge
        angle = np.deg2rad(heading_deg + 180.0)
        point = ax.transData.transform((0.5 * np.sin(angle), 0.5 * np.cos(angle)))
        inside = [label for label, sector in sectors.items() if sector.contains_point(point)]
        assert inside == [
            f"sector {holding.entry(heading_deg=heading_deg, inbound_course_deg=inbound_deg, side=side)}"
        ]


def test_lap_flown_in_wind():
    """Definition: the lap is drawn where it was flown, turned to true north, and its miss is said."""
    flown = holding.lap(
        tas_kt=90.0,
        inbound_course_deg=345.0,
        side="right",
        wind_from_deg=250.0,
        wind_kt=20.0,
        outbound_deg=165.0,
        outbound_s=60.0,
    )
    ax = pictures.draw_hold(345, "right", leg_nm=1.5, lap=flown, wind=(250, 20), variation_deg=-13, sectors=False)
    drawn = line(ax, "lap").get_xydata()
    assert np.hypot(*drawn.T) == pytest.approx(np.hypot(flown.east_nm, flown.north_nm))
    middle = len(drawn) // 2
    turned = np.rad2deg(np.arctan2(*drawn[middle]) - np.arctan2(flown.east_nm[middle], flown.north_nm[middle]))
    assert (turned + 180) % 360 - 180 == pytest.approx(-13)
    side = "right" if flown.off_nm > 0 else "left"
    assert f"inbound turn ended {abs(flown.off_nm):.2f} NM {side} of the inbound course" in pictures.sentence_of(ax)
    assert "wind 250°M 20 kt" in words_in(ax)


def test_hold_of_a_procedure():
    """Scenario, P1 and P2: BELDU, inbound 345, right turns, 4 NM; LIDRA, inbound 075, left turns, 1 minute."""
    ax = pictures.draw_procedure_hold(LOADED["saltmarsh"], heading_deg=120)
    assert ax.get_title() == "Hold at BELDU, 3,600 ft, 4 NM legs by DME"
    assert "aircraft arriving on heading 120°M" in pictures.sentence_of(ax)
    assert words_that_collide(ax) == []
    assert "inbound 075°M, left turns; straight legs of 1.5 NM" in pictures.sentence_of(
        pictures.draw_procedure_hold(LOADED["wygate"])
    )
    with pytest.raises(OutOfRange, match="side = 'up' is not a side to turn"):
        pictures.draw_hold(360, "up")


# ------------------------------------------------------------------------------------------------ arc
def test_arc_in_steps_is_held():
    """IFH9 p. 9-18: ten-degree steps; each leg ends on the next radial, back on the arc."""
    ax = pictures.draw_arc(10, 310, 350, "right", variation_deg=-13)
    corners = line(ax, "flown").get_xydata()
    assert np.hypot(*corners.T) == pytest.approx(10)
    assert (np.rad2deg(np.arctan2(*corners.T)) + 13) % 360 == pytest.approx([310, 320, 330, 340, 350])
    assert "headings 045, 055, 065, 075" in pictures.sentence_of(ax)
    assert {"R310", "045°", "075°"} <= set(words_in(ax))
    assert words_that_collide(ax) == []


def test_tangent_habit_spirals_out():
    """trade 3, lesson 3, predict: always perpendicular to the radial just crossed, nine steps from 10.0 give 11.5."""
    ax = pictures.draw_arc(10, 270, 360, "right", inside_deg=0)
    assert np.hypot(*line(ax, "flown").get_xydata()[-1]) == pytest.approx(11.48, abs=0.005)  # rounded to 0.01
    assert "11.5 NM" in words_in(ax)
    assert words_that_collide(ax) == []


def test_arc_to_the_left_with_its_lead():
    """Scenario, P2: 12 NM arc counter-clockwise from R268, final on R203, the lead before it."""
    ax = pictures.draw_arc(12, 268, 210, "left", tas_kt=98, final_radial_deg=203, station="WYG", show_headings=False)
    lead = line(ax, "lead radial").get_xydata()[0]
    assert 203 < np.rad2deg(np.arctan2(*lead)) % 360 < 210
    flown = line(ax, "flown").get_xydata()
    assert np.all(np.diff(np.rad2deg(np.arctan2(*flown.T)) % 360) < 0)
    assert "headings" not in pictures.sentence_of(ax)
    with pytest.raises(OutOfRange, match="turn = 'up' is not a side to turn"):
        pictures.draw_arc(10, 0, 90, "up")


# ------------------------------------------------------------------------------------------------ readme
def test_readme_pictures(tmp_path, capsys):
    """Definition: one command writes every picture of the README; those on file are the same ones."""
    from needlework.course.command import main

    assert main(["pictures", str(tmp_path / "new")]) == 0
    written = {path.name: path.read_bytes() for path in (tmp_path / "new").iterdir()}
    assert all(content.startswith(b"\x89PNG") for content in written.values())
    kept = Path(pictures.__file__).parents[3] / "pictures"
    # The two of the page in front of a lesson are taken in a browser.
    assert set(written) == {path.name for path in kept.iterdir()} - {"question.png", "start-page.png"}
    said = capsys.readouterr().out
    assert all(f"{name}: " in said for name in written)
    (tmp_path / "file").write_text("")
    assert main(["pictures", str(tmp_path / "file")]) == 2
    assert "cannot be written" in capsys.readouterr().err


# ------------------------------------------------------------------------------------------------ flown
def test_flown_plan_draws_the_track():
    """Definition: the track stands where it was flown, every mark on it."""
    loaded = LOADED["saltmarsh"]
    track = straight_in(loaded, [3000, 1760, 600])
    ax = pictures.draw_flown_plan(track, loaded, marks=[(200, "late")])
    drawn = line(ax, "track").get_xydata()
    assert drawn[0] == pytest.approx(point_of(loaded, "DOVAN"), abs=0.002)  # plane against ellipsoid, 2 m
    mark = line(ax, "mark 1").get_xydata()[0]
    assert np.hypot(*(mark - drawn[0])) == pytest.approx(200 / 3600 * 90, abs=0.01)
    assert "mark 1 at 3:20: late" in pictures.sentence_of(ax)


def test_flown_plan_says_how_far_off():
    """Definition: side, amount and place of the farthest from arc and final, of a track made to be off by so much."""
    loaded = LOADED["saltmarsh"]
    along = np.linspace(310, 394, 85)
    radius = 10 + 0.6 * np.exp(-(((along - 360) / 3) ** 2))
    angle = np.deg2rad(along - 13)
    final = np.linspace(0, 5, 201)
    course = np.deg2rad(214 - 13)
    aside = 0.2 * np.exp(-(((final - 2) / 0.3) ** 2))
    x = [*(radius * np.sin(angle)), *(final * np.sin(course) + aside * np.cos(course))]
    y = [*(radius * np.cos(angle)), *(final * np.cos(course) - aside * np.sin(course))]
    said = pictures.sentence_of(pictures.draw_flown_plan(track_along(loaded, x, y, np.full(len(x), 3000.0)), loaded))
    assert "on the arc GELPO to R345 within 0.05 NM" in said
    assert "on the arc R345 to DOVAN at most 0.6 NM outside, on radial 360" in said
    # Sampled every 0.05 NM: the top of the bump to a hundredth.
    assert "on the final at most 0.20 NM right of the course, 3.2 NM before the threshold" in said


def test_flown_profile_finds_what_is_below():
    """Definition: a dip 100 ft below a floor is drawn again and said with place and depth."""
    loaded = LOADED["saltmarsh"]
    clean = pictures.draw_flown_profile(straight_in(loaded, [3000, 1800, 600]), loaded)
    assert not any(one.get_label() == "below the floor" for one in clean.lines)
    start, end, low = point_of(loaded, "DOVAN"), point_of(loaded, "MAP"), point_of(loaded, "KESTU")
    track = track_along(loaded, [start[0], low[0], 0, end[0]], [start[1], low[1], 0, end[1]], [3000, 2300, 1800, 600])
    ax = pictures.draw_flown_profile(track, loaded)
    below = line(ax, "below the floor").get_xydata()
    below = below[np.isfinite(below[:, 1])]
    assert below[:, 1].min() == pytest.approx(2300, abs=8)  # samples every 0.05 NM
    assert below[:, 0].min() == pytest.approx(10.2, abs=0.1)
    assert "ft below the floor, at 10." in pictures.sentence_of(ax)


def test_a_landing_leaves_the_minimums_at_the_visual_descent_point():
    """Definition: down to the runway from there nothing is below a floor; around from as low as that, it is."""
    loaded = LOADED["wygate"]
    outbound, mda = np.asarray(point_of(loaded, "JETIR")) / 6.0, loaded.mda_ft("A")
    for last_dme, last_ft, low in ((0.65, loaded.crossing_ft, False), (1.1, mda - 100.0, True)):
        x, y = np.outer([6.0, 1.8, last_dme], outbound).T
        ax = pictures.draw_flown_profile(track_along(loaded, x, y, [2000, mda + 5.0, last_ft]), loaded)
        assert ("below the floor" in pictures.sentence_of(ax)) == low
        assert any(one.get_label() == "below the floor" for one in ax.lines) == low


def test_flown_profile_keeps_to_the_way_in():
    """Definition: a part flown the other way, or far beside, is not on the profile."""
    loaded = LOADED["saltmarsh"]
    start, end = point_of(loaded, "DOVAN"), point_of(loaded, "MAP")
    ax = pictures.draw_flown_profile(
        track_along(loaded, [end[0], start[0], start[0] + 9], [end[1], start[1], start[1]], [3000] * 3), loaded
    )
    assert not np.isfinite(line(ax, "track").get_ydata()).any()
    assert "no flown point on the way in" in pictures.sentence_of(ax)


def test_flown_strips():
    """Definition: the columns a recording has, bands only where there is a strip."""
    track = straight_in(LOADED["saltmarsh"], [3000, 1760, 600])
    axes = pictures.draw_flown_strips(track, bands={"ias_kt": (80, 85), "dme_nm": (0, 1)})
    assert [ax.lines[0].get_label() for ax in axes] == ["alt_ft", "ias_kt"]
    assert np.isfinite(line(axes[1], "ias_kt outside").get_ydata()).all()
    with pytest.raises(OutOfRange, match="columns has dme_nm, which this track does not hold"):
        pictures.draw_flown_strips(track, ["dme_nm"])


@pytest.mark.parametrize("draw", [pictures.draw_procedure_plan, pictures.draw_procedure_profile])
def test_caution_stands_on_it(draw):
    """Scenario: the caution stands on every picture made from its data."""
    assert style.CAUTION in words_in(draw(LOADED["saltmarsh"]))
