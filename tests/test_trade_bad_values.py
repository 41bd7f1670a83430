"""Every function of the trade meets what a learner may hand it: one plain sentence comes back, or a value."""

import importlib
import inspect
import typing
from datetime import date
from fractions import Fraction
from pathlib import Path

import needlework
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from needlework.basis.errors import NeedleworkError
from needlework.basis.hints import likely
from needlework.trade import angles, geodesy, holding, ident, intercept, missed, turns, wind

MODULES = sorted(p.stem for p in (Path(needlework.__file__).parent / "trade").glob("*.py") if p.stem != "__init__")
WORDS = {
    "side": "right", "turn": "left", "kind": "airway", "service_class": "H", "channel": "93X", "letters": "OVK",
    "vor_heard": "OVK", "dme_heard": "", "vor": "ident", "dme": "test", "text": "... ---", "reference": "T",
    "entry": "teardrop", "flag_before": "TO", "flag_after": "FROM", "mode": "to", "withdrawn": False, "reply": True,
    "references": ("runway",), "actions": ("power", "pitch"), "legs": 3, "cycles": 4, "seed": 1, "factor": 3.0,
    "conditions": missed.Conditions(560, 560, 62, 0.4, 1000, 1500),
}  # fmt: skip
WORDS_OF = {
    "turns.bank_rule_deg.rule": "tenth plus 7", "turns.roll_out_lead_deg.rule": "third",
    "intercept.intercept_angle_deg.rule": "double", "altimetry.tas_rule_kt.rule": "5 kt",
    "holding.max_ias_kt.rule": "210 icon", "descent.to_go_nm.direction": "out", "descent.dme_at_nm.direction": "in",
    "holding.outbound_end_nm.direction": "to", "holding.lap.outbound_deg": 230.0,
    "intercept.intercept_point_nm.angle_deg": 60.0, "units.minutes_from_mm_ss.text": "4:18",
}  # fmt: skip
NUMBERS = {
    "_kt": 100.0, "_deg": 30.0, "_nm": 8.0, "_ft": 1500.0, "_s": 60.0, "_min": 2.0, "_fpm": 500.0, "_hz": 8000.0,
    "_mhz": 114.6, "_hpa": 1000.0, "_inhg": 29.5, "_c": -5.0, "_m": 500.0, "_km": 9.0, "_deg_s": 3.0, "_ft_nm": 300.0,
    "_wpm": 7.0, "_percent": 5.0, "_year": 2026.0, "_days": 3.0, "_m_s": 50.0, "_deg_true": 30.0,
}  # fmt: skip
NUMBERS_OF = {
    "half_angle_deg": 45.0, "full_scale_deg": 10.0, "second_relative_deg": 60.0, "radius_nm": 0.6, "wind_kt": 15.0,
    "crossing_ft": 50.0, "angle_deg": 3.0, "to_go_nm": [9.0, 4.0], "floor_ft": [1500.0, 1200.0], "leg_dme_nm": 4.0,
    "start_ft": 2500.0, "end_ft": 600.0, "allowance_ft": 50.0, "remote_ft": 70.0, "lag_s": 3.0, "delay_s": 1.0,
    "low_ft": 0.0, "high_ft": 3000.0, "late_nm": 1.0, "sector_from_deg": [0.0], "sector_to_deg": [360.0],
    "sector_alt_ft": [3000.0], "inside_deg": 5.0, "step_deg": 10.0, "amplitude_deg": 1.0, "half_deg": 5.0,
    "lead_deg": 5.0, "pressure_alt_ft": 6000.0, "tone_hz": 1020.0, "memory_s": 10.0, "first_deg": 20.0,
    "to_radial_deg": 70.0, "wanted_radial_deg": 60.0, "track_deg": 200.0, "climb_fpm": 600.0, "height_ft": 3000.0,
}  # fmt: skip


