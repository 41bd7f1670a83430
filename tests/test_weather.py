"""Days and winds."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import BadData, OutOfRange
from needlework.trade.angles import difference_deg
from needlework.world import weather
from needlework.world.datafiles import datasets_dir
from needlework.world.weather import Wind

DAYS = """
still     0/0     0/0     0/0     15   1013
breeze    270/10  280/18  285/22  12   1008
tailwind  040/14  030/24  025/30  14   1019
crosser   300/15  310/28  315/35  9    1001
shear     180/6   240/25  250/38  11   996
frost     350/8   340/15  330/20  -18  1031
"""


@pytest.mark.parametrize("row", DAYS.strip().splitlines())
def test_preset_days(row):
    """The course's scenario, s. 5: the days, with the surface at the field."""
    name, *winds, temperature_c, setting_hpa = row.split()
    made = weather.day(name, field_elevation_ft=66)
    assert (made.temperature_c, made.setting_hpa) == (float(temperature_c), float(setting_hpa))
    for alt_ft, text in zip((66, 3000, 6000), winds, strict=True):
        direction, speed = (float(part) for part in text.split("/"))
        assert made.wind.at(alt_ft) == pytest.approx((direction, speed))
    assert made.runway == "in time"


def test_runway_days():
    """The course's scenario, s. 5: Blind never shows the runway, Late after the VDP, on any wind."""
    assert set(weather.names()) == {row.split()[0] for row in DAYS.strip().splitlines()} | {"blind", "late"}
    assert weather.day("Blind").runway == "never"
    assert weather.day("late").runway == "after the VDP"
    late = weather.day("late", wind_of="Frost", field_elevation_ft=912)
    assert late.wind == weather.day("frost", field_elevation_ft=912).wind
    assert (late.temperature_c, late.runway, late.name) == (-18, "after the VDP", "Late")


def test_between_the_heights():
    """Common practice, no source: direction and speed each in proportion, the shorter way round."""
    shear = weather.day("shear").wind
    assert shear.at(1500) == pytest.approx((210, 15.5))  # half way from 180/6 to 240/25
    direction, speed = shear.at([-500, 0, 1000, 4500, 6000, 20000])
    assert direction == pytest.approx([180, 180, 200, 245, 250, 250])
    assert speed == pytest.approx([6, 6, 6 + 19 / 3, 31.5, 38, 38])
    across_north = Wind((0, 1000), (350, 20), (10, 10))
    assert across_north.at([250, 500, 750])[0] == pytest.approx([357.5, 5, 12.5])
    assert Wind((0, 1000), (90, 270), (10, 10)).at(500)[0] == pytest.approx(180)  # opposite: to the right
    calm_below = Wind((0, 1000, 2000), (0, 240, 260), (0, 10, 10))
    assert calm_below.at([0, 500, 1500])[0] == pytest.approx([240, 240, 250])
    assert calm_below.at(500)[1] == 5


def test_east_and_north():
    """Definition: wind from the west moves the air to the east, from the north to the south."""
    assert weather.parse("270/20").east_north_kt(1000) == pytest.approx((20, 0), abs=1e-12)  # float rounding
    east, north = weather.parse("360/20").east_north_kt([0, 5000])
    assert east == pytest.approx([0, 0], abs=1e-12)
    assert north == pytest.approx([-20, -20])


@given(st.integers(0, 10**9), st.floats(-1000, 20000))
def test_components_agree_with_direction_and_speed(seed, alt_ft):
    """Independent method: length and direction of the vector are the speed and the reciprocal."""
    wind = weather.drawn(seed).wind
    direction, speed = wind.at(alt_ft)
    east, north = wind.east_north_kt(alt_ft)
    assert np.hypot(east, north) == pytest.approx(speed, abs=1e-9)
    if speed > 0.1:
        back = np.rad2deg(np.arctan2(-east, -north))
        assert difference_deg(from_deg=direction, to_deg=back) == pytest.approx(
            0, abs=1e-6
        )  # float rounding of a small vector


