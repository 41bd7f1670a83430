"""Recordings: written, read back, mended, refused."""

import gzip
import io
import math
import tracemalloc
import zipfile
from datetime import UTC, datetime

import gpxpy
import numpy as np
import pytest
import simplekml
from needlework.basis.errors import BadData
from needlework.flying import tracklog
from needlework.flying.tracklog import Track, read, write

OPTIONAL = [column.name for column in tracklog.COLUMNS[4:]]


def a_track(number=400, step_s=1.0, kt=90.0, with_all=False, wind_kt=0.0):
    """A slow full turn near Overfall at a steady airspeed, made here from scratch."""
    time_s = np.arange(number) * step_s
    heading = np.deg2rad(time_s * 360.0 / time_s[-1])
    east_kt, north_kt = kt * np.sin(heading) + wind_kt, kt * np.cos(heading)
    lat = 36.9 + np.concatenate([[0], np.cumsum(north_kt[:-1])]) * step_s / 3600 / 60
    lon = -45.2 + np.concatenate([[0], np.cumsum(east_kt[:-1])]) * step_s / 3600 / 60 / math.cos(math.radians(36.9))
    alt = 3000 - time_s * 500 / 60
    more = {}
    if with_all:
        more = {name: np.zeros(number) for name in OPTIONAL}
        more |= {"flag_1": np.sign(np.arange(number) - 9.0), "ias_kt": np.full(number, kt)}
        more |= {"vs_fpm": np.full(number, -500.0), "heading_deg": np.rad2deg(heading)}
        more["needle_2_deg"] = np.where(np.arange(number) == 5, np.nan, 7.25)
    return Track(time_s, lat, lon, alt, **more)


def csv_of(path, rows, header="time_s,lat_deg,lon_deg,alt_ft"):
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def good_rows(number=60):
    return [f"{at},{36.9 + at * 0.0004:.6f},-45.2,{3000 - 8 * at}" for at in range(number)]


