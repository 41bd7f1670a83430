"""DME: slant range, channels, ground speed."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from needlework.basis.errors import NoSolution, OutOfRange
from needlework.trade import dme, vor


@pytest.mark.parametrize(
    ("ground_nm", "height_ft", "wanted_nm"),
    [
        (0, 6076.115, 1.0000), (0, 12152.23, 2.0000), (0.5, 3000, 0.7027), (1, 1000, 1.0135), (1, 6000, 1.4054),
        (2, 6000, 2.2305), (10, 3000, 10.0122), (10, 10000, 10.1345), (15, 36000, 16.1277),
    ],
)  # fmt: skip
def test_slant_vectors(ground_nm, height_ft, wanted_nm):
    """AIM 1-1-7 b: slant, not horizontal; values by Pythagoras, worked apart from the library."""
    assert dme.slant_nm(ground_nm=ground_nm, height_ft=height_ft) == pytest.approx(
        wanted_nm, abs=6e-5
    )  # printed digits
    assert dme.ground_nm(
        slant_nm=dme.slant_nm(ground_nm=ground_nm, height_ft=height_ft), height_ft=height_ft
    ) == pytest.approx(ground_nm, abs=1e-6)


def test_handbook_example_is_wrong():
    """IFH9 p. 9-19 prints 0.6 for 3,000 ft and 0.5 NM: contradicted by Pythagoras, 0.703."""
    assert dme.slant_nm(ground_nm=0.5, height_ft=3000) == pytest.approx(0.703, abs=5e-4)  # printed digits
    assert abs(dme.slant_nm(ground_nm=0.5, height_ft=3000) - 0.6) > 0.1


def test_overhead_and_scenario():
    """IFH9 p. 9-19: overhead the reading is the height; the scenario's 0.21 and 10.009."""
    assert dme.overhead_nm(6076.11549) == pytest.approx(1, abs=1e-8)  # digits of the foot
    assert dme.overhead_nm(1760 - 480) == pytest.approx(0.21, abs=0.005)  # printed digits
    # At DOVAN, 3,000 ft, the height above the station is 2,520 ft.
    assert dme.slant_nm(ground_nm=10, height_ft=2520) == pytest.approx(10.009, abs=5e-4)  # printed digits


@given(st.floats(0, 200), st.floats(0, 45000))
def test_slant_and_back(ground_nm, height_ft):
    """Definition: there and back; the reading is never less than either side."""
    slant_nm = dme.slant_nm(ground_nm=ground_nm, height_ft=height_ft)
    assert slant_nm >= max(ground_nm, dme.overhead_nm(height_ft)) * (1 - 1e-15)  # last bit of the root
    # Close to overhead the difference of two squares loses half the digits.
    assert dme.ground_nm(slant_nm=slant_nm, height_ft=height_ft) == pytest.approx(ground_nm, abs=1e-6)


def test_reading_below_the_height():
    """Definition: no place on earth reads less than the height."""
    with pytest.raises(NoSolution, match=r"reading of 0\.30 NM cannot be had 0\.49 NM above the station"):
        dme.ground_nm(slant_nm=0.3, height_ft=3000)
    with pytest.raises(NoSolution):
        dme.ground_nm(slant_nm=[1, 0.3], height_ft=3000)
    assert dme.ground_nm(slant_nm=dme.overhead_nm(3000), height_ft=3000) == 0


def test_slant_rule():
    """IFH9 p. 9-19: one mile per 1,000 ft; the error there is 1.35 %."""
    assert dme.slant_negligible(ground_nm=[2.99, 3, 3.01], height_ft=3000).tolist() == [False, True, True]
    height_ft = np.arange(1000, 45001, 1000)
    error = dme.slant_nm(ground_nm=height_ft / 1000, height_ft=height_ft) / (height_ft / 1000) - 1
    assert error == pytest.approx(0.0135, abs=5e-5)  # printed digits


