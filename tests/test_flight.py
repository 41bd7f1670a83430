"""The aircraft in moving air and its instruments: against closed forms, a general solver, the geodesic."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from needlework.basis.errors import OutOfRange
from needlework.flying import flight
from needlework.trade import geodesy, vor
from needlework.world import aircraft as aircraft_data
from needlework.world import procedure, weather
from scipy.integrate import solve_ivp

FINCH = aircraft_data.load("finch")
OVK = procedure.load("saltmarsh").station
NORTH = OVK.model_copy(update={"declination_deg": 0.0})
FT = 1852.0 / 0.3048
STILL = flight.air()


def command(state, **changes):
    """The command that keeps everything, but for what is given."""
    wanted = {name: np.atleast_1d(np.asarray(value, dtype=float)) for name, value in changes.items()}
    return replace(flight.steady(state), **wanted)


def fly(state, wanted, air=STILL, aircraft=FINCH, seconds=60.0, dt_s=0.5):
    for _ in range(round(seconds / dt_s)):
        state = flight.step(state, wanted, air, aircraft, dt_s)
    return state


def turning(tas_kt, rate_deg_s, aircraft):
    """An aircraft well established in a long right turn at sea level, and how to fly it on."""
    state = flight.start(0, 0, 0, 0, tas_kt)
    wanted = command(state, heading_deg=3000.0, rate_deg_s=rate_deg_s)

    def on(state, seconds):
        return fly(state, wanted, aircraft=aircraft, seconds=seconds)

    return on(state, 30), on


TABLE = [
    (60, 9.36, 0.3183), (80, 12.39, 0.4244), (90, 13.89, 0.4775), (100, 15.36, 0.5305), (110, 16.81, 0.5836),
    (120, 18.24, 0.6366), (130, 19.65, 0.6897), (150, 22.39, 0.7958), (180, 26.31, 0.9549), (250, 34.48, 1.3263),
]  # fmt: skip


@pytest.mark.parametrize(("tas_kt", "bank_deg", "radius_nm"), TABLE)
def test_standard_rate_turn_is_the_circle_of_the_table(tas_kt, bank_deg, radius_nm):
    """Definition: bank = atan(V w / g), radius = V / w; standard-rate table computed from it."""
    state, on = turning(tas_kt, 3.0, FINCH.model_copy(update={"bank_limit_deg": 60.0}))
    # Table printed to 0.01 degrees and 0.0001 NM.
    assert state.bank_deg[0] == pytest.approx(bank_deg, abs=0.02)
    half_way = on(state, 60)
    across = np.hypot(half_way.east_nm - state.east_nm, half_way.north_nm - state.north_nm)[0]
    # Half a circle apart: a diameter. The chords of half a second are 3e-5 short of the arc.
    assert across / 2 == pytest.approx(radius_nm, rel=2e-4)
    full = on(half_way, 60)
    assert np.hypot(full.east_nm - state.east_nm, full.north_nm - state.north_nm)[0] < 0.001


@pytest.mark.parametrize(("bank_deg", "radius_ft"), [(30.0, 4194.0), (20.0, 6654.0)])
def test_bank_limited_turn(bank_deg, radius_ft):
    """Aeronautical Information Manual, 20 April 2023, 5-4-7 c 1: 165 kt, radius at 30 and 20 degrees of bank."""
    state, on = turning(165.0, 6.0, FINCH.model_copy(update={"bank_limit_deg": bank_deg}))
    # The limit is approached by the roll lag of a quarter second: after half a minute it is there.
    assert state.bank_deg[0] == pytest.approx(bank_deg, abs=1e-6)
    later = on(state, 1.0)
    rate = np.radians(later.heading_deg - state.heading_deg)[0]
    flown_ft = np.hypot(later.east_nm - state.east_nm, later.north_nm - state.north_nm)[0] * FT
    # The book's constant is 0.5 % off the physics (11.24 for 11.294 in V^2 / (11.294 tan bank)).
    assert flown_ft / rate == pytest.approx(radius_ft, rel=0.006)


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("angle_deg", [3.0, 10.0, 45.0, 90.0, 180.0, 345.0])
def test_turn_rolls_out_on_the_heading(side, angle_deg):
    """Common practice, no source: a turn is begun by its side, led out, and not flown through the heading."""
    state = flight.start(0, 0, 2000, 100.0, 98.0)
    target = flight.aim(state.heading_deg, 100.0 + side * angle_deg, side)
    headings, banks, now = [], [], state
    for _ in range(round(2 * (angle_deg / 3.0 + 20.0))):
        now = flight.step(now, command(state, heading_deg=target), STILL, FINCH, 0.5)
        headings.append((now.heading_deg[0] - 100.0) * side)
        banks.append(now.bank_deg[0] * side)
    # A pilot holds a heading to a degree or so; half a degree past it is good hands.
    assert max(headings) <= angle_deg + 0.5
    assert headings[-1] == pytest.approx(angle_deg, abs=0.01)
    assert min(headings) >= 0.0
    if angle_deg >= 45.0:
        assert max(banks) == pytest.approx(15.3, abs=0.8)  # 15 % of 101 kt TAS, by the table 15.5
        begins = np.flatnonzero(np.array(banks) > max(banks) - 0.5)[-1]
        lead = angle_deg - headings[begins]
        # Handbooks lead by a third (5 degrees) to a half (7.7 degrees) of the bank; the sample is 1.5 wide.
        assert 3.6 <= lead <= 9.2


def test_roll_rate_is_never_exceeded():
    """Definition: the aircraft rolls at most at its roll rate."""
    now = flight.start(0, 0, 2000, 0.0, 108.0)
    wanted = command(now, heading_deg=-90.0, rate_deg_s=3.0)
    for _ in range(200):
        after = flight.step(now, wanted, STILL, FINCH, 0.25)
        assert abs(after.bank_deg - now.bank_deg)[0] <= 5.0 * 0.25 + 1e-9
        now = after


@settings(max_examples=40)
@given(
    st.floats(0.0, 359.9),
    st.floats(0.0, 359.9),
    st.floats(0.0, 60.0),
    st.floats(40.0, 200.0),
    st.floats(10.0, 300.0),
)
def test_wind_drift_over_time(heading, wind_from, wind, tas, seconds):
    """Definition: over the ground the path is time x (velocity through the air + wind), wind from."""
    state = flight.start(0, 0, 0, heading, tas)
    air = flight.air(0.0, wind_from, wind)
    after = flight.advance(state, flight.steady(state), air, FINCH, seconds)
    to, blows = np.radians(heading), np.radians(wind_from)
    east = (tas * np.sin(to) - wind * np.sin(blows)) * seconds / 3600
    north = (tas * np.cos(to) - wind * np.cos(blows)) * seconds / 3600
    # Only rounding, and the airspeed factor's fit of 1e-5, over at most 80 NM.
    assert after.east_nm[0] == pytest.approx(east, abs=2e-3)
    assert after.north_nm[0] == pytest.approx(north, abs=2e-3)


def test_descent_on_a_gradient():
    """Definition: height lost = rate x (time - lag (1 - exp(-time/lag))); gradient = rate / ground speed."""
    state = flight.start(0, 0, 3000, 0, 90.0)
    wanted = command(state, vs_fpm=-500.0)
    after = fly(state, wanted, seconds=120)
    lost = 500.0 / 60.0 * (120.0 - 3.0 * (1.0 - np.exp(-40.0)))
    assert 3000.0 - after.alt_ft[0] == pytest.approx(lost, abs=1e-6)  # exact over every step
    head = flight.air(0.0, 0.0, 20.0)
    first = fly(after, wanted, head, seconds=30)
    second = fly(first, wanted, head, seconds=60)
    covered = second.north_nm[0] - first.north_nm[0]
    ground_speed = STILL.tas_kt(90.0, 0.5 * (first.alt_ft + second.alt_ft))[0] - 20.0
    # True airspeed is not quite even on the way down: 1 part in 10,000.
    assert (first.alt_ft - second.alt_ft)[0] / covered == pytest.approx(500.0 * 60.0 / ground_speed, rel=1e-4)


@pytest.mark.parametrize("from_ft", [1500.0, 590.0, 100.0])
@pytest.mark.parametrize("vs_fpm", [300.0, 500.0, 700.0, 1000.0])
def test_level_off_does_not_dip(from_ft, vs_fpm):
    """Common practice, no source: at minimums the altimeter stops at the altitude, not below."""
    now = flight.start(0, 0, from_ft, 0, 90.0)
    wanted = command(now, vs_fpm=vs_fpm, level_ft=560.0)
    side = np.sign(from_ft - 560.0)
    worst = 0.0
    for _ in range(600):
        now = flight.step(now, wanted, STILL, FINCH, 0.5)
        worst = max(worst, -side * (now.alt_ft[0] - 560.0))
    assert worst < 2.0  # less than the width of an altimeter's pointer
    assert now.alt_ft[0] == pytest.approx(560.0, abs=0.1)


def test_speed_and_configuration():
    """Definition: speed changes at the aircraft's acceleration; flap waits for its limit speed and takes its time."""
    state = flight.start(0, 0, 0, 0, 108.0)
    wanted = command(state, ias_kt=84.0, configuration=2.0)
    now, seen = state, []
    for _ in range(120):
        now = flight.step(now, wanted, STILL, FINCH, 0.5)
        seen.append((now.time_s, now.ias_kt[0], now.configuration[0]))
    time, ias, config = np.array(seen).T
    assert (np.diff(ias) >= -0.5 * 1.0 * (1 + 0.15 * 2) - 1e-9).all()
    assert ias[config > 0.0].max() <= 100.0
    assert ias[config > 1.0].max() <= 90.0
    assert config[-1] == 2.0
    assert ias[-1] == pytest.approx(84.0, abs=0.1)
    taking = time[(config > 0.0) & (config < 1.0)]
    assert taking[-1] - taking[0] == pytest.approx(4.0, abs=1.1)  # one step of travel, sampled at 0.5 s