def zipped(files, locked=False):
    """Pack files into an archive; ``locked`` says in it that the first one needs a password."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items():
            archive.writestr(zipfile.ZipInfo(name), text)  # of 1980, and not of now
    packed = bytearray(target.getvalue())
    if locked:
        packed[6] |= 1
        packed[packed.index(b"PK\1\2") + 8] |= 1
    return bytes(packed)


def refusal(path):
    with pytest.raises(BadData) as caught:
        read(path)
    text = str(caught.value)
    assert "\n" not in text  # one sentence, not a stack of them
    assert text.count(". ") == 0
    return text


# --- round trips -----------------------------------------------------------------------------


def test_csv_keeps_every_column(tmp_path):
    """Definition: what is written is read back, column by column, to the digits written."""
    track = a_track(with_all=True)
    back = read(write(track, tmp_path / "flight.csv"))
    assert back.columns == tuple(column.name for column in tracklog.COLUMNS)
    for column in tracklog.COLUMNS:
        np.testing.assert_allclose(
            getattr(back, column.name),
            getattr(track, column.name),
            atol=0.51 * 10.0**-column.decimals,  # half a unit of the last digit written
        )
    assert back.notes == ()


@pytest.mark.parametrize("ending", [".gpx", ".kml"])
def test_xml_keeps_positions(tmp_path, ending):
    """Definition: GPX 1.1 and KML hold time, position and altitude in metres, and give them back in feet."""
    track = a_track(with_all=True)
    back = read(write(track, tmp_path / f"flight{ending}"))
    assert back.columns == ("time_s", "lat_deg", "lon_deg", "alt_ft")
    np.testing.assert_allclose(back.time_s, track.time_s, atol=0.001)  # milliseconds are written
    np.testing.assert_allclose(back.lat_deg, track.lat_deg, atol=1e-7)  # seven digits are written
    np.testing.assert_allclose(back.lon_deg, track.lon_deg, atol=1e-7)
    np.testing.assert_allclose(back.alt_ft, track.alt_ft, atol=0.02)  # centimetres are written
    assert back.notes == ()


def test_gpx_is_read_by_others(tmp_path):
    """Independent method: gpxpy reads the file; GPX 1.1 elevations are metres and times UTC."""
    track = a_track(20)
    text = write(track, tmp_path / "flight.gpx").read_text(encoding="utf-8")
    document = gpxpy.parse(text)
    points = document.tracks[0].segments[0].points
    assert document.version == "1.1"
    assert "Not for navigation" in text
    assert len(points) == 20
    assert points[0].elevation == pytest.approx(3000 * 0.3048, abs=0.01)  # centimetres are written
    assert (points[19].time - points[0].time).total_seconds() == 19


def test_kml_of_another_program(tmp_path):
    """Independent method: a KML written by simplekml directly, fractions of a second and all."""
    document = simplekml.Kml()
    line = document.newgxtrack()
    line.newwhen([f"2026-05-01T10:00:{at:02d}.500+02:00" for at in range(30)])
    line.newgxcoord([(-45.2, 36.9 + at / 3000, 500.0) for at in range(30)])
    document.save(str(tmp_path / "other.kml"))
    track = read(tmp_path / "other.kml")
    assert len(track) == 30
    assert track.start_utc == datetime(2026, 5, 1, 8, 0, 0, 500_000, tzinfo=UTC)
    assert track.alt_ft[0] == pytest.approx(1640.42, abs=0.01)  # 500 m, published conversion to 0.01 ft


def test_caution_is_in_every_file(tmp_path):
    """Definition: every file made from the course says that it is not for navigation."""
    for ending in (".csv", ".gpx", ".kml"):
        assert tracklog.CAUTION in write(a_track(20), tmp_path / f"x{ending}").read_text(encoding="utf-8")


def test_old_file_survives_a_failed_write(tmp_path, monkeypatch):
    """Definition: a file appears whole or not at all."""
    target = write(a_track(20), tmp_path / "flight.csv")
    before = target.read_bytes()

    def full(*_args, **_kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tracklog.Path, "replace", full)
    with pytest.raises(BadData, match=r"cannot be written \(No space left on device\): choose another folder"):
        write(a_track(30), target)
    assert target.read_bytes() == before
    assert list(tmp_path.iterdir()) == [target]


# --- the frozen track ------------------------------------------------------------------------


def test_track_keeps_its_promises():
    """Definition: a track is frozen, its arrays read-only, of one length, and in time order."""
    track = a_track(20, with_all=True)
    with pytest.raises(AttributeError):
        track.alt_ft = None
    with pytest.raises(ValueError, match="read-only"):
        track.alt_ft[0] = 1
    assert len(track.part(track.time_s < 12)) == 12
    with pytest.raises(BadData, match="the track has 3 usable points: at least 10 are needed"):
        track.part(slice(3))
    with pytest.raises(BadData, match="alt_ft has 19 samples and time_s 20"):
        Track(track.time_s, track.lat_deg, track.lon_deg, track.alt_ft[:-1])
    with pytest.raises(BadData, match="time_s must rise"):
        Track(track.time_s[::-1], track.lat_deg, track.lon_deg, track.alt_ft)
    with pytest.raises(BadData, match="lat_deg has samples without a value"):
        Track(track.time_s, np.full(20, np.nan), track.lon_deg, track.alt_ft)


# --- mended and said -------------------------------------------------------------------------


def test_a_position_in_one_cell(tmp_path):
    """Definition: exports of flight trackers write latitude and longitude into one cell, times since 1970."""
    rows = [f'{1777458070 + at},2026-04-29T10:21:10Z,"36.9{at:02d},-45.2",2850,141' for at in range(30)]
    track = read(csv_of(tmp_path / "x.csv", rows, "Timestamp,UTC,Position,Altitude,Speed"))
    np.testing.assert_allclose(track.lat_deg[[0, 29]], [36.9, 36.929], atol=1e-9)  # as written
    np.testing.assert_allclose(track.lon_deg, -45.2, atol=1e-9)
    assert track.start_utc == datetime(2026, 4, 29, 10, 21, 10, tzinfo=UTC)


def test_of_two_heights_the_altimeter_is_taken(tmp_path):
    """Definition: a pilot flies the altimeter: it is taken before a pressure altitude, whichever stands first."""
    rows = [f"{1781412969 + at},36.9{at:02d},-45.2,3563,3309" for at in range(30)]
    head = "unix_s,latitude_deg,longitude_deg,pressure_altitude_ft,indicated_altitude_ft"
    swapped = [",".join([*row.split(",")[:3], *row.split(",")[:2:-1]]) for row in rows]
    there = "unix_s,latitude_deg,longitude_deg,indicated_altitude_ft,pressure_altitude_ft"
    for number, (lines, names) in enumerate(((rows, head), (swapped, there))):
        track = read(csv_of(tmp_path / f"{number}.csv", lines, names))
        assert (track.alt_ft == 3309).all()
        assert track.height_kind == "altimeter"


def test_heights_above_the_ellipsoid_with_the_geoid_beside_them(tmp_path):
    """Definition: above the sea is above the ellipsoid less what the geoid lies above it; 1 ft = 0.3048 m."""
    rows = [f"10:00:{at:02d},36.9{at:02d},-45.2,932.4,18.0" for at in range(30)]
    track = read(csv_of(tmp_path / "x.csv", rows, "time,lat,lon,height_ellipsoid_m,geoid_separation_m"))
    np.testing.assert_allclose(track.alt_ft, 3000, atol=1e-6)  # exact by definition, float sums
    assert track.height_kind == "satellite"
    above_sea = read(csv_of(tmp_path / "y.csv", rows, "time,lat,lon,altitude_m,geoid_separation_m"))
    np.testing.assert_allclose(above_sea.alt_ft, 932.4 / 0.3048, atol=1e-6)


def test_other_names_and_units(tmp_path):
    """Definition: 1 ft = 0.3048 m, 1 NM = 1,852 m; other units under their own names are converted and said."""
    rows = [f"10:00:{at:02d};36,9{at:02d};-45,2;914,4;185,2" for at in range(30)]
    track = read(csv_of(tmp_path / "x.csv", rows, "UTC;Latitude;Longitude;Altitude_m;IAS_kmh"))
    np.testing.assert_allclose(track.alt_ft, 3000, atol=1e-6)  # exact by definition, float sums
    np.testing.assert_allclose(track.ias_kt, 100, atol=1e-6)
    assert track.notes == (
        "Altitude_m is in metres: converted to feet.",
        "IAS_kmh is in km/h: converted to knots.",
    )


@pytest.mark.parametrize("head", ["course_deg", "Course selected", "OBS [deg]", "course_1_deg"])
def test_a_selected_course_under_other_names(tmp_path, head):
    """Definition: a knob stands still for long; a course that changes all the time is the track over the ground."""
    rows = [f"{at},{36.9 + at / 3000},-45.2,3000,{130 if at < 50 else 214}" for at in range(100)]
    track = read(csv_of(tmp_path / "x.csv", rows, f"time,lat,lon,altitude (ft),{head}"))
    assert np.unique(track.course_1_deg).tolist() == [130.0, 214.0]
    rows = [f"{at},{36.9 + at / 3000},-45.2,3000,{130 + at % 7 / 10}" for at in range(100)]
    track = read(csv_of(tmp_path / "y.csv", rows, f"time,lat,lon,altitude (ft),{head}"))
    assert track.course_1_deg is None
    assert any("track over the ground" in note for note in track.notes)


def test_midnight(tmp_path):
    """Definition: a time of day that falls back by nearly a day has passed midnight."""
    rows = [f"23:59:{40 + at}" if at < 20 else f"0:00:{at - 20:02d}" for at in range(40)]
    rows = [f"{text},{36.9 + at / 3000},-45.2,3000" for at, text in enumerate(rows)]
    track = read(csv_of(tmp_path / "x.csv", rows))
    assert track.time_s.tolist() == list(range(40))


def test_metres_under_a_name_in_feet(tmp_path):
    """Definition: 1 m = 3.28 ft; the file's own vertical speed gives the slip away."""
    track = a_track(with_all=True)
    wrong = {name: getattr(track, name) for name in track.columns}
    wrong["alt_ft"] = track.alt_ft * 0.3048
    back = read(write(Track(**wrong), tmp_path / "x.csv"))
    np.testing.assert_allclose(back.alt_ft, track.alt_ft, atol=0.2)  # a tenth of a metre was written
    assert back.notes == ("alt_ft changes 0.30 times as fast as vs_fpm says, so it holds metres: converted to feet.",)


