"""Recordings people have: flight recorders, receivers, exports of other programs; standing around, two flights."""

import random
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import track_maker as maker
from needlework.basis.errors import BadData
from needlework.debrief import Conditions, debrief
from needlework.flying import heads, tracklog
from needlework.world import procedure
from track_maker import SALTMARSH, Habits

TRACK = maker.record(SALTMARSH, maker.make(SALTMARSH, Habits()), every_s=4.0)
SALT = procedure.load("saltmarsh")


def six_hours(path):
    """The flight drawn out over six hours, a sample a second."""
    at = np.linspace(TRACK.time_s[0], TRACK.time_s[-1], 6 * 3600)
    columns = [np.interp(at, TRACK.time_s, getattr(TRACK, name)) for name in ("lat_deg", "lon_deg", "alt_ft")]
    lines = ["time_s,lat_deg,lon_deg,alt_ft"]
    lines += [f"{n},{a:.6f},{o:.6f},{h:.0f}" for n, (a, o, h) in enumerate(zip(*columns, strict=True))]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def degrees_minutes(value, wide, letters, decimals):
    letter = letters[int(value < 0)]
    whole = int(abs(value))
    minutes = f"{(abs(value) - whole) * 60:0{3 + decimals}.{decimals}f}"
    return f"{whole:0{wide}d}{minutes}", letter


def clock(seconds):
    whole = int(36_000 + seconds)
    return f"{whole // 3600:02d}{whole % 3600 // 60:02d}{whole % 60:02d}"


def igc(track, pressure=True):
    lines = ["AXXX001 invented", "HFDTEDATE:250826,01", "HFPLTPILOTINCHARGE:nobody"]
    for t, lat, lon, alt in zip(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft, strict=True):
        (la, ns), (lo, ew) = degrees_minutes(lat, 2, "NS", 3), degrees_minutes(lon, 3, "EW", 3)
        metres = round(alt * 0.3048)
        lines.append(
            f"B{clock(t)}{la.replace('.', '')}{ns}{lo.replace('.', '')}{ew}A"
            f"{metres if pressure else 0:05d}{metres + 30:05d}"
        )
    return "\n".join(lines) + "\n"


def sentence(body):
    total = 0
    for letter in body:
        total ^= ord(letter)
    return f"${body}*{total:02X}"


def nmea(track, rmc=True, gga=True):
    lines = []
    for t, lat, lon, alt in zip(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft, strict=True):
        (la, ns), (lo, ew) = degrees_minutes(lat, 2, "NS", 4), degrees_minutes(lon, 3, "EW", 4)
        if rmc:
            lines.append(sentence(f"GPRMC,{clock(t)}.00,A,{la},{ns},{lo},{ew},098.0,310.0,250826,,"))
        if gga:
            lines.append(sentence(f"GPGGA,{clock(t)}.00,{la},{ns},{lo},{ew},1,08,0.9,{alt * 0.3048:.1f},M,41.0,M,,"))
    return "\n".join(lines) + "\n"