def _public():
    for name in MODULES:
        module = importlib.import_module(f"needlework.trade.{name}")
        for key, function in vars(module).items():
            if inspect.isfunction(function) and not key.startswith("_") and function.__module__ == module.__name__:
                yield f"{name}.{key}", function


PUBLIC = dict(_public())
SLOTS = [(key, name) for key, function in PUBLIC.items() for name in inspect.signature(function).parameters]


def _usual(key, name):
    """A value that a function takes for one of its parameters."""
    if f"{key}.{name}" in WORDS_OF or name in WORDS:
        return WORDS_OF.get(f"{key}.{name}", WORDS.get(name))
    if name in NUMBERS_OF:
        return NUMBERS_OF[name]
    if name in ("direction", "rule"):
        return "inbound"
    return next(NUMBERS[end] for end in sorted(NUMBERS, key=len, reverse=True) if name.endswith(end))


def _call(key, **given):
    """Call a function by name, or by place where it has one parameter only."""
    usual = {name: _usual(key, name) for name in inspect.signature(PUBLIC[key]).parameters}
    return PUBLIC[key](**{**usual, **given})


def _sound(key, given):
    """Demand of a call a value, or an error that is one sentence on one line."""
    try:
        _call(key, **given)
    except NeedleworkError as error:
        text = str(error)
        assert 10 < len(text) < 400, text
        assert "\n" not in text
        assert "  " not in text
        assert "array(" not in text  # nothing of the library below


HOLE = np.ma.array([90.0, 100.0], mask=[False, True])
NASTY = [
    None, True, "five", "", b"five", [], [[]], [None], ["five"], [[1.0], [2.0, 3.0]], {}, {"a": 1.0}, {1.0}, object(),
    10**400, -(10**400), 10**5000, [10**400, 1.0], Fraction(10**400, 3), Fraction(1, 3), 1j, [1j],
    float("nan"), float("inf"), [1.0, float("nan")], np.nan, np.float16(3.5), np.longdouble("1e4000"),
    HOLE, np.ma.masked, np.ma.array(5.0, mask=True), np.array(["a", "b"]), np.array([date(2026, 1, 1)]),
    np.zeros((2, 3)), np.zeros((3, 2, 0)), np.arange(7.0), [3.0] * 5, range(4), lambda: 1.0, 1e308, -1e308, 5e-324,
    -0.0, 0, [0.0, 360.0], 3600.0, -3600.0, [3600.0, -3600.0], 3600.0000001, "x" * 5000, "a\nb", ["a\nb"],
    np.datetime64("2026-01-01"), date(2026, 11, 25), date(9999, 12, 31), type, slice(1, 2), [True], np.bool_(True),
]  # fmt: skip


@pytest.mark.parametrize("key", PUBLIC)
def test_the_usual_values_are_taken(key):
    """Definition: what this test starts from is right, so a refusal below is for the odd value."""
    assert _call(key) is not Ellipsis


@pytest.mark.parametrize("key", PUBLIC)
def test_odd_values_get_one_sentence(key):
    """Definition: whatever stands in one place of a call, an error is one sentence that a learner can read."""
    for name in inspect.signature(PUBLIC[key]).parameters:
        for nasty in NASTY:
            _sound(key, {name: nasty})


@pytest.mark.parametrize("key", [key for key in PUBLIC if len(inspect.signature(PUBLIC[key]).parameters) > 1])
def test_lists_of_unlike_length(key):
    """Definition: two lists that do not fit together are told by name, never by an error of the library below."""
    names = list(inspect.signature(PUBLIC[key]).parameters)
    for at, name in enumerate(names):
        for other in names[at + 1 :]:
            value, more = _usual(key, name), _usual(key, other)
            if isinstance(value, (int, float)) and isinstance(more, (int, float)) and not isinstance(value, bool):
                _sound(key, {name: [value] * 2, other: [more] * 3})
                _sound(key, {name: [value], other: np.full((2, 3), more)})


