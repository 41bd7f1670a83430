"""Turns against printed figures, identities and the rules."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import turns

TABLE = np.loadtxt(Path(__file__).parents[1] / "datasets/authorities/standard_rate.csv", delimiter=",")
FT_IN_NM = 6076.11549
AIRSPEEDS = st.floats(40, 400)
RATES = st.floats(0.01, 4.7)  # at 400 kt this takes a little less than 60 degrees of bank, the most that is allowed


def test_standard_rate_table():
    """Independent method: datasets/authorities/standard_rate.csv, worked out apart from the library."""
    tas = TABLE[:, 0]
    # Each tolerance is half a unit of the last digit in the table.
    assert turns.bank_deg(tas_kt=tas) == pytest.approx(TABLE[:, 1], abs=0.00501)
    assert turns.turn_radius_nm(tas_kt=tas) == pytest.approx(TABLE[:, 5], abs=0.0000501)
    assert turns.turn_radius_nm(tas_kt=tas) * FT_IN_NM == pytest.approx(TABLE[:, 6], abs=0.501)
    assert turns.bank_deg(tas_kt=tas, rate_deg_s=turns.HALF_RATE_DEG_S) == pytest.approx(TABLE[:, 7], abs=0.00501)
    assert turns.turn_radius_nm(tas_kt=tas, rate_deg_s=turns.HALF_RATE_DEG_S) == pytest.approx(
        TABLE[:, 8], abs=0.0000501
    )
    for column, rule in ((2, "15 percent"), (3, "tenth plus 5"), (4, "tenth plus 7")):
        assert turns.bank_rule_deg(tas_kt=tas, rule=rule) == pytest.approx(TABLE[:, column], abs=1e-9)  # float


@pytest.mark.parametrize(("bank", "radius_ft"), [(30, 4194), (20, 6654)])
def test_circling_radius(bank, radius_ft):
    """AIM-5-4-7 c 1: at 165 kt the radius is 4,194 ft at 30 degrees of bank, 6,654 ft at 20."""
    # 0.5 %: the printed constants (11.26 and 1,091) differ from the physics by that much.
    assert turns.radius_from_bank_nm(tas_kt=165, bank_deg=bank) * FT_IN_NM == pytest.approx(radius_ft, rel=0.005)


@pytest.mark.parametrize(("tas", "factor", "radius_nm"), [(375, 2, 22.51), (300, 2, 14.45)])
def test_fast_turns(tas, factor, radius_nm):
    """ANX11 Attachment A 7.4: 750 kt at 20 degrees gives 22.51 NM, 600 kt 14.45 NM."""
    # Radius goes with the square of the speed, so half the printed speed has a quarter of the radius.
    # 0.3 %: the second figure is printed that far from the physics (14.41).
    assert turns.radius_from_bank_nm(tas_kt=tas, bank_deg=20) * factor**2 == pytest.approx(radius_nm, rel=0.003)


def test_standard_rate_is_two_minutes():
    """P-1215: a full circle takes two minutes at standard rate, four at half rate."""
    assert turns.turn_time_s(turn_deg=360) == 120
    assert turns.turn_time_s(turn_deg=360, rate_deg_s=turns.HALF_RATE_DEG_S) == 240


@pytest.mark.parametrize(("turn", "seconds"), [(30, 20), (90, 60)])
def test_half_rate_time(turn, seconds):
    """P-340: two thirds of a second per degree at half rate; 30 degrees 20 s, 90 degrees 60 s."""
    assert turns.turn_time_s(turn_deg=turn, rate_deg_s=turns.HALF_RATE_DEG_S) == pytest.approx(
        seconds, abs=1e-9
    )  # float


@pytest.mark.parametrize(
    ("tas", "rule", "bank"),
    [(100, "15 percent", 15), (120, "15 percent", 18), (180, "tenth plus 7", 25), (100, "tenth plus 5", 15)],
)
def test_bank_rules(tas, rule, bank):
    """AF60 for plus 7; FAA teaching (from memory) for the other two."""
    assert turns.bank_rule_deg(tas_kt=tas, rule=rule) == pytest.approx(bank, abs=1e-9)  # float


def test_half_rate_bank_rule():
    """AF60: a twentieth of the speed plus 7: 180 kt gives 16."""
    assert turns.half_rate_bank_rule_deg(180) == 16


def test_bank_rules_against_the_physics():
    """Independent method: the exact bank; how far each rule is off, as its docstring says."""
    tas = np.linspace(60, 160, 101)
    assert np.abs(turns.bank_rule_deg(tas_kt=tas) - turns.bank_deg(tas_kt=tas)).max() < 0.5  # stated
    assert turns.bank_rule_deg(tas_kt=60, rule="tenth plus 7") - turns.bank_deg(tas_kt=60) == pytest.approx(
        3.6, abs=0.05
    )  # one decimal
    difference = turns.bank_rule_deg(tas_kt=np.array([60, 140]), rule="tenth plus 7") - turns.bank_rule_deg(
        tas_kt=np.array([60, 140])
    )
    assert difference == pytest.approx([4, 0], abs=1e-9)  # float
    assert turns.bank_rule_deg(tas_kt=100, rule="tenth plus 5") == turns.bank_rule_deg(tas_kt=100)
    assert (
        15
        <= turns.bank_deg(tas_kt=np.array([100, 120])).min()
        <= turns.bank_deg(tas_kt=np.array([100, 120])).max()
        <= 20
    )


def test_handbook_bank_range():
    """AFM p. 55: 80 to 120 kt needs about 15 to 20 degrees of bank for standard rate."""
    # 80 kt really needs 12.4; the manual rounds up to a usable range.
    assert turns.bank_deg(tas_kt=80) == pytest.approx(15, abs=3)
    assert turns.bank_deg(tas_kt=120) == pytest.approx(20, abs=3)


@pytest.mark.parametrize(("turn", "bank"), [(5, 5), (30, 30), (90, 30)])
def test_small_turns(turn, bank):
    """AFM p. 27: bank as many degrees as there are to turn, 30 at most."""
    assert turns.small_turn_bank_deg(turn) == bank


@pytest.mark.parametrize(("bank", "rule", "lead"), [(15, "third", 5), (10, "half", 5)])
def test_roll_out_lead(bank, rule, lead):
    """AFM p. 28, P-1215, P-330 for a third; FAA teaching (from memory) for half."""
    assert turns.roll_out_lead_deg(bank_deg=bank, rule=rule) == pytest.approx(lead, abs=1e-12)  # float


@pytest.mark.parametrize(
    ("tas", "rate", "radius"), [(120, 3, 0.6), (150, 3, 0.75), (250, 1.5, 2.5), (250, turns.HALF_RATE_DEG_S, 2.5)]
)
def test_radius_rule(tas, rate, radius):
    """P-871 ch. 4 (standard rate), P-1265 2-8 (half rate): half a per cent and one per cent."""
    assert turns.radius_rule_nm(tas_kt=tas, rate_deg_s=rate) == pytest.approx(radius, abs=1e-12)  # float
    # The rule is 1 / 200 where the exact factor is 1 / (60 pi).
    assert turns.radius_rule_nm(tas_kt=tas, rate_deg_s=rate) / turns.turn_radius_nm(
        tas_kt=tas, rate_deg_s=rate
    ) == pytest.approx(0.9425, abs=0.0001)


def test_radius_rule_at_30():
    """AF60: miles a minute squared over ten; ten per cent high at every speed."""
    assert turns.radius_rule_at_30_deg_nm(300) == pytest.approx(2.5, abs=1e-12)  # float
    tas = np.linspace(40, 400, 10)
    assert turns.radius_rule_at_30_deg_nm(tas) / turns.radius_from_bank_nm(tas_kt=tas, bank_deg=30) == pytest.approx(
        1.1, abs=0.005
    )


def test_the_steepest_turn():
    """Independent method: tan 60 = 1.7321; 9.80665 * 1.7321 / 0.10472 = 162.2 m/s = 315.3 kt at 6 deg/s."""
    steepest = turns.bank_deg(tas_kt=315.2, rate_deg_s=6)
    assert 59.9 < steepest <= 60
    assert turns.turn_rate_deg_s(tas_kt=315.2, bank_deg=steepest) == pytest.approx(6, rel=1e-12)  # float
    with pytest.raises(NoSolution, match=r"needs 60\.\d degrees of bank"):
        turns.bank_deg(tas_kt=[90, 315.5], rate_deg_s=6)
    gentlest = turns.bank_deg(tas_kt=40, rate_deg_s=0.01)
    assert turns.turn_rate_deg_s(tas_kt=40, bank_deg=gentlest) == pytest.approx(0.01, rel=1e-12)  # float


@given(AIRSPEEDS, RATES)
def test_bank_and_rate_undo_each_other(tas, rate):
    """Definition: bank for a rate turns at that rate, and on the same circle."""
    try:
        bank = turns.bank_deg(tas_kt=tas, rate_deg_s=rate)
    except NoSolution as refusal:
        assert tas * rate > 315.2 * 6.0  # see above
        assert "degrees of bank, more than the 60 of an instrument turn: fly slower" in str(refusal)
        return
    assert turns.turn_rate_deg_s(tas_kt=tas, bank_deg=bank) == pytest.approx(rate, rel=1e-9)  # float
    assert turns.radius_from_bank_nm(tas_kt=tas, bank_deg=bank) == pytest.approx(
        turns.turn_radius_nm(tas_kt=tas, rate_deg_s=rate), rel=1e-9
    )  # float


@given(AIRSPEEDS, RATES)
def test_circle_is_flown_at_the_speed(tas, rate):
    """Definition: once round the circle is the way flown in the time of the turn."""
    way_nm = tas * turns.turn_time_s(turn_deg=360, rate_deg_s=rate) / 3600
    assert way_nm == pytest.approx(2 * np.pi * turns.turn_radius_nm(tas_kt=tas, rate_deg_s=rate), rel=1e-12)  # float


def test_arrays_broadcast():
    """Definition: arrays broadcast, scalars give a float."""
    assert turns.turn_radius_nm(tas_kt=np.array([90, 120])[:, None], rate_deg_s=np.array([1.5, 3])).shape == (2, 2)
    assert isinstance(turns.turn_radius_nm(tas_kt=120), float)


@pytest.mark.parametrize(
    ("function", "arguments", "text"),
    [
        (
            turns.turn_radius_nm,
            {"tas_kt": 30},
            r"tas_kt = 30 kt is outside 40 to 400 kt: is this a ground speed in m/s\?",
        ),
        (turns.turn_radius_nm, {"tas_kt": 401}, "tas_kt = 401 kt"),
        (turns.turn_radius_nm, {"tas_kt": float("nan")}, "tas_kt = nan is not a number"),
        (
            turns.turn_radius_nm,
            {"tas_kt": 120, "rate_deg_s": 25},
            r"rate_deg_s = 25 deg/s is outside 0.01 to 6 deg/s: is this a bank angle\?",
        ),
        (turns.turn_radius_nm, {"tas_kt": 120, "rate_deg_s": 0}, "rate_deg_s = 0 deg/s"),
        (turns.bank_deg, {"tas_kt": 120, "rate_deg_s": -3}, "rate_deg_s = -3 deg/s"),
        (
            turns.radius_from_bank_nm,
            {"tas_kt": 120, "bank_deg": 270},
            r"bank_deg = 270 deg is outside 0.01 to 60 deg: is this a heading\?",
        ),
        (turns.turn_rate_deg_s, {"tas_kt": 120, "bank_deg": 0}, "bank_deg = 0 deg"),
        (turns.turn_time_s, {"turn_deg": 721}, "turn_deg = 721 deg is outside 0 to 720 deg"),
        (
            turns.bank_rule_deg,
            {"tas_kt": 120, "rule": "20 percent"},
            "rule = '20 percent' is not a rule for bank: expected '15 percent'",
        ),
        (
            turns.roll_out_lead_deg,
            {"bank_deg": 15, "rule": "quarter"},
            "rule = 'quarter' is not a rule for the roll-out",
        ),
        (
            turns.radius_rule_nm,
            {"tas_kt": 120, "rate_deg_s": 2},
            r"rate_deg_s = 2 has no rule: expected 3 \(standard\) or 1.5 \(half rate\)",
        ),
        (turns.small_turn_bank_deg, {"turn_deg": -1}, "turn_deg = -1 deg"),
    ],
)
def test_bad_values(function, arguments, text):
    """Definition: one sentence that names what was wrong and what was expected."""
    with pytest.raises(OutOfRange, match=text):
        function(**arguments)


def test_limits_belong_to_the_range():
    """Definition: both ends of each range are taken."""
    assert turns.turn_radius_nm(tas_kt=[40, 400], rate_deg_s=[0.01, 6]).tolist() == pytest.approx(
        [63.66, 1.061], rel=1e-3
    )  # 4 digits
    assert turns.turn_rate_deg_s(tas_kt=40, bank_deg=[0.1, 60]).tolist() == pytest.approx(
        [0.0477, 47.3], rel=3e-3
    )  # 3 digits
    assert turns.turn_time_s(turn_deg=[0, 720]).tolist() == [0, 240]