def test_gusts():
    """Definition: gusts swing about the mean up to the peak, fade with height, repeat with the seed."""
    wind = weather.day("crosser", seed=4).wind
    assert wind.gust_kt == 22
    time_s = np.arange(0, 3600, 0.5)
    direction, speed = wind.at(0, time_s)
    assert speed.shape == time_s.shape
    assert speed.max() <= 22 and speed.min() >= 8  # mean 15, swing 7
    assert speed.max() > 19 and speed.min() < 11
    assert speed.mean() == pytest.approx(15, abs=0.2)  # an hour is hundreds of gusts
    assert np.all(np.asarray(direction) == 300)
    assert wind.at(3000, time_s)[1] == pytest.approx(np.full(time_s.shape, 28))
    half = wind.at(1500, time_s)[1] - wind.at(1500)[1]
    assert half == pytest.approx((speed - 15) / 2)
    assert np.array_equal(weather.day("crosser", seed=4).wind.at(0, time_s)[1], speed)
    assert not np.allclose(weather.day("crosser", seed=5).wind.at(0, time_s)[1], speed)
    alt_ft = np.zeros((3, 1))
    assert wind.at(alt_ft, np.zeros(4))[1].shape == (3, 4)
    assert weather.day("breeze").wind.at(0, 7.0) == weather.day("breeze").wind.at(0)
    assert weather.parse("240/25g35").at(0, time_s)[1].max() > 30


@given(st.one_of(st.integers(), st.text(max_size=8)))
def test_drawn_days(seed):
    """The course's scenario, s. 5: 0 to 40 kt, up to 15 kt and 40 degrees of change with height."""
    day = weather.drawn(seed, field_elevation_ft=905)
    assert day == weather.drawn(seed, field_elevation_ft=905)
    wind = day.wind
    assert wind.heights_ft == (905, 3000, 6000)
    assert all(0 <= speed <= 40 and speed == round(speed) for speed in wind.speed_kt)
    assert max(wind.speed_kt) - min(wind.speed_kt) <= 15
    turned = [abs(difference_deg(from_deg=wind.from_deg_true[0], to_deg=other)) for other in wind.from_deg_true]
    assert max(turned) <= 40
    assert -15 <= day.temperature_c <= 30 and 980 <= day.setting_hpa <= 1035


def test_drawn_days_differ_and_reach_the_limits():
    """Definition: the draws cover their range, and one known draw stays what it was."""
    days = [weather.drawn(seed) for seed in range(400)]
    surface = [day.wind.speed_kt[0] for day in days]
    assert min(surface) <= 1 and max(surface) >= 39
    assert {int(day.wind.from_deg_true[0] // 45) for day in days} == set(range(8))
    change = [day.wind.speed_kt[2] - day.wind.speed_kt[0] for day in days]
    assert min(change) <= -14 and max(change) >= 14
    assert len({day.wind for day in days}) == 400
    # Random.random() is promised to be the same on every Python: students' numbers must not move.
    assert weather.drawn(3).wind == Wind((0, 3000, 6000), (136, 131, 123), (34, 31, 26))


@pytest.mark.parametrize(
    ("text", "direction", "speed", "gust"),
    [
        ("240/25", 240, 25, None),
        (" 5 / 7 kt ", 5, 7, None),
        ("360/0", 0, 0, None),
        ("240°T/25G35kt", 240, 25, 35),
        ("Calm", 0, 0, None),
    ],
)
def test_winds_as_written(text, direction, speed, gust):
    """Definition: where it comes from in degrees true, a stroke, knots."""
    wind = weather.parse(text)
    assert wind.at(4000) == (direction, speed)
    assert wind.gust_kt == gust


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", 'The wind "" cannot be read: expected where it comes from in degrees true, a stroke and knots'),
        ("24025", "cannot be read"),
        ("240-25", "cannot be read"),
        ("-10/25", "cannot be read"),
        ("2.5/25", "cannot be read"),
        ("٢٤٠/25", "cannot be read"),
        ("361/10", 'The wind "361/10" comes from 361 degrees: expected 0 to 360, before the stroke'),
        ("025/240", "is more than 200 knots: expected the direction first, then the speed"),
        ("240/25G20", "gusts no more than it blows: expected the higher number after the G"),
        ("x" * 5000, "..."),
        (None, "cannot be read"),
        (240, "cannot be read"),
    ],
)
def test_winds_that_cannot_be_read(text, sentence):
    """Definition: one sentence with what was given and what was expected."""
    with pytest.raises(BadData) as caught:
        weather.parse(text)
    assert sentence in str(caught.value)
    assert len(str(caught.value)) < 220 and "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (((0, 0), (10, 10), (5, 5)), "do not rise: expected the lowest first"),
        (((0,), (10, 10), (5, 5)), "the same number of heights, directions and speeds"),
        (((), (), ()), "the same number of heights, directions and speeds"),
        (((0,), (400,), (5,)), "from_deg_true[0] = 400 deg is outside 0 to 360 deg: is this the speed?"),
        (((0,), (40,), (-5,)), "speed_kt[0] = -5 kt is outside 0 to 200 kt"),
        (((0,), (40,), (5,), 4), "gust_kt = 4 kt is outside 5 to 200 kt: gusts exceed the surface wind"),
        (((90000,), (40,), (5,)), "heights_ft[0] = 90,000 ft is outside"),
    ],
)
def test_impossible_winds(arguments, sentence):
    """Definition: a wind that cannot blow is refused when it is made."""
    with pytest.raises(OutOfRange) as caught:
        Wind(*arguments)
    assert sentence in str(caught.value)