def test_accuracy():
    """AIM 1-1-7 b: half a mile or 3 %, whichever is greater; they cross at 16.67 NM."""
    assert dme.accuracy_nm([0, 16, 17, 100]).tolist() == pytest.approx([0.5, 0.5, 0.51, 3])
    assert dme.accuracy_nm(50 / 3) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("freq_mhz", "channel"),
    [
        (108.00, "17X"), (108.05, "17Y"), (110.70, "44X"), (112.20, "59X"), (112.25, "59Y"), (112.30, "70X"),
        (115.10, "98X"), (117.90, "126X"), (117.95, "126Y"), (114.60, "93X"), (110.25, "39Y"), (116.15, "108Y"),
        (115.60, "103X"),
    ],
)  # fmt: skip
def test_pairing(freq_mhz, channel):
    """Annex 10 channel plan (44 -> 110.7 and 98 -> 115.1 worked there); the scenario's stations."""
    assert dme.channel(freq_mhz) == channel
    assert dme.freq_mhz(channel) == freq_mhz  # exact: made from whole kHz


def test_pairing_is_one_to_one():
    """Definition: 200 frequencies, 200 channels, there and back; 160 of them VOR."""
    freqs = np.round(np.arange(108.0, 117.96, 0.05), 2)
    channels = dme.channel(freqs)
    assert len(set(channels)) == len(freqs) == 200
    assert np.array_equal(dme.freq_mhz(channels), freqs)
    assert np.count_nonzero(vor.is_vor_frequency(dme.freq_mhz(channels))) == 160


@pytest.mark.parametrize(
    ("channel", "asks_mhz", "replies_mhz"),
    [
        ("1X", 1025, 962), ("1Y", 1025, 1088), ("2X", 1026, 963), ("7Y", 1031, 1094), ("13X", 1037, 974),
        ("13Y", 1037, 1100),
    ],
)  # fmt: skip
def test_frequencies_seen_in_print(channel, asks_mhz, replies_mhz):
    """14 CFR 171.311(a) Table 1b, rows seen."""
    assert dme.interrogation_mhz(channel) == asks_mhz
    assert dme.reply_mhz(channel) == replies_mhz


@pytest.mark.parametrize(
    ("channel", "asks_mhz", "replies_mhz"), [("17X", 1041, 978), ("17Y", 1041, 1104), ("70X", 1094, 1157)]
)
def test_frequencies_above_row_14(channel, asks_mhz, replies_mhz):
    """From the pattern of the printed rows; the reply in the upper half is from memory."""
    assert dme.interrogation_mhz(channel) == asks_mhz
    assert dme.reply_mhz(channel) == replies_mhz


def test_replies_stay_in_the_band_and_never_collide():
    """AIM 1-1-7 c: 960 to 1,215 MHz; independent method: 252 channels, no two alike in frequency and spacing."""
    names = [f"{n}{m}" for n in range(1, 127) for m in "XY"]
    replies = dme.reply_mhz(names)
    assert replies.min() == 962
    assert replies.max() == 1213
    assert len(set(zip(replies, dme.spacing_us(channel=names, reply=True), strict=True))) == 252
    assert len(set(zip(dme.interrogation_mhz(names), dme.spacing_us(channel=names), strict=True))) == 252
    assert (np.abs(replies - dme.interrogation_mhz(names)) == 63).all()


def test_pulse_spacing():
    """14 CFR 171.311(a) Table 1b: X 12 us; Y 36 us asking, 30 us replying."""
    assert dme.spacing_us(channel=["39Y", "93X"]).tolist() == [36, 12]
    assert dme.spacing_us(channel=["39Y", "93X"], reply=True).tolist() == [30, 12]


@pytest.mark.parametrize("bad", ["0X", "127X", "93", "93Z", "X93", "", "093X", 93])
def test_no_channel(bad):
    """Definition: one sentence with an example of what was expected."""
    with pytest.raises(OutOfRange, match="is not a DME channel: expected 1 to 126 and X or Y, for example '93X'"):
        dme.interrogation_mhz(bad)