def lean_rad(east_nm, north_nm, lat_rad):
    """Angle between the meridians of station and aircraft on a sphere, from the triangle with the pole."""
    out = np.hypot(east_nm, north_nm) / 60.0 * np.pi / 180.0
    if out < 1e-12:
        return 0.0
    azimuth = np.arctan2(east_nm, north_nm)
    ahead = np.cos(lat_rad) * np.cos(out) * np.cos(azimuth) - np.sin(lat_rad) * np.sin(out)
    onward = np.arctan2(np.cos(lat_rad) * np.sin(azimuth), ahead)
    return (onward - azimuth + np.pi) % (2.0 * np.pi) - np.pi


def continuous(t, y, wanted, air, aircraft):
    """The equations of the module's docstring, written anew for an outside solver; one flight."""
    east, north, alt, heading, bank, ias, vs = y
    g_kt_s = 9.80665 * 3600.0 / 1852.0
    tas = float(air.tas_kt(np.array([ias]), np.array([alt]))[0])
    pull = g_kt_s / tas
    to_go = np.radians(wanted["heading_deg"] - heading)
    p = np.radians(aircraft.roll_rate_deg_s)
    joint = 6.4 * p * flight.ROLL_LAG_S
    square = 1.6 * p / pull
    size = abs(to_go) * square
    target = np.degrees(np.copysign(size / joint if size < joint**2 else np.sqrt(size), to_go))
    most = min(np.degrees(np.arctan(np.radians(3.0) / pull)), aircraft.bank_limit_deg)
    target = np.clip(target, -most, most)
    bank_rate = np.clip((target - bank) / flight.ROLL_LAG_S, -aircraft.roll_rate_deg_s, aircraft.roll_rate_deg_s)
    ias_rate = np.clip((wanted["ias_kt"] - ias) / flight.SPEED_LAG_S, -1.0, 1.0)
    vs_target = np.clip((wanted["level_ft"] - alt) * 60.0 / flight.CAPTURE_S, -wanted["vs_fpm"], wanted["vs_fpm"])
    vs_target = min(vs_target, aircraft.climb_fpm)
    track = np.radians(heading + air.variation_deg)
    wind_east, wind_north = (float(w[0]) for w in air.wind_kt(np.array([alt]), t))
    ve, vn = tas * np.sin(track) + wind_east, tas * np.cos(track) + wind_north
    lean = lean_rad(east, north, np.radians(air.lat_deg))
    return [
        (ve * np.cos(lean) - vn * np.sin(lean)) / 3600.0,
        (vn * np.cos(lean) + ve * np.sin(lean)) / 3600.0,
        vs / 60.0,
        np.degrees(pull * np.tan(np.radians(bank))),
        bank_rate,
        ias_rate,
        (vs_target - vs) / aircraft.vertical_lag_s,
    ]