@pytest.mark.parametrize("wind_kt", [0.0, 30.0])
def test_kilometres_an_hour_under_a_name_in_knots(tmp_path, wind_kt):
    """Definition: 1 kt = 1.852 km/h; a full turn tells wind and airspeed apart."""
    track = a_track(kt=95, with_all=True, wind_kt=wind_kt)
    right = read(write(track, tmp_path / "right.csv"))
    assert right.notes == ()
    wrong = {name: getattr(track, name) for name in track.columns}
    wrong["ias_kt"] = track.ias_kt * 1.852
    back = read(write(Track(**wrong), tmp_path / "x.csv"))
    np.testing.assert_allclose(back.ias_kt, 95, atol=0.1)  # tenths are written
    assert "holds km/h: converted to knots" in back.notes[0]


def test_gaps_doubles_and_backward_times(tmp_path):
    """Definition: time only goes on; what does not fit is left out and counted, a pause is said."""
    rows = good_rows(90)
    rows[30:30] = [rows[10], rows[29], "999999,36.9,-45.2,3000"]
    del rows[60:83]
    track = read(csv_of(tmp_path / "x.csv", rows))
    assert len(track) == 90 - 23
    assert track.notes == (
        "3 samples with a repeated or backward time left out.",
        "1 gap in the recording, the first at 56 s, the longest 24 s.",
    )


