"""Missed approach: the climb it needs, the decision, why nobody turns early, and the radial outbound."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from needlework.basis.errors import NoSolution, OutOfRange
from needlework.basis.quantity import (
    Constant,
    Floats,
    Result,
    angle,
    distance,
    fitting,
    ground_speed,
    one,
    one_of,
    plain,
    shown,
    within,
    yes_no,
)
from needlework.trade.angles import difference_deg, turn_deg, wrap360
from needlework.trade.units import NM_FT

CLIMB_FT_NM = Constant(200.0, "ft/NM", "AIM-5-4-21", "assumed unless a steeper climb is published")
SURFACE_FT_NM = Constant(NM_FT / 40.0, "ft/NM", "8260-3", "40:1, printed as 152: nothing stands above it")
LIGHTS_ONLY_FT = Constant(100.0, "ft", "CFR175", "above the touchdown zone: below it approach lights alone do not do")
AT_MINIMUM_FT = Constant(100.0, "ft", "ACS", "no more than this above the minimum counts as being at it")

REFERENCES: tuple[str, ...] = (
    "approach lights", "threshold", "threshold markings", "threshold lights", "runway end identifier lights",
    "visual glide slope indicator", "touchdown zone", "touchdown zone lights", "runway", "runway lights",
)  # fmt: skip
"""The ten visual references of 14 CFR 91.175(c)(3); markings count with their surface."""
RED_BARS = "red bars"
"""Red terminating or side row bars: no reference by themselves, they lift the limit of the approach lights."""

ACTIONS: tuple[str, ...] = (
    "power", "pitch", "climb seen", "first flap", "rest of the clean-up", "needle and heading", "turn at the point",
    "radio",
)  # fmt: skip
"""Order of actions from the decision on (common practice: power, pitch, positive climb, clean up, navigate, talk)."""


@dataclass(frozen=True)
class Conditions:
    """What a pilot knows at the moment of the decision.

    Parameters
    ----------
    alt_ft, mda_ft, tdz_ft : float
        Altitude, minimum of the day (or derived decision altitude), elevation of the touchdown zone. [ft MSL]
    to_map_nm : float
        Miles to the missed approach point; 0 at it, negative past it. [NM]
    visibility_m, required_m : float
        Flight visibility now, and published. [m]
    references : collection of str
        What is distinctly seen: items of :data:`REFERENCES` and :data:`RED_BARS`.
    in_position : bool
        A descent at a normal rate with normal manoeuvres reaches the intended runway from here.
    to_vdp_nm : float, optional
        Miles to the visual descent point; 0 or negative once there; None where there is none. [NM]
    constant_angle : bool
        Flown as a constant-angle descent to a decision altitude, without levelling.
    """

    alt_ft: float
    mda_ft: float
    tdz_ft: float
    to_map_nm: float
    visibility_m: float
    required_m: float
    references: Collection[str] = ()
    in_position: bool = True
    to_vdp_nm: float | None = None
    constant_angle: bool = False


@dataclass(frozen=True)
class Decision:
    """What to do, and why.

    Parameters
    ----------
    action : str
        ``"continue"`` (go on down), ``"level"`` (not below the minimum, on to the missed approach point) or
        ``"go around"``.
    missing : tuple of str
        Which of ``"position"``, ``"visibility"``, ``"reference"`` are not there.
    reason : str
        One sentence.
    """

    action: str
    missing: tuple[str, ...]
    reason: str


def _gradient(value: ArrayLike) -> Floats:
    return within("gradient_ft_nm", value, 0.0, 1500.0, "ft/NM", "is this in ft/min?")


def _climb(value: ArrayLike) -> Floats:
    return within("vs_fpm", value, 0.0, 6000.0, "fpm")


def _words(name: str, value: Collection[str]) -> list[str]:
    """Give the words of a list, a word alone as a list of one."""
    if isinstance(value, str):
        return [value]
    try:
        return list(value)
    except TypeError:
        raise OutOfRange(
            f"{name} = {shown(value)} is not a list of words: expected words in brackets, or one word"
        ) from None


_direction = partial(angle, slip="is this a speed or a distance?")


@fitting
def climb_fpm(*, gradient_ft_nm: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Rate of climb that makes a gradient at a ground speed.

    Parameters
    ----------
    gradient_ft_nm : float or array_like
        Climb gradient, over the ground. [ft/NM], 0 to 1,500.
    gs_kt : float or array_like
        Ground speed in the climb, not airspeed. [kt], 20 to 400.

    Returns
    -------
    float or numpy.ndarray
        Rate of climb, in the broadcast shape of the inputs. [fpm]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Gradient times miles a minute: a tailwind asks for more. Source: ``AIM-5-4-21`` b.

    Terms: rate of climb; climb gradient in feet a minute.

    Examples
    --------
    >>> round(climb_fpm(gradient_ft_nm=240.0, gs_kt=95.0))
    380
    """
    return plain(_gradient(gradient_ft_nm) * ground_speed("gs_kt", gs_kt) / 60.0)