LEGS = [  # seconds, heading, IAS, rate, level: about 20 minutes with every kind of change
    (250, 310, 108, 500, 3600), (60, 45, 98, 500, 3400), (60, 55, 98, 500, 3400), (60, 65, 98, 500, 3400),
    (60, 78, 98, 500, 3000), (60, 92, 98, 500, 3000), (60, 105, 98, 500, 3000), (120, 214, 98, 500, 2400),
    (90, 210, 92, 500, 1760), (120, 217, 84, 450, 560), (120, 214, 75, 650, 3000), (200, 120, 75, 650, 3000),
]  # fmt: skip
CROSSER = flight.air(
    (0, 3000, 6000),
    (300, 310, 315),
    (15, 28, 35),
    gust_kt=22.0,
    gust_periods_s=(20, 9, 4),
    gust_phases=(0, 1, 2),
    variation_deg=-13.1,
    lat_deg=36.9,
)


def flown_by_steps(dt_s):
    now = flight.start(0, 0, 3600, 310, 108)
    after = []
    for seconds, heading, ias, rate, level in LEGS:
        target = flight.aim(now.heading_deg, heading)
        wanted = command(now, heading_deg=target, ias_kt=ias, vs_fpm=rate, level_ft=level, configuration=0)
        now = fly(now, wanted, CROSSER, FINCH, seconds, dt_s)
        after.append([now.east_nm, now.north_nm, now.alt_ft, now.heading_deg, now.ias_kt])
    return np.array(after)[:, :, 0]


