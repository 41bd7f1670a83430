"""Units of the trade and how to get from one to another.

Each function is named after what it gives and what it takes: ``km_from_nm(dist_nm)``.
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import OutOfRange
from needlework.basis.quantity import Constant, Result, one, plain, shown, within

NM_M = Constant(1852.0, "m/NM", "definition", "international nautical mile")
FT_M = Constant(0.3048, "m/ft", "definition", "international foot")
NM_FT = Constant(NM_M / FT_M, "ft/NM", "definition", "6,076.1 ft in a nautical mile")
KT_M_S = Constant(NM_M / 3600.0, "(m/s)/kt", "definition", "one nautical mile an hour")
KT_FPM = Constant(NM_FT / 60.0, "fpm/kt", "definition", "one nautical mile an hour, in feet a minute")
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)")


def km_from_nm(dist_nm: ArrayLike) -> Result:
    """Turn nautical miles into kilometres.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance. [NM], -25,000 to 25,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [km]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 1.852 km. Source: ``definition``.

    Terms: kilometres; nautical miles.

    Examples
    --------
    >>> round(km_from_nm(1.0), 3)
    1.852
    """
    return plain(within("dist_nm", dist_nm, -25_000.0, 25_000.0, "NM") * NM_M / 1000.0)


def nm_from_km(dist_km: ArrayLike) -> Result:
    """Turn kilometres into nautical miles.

    Parameters
    ----------
    dist_km : float or array_like
        Distance. [km], -50,000 to 50,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 1.852 km. Source: ``definition``.

    Terms: kilometres; nautical miles.

    Examples
    --------
    >>> round(nm_from_km(18.52), 1)
    10.0
    """
    return plain(within("dist_km", dist_km, -50_000.0, 50_000.0, "km") * 1000.0 / NM_M)


def m_from_nm(dist_nm: ArrayLike) -> Result:
    """Turn nautical miles into metres.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance. [NM], -25,000 to 25,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [m]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 1,852 m. Source: ``definition``.

    Terms: metres; nautical miles.

    Examples
    --------
    >>> round(m_from_nm(2.0), 1)
    3704.0
    """
    return plain(within("dist_nm", dist_nm, -25_000.0, 25_000.0, "NM") * NM_M)


def nm_from_m(dist_m: ArrayLike) -> Result:
    """Turn metres into nautical miles.

    Parameters
    ----------
    dist_m : float or array_like
        Distance or height. [m], -50,000,000 to 50,000,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 1,852 m. Source: ``definition``.

    Terms: metres; nautical miles; visibility in miles.

    Examples
    --------
    >>> round(nm_from_m(926.0), 1)
    0.5
    """
    return plain(within("dist_m", dist_m, -50_000_000.0, 50_000_000.0, "m") / NM_M)


def ft_from_nm(dist_nm: ArrayLike) -> Result:
    """Turn nautical miles into feet.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance. [NM], -25,000 to 25,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 6,076.1 ft. Source: ``definition``.

    Terms: feet; nautical miles.

    Examples
    --------
    >>> round(ft_from_nm(1.0), 1)
    6076.1
    """
    return plain(within("dist_nm", dist_nm, -25_000.0, 25_000.0, "NM") * NM_FT)


def nm_from_ft(dist_ft: ArrayLike) -> Result:
    """Turn feet into nautical miles.

    Parameters
    ----------
    dist_ft : float or array_like
        Distance or height. [ft], -200,000,000 to 200,000,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One nautical mile is 6,076.1 ft. Source: ``definition``.

    Terms: feet; nautical miles; height in miles.

    Examples
    --------
    >>> round(nm_from_ft(3000.0), 3)
    0.494
    """
    return plain(within("dist_ft", dist_ft, -200_000_000.0, 200_000_000.0, "ft") / NM_FT)


def m_from_ft(dist_ft: ArrayLike) -> Result:
    """Turn feet into metres.

    Parameters
    ----------
    dist_ft : float or array_like
        Distance or height. [ft], -200,000,000 to 200,000,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [m]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One foot is 0.3048 m. Source: ``definition``.

    Terms: feet; metres.

    Examples
    --------
    >>> round(m_from_ft(1000.0), 1)
    304.8
    """
    return plain(within("dist_ft", dist_ft, -200_000_000.0, 200_000_000.0, "ft") * FT_M)


def ft_from_m(dist_m: ArrayLike) -> Result:
    """Turn metres into feet.

    Parameters
    ----------
    dist_m : float or array_like
        Distance or height. [m], -50,000,000 to 50,000,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One foot is 0.3048 m. Source: ``definition``.

    Terms: feet; metres.

    Examples
    --------
    >>> round(ft_from_m(304.8), 1)
    1000.0
    """
    return plain(within("dist_m", dist_m, -50_000_000.0, 50_000_000.0, "m") / FT_M)


def m_s_from_kt(speed_kt: ArrayLike) -> Result:
    """Turn knots into metres a second.

    Parameters
    ----------
    speed_kt : float or array_like
        Speed. [kt], -2,000 to 2,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [m/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One knot is 1852/3600 m/s. Source: ``definition``.

    Terms: metres a second; knots.

    Examples
    --------
    >>> round(m_s_from_kt(100.0), 2)
    51.44
    """
    return plain(within("speed_kt", speed_kt, -2_000.0, 2_000.0, "kt") * KT_M_S)


def kt_from_m_s(speed_m_s: ArrayLike) -> Result:
    """Turn metres a second into knots.

    Parameters
    ----------
    speed_m_s : float or array_like
        Speed. [m/s], -1,100 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One knot is 1852/3600 m/s. Source: ``definition``.

    Terms: metres a second; knots.

    Examples
    --------
    >>> round(kt_from_m_s(10.0), 2)
    19.44
    """
    return plain(within("speed_m_s", speed_m_s, -1_100.0, 1_100.0, "m/s") / KT_M_S)


def fpm_from_kt(speed_kt: ArrayLike) -> Result:
    """Turn knots into feet a minute.

    Parameters
    ----------
    speed_kt : float or array_like
        Speed. [kt], -2,000 to 2,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [fpm]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One knot is 101.27 ft/min. Source: ``definition``.

    Terms: feet a minute; knots.

    Examples
    --------
    >>> round(fpm_from_kt(1.0), 2)
    101.27
    """
    return plain(within("speed_kt", speed_kt, -2_000.0, 2_000.0, "kt") * KT_FPM)


def kt_from_fpm(vs_fpm: ArrayLike) -> Result:
    """Turn feet a minute into knots.

    Parameters
    ----------
    vs_fpm : float or array_like
        Vertical speed. [fpm], -210,000 to 210,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [kt]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One knot is 101.27 ft/min. Source: ``definition``.

    Terms: feet a minute; knots.

    Examples
    --------
    >>> round(kt_from_fpm(500.0), 3)
    4.937
    """
    return plain(within("vs_fpm", vs_fpm, -210_000.0, 210_000.0, "fpm") / KT_FPM)


def fpm_from_m_s(speed_m_s: ArrayLike) -> Result:
    """Turn metres a second into feet a minute.

    Parameters
    ----------
    speed_m_s : float or array_like
        Speed. [m/s], -1,100 to 1,100.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [fpm]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One m/s is 196.85 ft/min. Source: ``definition``.

    Terms: feet a minute; metres a second.

    Examples
    --------
    >>> round(fpm_from_m_s(2.5), 1)
    492.1
    """
    return plain(within("speed_m_s", speed_m_s, -1_100.0, 1_100.0, "m/s") * 60.0 / FT_M)


def m_s_from_fpm(vs_fpm: ArrayLike) -> Result:
    """Turn feet a minute into metres a second.

    Parameters
    ----------
    vs_fpm : float or array_like
        Vertical speed. [fpm], -210,000 to 210,000.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [m/s]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    One m/s is 196.85 ft/min. Source: ``definition``.

    Terms: feet a minute; metres a second.

    Examples
    --------
    >>> round(m_s_from_fpm(1000.0), 2)
    5.08
    """
    return plain(within("vs_fpm", vs_fpm, -210_000.0, 210_000.0, "fpm") * FT_M / 60.0)


def deg_from_ft_nm(gradient_ft_nm: ArrayLike) -> Result:
    """Turn feet per nautical mile into degrees.

    Parameters
    ----------
    gradient_ft_nm : float or array_like
        Gradient, climb or descent. [ft/NM], -6,076 to 6,076.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``atan(gradient / 6076.1)``. Source: ``definition``.

    Terms: descent angle; gradient as an angle; feet a mile.

    Examples
    --------
    >>> round(deg_from_ft_nm(318.4), 1)
    3.0
    """
    return plain(np.degrees(np.arctan(within("gradient_ft_nm", gradient_ft_nm, -6_076.0, 6_076.0, "ft/NM") / NM_FT)))


def ft_nm_from_deg(angle_deg: ArrayLike) -> Result:
    """Turn degrees into feet per nautical mile.

    Parameters
    ----------
    angle_deg : float or array_like
        Angle of climb or descent. [deg], -45 to 45.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``6076.1 * tan(angle)``. The rule of sixty says 100 ft/NM for each degree: 6 per cent low. Source: ``definition``.

    Terms: descent angle; gradient from an angle; feet a mile; three degrees.

    Examples
    --------
    >>> round(ft_nm_from_deg(3.0), 1)
    318.4
    """
    return plain(NM_FT * np.tan(np.radians(within("angle_deg", angle_deg, -45.0, 45.0, "deg"))))


def percent_from_ft_nm(gradient_ft_nm: ArrayLike) -> Result:
    """Turn feet per nautical mile into per cent.

    Parameters
    ----------
    gradient_ft_nm : float or array_like
        Gradient, climb or descent. [ft/NM], -6,076 to 6,076.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [percent]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Feet up for each hundred feet along. Source: ``definition``.

    Terms: gradient in per cent.

    Examples
    --------
    >>> round(percent_from_ft_nm(200.0), 2)
    3.29
    """
    return plain(within("gradient_ft_nm", gradient_ft_nm, -6_076.0, 6_076.0, "ft/NM") / NM_FT * 100.0)


def ft_nm_from_percent(gradient_percent: ArrayLike) -> Result:
    """Turn per cent into feet per nautical mile.

    Parameters
    ----------
    gradient_percent : float or array_like
        Gradient, climb or descent. [percent], -100 to 100.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Feet up for each hundred feet along. Source: ``definition``.

    Terms: gradient in per cent.

    Examples
    --------
    >>> round(ft_nm_from_percent(2.5), 1)
    151.9
    """
    return plain(within("gradient_percent", gradient_percent, -100.0, 100.0, "percent") * NM_FT / 100.0)


def percent_from_deg(angle_deg: ArrayLike) -> Result:
    """Turn degrees into per cent.

    Parameters
    ----------
    angle_deg : float or array_like
        Angle of climb or descent. [deg], -45 to 45.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [percent]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``100 * tan(angle)``. Source: ``definition``.

    Terms: gradient in per cent; descent angle.

    Examples
    --------
    >>> round(percent_from_deg(3.0), 2)
    5.24
    """
    return plain(100.0 * np.tan(np.radians(within("angle_deg", angle_deg, -45.0, 45.0, "deg"))))


def deg_from_percent(gradient_percent: ArrayLike) -> Result:
    """Turn per cent into degrees.

    Parameters
    ----------
    gradient_percent : float or array_like
        Gradient, climb or descent. [percent], -100 to 100.

    Returns
    -------
    float or numpy.ndarray
        The same, in the shape of the input. [deg]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    ``atan(gradient / 100)``. Source: ``definition``.

    Terms: gradient in per cent; descent angle.

    Examples
    --------
    >>> round(deg_from_percent(5.24), 1)
    3.0
    """
    return plain(
        np.degrees(np.arctan(within("gradient_percent", gradient_percent, -100.0, 100.0, "percent") / 100.0))
    )


def mm_ss(time_min: float) -> str:
    """Write a time in minutes the way it stands on a plate: minutes, colon, seconds.

    Parameters
    ----------
    time_min : float
        One time. [min], 0 to 999.

    Returns
    -------
    str
        For example ``"4:18"``, rounded to the nearest second.

    Raises
    ------
    OutOfRange
        If the value is outside its range, or is nan.

    Notes
    -----
    Source: ``common-practice``.

    Terms: minutes and seconds.

    Examples
    --------
    >>> mm_ss(4.3), mm_ss(1.999), mm_ss(0.5)
    ('4:18', '2:00', '0:30')
    """
    minutes = one("time_min", within("time_min", time_min, 0.0, 999.0, "min", "is this in seconds?"))
    seconds = round(minutes * 60.0)
    return f"{seconds // 60}:{seconds % 60:02d}"


def minutes_from_mm_ss(text: str) -> float:
    """Read a time written as minutes, colon, seconds.

    Parameters
    ----------
    text : str
        For example ``"4:18"``: minutes 0 to 999, seconds two digits.

    Returns
    -------
    float
        The time. [min]

    Raises
    ------
    OutOfRange
        If the text is not of that form.

    Notes
    -----
    Source: ``common-practice``.

    Terms: minutes and seconds.

    Examples
    --------
    >>> minutes_from_mm_ss("4:18")
    4.3
    """
    found = _CLOCK.fullmatch(text.strip()) if isinstance(text, str) else None
    if found is None:
        raise OutOfRange(
            f"text = {shown(text)} is not a time: expected minutes, colon and two digits of seconds, like '4:18'"
        )
    return int(found[1]) + int(found[2]) / 60.0