@fitting
def climb_gradient_ft_nm(*, vs_fpm: ArrayLike, gs_kt: ArrayLike) -> Result:
    """Gradient that a rate of climb makes at a ground speed.

    Parameters
    ----------
    vs_fpm : float or array_like
        Rate of climb. [fpm], 0 to 6,000.
    gs_kt : float or array_like
        Ground speed in the climb, not airspeed. [kt], 20 to 400.

    Returns
    -------
    float or numpy.ndarray
        Gradient, in the broadcast shape of the inputs. [ft/NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Rate over miles a minute. Source: ``definition``.

    Terms: climb gradient.

    Examples
    --------
    >>> round(climb_gradient_ft_nm(vs_fpm=650.0, gs_kt=110.0))
    355
    """
    return plain(_climb(vs_fpm) * 60.0 / ground_speed("gs_kt", gs_kt))


@fitting
def clearance_ft(*, dist_nm: ArrayLike, gradient_ft_nm: ArrayLike = CLIMB_FT_NM) -> Result:
    """Height of a climb above the obstacle surface that rises with it.

    Parameters
    ----------
    dist_nm : float or array_like
        Distance past the point where the climb and the surface begin. [NM], 0 to 300.
    gradient_ft_nm : float or array_like, default 200
        Gradient flown. [ft/NM], 0 to 1,500.

    Returns
    -------
    float or numpy.ndarray
        Feet above the surface, on top of what there was at its beginning; negative: through it. In the
        broadcast shape of the inputs. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    The surface rises one foot in forty, 152 ft a mile; 200 leaves 48 ft a mile, 24 %. Where a steeper
    climb is published the surface is steeper too. Source: ``8260-3`` for the 40:1, ``AIM-5-4-21`` b for the climb.

    Terms: obstacle clearance in a climb; 40:1 surface.

    Examples
    --------
    >>> round(clearance_ft(dist_nm=5.0)), round(clearance_ft(dist_nm=5.0, gradient_ft_nm=120.0))
    (240, -160)
    """
    return plain(distance("dist_nm", dist_nm) * (_gradient(gradient_ft_nm) - SURFACE_FT_NM))


def reference_enough(*, references: Collection[str], height_ft: float) -> bool:
    """Say whether what is seen is a sufficient visual reference at a height.

    Parameters
    ----------
    references : collection of str
        What is distinctly seen: items of :data:`REFERENCES` and :data:`RED_BARS`.
    height_ft : float
        Height above the touchdown zone. [ft], -500 to 5,000.

    Returns
    -------
    bool
        True if one of the ten is seen, approach lights alone not below 100 ft unless red bars are seen too.

    Raises
    ------
    OutOfRange
        If the height is outside its range, or is nan, or something seen is not on the list.

    Notes
    -----
    One of the ten; approach lights alone not below 100 ft, unless red bars are seen too. Source: ``CFR175`` (c)(3).

    Terms: visual references.

    Examples
    --------
    >>> reference_enough(references={"approach lights"}, height_ft=150.0)
    True
    >>> reference_enough(references={"approach lights"}, height_ft=90.0)
    False
    """
    height = one(
        "height_ft", within("height_ft", height_ft, -500.0, 5000.0, "ft", "is this an altitude above the sea?")
    )
    seen = {
        one_of("references", word, (*REFERENCES, RED_BARS), "one of the visual references")
        for word in _words("references", references)
    }
    if seen & set(REFERENCES[1:]):
        return True
    return REFERENCES[0] in seen and (height >= LIGHTS_ONLY_FT or RED_BARS in seen)