def test_bad_cells_and_spikes(tmp_path):
    """Definition: unreadable rows, places without a fix and jumps no aircraft makes are left out and counted."""
    rows = good_rows(90)
    rows[5], rows[6], rows[7] = "five,36.9,-45.2,3000", "6,,-45.2,3000", "7,0,0,0"
    rows[8], rows[40] = "8,91,-45.2,3000", "40,38.0,-45.2,3000"
    track = read(csv_of(tmp_path / "x.csv", rows))
    assert len(track) == 85
    assert track.notes == (
        "1 row without a readable time left out.",
        "3 samples without a usable position or altitude left out.",
        "1 sample far off the line of the others left out.",
    )


def test_columns_that_hold_nothing_or_nonsense(tmp_path):
    """Definition: an optional column without values counts as missing; single nonsense values as empty."""
    rows = [f"{row},,{'900' if at == 3 else '90'},FROM,x" for at, row in enumerate(good_rows())]
    header = "time_s,lat_deg,lon_deg,alt_ft,dme_nm,ias_kt,flag_1,fuel"
    track = read(csv_of(tmp_path / "x.csv", rows, header))
    assert track.columns == ("time_s", "lat_deg", "lon_deg", "alt_ft", "ias_kt", "flag_1")
    assert np.isnan(track.ias_kt[3])
    assert np.nanmax(track.ias_kt) == 90
    assert (track.flag_1 == -1).all()
    assert track.notes == ("Columns not used: fuel.", "ias_kt: 1 value outside 0 to 600 ignored.")