def test_unpaired_and_off_raster():
    """Annex 10 channel plan: 1 to 16 and 60 to 69 are paired with no VOR; 113.03 is no channel."""
    for bad in ("16X", "60Y", "69X"):
        with pytest.raises(NoSolution, match="paired with no VOR"):
            dme.freq_mhz(bad)
    with pytest.raises(OutOfRange, match=r"113\.03 MHz is between two channels"):
        dme.channel(113.03)
    for bad in (107.95, 118.0, np.nan):
        with pytest.raises(OutOfRange, match="freq_mhz"):
            dme.channel(bad)
    assert dme.channel([114.6, 110.25]).tolist() == ["93X", "39Y"]


def test_speed_from_readings():
    """CNATRA P-1282 p. 5-11: 6 NM in a minute is 360 kt, each 0.1 NM a minute 6 kt."""
    assert dme.speed_kt(change_nm=6, time_s=60) == 360
    assert dme.speed_kt(change_nm=0.1, time_s=60) == pytest.approx(6)
    assert dme.speed_kt(change_nm=-1.5, time_s=60) == pytest.approx(-90)
    with pytest.raises(OutOfRange, match="in minutes"):
        dme.speed_kt(change_nm=1, time_s=0.5)


@given(st.floats(0.05, 30), st.floats(0, 20000), st.floats(-180, 180), st.floats(10, 300))
def test_readout_against_two_readings(ground_nm, height_ft, off_deg, gs_kt):
    """Independent method: the change of the slant distance over a millisecond."""
    step_nm = gs_kt / 3600 * 0.0005
    rad = np.deg2rad(off_deg)

    def reading_nm(along_nm):
        aside = np.hypot(ground_nm - along_nm * np.cos(rad), along_nm * np.sin(rad))
        return dme.slant_nm(ground_nm=aside, height_ft=height_ft)

    closing_kt = (reading_nm(-step_nm) - reading_nm(step_nm)) / 0.001 * 3600
    # Central difference over a millisecond: the path bends by less than this, floats round by far less.
    assert dme.readout_kt(gs_kt=gs_kt, off_deg=off_deg, ground_nm=ground_nm, height_ft=height_ft) == pytest.approx(
        closing_kt, abs=1e-3
    )


def test_readout_lies():
    """IFH9 p. 9-17: ground speed is valid only directly to or from the station."""
    assert dme.readout_kt(gs_kt=120, off_deg=0) == 120
    assert dme.readout_kt(gs_kt=120, off_deg=180) == -120
    assert dme.readout_kt(gs_kt=120, off_deg=[60, 90]) == pytest.approx([60, 0], abs=1e-9)  # cosine of 90 in floats
    assert dme.readout_kt(gs_kt=120, off_deg=0, ground_nm=0, height_ft=3000) == 0
    assert dme.readout_kt(gs_kt=120, off_deg=0, ground_nm=0, height_ft=0) == 0


def test_memory():
    """CNATRA P-305 p. 35: the range memory holds about ten seconds."""
    assert dme.holds_reading(lost_s=[0, 10, 10.1]).tolist() == [True, True, False]
    assert dme.holds_reading(lost_s=5, memory_s=3) is False


@pytest.mark.parametrize("bad", [-0.1, 301, np.nan])
def test_distances_outside_their_range(bad):
    """Definition: distances run from 0 to 300 NM."""
    with pytest.raises(OutOfRange, match="ground_nm"):
        dme.slant_nm(ground_nm=bad, height_ft=0)
    with pytest.raises(OutOfRange, match="slant_nm"):
        dme.ground_nm(slant_nm=bad, height_ft=0)
    with pytest.raises(OutOfRange, match="_nm"):
        dme.slant_negligible(ground_nm=bad, height_ft=0)
    with pytest.raises(OutOfRange, match="dist_nm"):
        dme.accuracy_nm(bad)
    with pytest.raises(OutOfRange, match="height_ft"):
        dme.overhead_nm(-1)