@pytest.fixture(scope="module")
def flown_by_solver():
    y, t, after = np.array([0.0, 0.0, 3600.0, 310.0, 0.0, 108.0, 0.0]), 0.0, []
    for seconds, heading, ias, rate, level in LEGS:
        target = float(flight.aim(np.array([y[3]]), heading)[0])
        wanted = {"heading_deg": target, "ias_kt": ias, "vs_fpm": rate, "level_ft": level}
        solved = solve_ivp(
            continuous, (t, t + seconds), y, "RK45", rtol=1e-8, atol=1e-8, args=(wanted, CROSSER, FINCH), max_step=1.0
        )
        y, t = solved.y[:, -1], t + seconds
        after.append(y[[0, 1, 2, 3, 5]])
    return np.array(after)


def test_against_a_general_solver(flown_by_solver):
    """Independent method: scipy.integrate.solve_ivp (RK45, rtol 1e-8) on the same equations, 20 minutes, gusts."""
    error = np.abs(flown_by_steps(0.5) - flown_by_solver)
    assert error[:, :2].max() < 0.01  # NM: the figure promised in the module's docstring
    assert error[:, 2].max() < 1.0  # ft
    assert error[:, 3].max() < 0.05  # deg
    assert error[:, 4].max() < 0.05  # kt


def test_error_falls_with_the_step(flown_by_solver):
    """Definition: a method of second order loses three quarters of its error at half the step."""
    coarse, fine = (np.abs(flown_by_steps(dt) - flown_by_solver)[:, :2].max() for dt in (0.5, 0.25))
    # The corners where clips set in are of first order: half the error at the least.
    assert fine < 0.5 * coarse