def decide(conditions: Conditions) -> Decision:
    """Decide at minimums: go on down, stay level, or go around.

    Parameters
    ----------
    conditions : Conditions
        What is known at this moment; units as documented there.

    Returns
    -------
    Decision
        The action, what is missing, and the reason.

    Raises
    ------
    OutOfRange
        If a number is outside its range, or is nan, or something seen is not on the list.

    Notes
    -----
    Below the minimum only with all three: position for a normal descent, published visibility, one
    reference; losing one means going around at once. Not below it before the visual descent point. At
    the missed approach point there is no third choice. A constant-angle descent has no level part. A
    runway that is seen when a normal descent is no longer possible does not become possible by waiting.
    Source: ``CFR175`` (c), ``AIM-5-4-5``, ``AIM-5-4-21``.

    Terms: decision at minimums; go-around; minimums: what to do at them.

    Examples
    --------
    >>> decide(Conditions(560.0, 560.0, 62.0, 0.4, 1000.0, 1500.0)).action
    'level'
    >>> decide(Conditions(560.0, 560.0, 62.0, 0.0, 2000.0, 1500.0)).missing
    ('reference',)
    """
    c = conditions
    if not isinstance(c, Conditions):
        raise OutOfRange(f"conditions = {shown(c)} is not what is known at minimums: expected missed.Conditions(...)")
    for name in ("alt_ft", "mda_ft", "tdz_ft"):
        one(name, within(name, getattr(c, name), -1500.0, 45000.0, "ft"))
    for name in ("visibility_m", "required_m"):
        one(name, within(name, getattr(c, name), 0.0, 100000.0, "m"))
    for name in ("in_position", "constant_angle"):
        yes_no(name, getattr(c, name))
    to_map = one("to_map_nm", distance("to_map_nm", c.to_map_nm, -300.0))
    to_vdp = None if c.to_vdp_nm is None else one("to_vdp_nm", distance("to_vdp_nm", c.to_vdp_nm, -300.0))
    seen = reference_enough(references=c.references, height_ft=c.alt_ft - c.tdz_ft)
    here = (("position", c.in_position), ("visibility", c.visibility_m >= c.required_m), ("reference", seen))
    missing = tuple(name for name, there in here if not there)
    words = " and ".join(missing)
    if to_map <= 0.0:
        if missing:
            return Decision("go around", missing, f"At the missed approach point without {words}: no third choice.")
        return Decision("continue", (), "Position, visibility and a reference are there: land.")
    if c.alt_ft < c.mda_ft:
        if missing:
            return Decision("go around", missing, f"Below the minimum without {words}: climb now, turn at the point.")
        return Decision("continue", (), "Position, visibility and a reference are there: go on down.")
    if c.constant_angle:
        if c.alt_ft > c.mda_ft:
            return Decision("continue", missing, "Still above the decision altitude: stay on the line.")
        if missing:
            return Decision(
                "go around", missing, f"At the decision altitude without {words}: climb, turn at the point."
            )
        return Decision("continue", (), "Position, visibility and a reference are there: go on down.")
    if c.alt_ft > c.mda_ft + AT_MINIMUM_FT:
        return Decision("continue", missing, "Still above the minimum: on down to it, and no lower.")
    if not missing:
        if to_vdp is not None and to_vdp > 0.0:
            return Decision("level", (), "The visual descent point is still ahead: not below the minimum before it.")
        return Decision("continue", (), "Position, visibility and a reference are there: go on down.")
    if missing == ("position",) and (to_vdp is None or to_vdp <= 0.0):
        return Decision(
            "go around",
            missing,
            "Seen too late for a normal descent, and waiting makes it worse: climb, turn at the point.",
        )
    return Decision("level", missing, f"Not below the minimum without {words}: level to the missed approach point.")