@pytest.mark.parametrize("ending", [".gpx", ".kml", ".csv"])
def test_cut_off_files_keep_their_readable_part(tmp_path, ending):
    """Definition: a recording that ends in the middle is read up to there, and the debrief is told."""
    whole = write(a_track(300), tmp_path / f"whole{ending}").read_bytes()
    cut = tmp_path / f"cut{ending}"
    cut.write_bytes(whole[: int(len(whole) * 0.8)])
    track = read(cut)
    assert 150 < len(track) < 300
    assert "cut off" in track.notes[0]


def test_tail_of_zeros(tmp_path):
    """Definition: what a crashed machine leaves (zeros at the end) costs nothing of what stands before."""
    path = csv_of(tmp_path / "x.csv", good_rows(60))
    with path.open("r+b") as stream:
        stream.truncate(1_000_000_000)
    track = read(path)
    assert len(track) == 60
    assert "bytes that are no text" in track.notes[0]


# --- packed ----------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", [".csv", ".gpx", ".kml"])
def test_packed_recordings_are_read_as_they_are(tmp_path, ending):
    """Definition: what websites and mail programs pack, and what a Mac packs beside it, needs no unpacking."""
    plain = write(a_track(), tmp_path / f"flight{ending}")
    text, here = plain.read_bytes(), read(plain)
    files = {f"a/flight{ending}": text, f"__MACOSX/a/._flight{ending}": "x", "read me.html": "<p>"}
    (tmp_path / f"gz{ending}.gz").write_bytes(gzip.compress(text, mtime=0))
    (tmp_path / "zip.zip").write_bytes(zipped(files))
    (tmp_path / "kmz.kmz").write_bytes(zipped({f"doc{ending}": text}))
    for name in (f"gz{ending}.gz", "zip.zip", "kmz.kmz"):
        there = read(tmp_path / name)
        assert np.array_equal(there.time_s, here.time_s)
        assert np.array_equal(there.alt_ft, here.alt_ft)
        assert there.name == name.partition(".")[0] + ending


@pytest.mark.parametrize("code", ["utf-16", "utf-16-be"])
def test_unicode_text_of_a_spreadsheet(tmp_path, code):
    """Definition: two bytes a letter, with the mark at the beginning that says so."""
    plain = csv_of(tmp_path / "flight.csv", good_rows())
    mark = "\ufeff" if code == "utf-16-be" else ""
    (tmp_path / "wide.txt").write_bytes((mark + plain.read_text("utf-8").replace(",", "\t")).encode(code))
    assert np.array_equal(read(tmp_path / "wide.txt").alt_ft, read(plain).alt_ft)


