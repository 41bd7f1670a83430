"""Altimetry: the standard atmosphere, pressure altitude, settings, cold air, and true airspeed.

Cold air makes an altimeter read *high*: the aircraft is lower than it says. Two questions look
alike and are not: how low am I at an indicated height (:func:`cold_error_ft`), and how much must be
added to a published height so that the true height is the published one (:func:`cold_addon_ft`, and
in whole tens as the printed table has it :func:`cold_correction_ft`). Adding the first answer once
where the second is meant leaves a fifth of the error standing in very cold air.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.quantity import Constant, Floats, Result, Truth, fitting, one_of, plain, truth, within

STANDARD_PRESSURE_HPA = Constant(1013.25, "hPa", "ISA")
STANDARD_TEMPERATURE_C = Constant(15.0, "deg C", "ISA")
LAPSE_C_FT = Constant(0.0019812, "deg C/ft", "ISA", "6.5 degrees a kilometre")
TABLE_LAPSE_C_FT = Constant(0.00198, "deg C/ft", "DOC8168-1", "as rounded in the cold-temperature formula")
FREEZING_K = Constant(273.15, "K", "definition")
INHG_HPA = Constant(33.86389, "hPa/inHg", "definition", "conventional inch of mercury at 0 deg C")
SOUND_KT = Constant(661.4788, "kt", "ISA", "speed of sound at sea level")
FT_PER_INHG_RULE = Constant(1000.0, "ft/inHg", "PHAK15", "8 % high at sea level, where the exact figure is 925")
FT_PER_HPA_RULE = Constant(30.0, "ft/hPa", "common-practice", "10 % high at sea level: exact 27.3")
COLD_RULE_PERCENT = Constant(
    4.0, "% per 10 deg C", "DOC8168-1", "below standard; enough to -15 deg C and 5,000 ft above the field"
)
FIELD_CHECK_FT = Constant(75.0, "ft", "from-memory", "an altimeter further out on the ground is not to be trusted")

_PRESSURE_SLOPE = Constant(6.8755856e-6, "1/ft", "ISA")
_PRESSURE_POWER = Constant(5.2558797, "1", "ISA")
TROPOPAUSE_FT = Constant(36089.0, "ft", "ISA", "the formulas here end below it")

TAS_RULES: tuple[str, ...] = ("2 percent", "5 kt", "square")
"""Rules of thumb known to :func:`tas_rule_kt`."""


def _alt(name: str, value: ArrayLike) -> Floats:
    return within(name, value, -2000.0, 36000.0, "ft")


def _setting(name: str, value: ArrayLike) -> Floats:
    return within(name, value, 850.0, 1100.0, "hPa", "is this in inches of mercury?")


def _temperature(value: ArrayLike) -> Floats:
    return within("temperature_c", value, -60.0, 55.0, "deg C", "is this in Fahrenheit?")


def _height(height_ft: ArrayLike) -> Floats:
    return within("height_ft", height_ft, 0.0, 10000.0, "ft", "this is the height above the field, not the altitude")


def _elevation(elevation_ft: ArrayLike) -> Floats:
    return within("elevation_ft", elevation_ft, -1500.0, 15000.0, "ft")


def _pressure_hpa(alt_ft: Floats) -> Floats:
    return np.asarray(STANDARD_PRESSURE_HPA * (1.0 - _PRESSURE_SLOPE * alt_ft) ** _PRESSURE_POWER)


def _alt_ft(pressure_hpa: Floats) -> Floats:
    return np.asarray((1.0 - (pressure_hpa / STANDARD_PRESSURE_HPA) ** (1.0 / _PRESSURE_POWER)) / _PRESSURE_SLOPE)


def hpa_from_inhg(setting_inhg: ArrayLike) -> Result:
    """Altimeter setting in hectopascals.

    Parameters
    ----------
    setting_inhg : float or array_like
        Pressure. [inHg], 5 to 33.

    Returns
    -------
    float or numpy.ndarray
        The same pressure, in the shape of the input. [hPa]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    33.86389 hPa to the inch. Source: ``definition``.

    Terms: altimeter setting; QNH; inches of mercury.

    Examples
    --------
    >>> round(hpa_from_inhg(29.92), 1)
    1013.2
    """
    return plain(within("setting_inhg", setting_inhg, 5.0, 33.0, "inHg", "is this in hectopascals?") * INHG_HPA)


def inhg_from_hpa(setting_hpa: ArrayLike) -> Result:
    """Altimeter setting in inches of mercury.

    Parameters
    ----------
    setting_hpa : float or array_like
        Pressure. [hPa], 200 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        The same pressure, in the shape of the input. [inHg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    33.86389 hPa to the inch. Source: ``definition``.

    Terms: altimeter setting; QNH; hectopascals.

    Examples
    --------
    >>> round(inhg_from_hpa(1013.25), 2)
    29.92
    """
    return plain(within("setting_hpa", setting_hpa, 200.0, 1100.0, "hPa", "is this in inches of mercury?") / INHG_HPA)


def standard_pressure_hpa(alt_ft: ArrayLike) -> Result:
    """Pressure of the standard atmosphere at an altitude.

    Parameters
    ----------
    alt_ft : float or array_like
        Pressure altitude. [ft], -2,000 to 36,000.

    Returns
    -------
    float or numpy.ndarray
        Pressure, in the shape of the input. [hPa]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``1013.25 (1 - 6.8755856e-6 h) ** 5.2558797``. Source: ``ISA``.

    Terms: standard atmosphere.

    Examples
    --------
    >>> round(standard_pressure_hpa(10000.0), 2)
    696.82
    """
    return plain(_pressure_hpa(_alt("alt_ft", alt_ft)))


def standard_temperature_c(alt_ft: ArrayLike) -> Result:
    """Temperature of the standard atmosphere at an altitude.

    Parameters
    ----------
    alt_ft : float or array_like
        Pressure altitude. [ft], -2,000 to 36,000.

    Returns
    -------
    float or numpy.ndarray
        Temperature, in the shape of the input. [deg C]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    15 degrees less 1.98 per 1,000 ft. Source: ``ISA``.

    Terms: standard atmosphere; ISA temperature.

    Examples
    --------
    >>> round(standard_temperature_c(10000.0), 1)
    -4.8
    """
    return plain(STANDARD_TEMPERATURE_C - LAPSE_C_FT * _alt("alt_ft", alt_ft))


@fitting
def pressure_altitude_ft(*, indicated_ft: ArrayLike, setting_hpa: ArrayLike) -> Result:
    """Pressure altitude from what the altimeter shows and what is set on it.

    Parameters
    ----------
    indicated_ft : float or array_like
        Altitude shown. [ft], -2,000 to 36,000.
    setting_hpa : float or array_like
        Altimeter setting on the scale. [hPa], 850 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        Altitude in the standard atmosphere, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The knob shifts the scale by the altitude at which the standard atmosphere has the setting's
    pressure: add that altitude. Source: ``ISA``. Rule: :func:`pressure_altitude_rule_ft`.

    Terms: pressure altitude.

    Examples
    --------
    >>> round(pressure_altitude_ft(indicated_ft=10000.0, setting_hpa=hpa_from_inhg(31.12)), -1)
    8910.0
    """
    return plain(_alt("indicated_ft", indicated_ft) + _alt_ft(_setting("setting_hpa", setting_hpa)))


@fitting
def pressure_altitude_rule_ft(*, indicated_ft: ArrayLike, setting_inhg: ArrayLike) -> Result:
    """Pressure altitude by the 1,000-feet-an-inch rule.

    Parameters
    ----------
    indicated_ft : float or array_like
        Altitude shown. [ft], -2,000 to 36,000.
    setting_inhg : float or array_like
        Altimeter setting on the scale. [inHg], 25 to 33.

    Returns
    -------
    float or numpy.ndarray
        Pressure altitude by the rule, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Less than 29.92: add; greater: subtract; 1,000 ft for each inch, 8 % too much. Source: ``P-203`` p. 97.

    Terms: pressure altitude by rule; 1,000 feet an inch.

    Examples
    --------
    >>> round(pressure_altitude_rule_ft(indicated_ft=10000.0, setting_inhg=31.12))
    8800
    """
    inches = within("setting_inhg", setting_inhg, 25.0, 33.0, "inHg", "is this in hectopascals?")
    return plain(_alt("indicated_ft", indicated_ft) + FT_PER_INHG_RULE * (29.92 - inches))


@fitting
def setting_error_ft(*, set_hpa: ArrayLike, right_hpa: ArrayLike) -> Result:
    """How much an altimeter reads too high with the wrong setting.

    Parameters
    ----------
    set_hpa : float or array_like
        What is on the scale. [hPa], 850 to 1,100.
    right_hpa : float or array_like
        What should be. [hPa], 850 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        Indicated less right altitude; positive: the aircraft is lower than it says. In the
        broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Difference of the two pressures' altitudes in the standard atmosphere: 27.3 ft for each hPa
    near sea level. From high to low, look out below. Source: ``ISA``.

    Terms: wrong altimeter setting; high to low.

    Examples
    --------
    >>> round(setting_error_ft(set_hpa=1023.25, right_hpa=1013.25))
    272
    """
    return plain(_alt_ft(_setting("right_hpa", right_hpa)) - _alt_ft(_setting("set_hpa", set_hpa)))


@fitting
def setting_error_rule_ft(*, set_hpa: ArrayLike, right_hpa: ArrayLike) -> Result:
    """How much an altimeter reads too high with the wrong setting, by the 30-feet rule.

    Parameters
    ----------
    set_hpa : float or array_like
        What is on the scale. [hPa], 850 to 1,100.
    right_hpa : float or array_like
        What should be. [hPa], 850 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        Indicated less right altitude by the rule, in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    30 ft for each hPa, 10 % too much at sea level. Source: ``common-practice``.

    Terms: wrong altimeter setting by rule; 30 feet a hectopascal.

    Examples
    --------
    >>> setting_error_rule_ft(set_hpa=1023.0, right_hpa=1013.0)
    300.0
    """
    return plain(FT_PER_HPA_RULE * (_setting("set_hpa", set_hpa) - _setting("right_hpa", right_hpa)))


@fitting
def field_check_passed(*, indicated_ft: ArrayLike, elevation_ft: ArrayLike) -> Truth:
    """Say whether an altimeter agrees with the known elevation of the apron well enough.

    Parameters
    ----------
    indicated_ft : float or array_like
        Altitude shown on the ground with the field's setting. [ft], -2,000 to 36,000.
    elevation_ft : float or array_like
        Known elevation of the spot. [ft], -1,500 to 15,000.

    Returns
    -------
    bool or numpy.ndarray of bool
        True up to 75 ft either way, in the broadcast shape of the inputs.

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Up to 75 ft either way. ``AIM-7-2-3`` asks for the check; the 75 ft are ``from-memory``: your own rules come
    first.

    Terms: altimeter check on the ground.

    Examples
    --------
    >>> field_check_passed(indicated_ft=130.0, elevation_ft=66.0)
    True
    >>> field_check_passed(indicated_ft=145.0, elevation_ft=66.0)
    False
    """
    return truth(np.abs(_alt("indicated_ft", indicated_ft) - _elevation(elevation_ft)) <= FIELD_CHECK_FT)


@fitting
def cold_correction_ft(*, height_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike = 0.0) -> Result:
    """Feet to add to a published altitude in cold air, as the printed table has them.

    Parameters
    ----------
    height_ft : float or array_like
        Published height above the field that gives the altimeter setting, not the altitude. [ft], 0 to 10,000.
    temperature_c : float or array_like
        Temperature reported at that field. [deg C], -60 to 55.
    elevation_ft : float or array_like, default 0
        Elevation of that field. The printed table leaves it out (0), which adds a little more than needed
        at a high field. [ft], -1,500 to 15,000.

    Returns
    -------
    float or numpy.ndarray
        Correction, rounded up to the next 10 ft; 0 in warm air. In the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``H (15 - t0) / (273 + t0 - 0.5 L (H + e))`` with t0 = temperature + L e and L = 0.00198, rounded up
    to 10 ft. Formula from ``DOC8168-1`` (from memory); it gives every cell of the table in ``AIM-7-3``.

    Terms: cold correction; cold temperature table.

    Examples
    --------
    >>> cold_correction_ft(height_ft=1000.0, temperature_c=-10.0)
    100.0
    >>> cold_correction_ft(height_ft=2000.0, temperature_c=-30.0)
    380.0
    """
    exact = np.asarray(cold_formula_ft(height_ft=height_ft, temperature_c=temperature_c, elevation_ft=elevation_ft))
    # A value that is a whole ten but for the last bit must not be lifted by another ten.
    return plain(10.0 * np.ceil(np.maximum(exact, 0.0) / 10.0 - 1e-9) + 0.0)


@fitting
def cold_formula_ft(*, height_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike = 0.0) -> Result:
    """Feet to add to a published altitude in cold air, before rounding up.

    Parameters
    ----------
    height_ft : float or array_like
        Published height above the field that gives the altimeter setting. [ft], 0 to 10,000.
    temperature_c : float or array_like
        Temperature reported at that field. [deg C], -60 to 55.
    elevation_ft : float or array_like, default 0
        Elevation of that field. [ft], -1,500 to 15,000.

    Returns
    -------
    float or numpy.ndarray
        Correction; negative in air warmer than standard. In the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``H (15 - t0) / (273 + t0 - 0.5 L (H + e))`` as in :func:`cold_correction_ft`. Source: ``DOC8168-1``.

    Terms: cold correction before rounding.

    Examples
    --------
    >>> round(cold_formula_ft(height_ft=2000.0, temperature_c=0.0, elevation_ft=1000.0), 1)
    95.7
    """
    height, elevation = _height(height_ft), _elevation(elevation_ft)
    at_sea_level_c = _temperature(temperature_c) + TABLE_LAPSE_C_FT * elevation
    mean_k = 273.0 + at_sea_level_c - 0.5 * TABLE_LAPSE_C_FT * (height + elevation)
    return plain(height * (STANDARD_TEMPERATURE_C - at_sea_level_c) / mean_k)


@fitting
def cold_rule_ft(*, height_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike = 0.0) -> Result:
    """Feet to add in cold air by the four-per-cent rule.

    Parameters
    ----------
    height_ft : float or array_like
        Published height above the field that gives the altimeter setting. [ft], 0 to 10,000.
    temperature_c : float or array_like
        Temperature reported at that field. [deg C], -60 to 55.
    elevation_ft : float or array_like, default 0
        Elevation of that field. [ft], -1,500 to 15,000.

    Returns
    -------
    float or numpy.ndarray
        Correction by the rule, 0 in warm air; in the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    4 % of the height for each 10 degrees below standard. Against :func:`cold_formula_ft` it is never too
    little down to -15 deg C and 5,000 ft above the field, and up to 20 ft more than needed there; higher or
    colder it falls short: 40 ft at -20 and 10,000 ft, 13 ft at -30 and 2,000, 36 at -40. Use the table there.
    Source: ``DOC8168-1``.

    Terms: cold correction by rule; 4 per cent rule.

    Examples
    --------
    >>> round(cold_rule_ft(height_ft=2000.0, temperature_c=0.0, elevation_ft=1000.0))
    104
    """
    below_c = STANDARD_TEMPERATURE_C - LAPSE_C_FT * _elevation(elevation_ft) - _temperature(temperature_c)
    return plain(np.maximum(COLD_RULE_PERCENT / 100.0 * _height(height_ft) * below_c / 10.0, 0.0))


def _error_ft(height_ft: Floats, temperature_c: Floats, elevation_ft: Floats) -> Floats:
    field_k = STANDARD_TEMPERATURE_C + FREEZING_K - LAPSE_C_FT * elevation_ft
    warmer_c = temperature_c - (STANDARD_TEMPERATURE_C - LAPSE_C_FT * elevation_ft)
    return np.asarray(warmer_c / LAPSE_C_FT * np.log1p(-LAPSE_C_FT * height_ft / field_k))


@fitting
def cold_error_ft(*, height_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike = 0.0) -> Result:
    """How much lower the aircraft is than its altimeter says.

    Parameters
    ----------
    height_ft : float or array_like
        *Indicated* height above the field that gives the altimeter setting. [ft], 0 to 10,000.
    temperature_c : float or array_like
        Temperature reported at that field. [deg C], -60 to 55.
    elevation_ft : float or array_like, default 0
        Elevation of that field. [ft], -1,500 to 15,000.

    Returns
    -------
    float or numpy.ndarray
        Indicated less true height; negative in warm air. In the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``(dT / L) ln(1 - L H / T)``, a constant deviation from standard at all heights. This is *not* what to
    add to a published height: see :func:`cold_addon_ft`. Source: ``TC500-020``.

    Terms: altimeter error in cold air; true height in cold air.

    Examples
    --------
    >>> round(cold_error_ft(height_ft=1500.0, temperature_c=-30.0, elevation_ft=2000.0))
    218
    >>> round(cold_error_ft(height_ft=2000.0, temperature_c=-40.0))
    384
    """
    return plain(_error_ft(_height(height_ft), _temperature(temperature_c), _elevation(elevation_ft)))


@fitting
def cold_addon_ft(*, height_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike = 0.0) -> Result:
    """Feet to add so that the *true* height is the published one, by the logarithmic form.

    Parameters
    ----------
    height_ft : float or array_like
        Published, so wanted, height above the field that gives the altimeter setting. [ft], 0 to 10,000.
    temperature_c : float or array_like
        Temperature reported at that field. [deg C], -60 to 55.
    elevation_ft : float or array_like, default 0
        Elevation of that field. [ft], -1,500 to 15,000.

    Returns
    -------
    float or numpy.ndarray
        What to add; negative in warm air. In the broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The indicated height x for which x less :func:`cold_error_ft` of x is the height, found by repetition.
    At -40 deg C and 2,000 ft: error 384, to add 477, table 480. Source: ``TC500-020``, ``definition``.

    Terms: cold correction by logarithm.

    Examples
    --------
    >>> round(cold_addon_ft(height_ft=2000.0, temperature_c=-40.0))
    477
    """
    height, temperature, elevation = _height(height_ft), _temperature(temperature_c), _elevation(elevation_ft)
    add = _error_ft(height, temperature, elevation)
    for _ in range(60):  # each round leaves at most half of the gap, at any temperature accepted
        add = _error_ft(height + add, temperature, elevation)
    return plain(add)


@fitting
def tas_kt(*, cas_kt: ArrayLike, pressure_alt_ft: ArrayLike, temperature_c: ArrayLike | None = None) -> Result:
    """True airspeed from calibrated airspeed, height and temperature.

    Parameters
    ----------
    cas_kt : float or array_like
        Calibrated airspeed. [kt], 0 to 400.
    pressure_alt_ft : float or array_like
        Pressure altitude. [ft], -2,000 to 36,000.
    temperature_c : float or array_like, optional
        Temperature of the air outside; standard if left out. [deg C], -60 to 55.

    Returns
    -------
    float or numpy.ndarray
        True airspeed, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Impact pressure to Mach number at the pressure of the height, Mach times the speed of sound; subsonic
    compressible flow. Source: ``ISA``. Rules: :func:`tas_rule_kt`.

    Terms: true airspeed.

    Examples
    --------
    >>> round(tas_kt(cas_kt=100.0, pressure_alt_ft=5000.0), 1)
    107.7
    >>> round(tas_kt(cas_kt=140.0, pressure_alt_ft=8000.0, temperature_c=-5.0), 1)
    156.4
    """
    cas = within("cas_kt", cas_kt, 0.0, 400.0, "kt", "is this in km/h?")
    alt = _alt("pressure_alt_ft", pressure_alt_ft)
    air_c = np.asarray(standard_temperature_c(alt)) if temperature_c is None else _temperature(temperature_c)
    impact = (1.0 + 0.2 * (cas / SOUND_KT) ** 2) ** 3.5 - 1.0
    ratio = _pressure_hpa(alt) / STANDARD_PRESSURE_HPA
    mach = np.sqrt(5.0 * ((impact / ratio + 1.0) ** (2.0 / 7.0) - 1.0))
    return plain(mach * SOUND_KT * np.sqrt((air_c + FREEZING_K) / (STANDARD_TEMPERATURE_C + FREEZING_K)))


@fitting
def cas_kt(*, tas_kt: ArrayLike, pressure_alt_ft: ArrayLike, temperature_c: ArrayLike | None = None) -> Result:
    """Calibrated airspeed from true airspeed: the way back of :func:`tas_kt`.

    Parameters
    ----------
    tas_kt : float or array_like
        True airspeed. [kt], 0 to 400.
    pressure_alt_ft : float or array_like
        Pressure altitude. [ft], -2,000 to 36,000.
    temperature_c : float or array_like, optional
        Temperature of the air outside; standard if left out. [deg C], -60 to 55.

    Returns
    -------
    float or numpy.ndarray
        Calibrated airspeed, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Mach number from the speed of sound, impact pressure from Mach. Source: ``ISA``.

    Terms: calibrated airspeed.

    Examples
    --------
    >>> round(cas_kt(tas_kt=107.7, pressure_alt_ft=5000.0))
    100
    """
    tas = within("tas_kt", tas_kt, 0.0, 400.0, "kt", "is this in km/h?")
    alt = _alt("pressure_alt_ft", pressure_alt_ft)
    air_c = np.asarray(standard_temperature_c(alt)) if temperature_c is None else _temperature(temperature_c)
    mach = tas / (SOUND_KT * np.sqrt((air_c + FREEZING_K) / (STANDARD_TEMPERATURE_C + FREEZING_K)))
    impact = ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0) * _pressure_hpa(alt) / STANDARD_PRESSURE_HPA
    return plain(SOUND_KT * np.sqrt(5.0 * ((impact + 1.0) ** (2.0 / 7.0) - 1.0)))


@fitting
def tas_rule_kt(*, cas_kt: ArrayLike, pressure_alt_ft: ArrayLike, rule: str = "2 percent") -> Result:
    """True airspeed by a rule of thumb.

    Parameters
    ----------
    cas_kt : float or array_like
        Calibrated airspeed. [kt], 0 to 400.
    pressure_alt_ft : float or array_like
        Pressure altitude. [ft], 0 to 15,000; for ``"square"`` from 5,000.
    rule : {"2 percent", "5 kt", "square"}, default "2 percent"
        2 % more for each 1,000 ft; 5 kt more for each 1,000 ft (meant for 200 to 300 kt, and the same as
        half the flight level in knots); 9, 16, 25 % more at 5,000, 10,000, 15,000 ft.

    Returns
    -------
    float or numpy.ndarray
        True airspeed by the rule, in the broadcast shape of the inputs. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the rule is unknown.

    Notes
    -----
    ``cas * (1 + 0.02 h)``, ``cas + 5 h`` and ``cas * (1 + (h / 5 + 2)**2 / 100)``, h in thousands of feet. Against
    :func:`tas_kt` in standard air the 2 % rule is 1 % high at 2,000 ft, 2 to 3 at 5,000 and 3 to 4
    at 10,000. The 5 kt rule is 1 % high at 300 kt, 4 at 250 and 8 at 200 (at 10,000 ft), and not meant for
    less: at 120 kt it is 22 % high. The square rule is within 1.7 % from 5,000 to 15,000 ft, nearest at
    10,000. Source: ``AF60``; the square rule is ``common-practice``.

    Terms: true airspeed by rule; 2 per cent rule.

    Examples
    --------
    >>> tas_rule_kt(cas_kt=150.0, pressure_alt_ft=10000.0)
    180.0
    >>> tas_rule_kt(cas_kt=250.0, pressure_alt_ft=10000.0, rule="5 kt")
    300.0
    >>> tas_rule_kt(cas_kt=250.0, pressure_alt_ft=10000.0, rule="square")
    290.0
    """
    one_of("rule", rule, TAS_RULES, "a rule for true airspeed")
    cas = within("cas_kt", cas_kt, 0.0, 400.0, "kt", "is this in km/h?")
    lowest = 5000.0 if rule == "square" else 0.0
    alt = within("pressure_alt_ft", pressure_alt_ft, lowest, 15000.0, "ft", "the rule is not meant for this height")
    if rule == "2 percent":
        return plain(cas * (1.0 + 0.02 * alt / 1000.0))
    if rule == "5 kt":
        return plain(cas + 5.0 * alt / 1000.0)
    return plain(cas * (1.0 + (alt / 5000.0 + 2.0) ** 2 / 100.0))