@fitting
def climb_by_map_ft(
    *,
    alt_ft: ArrayLike,
    to_map_nm: ArrayLike,
    vs_fpm: ArrayLike,
    gs_kt: ArrayLike,
    limit_ft: ArrayLike = 45000.0,
) -> Result:
    """Altitude at the missed approach point when the climb begins before it.

    Parameters
    ----------
    alt_ft : float or array_like
        Altitude at the decision. [ft MSL], -1,500 to 45,000.
    to_map_nm : float or array_like
        Miles to the missed approach point. [NM], 0 to 300.
    vs_fpm : float or array_like
        Rate of climb. [fpm], 0 to 6,000.
    gs_kt : float or array_like
        Ground speed. [kt], 20 to 400.
    limit_ft : float or array_like, default 45,000
        Altitude at which to stop: the missed approach altitude, or a maximum published before the point.
        [ft MSL], -1,500 to 45,000.

    Returns
    -------
    float or numpy.ndarray
        Altitude at the point, where the turn may begin; in the broadcast shape of the inputs. [ft MSL]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Given up early: climb at once, along the final course to the point, turn there (unless a maximum
    altitude is published before it). Source: ``AIM-5-4-21`` b, ``AIM-5-5-5`` a 4.

    Terms: missed approach begun early.

    Examples
    --------
    >>> round(climb_by_map_ft(alt_ft=900.0, to_map_nm=1.5, vs_fpm=600.0, gs_kt=90.0))
    1500
    """
    alt = within("alt_ft", alt_ft, -1500.0, 45000.0, "ft")
    limit = within("limit_ft", limit_ft, -1500.0, 45000.0, "ft")
    gain = distance("to_map_nm", to_map_nm) / ground_speed("gs_kt", gs_kt) * 60.0 * _climb(vs_fpm)
    return plain(np.minimum(alt + gain, np.maximum(limit, alt)))


@fitting
def early_turn_nm(*, early_nm: ArrayLike, change_deg: ArrayLike) -> Result:
    """How far a turn begun early leads from the track that was checked for ground.

    Parameters
    ----------
    early_nm : float or array_like
        Miles before the missed approach point at which the turn begins. [NM], 0 to 300.
    change_deg : float or array_like
        Angle between the final course and the missed approach track, either side. [deg], 0 to 180.

    Returns
    -------
    float or numpy.ndarray
        Distance between the track flown and the parallel one begun at the point. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.

    Notes
    -----
    Miles early times the sine of the change; the turns are alike and cancel. Protection begins at the
    point: nobody has looked for masts under the earlier track. Source: ``definition``; ``AIM-5-4-21`` b.

    Terms: early turn in a missed approach.

    Examples
    --------
    >>> round(early_turn_nm(early_nm=0.8, change_deg=94.0), 1)
    0.8
    """
    change = within("change_deg", change_deg, 0.0, 180.0, "deg", "give the size of the turn, without a side")
    return plain(distance("early_nm", early_nm) * np.sin(np.deg2rad(change)))


@fitting
def after_turn(
    *,
    radial_deg: ArrayLike,
    dist_nm: ArrayLike,
    start_track_deg: ArrayLike,
    end_track_deg: ArrayLike,
    side: str,
    radius_nm: ArrayLike,
) -> tuple[Result, Result]:
    """Radial and distance where a level turn ends.

    Parameters
    ----------
    radial_deg, dist_nm : float or array_like
        Where it begins. [deg], -3600 to 3600; [NM], 0 to 300.
    start_track_deg, end_track_deg : float or array_like
        Tracks before and after. [deg], -3600 to 3600.
    side : {"left", "right"}
        The way round.
    radius_nm : float or array_like
        Radius of the turn. [NM], 0 to 20.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Radial in [0, 360) and distance, each in the broadcast shape of the inputs. [deg], [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan, or the side is neither left nor right.

    Notes
    -----
    Circle in still air on a flat earth. Source: ``definition``.

    Terms: place after a turn.

    Examples
    --------
    >>> radial_deg, dist_nm = after_turn(
    ...     radial_deg=214.0, dist_nm=4.7, start_track_deg=214.0, end_track_deg=120.0, side="left", radius_nm=0.5
    ... )
    >>> round(radial_deg, 1), round(dist_nm, 2)
    (208.1, 5.23)
    """
    turned = np.deg2rad(np.asarray(turn_deg(from_deg=start_track_deg, to_deg=end_track_deg, side=side)))
    radius = within("radius_nm", radius_nm, 0.0, 20.0, "NM", "is this in feet?")
    radial, dist = np.deg2rad(_direction("radial_deg", radial_deg)), distance("dist_nm", dist_nm)
    start = np.deg2rad(_direction("start_track_deg", start_track_deg))
    hand = 1.0 if side == "right" else -1.0
    ahead, aside = radius * np.sin(turned), hand * radius * (1.0 - np.cos(turned))
    east = dist * np.sin(radial) + ahead * np.sin(start) + aside * np.cos(start)
    north = dist * np.cos(radial) + ahead * np.cos(start) - aside * np.sin(start)
    return wrap360(np.rad2deg(np.arctan2(east, north))), plain(np.hypot(east, north))