@pytest.mark.parametrize(("lat", "promised_nm"), [(0.0, 0.02), (36.9, 0.02), (45.0, 0.02), (60.0, 0.04), (75.0, 0.1)])
def test_plane_against_the_geodesic(lat, promised_nm):
    """Independent method: half an hour on true tracks all round, each ten seconds a geodesic of geographiclib."""
    tracks = np.tile(np.arange(0.0, 360.0, 45.0), 3)
    east, north = np.repeat([[0.0, 20.0, -30.0], [0.0, -10.0, 20.0]], 8, axis=1)
    at = geodesy.position_from_plane(station_lat_deg=lat, station_lon_deg=-45.2, east_nm=east, north_nm=north)
    air = flight.air(0.0, 300.0, 30.0, variation_deg=-13.1, lat_deg=lat)
    # Each heading for its own track: the wind is one vector more, the same on the plane and on the earth.
    now = flight.start(east, north, 0, tracks, 140.0)
    true = np.radians(tracks - 13.1)
    over_east = 140.0 * np.sin(true) - 30.0 * np.sin(np.radians(300.0))
    over_north = 140.0 * np.cos(true) - 30.0 * np.cos(np.radians(300.0))
    for _ in range(180):
        now = flight.advance(now, flight.steady(now), air, FINCH, 10.0)
        at = geodesy.direct(
            lat_deg=at[0],
            lon_deg=at[1],
            bearing_deg_true=np.degrees(np.arctan2(over_east, over_north)),
            dist_nm=np.hypot(over_east, over_north) * 10.0 / 3600.0,
        )
    bearing, dist = geodesy.inverse(from_lat_deg=lat, from_lon_deg=-45.2, to_lat_deg=at[0], to_lon_deg=at[1])
    assert dist.max() > 75.0
    wrong = np.hypot(
        now.east_nm - dist * np.sin(np.radians(bearing)), now.north_nm - dist * np.cos(np.radians(bearing))
    )
    assert wrong.max() < promised_nm  # the module's docstring


def test_wind_profile():
    """Definition: direction the short way round and speed evenly between two heights, constant outside."""
    air = flight.air((0, 3000, 6000), (350, 10, 40), (10, 20, 40))
    for alt, direction, speed in [(-100, 350, 10), (1500, 0, 15), (3000, 10, 20), (4500, 25, 30), (9000, 40, 40)]:
        east, north = air.wind_kt(np.array([float(alt)]), 0.0)
        assert np.hypot(east, north)[0] == pytest.approx(speed)
        found = np.degrees(np.arctan2(-east, -north))[0]
        assert (found - direction + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)


def test_air_of_a_day_is_the_wind_of_that_day():
    """Independent method: needlework.world.weather, one height and one moment at a time."""
    days = [weather.day("crosser", seed=4), weather.day("breeze"), weather.day("shear"), weather.day("still")]
    air = flight.air_over(OVK, days, 2026.9)
    assert air.variation_deg == pytest.approx(-13.1, abs=0.05)  # given to a tenth by the scenario
    for alt in (100.0, 1500.0, 2999.0, 4200.0, 8000.0):
        for time in (0.0, 17.0, 333.3):
            east, north = air.wind_kt(np.full(4, alt), time)
            wanted = [day.wind.east_north_kt(alt, time) for day in days]
            assert east == pytest.approx([w[0] for w in wanted], abs=1e-9)
            assert north == pytest.approx([w[1] for w in wanted], abs=1e-9)
    speeds = np.array([np.hypot(*air.wind_kt(np.zeros(4), t)) for t in np.arange(0.0, 1200.0)])
    assert 20.0 < speeds[:, 0].max() <= 22.0  # the day gusts 22 at the surface
    assert np.ptp(speeds[:, 1]) < 1e-9


