"""DME: slant and ground distance, channels and their frequencies, ground speed and when it lies."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from needlework.basis.errors import NoSolution, OutOfRange
from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    Truth,
    distance,
    fitting,
    plain,
    shown,
    truth,
    within,
    yes_no,
)
from needlework.trade.units import NM_FT

ACCURACY_NM = Constant(0.5, "NM", "AIM-1-1-7", "or 3 % of the distance, whichever is greater")
ACCURACY_PERCENT = Constant(3.0, "%", "AIM-1-1-7")
RANGE_NM = Constant(199.0, "NM", "AIM-1-1-7", "greatest distance, line of sight, at high altitude")
MEMORY_S = Constant(10.0, "s", "P-305", "about; depends on the set, p. 35")
SLANT_RULE_NM_PER_1000_FT = Constant(1.0, "NM per 1,000 ft", "IFH9", "slant error may be neglected from here on")
FIRST_INTERROGATION_MHZ = Constant(1024.0, "MHz", "CFR311", "plus the channel number")
PULSE_SPACING_X_US = Constant(12.0, "us", "CFR311", "X channels, both ways")
PULSE_SPACING_Y_US = Constant(36.0, "us", "CFR311", "Y channels, interrogation")
REPLY_SPACING_Y_US = Constant(30.0, "us", "CFR311", "Y channels, reply")

Channels: TypeAlias = str | Sequence[str] | NDArray[np.str_]
"""One channel such as ``"93X"``, or several."""

_CHANNEL = re.compile(r"([1-9]\d{0,2})([XY])")
_LAST_CHANNEL = 126


def _height(height_ft: ArrayLike) -> Floats:
    return within("height_ft", height_ft, 0.0, 60000.0, "ft", "this is the height above the station, not below it")


def _gs(gs_kt: ArrayLike) -> Floats:
    return within("gs_kt", gs_kt, 0.0, 600.0, "kt", "is this a speed in km/h?")


def _read(channel: Channels) -> tuple[Floats, NDArray[np.bool_]]:
    """Split channel texts into numbers and whether they are Y."""
    try:
        texts = np.asarray(channel, dtype=object)
    except ValueError:  # rows of unlike length
        texts = np.asarray(None)
    numbers, is_y = np.zeros(texts.shape), np.zeros(texts.shape, dtype=np.bool_)
    for at in np.ndindex(texts.shape):
        text: object = texts[at]
        found = _CHANNEL.fullmatch(text) if isinstance(text, str) else None
        if not found or int(found[1]) > _LAST_CHANNEL:
            raise OutOfRange(
                f"channel = {shown(text)} is not a DME channel: expected 1 to 126 and X or Y, for example '93X'"
            )
        numbers[at], is_y[at] = int(found[1]), found[2] == "Y"
    return numbers, is_y


@fitting
def slant_nm(*, ground_nm: ArrayLike, height_ft: ArrayLike) -> Result:
    """Distance the DME reads for a ground distance and a height.

    Parameters
    ----------
    ground_nm : float or array_like
        Distance over the ground. [NM], 0 to 300.
    height_ft : float or array_like
        Height above the station, not above the sea. [ft], 0 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Slant distance, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``sqrt(ground**2 + height**2)`` in miles, flat earth. Source: ``AIM-1-1-7``. (One handbook, IFH9 p. 9-19, prints
    0.6 for 0.5 NM at 3,000 ft; the true reading is 0.70.)

    Terms: slant range; DME reading.

    Examples
    --------
    >>> round(slant_nm(ground_nm=2.0, height_ft=6000.0), 4)
    2.2305
    """
    return plain(np.hypot(distance("ground_nm", ground_nm), _height(height_ft) / NM_FT))


@fitting
def ground_nm(*, slant_nm: ArrayLike, height_ft: ArrayLike) -> Result:
    """Ground distance for a DME reading and a height.

    Parameters
    ----------
    slant_nm : float or array_like
        Distance the DME reads. [NM], 0 to 300.
    height_ft : float or array_like
        Height above the station, not above the sea. [ft], 0 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Distance over the ground, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If a reading is less than the height: no place on earth reads that little.

    Notes
    -----
    ``sqrt(slant**2 - height**2)`` in miles, flat earth. Source: ``AIM-1-1-7``.

    Terms: slant range to ground distance; ground distance from the DME.

    Examples
    --------
    >>> round(ground_nm(slant_nm=2.2305, height_ft=6000.0), 2)
    2.0
    """
    slant, up = np.broadcast_arrays(distance("slant_nm", slant_nm), _height(height_ft) / NM_FT)
    # Overhead, a reading made from the same height may fall short of it by the last bit.
    squared = (slant - up) * (slant + up)
    short = slant < up * (1.0 - 1e-12)
    if short.any():
        where = tuple(np.argwhere(short)[0])
        raise NoSolution(
            f"A DME reading of {slant[where]:.2f} NM cannot be had {up[where]:.2f} NM above the station: "
            "the least it can read is the height; is the height above the station or above the sea?"
        )
    return plain(np.sqrt(np.maximum(squared, 0.0)))


def overhead_nm(height_ft: ArrayLike) -> Result:
    """Least distance the DME can read at a height: overhead the station.

    Parameters
    ----------
    height_ft : float or array_like
        Height above the station, not above the sea. [ft], 0 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Reading overhead, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The height in nautical miles. Source: ``IFH9`` p. 9-19, ``P-801`` p. 31.

    Terms: DME overhead; slant range overhead; height in miles.

    Examples
    --------
    >>> round(overhead_nm(6076.0), 2)
    1.0
    """
    return plain(_height(height_ft) / NM_FT)


@fitting
def slant_negligible(*, ground_nm: ArrayLike, height_ft: ArrayLike) -> Truth:
    """Say whether the handbook's rule allows to read the DME as ground distance.

    Parameters
    ----------
    ground_nm : float or array_like
        Distance over the ground. [NM], 0 to 300.
    height_ft : float or array_like
        Height above the station. [ft], 0 to 60,000.

    Returns
    -------
    bool or numpy.ndarray of bool
        True from one mile per 1,000 ft on, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    At that limit the reading is 1.35 % too long. Source: ``IFH9`` p. 9-19; the same limit for a
    ground speed check by DME: ``P-1282`` p. 5-11.

    Terms: slant range that may be neglected; a mile a thousand feet.

    Examples
    --------
    >>> slant_negligible(ground_nm=3.0, height_ft=3000.0), slant_negligible(ground_nm=2.9, height_ft=3000.0)
    (True, False)
    """
    limit_nm = SLANT_RULE_NM_PER_1000_FT * _height(height_ft) / 1000.0
    return truth(distance("ground_nm", ground_nm) >= limit_nm)


def accuracy_nm(dist_nm: ArrayLike) -> Result:
    """Largest error a DME reading should have.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance read. [NM], 0 to 300.

    Returns
    -------
    float or numpy.ndarray
        Half width of the band round the reading, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Half a mile or 3 % of the distance, whichever is greater; they meet at 16.7 NM.
    Source: ``AIM-1-1-7``.

    Terms: accuracy of a DME.

    Examples
    --------
    >>> accuracy_nm(10.0), accuracy_nm(100.0)
    (0.5, 3.0)
    """
    return plain(np.maximum(ACCURACY_NM, ACCURACY_PERCENT / 100.0 * distance("dist_nm", dist_nm)))


def channel(freq_mhz: ArrayLike) -> str | NDArray[np.str_]:
    """DME channel paired with a VOR or localizer frequency.

    Parameters
    ----------
    freq_mhz : float or array_like
        Frequency of the VOR or localizer. [MHz], 108.00 to 117.95 every 50 kHz.

    Returns
    -------
    str or numpy.ndarray of str
        Channel such as ``"93X"``, in the shape of the input.

    Raises
    ------
    OutOfRange
        If a frequency is outside the band or between two channels, or is nan.

    Notes
    -----
    Frequency times ten less 1063 up to 112.25 MHz, less 1053 above; X where the hundredths are 0,
    Y where they are 5. Source: ``ANX10``, ``CFR311``.

    Terms: channel of a DME.

    Examples
    --------
    >>> channel(114.60), channel(110.25)
    ('93X', '39Y')
    """
    freq = within("freq_mhz", freq_mhz, 108.0, 117.95, "MHz", "is this a communication frequency?")
    khz = np.round(freq * 1000.0)
    off_raster = (np.abs(freq * 1000.0 - khz) > 1e-3) | (khz % 50 != 0)
    if off_raster.any():
        wrong = float(freq[tuple(np.argwhere(off_raster)[0])])
        raise OutOfRange(f"freq_mhz = {wrong:g} MHz is between two channels: they lie every 0.05 MHz, as 114.60")
    tenths = khz // 100
    numbers = np.where(khz < 112300, tenths - 1063, tenths - 1053).astype(int)
    texts = np.char.add(numbers.astype(str), np.where(khz % 100 == 0, "X", "Y"))
    return str(texts) if texts.ndim == 0 else np.asarray(texts)


def freq_mhz(channel: Channels) -> Result:
    """VOR or localizer frequency paired with a DME channel.

    Parameters
    ----------
    channel : str or sequence of str
        Channel such as ``"93X"``; 17 to 59 and 70 to 126, X or Y.

    Returns
    -------
    float or numpy.ndarray
        Paired frequency, in the shape of the input. [MHz]

    Raises
    ------
    OutOfRange
        If it is no channel.
    NoSolution
        If the channel (1 to 16, 60 to 69) is paired with no VOR or localizer.

    Notes
    -----
    Channel plus 1063 (to 59) or 1053 (from 70), over ten; Y channels 0.05 more.
    Source: ``ANX10``, ``CFR311``.

    Terms: channel of a DME; frequency of a channel.

    Examples
    --------
    >>> freq_mhz("44X"), freq_mhz("108Y")
    (110.7, 116.15)
    """
    number, is_y = _read(channel)
    unpaired = (number < 17) | ((number > 59) & (number < 70))
    if unpaired.any():
        wrong = int(number[tuple(np.argwhere(unpaired)[0])])
        raise NoSolution(f"Channel {wrong} is paired with no VOR or localizer: expected 17 to 59 or 70 to 126")
    khz = (number + np.where(number < 60, 1063.0, 1053.0)) * 100.0 + np.where(is_y, 50.0, 0.0)
    return plain(khz / 1000.0)


def interrogation_mhz(channel: Channels) -> Result:
    """Frequency on which the aircraft's set asks.

    Parameters
    ----------
    channel : str or sequence of str
        Channel such as ``"93X"``, 1 to 126, X or Y.

    Returns
    -------
    float or numpy.ndarray
        Interrogation frequency, in the shape of the input. [MHz]

    Raises
    ------
    OutOfRange
        If it is no channel.

    Notes
    -----
    1024 plus the channel number, X and Y alike. Source: ``CFR311`` Table 1b.

    Terms: interrogation of a DME.

    Examples
    --------
    >>> interrogation_mhz("17X")
    1041.0
    """
    number, _ = _read(channel)
    return plain(FIRST_INTERROGATION_MHZ + number)


def reply_mhz(channel: Channels) -> Result:
    """Frequency on which the station replies, 63 MHz away from the question.

    Parameters
    ----------
    channel : str or sequence of str
        Channel such as ``"93X"``, 1 to 126, X or Y.

    Returns
    -------
    float or numpy.ndarray
        Reply frequency, in the shape of the input. [MHz]

    Raises
    ------
    OutOfRange
        If it is no channel.

    Notes
    -----
    63 MHz below the question for 1X to 63X and 64Y to 126Y, 63 MHz above it for the others.
    Source: ``CFR311`` Table 1b (rows 1 to 14 seen; the pattern above them is ``from-memory``).

    Terms: reply of a DME.

    Examples
    --------
    >>> reply_mhz("1X"), reply_mhz("7Y"), reply_mhz("70X")
    (962.0, 1094.0, 1157.0)
    """
    number, is_y = _read(channel)
    below = (number <= 63) ^ is_y
    return plain(FIRST_INTERROGATION_MHZ + number + np.where(below, -63.0, 63.0))


def spacing_us(*, channel: Channels, reply: bool = False) -> Result:
    """Time between the two pulses of a pair, by which X and Y are told apart.

    Parameters
    ----------
    channel : str or sequence of str
        Channel such as ``"93X"``, 1 to 126, X or Y.
    reply : bool, default False
        True for the station's reply, False for the aircraft's interrogation.

    Returns
    -------
    float or numpy.ndarray
        Spacing of the pulse pair, in the shape of the input. [microseconds]

    Raises
    ------
    OutOfRange
        If it is no channel.

    Notes
    -----
    X 12 both ways; Y 36 asking, 30 replying. Source: ``CFR311`` Table 1b.

    Terms: pulse spacing of a DME.

    Examples
    --------
    >>> spacing_us(channel="39Y"), spacing_us(channel="39Y", reply=True), spacing_us(channel="93X")
    (36.0, 30.0, 12.0)
    """
    _, is_y = _read(channel)
    return plain(
        np.where(is_y, REPLY_SPACING_Y_US if yes_no("reply", reply) else PULSE_SPACING_Y_US, PULSE_SPACING_X_US)
    )


@fitting
def speed_kt(*, change_nm: ArrayLike, time_s: ArrayLike) -> Result:
    """Ground speed from the change of the DME reading over a time.

    Parameters
    ----------
    change_nm : float or array_like
        Change of the reading; its sign is kept. [NM], -300 to 300.
    time_s : float or array_like
        Time it took. [s], 1 to 36,000.

    Returns
    -------
    float or numpy.ndarray
        Speed of the change, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Distance over time: each tenth of a mile in a minute is 6 kt. True only straight to or from the
    station (``IFH9`` p. 9-17) and from one mile per 1,000 ft on. Source: ``P-1282`` p. 5-11.

    Terms: ground speed by DME; ground speed check.

    Examples
    --------
    >>> speed_kt(change_nm=6.0, time_s=60.0), round(speed_kt(change_nm=0.1, time_s=60.0), 6)
    (360.0, 6.0)
    """
    change = within("change_nm", change_nm, -300.0, 300.0, "NM", "is this a distance in feet or metres?")
    return plain(change / within("time_s", time_s, 1.0, 36000.0, "s", "is this in minutes?") * 3600.0)


@fitting
def readout_kt(
    *, gs_kt: ArrayLike, off_deg: ArrayLike, ground_nm: ArrayLike = 300.0, height_ft: ArrayLike = 0.0
) -> Result:
    """Speed the DME shows: only the part of the ground speed along the slant line.

    Parameters
    ----------
    gs_kt : float or array_like
        Ground speed. [kt], 0 to 600.
    off_deg : float or array_like
        Angle between the track and the direction to the station; 0 straight in, 180 straight out. [deg], -180 to 180.
    ground_nm : float or array_like, default 300
        Distance over the ground; matters near the station only. [NM], 0 to 300.
    height_ft : float or array_like, default 0
        Height above the station. [ft], 0 to 60,000.

    Returns
    -------
    float or numpy.ndarray
        Closing speed, negative where the reading grows; 0 abeam, on an arc and overhead. In the
        broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Ground speed times the cosine of the angle off, times ground over slant distance. The set shows
    it without its sign. Source: ``definition``; ``IFH9`` p. 9-17 (valid only to or from the station).

    Terms: ground speed shown by a DME; closing speed.

    Examples
    --------
    >>> round(readout_kt(gs_kt=120.0, off_deg=0.0))
    120
    >>> round(readout_kt(gs_kt=120.0, off_deg=60.0))
    60
    >>> round(abs(readout_kt(gs_kt=120.0, off_deg=90.0)))
    0
    >>> round(readout_kt(gs_kt=120.0, off_deg=0.0, ground_nm=0.5, height_ft=3000.0))
    85
    """
    off = within("off_deg", off_deg, -180.0, 180.0, "deg")
    ground = distance("ground_nm", ground_nm)
    slant = np.asarray(slant_nm(ground_nm=ground, height_ft=height_ft))
    # On the ground at the station itself there is no slant line to move along.
    part = np.divide(ground, slant, out=np.zeros(np.broadcast(ground, slant).shape), where=slant > 0.0)
    return plain(_gs(gs_kt) * np.cos(np.deg2rad(off)) * part)


@fitting
def holds_reading(*, lost_s: ArrayLike, memory_s: ArrayLike = MEMORY_S) -> Truth:
    """Say whether a set still shows a distance although the station's replies have stopped.

    Parameters
    ----------
    lost_s : float or array_like
        Time since the last reply. [s], 0 to 36,000.
    memory_s : float or array_like, default 10
        Memory of the set. [s], 0 to 60.

    Returns
    -------
    bool or numpy.ndarray of bool
        True while the old reading stands, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    A reading in memory looks like a good one. About 10 s; depends on the set. Source: ``P-305`` p. 35.

    Terms: memory of a DME.

    Examples
    --------
    >>> holds_reading(lost_s=8.0), holds_reading(lost_s=12.0)
    (True, False)
    """
    lost = within("lost_s", lost_s, 0.0, 36000.0, "s")
    return truth(lost <= within("memory_s", memory_s, 0.0, 60.0, "s"))
