"""Lines over the ground of a procedure's legs, missed approach and hold, in NM round the station."""

from __future__ import annotations

import dataclasses
import typing

import numpy as np

from needlework.basis.quantity import Floats
from needlework.showing.pictures.plan_view import xy_nm
from needlework.trade.angles import reciprocal, turn_deg
from needlework.trade.turns import turn_radius_nm

if typing.TYPE_CHECKING:
    from needlework.world.procedure import Procedure
    from needlework.world.procedure_parts import Leg

_CLIMB_FT_NM = 500.0  # what the invented light single makes: 650 ft/min at 75 kt
_SIGN = {"right": 1.0, "left": -1.0}


@dataclasses.dataclass(frozen=True)
class Path:
    """A line over the ground: NM east and north of the station, in flying order."""

    x: Floats
    y: Floats

    @property
    def end(self) -> tuple[float, float]:
        """Last point."""
        return float(self.x[-1]), float(self.y[-1])

    def then(self, other: Path) -> Path:
        """Join another path to this one."""
        return Path(np.concatenate([self.x, other.x]), np.concatenate([self.y, other.y]))

    def at(self, share: float) -> tuple[float, float]:
        """Point at a share of the length, 0 to 1."""
        along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(self.x), np.diff(self.y)))])
        return float(np.interp(share * along[-1], along, self.x)), float(np.interp(share * along[-1], along, self.y))


def _unit(direction_deg_true: float) -> Floats:
    angle = np.deg2rad(direction_deg_true)
    return np.array([np.sin(angle), np.cos(angle)])


def straight(start: tuple[float, float], direction_deg_true: float, length_nm: float) -> Path:
    """Straight line of a given length."""
    end = np.asarray(start) + length_nm * _unit(direction_deg_true)
    return Path(np.array([start[0], end[0]]), np.array([start[1], end[1]]))


def turning(
    start: tuple[float, float], heading_deg_true: float, through_deg: float, side: str, radius_nm: float
) -> Path:
    """Turn of constant radius through an angle."""
    sign = _SIGN[side]
    centre = np.asarray(start) + radius_nm * _unit(heading_deg_true + 90.0 * sign)
    swept = np.deg2rad(
        heading_deg_true - 90.0 * sign + sign * np.linspace(0.0, through_deg, max(3, int(through_deg / 4)))
    )
    return Path(centre[0] + radius_nm * np.sin(swept), centre[1] + radius_nm * np.cos(swept))


def point_of(procedure: Procedure, name: str) -> tuple[float, float]:
    """Where a fix, the station or the threshold lies."""
    fix = procedure.fix(name)
    x, y = xy_nm(fix.radial_deg, fix.dist_nm, procedure.station.declination_deg)
    return float(x), float(y)


def runway_begins(procedure: Procedure) -> tuple[float, float]:
    """Where the threshold lies: beside the final line where that crosses the centre line before it."""
    over = np.asarray(point_of(procedure, "threshold"))
    course = np.deg2rad(procedure.final_course_deg + procedure.station.declination_deg)
    x, y = over + procedure.threshold_right_nm * np.array([np.cos(course), -np.sin(course)])
    return float(x), float(y)


def leg_path(procedure: Procedure, leg: Leg, before: Path | None, gs_kt: float) -> Path:
    """Line of one leg; a procedure turn begins where the path ``before`` ends."""
    declination = procedure.station.declination_deg
    if leg.kind == "arc":
        start, end = procedure.fix(str(leg.start)).radial_deg, procedure.fix(str(leg.end)).radial_deg
        sweep = float(turn_deg(from_deg=start, to_deg=end, side=str(leg.turn))) * _SIGN[str(leg.turn)]
        x, y = xy_nm(
            start + np.linspace(0.0, sweep, max(8, int(abs(sweep)))), float(leg.arc_dme_nm or 0.0), declination
        )
        return Path(x, y)
    if leg.kind == "timed":
        out_nm = gs_kt / 60.0 * float(leg.time_min or 0.0)
        return straight(point_of(procedure, str(leg.start)), float(leg.course_deg or 0.0) + declination, out_nm)
    if leg.kind == "procedure turn":
        assert before is not None
        return _procedure_turn(leg, before, declination, gs_kt)
    end_at = point_of(procedure, str(leg.end))
    start_at = point_of(procedure, leg.start) if leg.start else (before.end if before is not None else end_at)
    return Path(np.array([start_at[0], end_at[0]]), np.array([start_at[1], end_at[1]]))