def test_an_ensemble_is_its_flights_one_by_one():
    """Definition: flights do not know of one another."""
    rng = np.random.default_rng(1)
    many = flight.start(rng.uniform(-9, 9, 7), 1.0, rng.uniform(500, 4000, 7), rng.uniform(0, 360, 7), 100.0)
    directions, speeds = rng.uniform(0, 360, (3, 7)), rng.uniform(0, 40, (3, 7))
    levels = rng.uniform(500, 4000, 7)
    heights = (0, 3000, 6000)
    air = flight.air(heights, directions, speeds, lat_deg=36.9)
    wanted = command(many, heading_deg=many.heading_deg + 50, vs_fpm=np.full(7, 500.0), level_ft=levels)
    together = fly(many, wanted, air, seconds=90)
    for i in range(7):
        one = flight.start(many.east_nm[i], 1.0, many.alt_ft[i], many.heading_deg[i], 100.0)
        alone_air = flight.air(heights, directions[:, i], speeds[:, i], lat_deg=36.9)
        orders = command(one, heading_deg=one.heading_deg + 50, vs_fpm=500.0, level_ft=levels[i])
        alone = fly(one, orders, alone_air, seconds=90)
        for name in ("east_nm", "north_nm", "alt_ft", "heading_deg", "bank_deg", "ias_kt", "vs_fpm"):
            assert getattr(together, name)[i] == pytest.approx(getattr(alone, name)[0], abs=1e-9)


@given(st.floats(-1000.0, 1000.0), st.floats(0.0, 359.99), st.sampled_from([-1, 0, 1]))
def test_aim(now, wanted, side):
    """Definition: the target is the heading asked for, on the side asked for, at most once round."""
    target = float(flight.aim(np.array([now]), wanted, side)[0])
    assert np.cos(np.radians(target - wanted)) == pytest.approx(1.0, abs=1e-9)
    if side == 0:
        assert abs(target - now) <= 180.0 + 1e-9
    else:
        assert -1e-9 <= (target - now) * side <= 360.0


@pytest.mark.parametrize(
    ("cas_kt", "alt_ft", "temperature_c", "tas_kt"),
    [(100, 5000, 5.094, 107.7), (100, 10000, -4.812, 116.2), (150, 10000, -4.812, 174.1), (140, 8000, -5.0, 156.4)],
)
def test_true_airspeed(cas_kt, alt_ft, temperature_c, tas_kt):
    """Independent method: the exact compressible formula, values computed with ambiance 1.3.1."""
    air = flight.air(temperature_c=temperature_c, field_ft=alt_ft)
    # Compressibility is left out here: 0.45 kt at 150 kt and 10,000 ft, less where the course flies.
    assert air.tas_kt(np.array([float(cas_kt)]), np.array([float(alt_ft)]))[0] == pytest.approx(tas_kt, abs=0.5)


def test_altimeter_in_cold_air_and_with_a_wrong_setting():
    """Aeronautical Information Manual, 7-3, TBL 7-3-1: -20 C, 1,000 ft above the field: 140 ft too high."""
    air = flight.air(temperature_c=-20.0, field_ft=0.0)
    high = air.indicated_ft(np.array([1000.0]))[0] - 1000.0
    # The table is worked for the height indicated and rounds up to tens.
    assert 125.0 < high < 165.0
    assert air.true_ft(air.indicated_ft(np.array([2345.0])))[0] == pytest.approx(2345.0)
    # Common practice: 1 hPa is about 27 ft low down; set too high, it reads too high.
    wrong = flight.air(setting_hpa=1003.25, set_hpa=1013.25)
    assert wrong.indicated_ft(np.array([1000.0]))[0] == pytest.approx(1273.0, abs=1.0)


def at_radial(radial_deg, dist_nm, alt_ft=480.0, declination=-13.0):
    angle = np.radians(np.asarray(radial_deg, dtype=float) + declination)
    return flight.start(dist_nm * np.sin(angle), dist_nm * np.cos(angle), alt_ft, 0, 100)