# --- refused in one sentence -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("x.csv", b"", "is empty"),
        ("x.csv", b"\n\n# only remarks\n", "is empty"),
        ("x.csv", b"<gpx></gpx>", "holds XML, not CSV"),
        ("x.csv", b"hello\nworld\n", "names no known column: expected at least time_s, lat_deg, lon_deg, alt_ft"),
        ("x.csv", b"time_s,lat_deg,alt_ft\n1,2,3\n", "has no column lon_deg: expected at least"),
        ("x.csv", b"time_s,lat_deg,lon_deg,alt_ft\n", "0 of 0 rows begin with a readable time"),
        ("x.csv", b"time_s,lat_deg,lon_deg,alt_ft\n1,2,3,4\n2,3,4,5\n", "2 of 2 samples can be used: at least 10"),
        ("x.csv", b"\0\1\2" * 99, "begins with bytes that are no text"),
        ("x.csv", b"a" * 9999, "begins with a line longer than 4,096 characters"),
        ("x.csv", b'time_s,lat_deg,lon_deg,alt_ft\n"' + b"1\n" * 199_999, "a quotation mark is open"),
        ("x.gpx", b"", "is empty"),
        ("x.gpx", b"hello", "is not a GPX or KML file"),
        ("x.gpx", b"<html><body/></html>", "is not a GPX or KML file"),
        ("x.gpx", b"<gpx><wpt lat='1' lon='2'/></gpx>", "holds no track points"),
        ("x.gpx", b"<gpx><trk><trkseg><trkpt lat='1' lon='2'><ele>3</ele></trkpt></trkseg>", "carry no times"),
        ("x.gpx", b"<gpx><trk><trkseg><trkpt lat='1' lon='2'/></trkseg></trk></gpx>", "carry no altitudes"),
        ("x.gpx", b"<gpx><trk><trkseg><trkpt", "is damaged at line 1 before the first point"),
        ("x.kml", b"<kml><LineString><coordinates>1,2,3</coordinates></LineString></kml>", "carry no times"),
        ("x.kml", b"<a>" * 100, "nests deeper than any track file"),
        ("x.kmz", b"PK", "is damaged and cannot be unpacked: fetch it again"),
        ("x.csv.gz", b"time_s,lat_deg", "is damaged and cannot be unpacked"),
        (
            "x.csv.gz",
            gzip.compress(b"time_s,lat_deg,lon_deg,alt_ft\n1,2,3,4\n" * 999, mtime=0)[:-12],
            "is damaged and cannot be unpacked",
        ),
        ("x.gz", gzip.compress(b"1,2", mtime=0), "no ending is not a known format"),
        ("x.zip", zipped({}), "holds no recording: unpack it"),
        ("x.zip", zipped({"a.csv": "", "b.gpx": ""}), "holds 2 recordings: unpack it"),
        ("x.zip", zipped({"a.csv": ""}, locked=True), "is locked or packed in a way of its own: unpack it, and give"),
        ("x.fit", b"", ".fit is not a known format: expected .csv, .gpx, .kml"),
        ("x", b"", "no ending is not a known format"),
    ],
)
def test_refusals(tmp_path, name, content, reason):
    """Definition: what cannot be read is refused in one sentence that says what was expected."""
    (tmp_path / name).write_bytes(content)
    assert reason in refusal(tmp_path / name)


def test_missing_file_and_folder(tmp_path):
    """Definition: a wrong path is said as such."""
    assert "cannot be opened (No such file or directory)" in refusal(tmp_path / "none.csv")
    (tmp_path / "folder.csv").mkdir()
    assert "is not a file" in refusal(tmp_path / "folder.csv")


def test_time_that_stands_still(tmp_path):
    """Definition: most samples must be in time order, or nothing can be told about speed."""
    rows = ["5,36.9,-45.2,3000"] * 60
    assert "time runs backwards or stands still in 59 of 60 samples" in refusal(csv_of(tmp_path / "x.csv", rows))


BILLION_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {chr(98 + at)} "{f"&{chr(97 + at)};" * 10}">' for at in range(9))
    + "]><gpx><trk><trkseg><trkpt lat='1' lon='2'><ele>&j;</ele></trkpt></trkseg></trk></gpx>"
)
OUTSIDE = '<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/passwd">]><kml><when>&x;</when></kml>'
PARAMETER = '<!DOCTYPE gpx [<!ENTITY % x SYSTEM "file:///etc/passwd"> %x;]><gpx/>'


