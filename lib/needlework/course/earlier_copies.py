"""What cells of earlier lessons call: a learner's copy is kept for years, and its cells still have to run."""

from __future__ import annotations

from needlework.trade import holding


def lap(
    tas_kt: float,
    inbound_course_deg: float,
    side: str,
    wind_from_deg: float,
    wind_kt: float,
    *,
    outbound_deg: float,
    outbound_s: float,
) -> holding.Lap:
    """Fly one lap of a hold as earlier copies ask for it: the first five values by their place.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt], 40 to 400.
    inbound_course_deg : float
        Inbound holding course. [deg], -3600 to 3600.
    side : {"left", "right"}
        Turns of the pattern.
    wind_from_deg, wind_kt : float
        Wind. [deg], -3600 to 3600; [kt], 0 to 200.
    outbound_deg : float
        Outbound *heading*. [deg], -3600 to 3600.
    outbound_s : float
        Time with wings level on it. [s], 0 to 600.

    Returns
    -------
    needlework.trade.holding.Lap
        As :func:`needlework.trade.holding.lap`.

    Raises
    ------
    OutOfRange, NoSolution
        As :func:`needlework.trade.holding.lap`.
    """
    return holding.lap(
        tas_kt=tas_kt,
        inbound_course_deg=inbound_course_deg,
        side=side,
        wind_from_deg=wind_from_deg,
        wind_kt=wind_kt,
        outbound_deg=outbound_deg,
        outbound_s=outbound_s,
    )