@given(st.floats(0.0, 359.99), st.floats(0.0, 359.99))
def test_needle_and_flag_agree_with_the_receiver_of_the_ground_floor(radial, course):
    """Independent method: needlework.trade.vor, tested against the Instrument Flying Handbook, p. 9-11."""
    clear = flight.radio(OVK, scallop_deg=0.0)
    sight = flight.look(at_radial(radial, 8.0), clear, STILL, course, course + 180.0)
    assert sight.needle_1_deg[0] == pytest.approx(
        vor.needle_deg(radial_deg=radial, selected_course_deg=course), abs=1e-6
    )
    from_abeam_deg = abs(abs((radial - course + 180) % 360 - 180) - 90)
    if from_abeam_deg < 0.5 - 1e-9:
        assert sight.flag_1[0] == 0
    elif from_abeam_deg > 0.5 + 1e-9:
        flag = vor.flag(radial_deg=radial, selected_course_deg=course)
        assert {1: "TO", -1: "FROM"}[int(sight.flag_1[0])] == flag
    # The other end of the same line: other flag, needle on the other side.
    assert sight.flag_2[0] == -sight.flag_1[0]
    assert sight.needle_2_deg[0] == pytest.approx(-sight.needle_1_deg[0], abs=1e-6)


@pytest.mark.parametrize("course", [0.0, 130.0, 245.0])
def test_needle_abeam(course):
    """Definition: 90 degrees off the selected course TO and FROM go out, but the needle stays at its stop."""
    off = np.array([-91.0, -90.4, -90.0, -89.6, -89.0, 89.0, 89.6, 90.0, 90.4, 91.0])
    clear = flight.radio(OVK, scallop_deg=0.0)
    sight = flight.look(at_radial(course + off, 8.0), clear, STILL, course, course)
    assert sight.needle_1_deg.tolist() == [10.0] * 5 + [-10.0] * 5
    assert sight.flag_1.tolist() == [1, 0, 0, 0, -1, -1, 0, 0, 0, 1]


def test_radials_keep_the_stations_alignment_and_the_compass_todays_variation():
    """Definition: radial = true bearing - declination of the station; heading = true heading - variation today."""
    ezrick = flight.radio(procedure.load("ezrick").station, scallop_deg=0.0)
    air = flight.air(variation_deg=-13.6, lat_deg=36.15)
    out = flight.start(0, 5, 3000, 13.6, 100)
    state = flight.advance(out, flight.steady(out), air, FINCH, 120)
    assert abs(state.east_nm[0]) < 1e-9  # nose on true north by the compass of today
    sight = flight.look(state, ezrick, air, 12.0, 12.0)
    assert sight.needle_1_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert sight.heading_deg[0] == pytest.approx(13.6)


@pytest.mark.parametrize(
    ("ground_nm", "height_ft", "dme_nm"), [(0.0, FT, 1.000), (0.5, 3000.0, 0.703), (10.0, 2520.0, 10.009)]
)
def test_dme_is_slant_distance(ground_nm, height_ft, dme_nm):
    """Instrument Flying Handbook, p. 9-19 (overhead: height in NM); definition: root of the sum of squares."""
    fine = flight.radio(OVK, dme_digit_nm=0.0)
    state = at_radial(34.0, ground_nm, 480.0 + height_ft)
    assert flight.look(state, fine, STILL, 0, 0).dme_nm[0] == pytest.approx(dme_nm, abs=0.0006)  # printed to 0.001
    tenths = flight.radio(OVK)
    assert flight.look(state, tenths, STILL, 0, 0).dme_nm[0] == pytest.approx(round(dme_nm, 1), abs=1e-9)
    none = flight.radio(OVK.model_copy(update={"dme_channel": None}))
    assert np.isnan(flight.look(state, none, STILL, 0, 0).dme_nm[0])


def test_cone_of_confusion():
    """Definition: radius = height x tan(half angle); from half way in no flag, outside the needle is steady."""
    station = flight.radio(OVK, scallop_deg=0.0)
    height = 3000.0
    edge = height / FT * np.tan(np.radians(45.0))
    distances = np.array([0.01, 0.4, 0.95, 1.05, 2.0]) * edge
    sights = []
    for t in np.arange(0.0, 60.0):
        angle = np.radians(310.0 - 13.0)
        state = flight.start(
            distances * np.sin(angle), distances * np.cos(angle), 480.0 + height, 0, 100, time_s=float(t)
        )
        sights.append(flight.look(state, station, STILL, 310.0, 130.0))
    needle = np.array([s.needle_1_deg for s in sights])
    flag = np.array([s.flag_1 for s in sights])
    assert (flag[:, :2] == 0).all()
    assert (flag[:, 3:] == -1).all()
    assert needle[:, 3:] == pytest.approx(0.0, abs=1e-9)
    assert 0.3 < needle[:, 2].std() < 2.0