@pytest.mark.parametrize("text", [BILLION_LAUGHS, OUTSIDE, PARAMETER])
@pytest.mark.parametrize("ending", [".gpx", ".kml"])
def test_entity_bombs(tmp_path, text, ending):
    """Definition: a document that declares entities is refused before anything is expanded."""
    path = tmp_path / f"bomb{ending}"
    path.write_text(text, encoding="utf-8")
    tracemalloc.start()
    assert "declares a document type or entities" in refusal(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 2_000_000  # bytes; the bomb would unfold to 2 GB


@pytest.mark.parametrize("ending", [".csv", ".gpx", ".kml"])
@pytest.mark.parametrize("begin", [b"", b"time_s,lat_deg,lon_deg,alt_ft\n", b"<gpx><trk><trkseg>", b"<kml>\n"])
def test_a_gigabyte_of_noise(tmp_path, ending, begin):
    """Definition: 1 GB of nothing is refused at once, in little memory."""
    path = tmp_path / f"noise{ending}"
    noise = np.random.default_rng(1).integers(0, 256, 1_000_000, dtype=np.uint8).tobytes()
    with path.open("wb") as stream:
        stream.write(begin + noise)
        stream.truncate(1_000_000_000)
    tracemalloc.start()
    refusal(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 3_000_000  # bytes


@pytest.mark.parametrize(
    ("ending", "begin", "unit"),
    [
        (".csv", b"time_s,lat_deg,lon_deg,alt_ft\n", b"what,is,this,row\n"),
        (".gpx", b"<gpx>", b"<wpt lat='1' lon='2'></wpt>"),
        (".gpx", b"<gpx><trk><trkseg><trkpt lat='1' lon='2'>", b"<ele>3</ele>"),
        (".kml", b"<kml><Track>", b"<when>2026-01-01T00:00:00Z</when>"),
        (".kml", b"<kml>", b"<name>x</name> and text"),
    ],
)
def test_well_formed_floods(tmp_path, monkeypatch, ending, begin, unit):
    """Definition: an endless well-formed file is left at the bound, in little memory (the bound shrunk for speed)."""
    monkeypatch.setattr(tracklog, "_MOST_BYTES", 1_000_000)
    monkeypatch.setattr(tracklog, "_MOST_POINTS", 2_000)
    path = tmp_path / f"flood{ending}"
    path.write_bytes(begin + unit * (2_000_000 // len(unit)))
    tracemalloc.start()
    refusal(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 900_000  # bytes: less than what was looked at


@pytest.mark.parametrize("ending", [".csv", ".gpx", ".kml"])
def test_very_long_recordings_keep_their_first_part(tmp_path, monkeypatch, ending):
    """Definition: more samples than are kept cost the rest, and the track says so."""
    monkeypatch.setattr(tracklog, "_MOST_POINTS", 150)
    track = read(write(a_track(400), tmp_path / f"long{ending}"))
    assert len(track) == 150
    assert track.notes == ("Only the first 150 samples were read; the rest of the file was left out.",)


def test_local_time_says_its_zone(tmp_path):
    """Definition: a clock five hours ahead of UTC; heights of an export that does not say where they come from."""
    rows = "\n".join(f"2026-06-03 19:42:{second:02d},36.5{second:02d},-46.99,4780" for second in range(0, 60, 5))
    path = tmp_path / "export.csv"
    path.write_text(f"Local time (UTC+5),Lat,Lon,Alt ft\n{rows}\n", encoding="utf-8")
    track = tracklog.read(path)
    assert track.start_utc.hour == 14
    assert track.height_kind == "unknown"


@pytest.mark.parametrize(
    ("columns", "row"),
    [
        ("UTC Date,UTC Time", "28/05/2026,19:42:{:02d}"),
        ("Time (hh:mm:ss),Date", "19:42:{:02d},5/28/2026"),
        ("GMT Date,GMT Time", "28.05.2026,19:42:{:02d}"),
        ("Local Time,Local Date (dd/mm/yy)", "07:42:{:02d} PM,28/05/2026"),
    ],
)
def test_date_and_time_may_have_a_column_each(tmp_path, columns, row):
    """Definition: one moment, its date with the day or the month first, the columns in either order."""
    rows = "\n".join(f"{row.format(second)},36.5{second:02d},-46.99,4780" for second in range(0, 60, 5))
    path = tmp_path / "export.csv"
    path.write_text(f"{columns},Lat,Lon,Alt ft\n{rows}\n", encoding="utf-8")
    track = tracklog.read(path)
    assert track.start_utc.isoformat() == "2026-05-28T19:42:00+00:00"
    assert len(track) == 12