@fitting
def meets_radial_nm(
    *, radial_deg: ArrayLike, dist_nm: ArrayLike, track_deg: ArrayLike, wanted_radial_deg: ArrayLike
) -> tuple[Result, Result]:
    """Where a straight track meets a radial, and how far it is to fly there.

    Parameters
    ----------
    radial_deg, dist_nm : float or array_like
        Where the track begins, for example the end of the turn. [deg], -3600 to 3600; [NM], 0 to 300.
    track_deg : float or array_like
        Track over the ground. [deg], -3600 to 3600.
    wanted_radial_deg : float or array_like
        Radial to be intercepted. [deg], -3600 to 3600.

    Returns
    -------
    tuple of (float or numpy.ndarray)
        Distance from the station of the meeting point, and distance flown to it; each in the broadcast
        shape of the inputs. [NM]

    Raises
    ------
    OutOfRange
        If a value is outside its range, or is nan.
    NoSolution
        If the track never meets the radial on its side of the station.

    Notes
    -----
    Sine rule in the triangle of station, start and meeting point; the cut is the angle between track and
    radial. Source: ``definition``.

    Terms: track and radial: where they meet.

    Examples
    --------
    >>> met_nm, flown_nm = meets_radial_nm(radial_deg=214.0, dist_nm=4.7, track_deg=120.0, wanted_radial_deg=165.0)
    >>> round(met_nm, 1), round(flown_nm, 1)
    (6.6, 5.0)
    """
    dist = distance("dist_nm", dist_nm)
    track, wanted = _direction("track_deg", track_deg), _direction("wanted_radial_deg", wanted_radial_deg)
    radial = _direction("radial_deg", radial_deg)
    cut = np.sin(np.deg2rad(np.asarray(difference_deg(from_deg=track, to_deg=wanted))))
    to_track = np.sin(np.deg2rad(np.asarray(difference_deg(from_deg=track, to_deg=radial))))
    to_radial = np.sin(np.deg2rad(np.asarray(difference_deg(from_deg=wanted, to_deg=radial))))
    parallel = np.abs(cut) < 1e-9
    safe = np.where(parallel, 1.0, cut)
    met, flown = dist * to_track / safe, dist * to_radial / safe
    if np.any(parallel | (met < -1e-9) | (flown < -1e-9)):
        raise NoSolution(
            "The track never meets that radial on its side of the station: turn further, or the other way"
        )
    return plain(np.maximum(met, 0.0)), plain(np.maximum(flown, 0.0))


def first_out_of_order(actions: Sequence[str]) -> tuple[str, str] | None:
    """Find the first two neighbours that are in the wrong order.

    Parameters
    ----------
    actions : sequence of str
        Items of :data:`ACTIONS`, each at most once, in the order in which they were done.

    Returns
    -------
    tuple of str or None
        The pair as it was done (its second should have come before its first), or None if all is well.

    Raises
    ------
    OutOfRange
        If an action is unknown or comes twice.

    Notes
    -----
    Power, pitch, climb seen, clean up in steps, navigate, then talk. Source: ``common-practice``.

    Terms: order of actions in a go-around.

    Examples
    --------
    >>> first_out_of_order(["power", "first flap", "pitch"])
    ('first flap', 'pitch')
    """
    done = [one_of("actions", action, ACTIONS, "one of the actions") for action in _words("actions", actions)]
    for action in done:
        if done.count(action) > 1:
            raise OutOfRange(f"actions = {action!r} comes twice: expected each action once")
    for first, second in pairwise(done):
        if ACTIONS.index(first) > ACTIONS.index(second):
            return first, second
    return None