def test_station_passage_is_a_flag_that_turns():
    """Common practice, no source: flying over, TO goes out in the cone and comes back as FROM."""
    station = flight.radio(NORTH, seed=2)
    now = flight.start(0.0, -1.5, 3600.0, 0.0, 108.0)
    flags, dmes, before = [], [], None
    for _ in range(110):
        before = flight.look(now, station, STILL, 0.0, 90.0, before)
        flags.append(int(before.flag_1[0]))
        dmes.append(before.dme_nm[0])
        now = flight.advance(now, flight.steady(now), STILL, FINCH, 1.0)
    assert flags[0] == 1
    assert flags[-1] == -1
    assert flags.index(-1) > flags.index(0) > 0
    assert -1 not in flags[: flags.index(0)]
    assert min(dmes) == pytest.approx(3120.0 / FT, abs=0.06)  # height above the station, shown to a tenth


def test_needle_lags():
    """Definition: first-order lag; after one time constant 1/e of the gap is left."""
    station = flight.radio(NORTH, scallop_deg=0.0, needle_lag_s=1.0)
    state = flight.start(0.0, 10.0, 2000.0, 0.0, 100.0)
    first = flight.look(state, station, STILL, 0.0, 0.0)
    later = flight.look(replace(state, time_s=1.0), station, STILL, 5.0, 0.0, first)
    assert later.needle_1_deg[0] == pytest.approx(5.0 * (1 - np.exp(-1.0)))
    assert later.needle_2_deg[0] == pytest.approx(0.0, abs=1e-12)


def test_scalloping_is_seeded_and_bounded():
    """Definition: waves of at most the given size, the same for the same seed, slow along the flight."""
    air, size = STILL, 1.0
    states = [at_radial(100.0, d, 3000.0) for d in np.linspace(3.0, 20.0, 600)]

    def needles(seed):
        station = flight.radio(OVK, seed=seed, scallop_deg=size)
        return np.array([flight.look(s, station, air, 100.0, 100.0).needle_1_deg[0] for s in states])

    first = needles(1)
    assert np.abs(first).max() <= size
    assert np.abs(first).max() > 0.3 * size
    assert (first == needles(1)).all()
    assert np.abs(first - needles(2)).max() > 0.1
    assert np.abs(np.diff(first)).max() < 0.1


REFUSED = {
    "east_nm = 900 NM is outside -300 to 300 NM: is this a distance in m?": (
        lambda: flight.start(900, 0, 3000, 0, 100)
    ),
    "ias_kt = nan is not a number: expected 30 to 300 kt": lambda: flight.start(0, 0, 3000, 0, np.nan),
    "1000001 flights at once are too many: at most 1,000,000": (
        lambda: flight.start(np.zeros(1_000_001), 0, 3000, 0, 100)
    ),
    "heights_ft must rise from each level of the wind to the next: put the lowest first": (
        lambda: flight.air((3000, 0), (0, 0), (0, 0))
    ),
    "speed_kt has 1 levels where heights_ft has 2: give one per height": (
        lambda: flight.air((0, 3000), (0, 0), (10,))
    ),
    "setting_hpa = 29.92 hPa is outside 900 to 1,090 hPa: is this in inHg?": lambda: flight.air(setting_hpa=29.92),
    "scallop_deg = 7 deg is outside 0 to 6 deg": lambda: flight.radio(OVK, scallop_deg=7.0),
}


@pytest.mark.parametrize("sentence", REFUSED)
def test_bad_input_gets_one_sentence(sentence):
    """Definition: one clear sentence says what was wrong and what was expected."""
    with pytest.raises(OutOfRange) as fault:
        REFUSED[sentence]()
    assert str(fault.value) == sentence