ANY_NUMBER = st.floats(allow_nan=True, allow_infinity=True) | st.integers() | st.floats(-4000, 4000)
ANYTHING = ANY_NUMBER | st.none() | st.booleans() | st.text(max_size=5) | st.lists(ANY_NUMBER, max_size=4)


@settings(max_examples=1500, deadline=2000)
@given(st.sampled_from(SLOTS), ANYTHING)
@example(("intercept.bracketing_deg", "course_deg"), 3590.0)
@example(("intercept.bracketing_deg", "tas_kt"), 1e400)
def test_anything_in_any_place(slot, value):
    """Definition: as above, for values nobody thought of."""
    key, name = slot
    _sound(key, {name: value})


def test_two_lists_are_named():
    """Definition: the sentence names the lists that do not fit, with their lengths, and leaves out the others."""
    with pytest.raises(
        NeedleworkError,
        match=r"^Lists do not fit together: course_deg \(2\) and wind_kt \(3\): expected single numbers, or lists of "
        r"the same length$",
    ):
        wind.correction_deg(course_deg=[1, 2], tas_kt=100, wind_from_deg=0, wind_kt=[1, 2, 3])
    with pytest.raises(NeedleworkError, match=r"tas_kt \(2 by 2\) and rate_deg_s \(3\)"):
        turns.turn_radius_nm(tas_kt=[[90, 91], [92, 93]], rate_deg_s=[1, 2, 3])
    with pytest.raises(NeedleworkError, match=r"lat_deg \(2\) and dist_nm \(3\)"):
        geodesy.direct(lat_deg=[1, 2], lon_deg=0, bearing_deg_true=0, dist_nm=[1, 2, 3])


def test_one_number_is_meant():
    """Definition: a list of one is no number; the message shows it as it was written."""
    with pytest.raises(NeedleworkError, match=r"^first_deg = \[20.0\] is a list: expected one number$"):
        intercept.bracketing_deg(course_deg=0, tas_kt=100, wind_from_deg=90, wind_kt=20, first_deg=[20])
    with pytest.raises(NeedleworkError, match=r"^heading_deg = None is not a number: expected -3,600 to 3,600 deg$"):
        holding.entries(heading_deg=None, inbound_course_deg=0, side="right")
    with pytest.raises(NeedleworkError, match=r"^inbound_course_deg = \[90.0\] is a list: expected one number$"):
        holding.entries(heading_deg=0, inbound_course_deg=[90], side="right")
    with pytest.raises(NeedleworkError, match=r"^conditions = None is not what is known at minimums"):
        missed.decide(None)
    with pytest.raises(NeedleworkError, match=r"^references = None is not a list of words"):
        missed.reference_enough(references=None, height_ft=100)
    with pytest.raises(NeedleworkError, match=r"^in_position = None is neither yes nor no"):
        missed.decide(missed.Conditions(560, 560, 62, 0.4, 1000, 1500, in_position=None))
    with pytest.raises(NeedleworkError, match=r"^letters = 5 cannot be sent"):
        ident.code(5)


def test_a_hole_in_a_list():
    """Definition: a masked value is no number, and nothing waits for it."""
    with pytest.raises(NeedleworkError, match=r"^tas_kt = .* is not a number: expected 40 to 400 kt$"):
        intercept.bracketing_deg(course_deg=0, tas_kt=np.ma.masked, wind_from_deg=90, wind_kt=20)


@pytest.mark.parametrize("value", [10**400, [1.0, 10**400], Fraction(10**400, 3)])
def test_more_digits_than_a_number_holds(value):
    """Definition: it is outside every range, and told in a sentence of ordinary length."""
    with pytest.raises(NeedleworkError, match=r"^dist_nm(\[1\])? = inf NM is outside 0 to 11,000 NM$"):
        geodesy.direct(lat_deg=0, lon_deg=0, bearing_deg_true=0, dist_nm=value)


