"""Level turns: radius, bank, rate and time, exactly and by the rules a pilot knows.

All of it is for a level, balanced turn in still air: in a wind the aircraft flies this same circle
through air that moves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import NoSolution
from needlework.basis.quantity import Constant, Floats, Result, fitting, one_among, one_of, plain, within
from needlework.trade.units import KT_M_S, NM_M

STANDARD_RATE_DEG_S = Constant(3.0, "deg/s", "P-1215", "a full circle in two minutes")
HALF_RATE_DEG_S = Constant(1.5, "deg/s", "P-1215", "a full circle in four minutes")
RATE_MAX_DEG_S = Constant(6.0, "deg/s", "common-practice", "twice standard rate: more is no instrument turn")
GRAVITY_M_S2 = Constant(9.80665, "m/s2", "definition", "standard acceleration of free fall")
BANK_MAX_DEG = Constant(60.0, "deg", "common-practice", "two g: more is no instrument turn")
NO_RULE = "has no rule: expected 3 (standard) or 1.5 (half rate)"
"""How the message ends that refuses any other rate where a rule is made for the two."""


def _tas(value: ArrayLike) -> Floats:
    return within("tas_kt", value, 40.0, 400.0, "kt", "is this a ground speed in m/s?")


def _rate(value: ArrayLike) -> Floats:
    return within("rate_deg_s", value, 0.01, RATE_MAX_DEG_S, "deg/s", "is this a bank angle?")


def _bank(value: ArrayLike) -> Floats:
    return within("bank_deg", value, 0.01, BANK_MAX_DEG, "deg", "is this a heading?")


@fitting
def turn_radius_nm(*, tas_kt: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S) -> Result:
    """Radius of a level turn in still air at a fixed rate of turn.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Radius, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Speed over rate, with the rate in radians. Source: ``definition``; standard rate: ``P-1215``.

    Terms: turn radius.

    Examples
    --------
    >>> round(turn_radius_nm(tas_kt=120.0), 3)
    0.637
    """
    return plain(_tas(tas_kt) / 3600.0 / np.radians(_rate(rate_deg_s)))


@fitting
def radius_from_bank_nm(*, tas_kt: ArrayLike, bank_deg: ArrayLike) -> Result:
    """Radius of a level turn in still air at a fixed angle of bank.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    bank_deg : float or array_like
        Angle of bank, to either side. [deg], 0.01 to 60.

    Returns
    -------
    float or numpy.ndarray
        Radius, in the broadcast shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``speed**2 / (g * tan(bank))``. Source: ``definition``; printed examples in ``AIM-5-4-7`` and ``ANX11``.

    Terms: turn radius from bank.

    Examples
    --------
    >>> round(radius_from_bank_nm(tas_kt=120.0, bank_deg=20.0), 2)
    0.58
    """
    speed_m_s = _tas(tas_kt) * KT_M_S
    return plain(speed_m_s**2 / (GRAVITY_M_S2 * np.tan(np.radians(_bank(bank_deg)))) / NM_M)


@fitting
def bank_deg(*, tas_kt: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S) -> Result:
    """Angle of bank that turns the aircraft at a wanted rate.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Angle of bank, at most 60, in the broadcast shape of the inputs. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the turn needs more than 60 degrees of bank: above 315 kt at twice standard rate.

    Notes
    -----
    ``atan(speed * rate / g)``. Source: ``definition``.

    Terms: bank for a rate of turn; bank for standard rate; standard rate.

    Examples
    --------
    >>> round(bank_deg(tas_kt=100.0), 1)
    15.4
    """
    acceleration_m_s2 = _tas(tas_kt) * KT_M_S * np.radians(_rate(rate_deg_s))
    bank = np.degrees(np.arctan(acceleration_m_s2 / GRAVITY_M_S2))
    if np.any(bank > BANK_MAX_DEG):
        raise NoSolution(
            f"This turn needs {float(np.max(bank)):.1f} degrees of bank, more than the {BANK_MAX_DEG:.0f} of an "
            "instrument turn: fly slower, or turn at a lower rate"
        )
    return plain(bank)


@fitting
def turn_rate_deg_s(*, tas_kt: ArrayLike, bank_deg: ArrayLike) -> Result:
    """Rate at which an angle of bank turns the aircraft.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    bank_deg : float or array_like
        Angle of bank, to either side. [deg], 0.01 to 60.

    Returns
    -------
    float or numpy.ndarray
        Rate of turn, in the broadcast shape of the inputs. [deg/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``g * tan(bank) / speed``. Source: ``definition``.

    Terms: rate of turn from bank.

    Examples
    --------
    >>> round(turn_rate_deg_s(tas_kt=110.0, bank_deg=25.0), 1)
    4.6
    """
    speed_m_s = _tas(tas_kt) * KT_M_S
    return plain(np.degrees(GRAVITY_M_S2 * np.tan(np.radians(_bank(bank_deg))) / speed_m_s))


@fitting
def turn_time_s(*, turn_deg: ArrayLike, rate_deg_s: ArrayLike = STANDARD_RATE_DEG_S) -> Result:
    """Time a turn takes, with the bank already on.

    Parameters
    ----------
    turn_deg : float or array_like
        Angle turned through, to either side. [deg], 0 to 720.
    rate_deg_s : float or array_like, default 3.0
        Rate of turn, to either side. [deg/s], 0.01 to 6.

    Returns
    -------
    float or numpy.ndarray
        Time, in the broadcast shape of the inputs. [s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Angle over rate. Source: ``definition``; half rate as two thirds of a second per degree: ``P-340``.

    Terms: time of a turn; standard rate: time of a turn.

    Examples
    --------
    >>> turn_time_s(turn_deg=90.0), turn_time_s(turn_deg=90.0, rate_deg_s=HALF_RATE_DEG_S)
    (30.0, 60.0)
    """
    return plain(within("turn_deg", turn_deg, 0.0, 720.0, "deg") / _rate(rate_deg_s))


def bank_rule_deg(*, tas_kt: ArrayLike, rule: str = "15 percent") -> Result:
    """Bank for a standard-rate turn by one of the rules in use.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.
    rule : {"15 percent", "tenth plus 7", "tenth plus 5"}
        Which rule: 15 per cent of the speed, or a tenth of the speed plus 7 or plus 5.

    Returns
    -------
    float or numpy.ndarray
        Angle of bank, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rule is not one of the three.

    Notes
    -----
    ``0.15 tas``, ``tas / 10 + 7`` and ``tas / 10 + 5``. A tenth plus 7: ``AF60``. The other two: ``from-memory``.
    Say which rule you use: at 60 kt the first two differ by 4 degrees, at 140 kt they agree. Against
    :func:`bank_deg` the 15 per cent rule is within half a degree from 60 to 160 kt; plus 7 is 3.6 degrees high at
    60 kt.

    Terms: bank for standard rate by rule; 15 per cent rule; tenth plus 7.

    Examples
    --------
    >>> bank_rule_deg(tas_kt=100.0)
    15.0
    >>> bank_rule_deg(tas_kt=100.0, rule="tenth plus 5")
    15.0
    >>> bank_rule_deg(tas_kt=180.0, rule="tenth plus 7")
    25.0
    """
    tas = _tas(tas_kt)
    if one_of("rule", rule, ("15 percent", "tenth plus 7", "tenth plus 5"), "a rule for bank") == "15 percent":
        return plain(0.15 * tas)
    return plain(tas / 10.0 + (7.0 if rule == "tenth plus 7" else 5.0))


def half_rate_bank_rule_deg(tas_kt: ArrayLike) -> Result:
    """Bank for a half-rate turn by rule: a twentieth of the speed plus 7.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.

    Returns
    -------
    float or numpy.ndarray
        Angle of bank, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``tas / 20 + 7``. Source: ``AF60``. Made for fast aircraft; at 100 kt it is 4 degrees high.

    Terms: bank for half rate by rule.

    Examples
    --------
    >>> half_rate_bank_rule_deg(180.0)
    16.0
    """
    return plain(_tas(tas_kt) / 20.0 + 7.0)


def small_turn_bank_deg(turn_deg: ArrayLike) -> Result:
    """Bank for a small change of heading: as many degrees of bank as there are to turn, 30 at most.

    Parameters
    ----------
    turn_deg : float or array_like
        Angle to turn through, to either side. [deg], 0 to 720.

    Returns
    -------
    float or numpy.ndarray
        Angle of bank, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Source: ``common-practice``. A standard-rate turn that needs less bank is flown at standard rate all the same.

    Terms: bank for a small turn.

    Examples
    --------
    >>> small_turn_bank_deg([5.0, 90.0])
    array([ 5., 30.])
    """
    return plain(np.minimum(within("turn_deg", turn_deg, 0.0, 720.0, "deg"), 30.0))


def roll_out_lead_deg(*, bank_deg: ArrayLike, rule: str = "half") -> Result:
    """Degrees before the wanted heading at which to start rolling out.

    Parameters
    ----------
    bank_deg : float or array_like
        Angle of bank in the turn, to either side. [deg], 0.01 to 60.
    rule : {"half", "third"}
        Half or a third of the bank; both are taught.

    Returns
    -------
    float or numpy.ndarray
        Lead, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rule is not one of the two.

    Notes
    -----
    ``bank / 2`` or ``bank / 3``. A third: ``P-1215``, ``P-330``. Half: ``from-memory``.

    Terms: lead for the roll-out; roll-out.

    Examples
    --------
    >>> roll_out_lead_deg(bank_deg=10.0), roll_out_lead_deg(bank_deg=15.0, rule="third")
    (5.0, 5.0)
    """
    part = one_of("rule", rule, ("half", "third"), "a rule for the roll-out")
    return plain(_bank(bank_deg) / (2.0 if part == "half" else 3.0))


def radius_rule_nm(*, tas_kt: ArrayLike, rate_deg_s: float = STANDARD_RATE_DEG_S) -> Result:
    """Turn radius by rule: half a per cent of the speed at standard rate, one per cent at half rate.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed; without wind the ground speed serves. [kt], 40 to 400.
    rate_deg_s : {3.0, 1.5}
        Standard or half rate: the rule knows no other. [deg/s]

    Returns
    -------
    float or numpy.ndarray
        Radius, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rate is neither of the two.

    Notes
    -----
    ``tas / 200`` and ``tas / 100``. Source: ``AF60``, ``P-871``. 5.75 per cent below the exact radius.

    Terms: turn radius by rule; half a per cent of the speed.

    Examples
    --------
    >>> radius_rule_nm(tas_kt=120.0), radius_rule_nm(tas_kt=250.0, rate_deg_s=HALF_RATE_DEG_S)
    (0.6, 2.5)
    """
    rate = one_among("rate_deg_s", rate_deg_s, (STANDARD_RATE_DEG_S, HALF_RATE_DEG_S), NO_RULE)
    return plain(_tas(tas_kt) / (200.0 if rate == STANDARD_RATE_DEG_S else 100.0))


def radius_rule_at_30_deg_nm(tas_kt: ArrayLike) -> Result:
    """Turn radius at 30 degrees of bank by rule: miles flown in a minute, squared, over ten.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 40 to 400.

    Returns
    -------
    float or numpy.ndarray
        Radius, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``(tas / 60)**2 / 10``. Source: ``AF60``. Ten per cent above :func:`radius_from_bank_nm` at every speed.

    Terms: turn radius at 30 degrees of bank by rule.

    Examples
    --------
    >>> radius_rule_at_30_deg_nm(120.0)
    0.4
    """
    return plain((_tas(tas_kt) / 60.0) ** 2 / 10.0)