def read(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return tracklog.read(path)


def near(track, feet=3.0):
    """As good as the format: a metre or two of height, a ten-thousandth of a minute."""
    assert len(track) == len(TRACK)
    np.testing.assert_allclose(track.lat_deg, TRACK.lat_deg, atol=2e-5)
    np.testing.assert_allclose(track.lon_deg, TRACK.lon_deg, atol=2e-5)
    np.testing.assert_allclose(track.alt_ft, TRACK.alt_ft, atol=feet)
    np.testing.assert_allclose(track.time_s, TRACK.time_s - TRACK.time_s[0], atol=1.0)


def test_igc(tmp_path):
    """FAI flight recorder format: fixed places of the B record, date of HFDTE, pressure before satellite height."""
    track = read(tmp_path, "x.igc", igc(TRACK))
    near(track)
    assert track.height_kind == "pressure"
    assert f"{track.start_utc:%Y-%m-%d %H:%M}" == "2026-08-25 10:00"
    satellite = read(tmp_path, "y.igc", igc(TRACK, pressure=False))
    assert satellite.height_kind == "satellite"
    np.testing.assert_allclose(satellite.alt_ft - TRACK.alt_ft, 30 / 0.3048, atol=3.0)


def test_pressure_needs_the_setting(tmp_path):
    """Definition: the setting of the day turns a pressure altitude into the altimeter's: 27 ft for each hPa."""
    low = tracklog.of_kind(TRACK, "pressure")
    told = debrief(low, SALT, given=Conditions(setting_hpa=1023.25))
    assert told.seen.alt_ft[0] - TRACK.alt_ft[0] == pytest.approx(10 * 27.3, abs=5)  # feet
    assert told.height.kind == "altimeter"


def test_nmea(tmp_path):
    """NMEA 0183: ddmm.mmmm and its letter, height in GGA, date in RMC, check sum over what stands between $ and *."""
    track = read(tmp_path, "x.nmea", nmea(TRACK))
    near(track)
    assert track.height_kind == "satellite"
    assert f"{track.start_utc:%Y-%m-%d %H:%M}" == "2026-08-25 10:00"
    lines = nmea(TRACK).splitlines()
    lines[21] = lines[21].replace(",M,41.0", ",M,42.0")
    broken = read(tmp_path, "y.nmea", "\n".join(lines))
    assert len(broken) == len(TRACK) - 1
    assert "1 sentence with a wrong check sum left out." in broken.notes


def test_refusals_help(tmp_path):
    """Definition: what cannot be read is refused in one sentence that says what to do."""
    for name, text, reason in (
        ("x.nmea", nmea(TRACK, gga=False), "no heights: record the GGA sentence as well"),
        ("x.nmea", "hello\n" * 20, "expected NMEA 0183 with GGA and RMC sentences"),
        ("x.igc", "AXXX\nHFDTE250826\n", "expected an IGC file of a flight recorder, with B records"),
    ):
        with pytest.raises(BadData, match=reason) as caught:
            read(tmp_path, name, text)
        assert "\n" not in str(caught.value)
    south = tracklog.Track(TRACK.time_s, -TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft)
    with pytest.raises(BadData, match="the sign of the latitude seems to be wrong"):
        debrief(south, SALT)


HEADS = {
    "units in brackets": ("Time (s),Latitude (deg),Longitude [deg],Altitude (ft MSL)", "{t},{lat},{lon},{ft}"),
    "no blank": ("Time(s),Lat(deg),Lon(deg),Alt(m)", "{t},{lat},{lon},{m}"),
    "ISO and GPS metres": ("Timestamp,Latitude,Longitude,GPS Altitude (m)", "{iso},{lat},{lon},{m}"),
    "US date and time apart": ("Date,Time,Latitude,Longitude,Altitude (feet)", "{us},{clock},{lat},{lon},{ft}"),
    "milliseconds since 1970": ("timestamp_ms,lat,lng,altitude_m", "{ms},{lat},{lon},{m}"),
    "letters": ("time,latitude,longitude,alt_ft", "{t},{lat_n},{lon_w},{ft}"),
    "other words": ("Time,Latitude,Longitude,Altimeter ft,IAS kt", "{t},{lat},{lon},{ft},98"),
    "more words": (
        "Time (s),Aircraft lat,Aircraft lon,Altitude rate,Target altitude,Height above mean sea level (m)",
        "{t},{lat},{lon},12,9000,{m}",
    ),
    "letters of their own": (
        "INDEX,DATE,TIME,LATITUDE,N/S,LONGITUDE,E/W,GPS ALTITUDE (M),SPEED (KM/H)",
        "1,{us},{clock},{lat_abs},N,{lon_abs},W,{m},180",
    ),
    "German": ("Zeit;Breite;Länge;Höhe (m)", "{comma};{lat_c};{lon_c};{m_c}"),
    "Spanish": ("tiempo;latitud;longitud;altitud (m)", "{comma};{lat_c};{lon_c};{m_c}"),
    "a title": ("Flight of 25 August\n\ntime;lat;lon;alt (m)", "{comma};{lat_c};{lon_c};{m_c}"),
}


@pytest.mark.parametrize("spelling", HEADS)
def test_heads_of_other_programs(tmp_path, spelling):
    """Definition: the same flight under the column names, units and dates of other exports."""
    head, row = HEADS[spelling]
    lines = [head]
    for t, lat, lon, alt in zip(TRACK.time_s, TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft, strict=True):
        when = time.gmtime(1_787_652_000 + t)
        values = {
            "t": f"{t:.1f}", "lat": f"{lat:.6f}", "lon": f"{lon:.6f}", "ft": f"{alt:.0f}", "m": f"{alt * 0.3048:.1f}",
            "iso": time.strftime("%Y-%m-%dT%H:%M:%SZ", when), "us": time.strftime("%m/%d/%Y", when),
            "clock": time.strftime("%H:%M:%S", when), "ms": f"{(1_787_652_000 + t) * 1000:.0f}",
            "lat_abs": f"{abs(lat):.6f}", "lon_abs": f"{abs(lon):.6f}", "lat_n": f"N{abs(lat):.6f}",
            "lon_w": f"{abs(lon):.6f} W",
        }  # fmt: skip
        values |= {f"{name}_c": values[name].replace(".", ",") for name in ("lat", "lon", "m")}
        lines.append(row.format(**values, comma=values["t"].replace(".", ",")))
    near(read(tmp_path, "x.csv", "\n".join(lines)), feet=1.0)


def test_latest_first_and_thousands(tmp_path):
    """Definition: a list that begins with the latest sample, and heights written with their thousands apart."""
    lines = [
        f'"{t:.1f}","{lat:.6f}","{lon:.6f}","{alt:,.0f}"'
        for t, lat, lon, alt in zip(TRACK.time_s, TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft, strict=True)
    ]
    track = read(tmp_path, "x.csv", "\n".join(["time,lat,lon,alt_ft", *lines[::-1]]))
    near(track, feet=1.0)
    assert "The latest sample stood first: turned round." in track.notes
    near(read(tmp_path, "y.csv", "\n".join(["time,lat,lon,alt_ft", *lines])), feet=1.0)


def test_an_ending_that_says_nothing(tmp_path):
    """Definition: what a .txt or .log holds is told by how it begins."""
    near(read(tmp_path, "x.log", nmea(TRACK)))
    near(read(tmp_path, "y.txt", igc(TRACK)))
    rows = zip(TRACK.time_s, TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft, strict=True)
    near(read(tmp_path, "z.txt", "\n".join(["time\tlat\tlon\talt_ft", *("\t".join(map(str, row)) for row in rows)])))


def test_place_marks_with_times(tmp_path):
    """KML 2.2: a Placemark with a TimeStamp and a Point is a sample; a Point without a time is none."""
    marks = "".join(
        f"<Placemark><TimeStamp><when>{time.strftime('%Y-%m-%dT%H:%M:%SZ', time.gmtime(1_787_652_000 + t))}</when>"
        f"</TimeStamp><Point><coordinates>{lon:.6f},{lat:.6f},{alt * 0.3048:.1f}</coordinates></Point></Placemark>"
        for t, lat, lon, alt in zip(TRACK.time_s, TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft, strict=True)
    )
    home = "<Placemark><Point><coordinates>-45,37,10</coordinates></Point></Placemark>"
    kml = f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{{}}{home}</Document></kml>'
    near(read(tmp_path, "x.kml", kml.format(marks)))
    with pytest.raises(BadData, match="carry no times"):
        read(tmp_path, "y.kml", kml.format(""))


def test_heads_run_together_under_a_row_of_units(tmp_path):
    """Definition: names without gaps, units in a remark above them, and a local clock with its zone in a column."""
    for name, unit, kind in (
        ("AltB", "ft baro", "altimeter"),
        ("AltP", "ft", "pressure"),
        ("AltMSL", "m", "unknown"),
    ):
        lines = ["#made for this test", f"#y-m-d,h:m,deg,deg,{unit},h:m", f"Date,Time,Lat,Lon,{name},UTCOffset"]
        for t, lat, lon, alt in zip(TRACK.time_s, TRACK.lat_deg, TRACK.lon_deg, TRACK.alt_ft, strict=True):
            when = time.strftime("%Y-%m-%d,%H:%M:%S", time.gmtime(1_787_652_000 + t))
            height = alt * 0.3048 if unit == "m" else alt
            lines.append(f"{when},{lat:.6f},{lon:.6f},{height:.1f},-05:00")
        track = read(tmp_path, "x.csv", "\n".join(lines))
        near(track, feet=2.0)
        assert track.height_kind == kind
        assert track.start_utc.timestamp() == 1_787_652_000 + 5 * 3600


def test_what_is_no_column_of_ours():
    """Definition: a true heading and a ground speed are not taken for a magnetic one and an airspeed."""
    for name in ("Heading (true)", "true_heading", "Ground Speed (kt)", "gs_kt", "track_deg", "Pitch (deg)"):
        assert heads.known(name) is None, name


def test_standing_around_is_trimmed_and_said(tmp_path):
    """Definition: an hour on the apron before and after is no part of the flight; the flight stays whole."""
    arrays = {name: getattr(TRACK, name) for name in ("time_s", "lat_deg", "lon_deg", "alt_ft")}
    stood = np.arange(0.0, 3600.0, 4.0)
    for name, values in arrays.items():
        before = stood - 3600.0 + values[0] if name == "time_s" else np.full(len(stood), values[0])
        after = stood + values[-1] + 4.0 if name == "time_s" else np.full(len(stood), values[-1])
        arrays[name] = np.concatenate([before, values, after])
    lines = ["time_s,lat_deg,lon_deg,alt_ft"]
    lines += [f"{t:.1f},{a:.7f},{o:.7f},{h:.1f}" for t, a, o, h in zip(*arrays.values(), strict=True)]
    track = read(tmp_path, "x.csv", "\n".join(lines))
    assert len(track) == pytest.approx(len(TRACK), abs=20)  # twenty seconds of it are kept on either side
    assert any("min of standing before and after the flight left out" in note for note in track.notes)


def test_two_flights_in_one_file():
    """Definition: ten minutes without a sample part two flights; each is judged by itself, from its own zero."""
    twice = [np.concatenate([getattr(TRACK, name)] * 2) for name in ("lat_deg", "lon_deg", "alt_ft")]
    times = np.concatenate([TRACK.time_s, TRACK.time_s + TRACK.time_s[-1] + 600.0])
    flights = tracklog.flights(tracklog.Track(times, *twice))
    assert len(flights) == 2
    for number, flight in enumerate(flights, 1):
        near(flight)
        assert f"Flight {number} of 2 in the file" in flight.notes[-1]
        assert debrief(flight, SALT).verdict == "passed"


@pytest.mark.parametrize("seed", range(30))
def test_damaged_files_are_read_or_refused(tmp_path, seed):
    """Definition: whatever is cut, doubled or changed in a file, it is read or refused in one sentence."""
    rng = random.Random(seed)
    name, text = rng.choice([("x.igc", igc(TRACK)), ("x.nmea", nmea(TRACK))])
    letters = list(text[: rng.randrange(200, len(text))])
    for _ in range(rng.randrange(1, 400)):
        at = rng.randrange(len(letters))
        letters[at] = rng.choice(["", letters[at] * 3, "\n", "9", "$", "B", "\u00e9", "-"])
    try:
        track = read(tmp_path, name, "".join(letters))
    except BadData as refused:
        assert "\n" not in str(refused)
    else:
        assert (np.diff(track.time_s) > 0).all()


def test_six_hours_take_bounded_memory(tmp_path):
    """Definition: a six-hour file, a sample a second, is read and judged in less than 150 MB."""
    path = six_hours(tmp_path / "six.csv")
    done = subprocess.run(
        [sys.executable, str(Path(__file__).parent / "benchmarks" / "debrief.py"), str(path)],
        check=True, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert float(done.stdout.split()[-1]) < 150.0