@pytest.mark.parametrize(
    ("angle", "wanted"),
    [
        (np.nextafter(180.0, 181.0), np.nextafter(180.0, 181.0) - 360.0), (np.nextafter(180.0, 0.0), 180.0),
        (180.0, 180.0), (-180.0, 180.0), (540.0, 180.0), (-540.0, 180.0), (np.nextafter(-180.0, -181.0), 180.0),
        (np.nextafter(-180.0, 0.0), -180.0), (3600.0, 0.0), (-3599.0, 1.0), (190.0, -170.0),
    ],
)  # fmt: skip
def test_next_to_half_a_circle(angle, wanted):
    """Definition: -180 is excluded, 180 included, also for the number next to either."""
    found = angles.wrap180(angle)
    assert -180.0 < found <= 180.0
    assert found == pytest.approx(wanted, abs=1e-13)  # the last bit of 180


@given(st.floats(-3600, 3600))
def test_every_angle_is_wrapped_exactly(angle):
    """Independent method: Fractions of whole circles, without rounding."""
    exact = Fraction(angle) % 360
    exact = exact - 360 if exact > 180 else exact
    found = Fraction(angles.wrap180(angle))
    assert -180 < found <= 180
    assert min(abs(found - exact), 360 - abs(found - exact)) <= Fraction(1, 10**13)


@pytest.mark.parametrize(
    ("slip", "value", "low", "high", "unit", "wanted"),
    [
        ("is this a heading?", 60.1, 0.01, 60, "deg", ""),
        ("is this a heading?", 61, 0.01, 60, "deg", ""),
        ("is this a heading?", 270, 0.01, 60, "deg", "is this a heading?"),
        ("is this a heading?", 270.5, 0.01, 60, "deg", ""),
        ("is this a heading?", -5, 1, 90, "deg", ""),
        ("is this in m/s or km/h?", 25, 40, 400, "kt", "is this in m/s?"),
        ("is this in m/s or km/h?", 500, 40, 400, "kt", "is this in km/h?"),
        ("is this in m/s or km/h?", 1, 40, 400, "kt", ""),
        ("is this a distance in feet or metres?", 18520, 0, 300, "NM", "is this a distance in feet or metres?"),
        ("is this a distance in feet or metres?", 1_500_000, 0, 300, "NM", "is this a distance in feet?"),
        ("is this a distance in feet or metres?", -3, 0, 300, "NM", ""),
        ("is this in seconds?", 180, 0.05, 120, "min", "is this in seconds?"),
        ("is this in hectopascals?", 1013, 5, 33, "inHg", "is this in hectopascals?"),
        ("is this in Fahrenheit?", 86, -60, 55, "deg C", "is this in Fahrenheit?"),
        ("is this in Fahrenheit?", -80, -60, 55, "deg C", ""),
        ("is this in per cent or ft/NM?", 318, 0.5, 10, "deg", "is this in ft/NM?"),
        ("is this a frequency?", 11350, -3600, 3600, "deg", "is this a frequency?"),
        ("is this a frequency?", 4000, -3600, 3600, "deg", ""),
        ("give the rate of descent without a sign", -500, 0, 4000, "fpm", "give the rate of descent without a sign"),
        ("give the rate of descent without a sign", 5000, 0, 4000, "fpm", ""),
        ("east is positive, west is negative", 361, -360, 360, "deg", "east is positive, west is negative"),
    ],
)  # fmt: skip
def test_a_hint_fits_the_number(slip, value, low, high, unit, wanted):
    """Common practice, no source: what a number could have been meant as, by its size and how pilots write it."""
    assert likely(slip, value, low, high, unit) == wanted


def test_every_parameter_is_tried():
    """Definition: no function and no parameter of the trade is left out of this file."""
    assert len(PUBLIC) > 150
    assert len(SLOTS) > 380
    assert all(typing.get_type_hints(function, include_extras=True) for function in PUBLIC.values())