def test_altitudes_outside():
    """Definition: nan and altitudes out of range are refused; the limits are not."""
    wind = weather.parse("240/25")
    assert wind.at([-1500, 60000])[1] == pytest.approx([25, 25])
    for wrong in (np.nan, -1501, 60001):
        with pytest.raises(OutOfRange, match="alt_ft = "):
            wind.at(wrong)
    with pytest.raises(OutOfRange, match="time_s = nan"):
        wind.at(0, np.nan)
    with pytest.raises(dataclasses.FrozenInstanceError):
        wind.gust_kt = 3


@pytest.mark.parametrize(
    ("change", "sentences"),
    [
        (("temperature_c = 12\n", ""), ["breeze.temperature_c is missing: expected temperature at the field"]),
        (("temperature_c = 12", "temperature_c = 120"), ["breeze.temperature_c = 120 C is outside -60 to 55 C: is"]),
        (('"270/10"', '"270-10"'), ['breeze.surface: The wind "270-10" cannot be read']),
        (
            ("setting_hpa = 1008", "seting_hpa = 29.92"),
            ["breeze.seting_hpa is not a known field: did you mean"],
        ),
        (("setting_hpa = 1008", 'runway = "soon"'), ['breeze.runway = "soon": expected "in time"']),
        (("[breeze]", "[breeze]\nwind_of = 'still'"), ["breeze has wind_of and figures of its own"]),
    ],
)
def test_faults_of_a_days_file(tmp_path, change, sentences):
    """Definition: a fault in the file is told with its field."""
    text = (datasets_dir() / "days.toml").read_text("utf-8")
    assert text.count(change[0]) == 1
    own = tmp_path / "own.toml"
    own.write_text(text.replace(*change), "utf-8")
    with pytest.raises(BadData) as caught:
        weather.day("breeze", path=own)
    for sentence in sentences:
        assert sentence in str(caught.value)
    assert str(caught.value).startswith("own.toml")


def test_unknown_days():
    """Definition: the nearest known name is offered."""
    with pytest.raises(BadData, match=r'There is no day "breze" in days.toml: did you mean breeze\?'):
        weather.day("breze")
    with pytest.raises(BadData, match=r'There is no day "x" in days.toml: expected blind, breeze'):
        weather.day("blind", wind_of="x")


def test_in_words():
    """Definition: true directions say so."""
    assert weather.day("crosser").wind.text == (
        "300°T/15 kt gusting 22 at the surface, 310°T/28 kt at 3,000 ft, 315°T/35 kt at 6,000 ft"
    )
    assert weather.parse("000/8").text == "360°T/8 kt"
    assert weather.parse("calm").text == "calm"