def _procedure_turn(leg: Leg, before: Path, declination_deg: float, gs_kt: float) -> Path:
    """Draw 45 degrees off, a straight minute, and back through 180 degrees the other way."""
    radius = float(np.asarray(turn_radius_nm(tas_kt=gs_kt)))
    out_deg, back_deg = float(leg.heading_out_deg or 0.0), float(leg.heading_in_deg or 0.0)
    flown_deg = (
        float(np.rad2deg(np.arctan2(before.x[-1] - before.x[-2], before.y[-1] - before.y[-2]))) - declination_deg
    )
    side = str(leg.turn)
    other = "left" if side == "right" else "right"
    path = turning(
        before.end,
        flown_deg + declination_deg,
        float(turn_deg(from_deg=flown_deg, to_deg=out_deg, side=side)),
        side,
        radius,
    )
    path = path.then(straight(path.end, out_deg + declination_deg, gs_kt / 60.0 * float(leg.time_min or 1.0)))
    path = path.then(
        turning(
            path.end,
            out_deg + declination_deg,
            float(turn_deg(from_deg=out_deg, to_deg=back_deg, side=other)),
            other,
            radius,
        )
    )
    # Straight back to the line flown outbound, then the next leg begins there.
    line, back = _unit(flown_deg + declination_deg), _unit(back_deg + declination_deg)
    gap = np.asarray(before.end) - np.asarray(path.end)
    share = np.linalg.solve(np.column_stack([back, -line]), gap)
    return path.then(straight(path.end, back_deg + declination_deg, float(max(share[0], 0.0))))


def route_paths(procedure: Procedure, entry: str | None = None, gs_kt: float = 90.0) -> list[tuple[Leg, Path]]:
    """Legs of one way in, in flying order, each with its line.

    Parameters
    ----------
    procedure : Procedure
        The procedure.
    entry : str, optional
        Where the approach begins; the first entry when left out.
    gs_kt : float
        Ground speed for what is flown by time. [kt]
    """
    done: list[tuple[Leg, Path]] = []
    for leg in procedure.route(entry):
        done.append((leg, leg_path(procedure, leg, done[-1][1] if done else None, gs_kt)))
    return done


def missed_path(procedure: Procedure, gs_kt: float = 90.0, category: str = "A") -> Path:
    """Line of the missed approach from the MAP: straight climb, turn, heading, radial to the fix; still air."""
    missed, declination = procedure.missed, procedure.station.declination_deg
    radius = float(np.asarray(turn_radius_nm(tas_kt=gs_kt)))
    start = point_of(procedure, "MAP")
    ahead_nm = max(missed.climb_to_ft - procedure.mda_ft(category), 0.0) / _CLIMB_FT_NM
    after = np.asarray(point_of(procedure, missed.turn_after)) - np.asarray(start)
    ahead_nm = max(ahead_nm, float(after @ _unit(missed.course_deg + declination)))
    path = straight(start, missed.course_deg + declination, ahead_nm)
    fix = point_of(procedure, missed.fix)
    if missed.heading_deg is None or missed.intercept_radial_deg is None:
        circle = turning(path.end, missed.course_deg + declination, 360.0, missed.turn, radius)
        bearing = np.rad2deg(np.arctan2(fix[0] - circle.x, fix[1] - circle.y))
        heading = missed.course_deg + declination + _SIGN[missed.turn] * np.linspace(0.0, 360.0, circle.x.size)
        off = np.abs((bearing - heading + 180.0) % 360.0 - 180.0)
        last = int(np.argmax(off < 6.0)) if (off < 6.0).any() else int(np.argmin(off))
        path = path.then(Path(circle.x[: last + 1], circle.y[: last + 1]))
    else:
        through = float(turn_deg(from_deg=missed.course_deg, to_deg=missed.heading_deg, side=missed.turn))
        path = path.then(turning(path.end, missed.course_deg + declination, through, missed.turn, radius))
        cut, radial = _unit(missed.heading_deg + declination), _unit(missed.intercept_radial_deg + declination)
        flown, out = np.linalg.solve(np.column_stack([cut, -radial]), -np.asarray(path.end))
        if flown > 0 and out > 0:
            path = path.then(straight(path.end, missed.heading_deg + declination, float(flown)))
    return Path(np.append(path.x, fix[0]), np.append(path.y, fix[1]))


def hold_path(fix: tuple[float, float], inbound_deg_true: float, side: str, leg_nm: float, radius_nm: float) -> Path:
    """Racetrack from the fix back to the fix: turn, outbound, turn, inbound; still air."""
    outbound = float(np.asarray(reciprocal(inbound_deg_true)))
    path = turning(fix, inbound_deg_true, 180.0, side, radius_nm)
    path = path.then(straight(path.end, outbound, leg_nm))
    path = path.then(turning(path.end, outbound, 180.0, side, radius_nm))
    return Path(np.append(path.x, fix[0]), np.append(path.y, fix[1]))


def hold_leg_nm(procedure: Procedure, gs_kt: float = 90.0) -> float:
    """Length of the hold's outbound leg, from its DME or its minutes at a ground speed. [NM]"""
    hold = procedure.hold
    return float(hold.leg_dme_nm if hold.leg_dme_nm is not None else gs_kt / 60.0 * float(hold.leg_min or 1.0))
