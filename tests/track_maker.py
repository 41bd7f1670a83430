"""Flown tracks made without the course's flight model: a point that steers over the ground.

It knows the three procedures only by the numbers typed in here, has no bank, no needle and no air but
a steady wind, turns at any rate it is told, and is sampled, roughened and interrupted like a recording
from anywhere.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from geographiclib.geodesic import Geodesic
from needlework.flying.tracklog import Track

NM_M = 1852.0


@dataclass(frozen=True)
class Plan:
    """One procedure in numbers; ``along`` of a fix is its distance past the station on the final course."""

    name: str
    lat_deg: float
    lon_deg: float
    declination_deg: float
    entry_radial_deg: float
    arc_nm: float
    side: int
    inbound_deg: float
    final_deg: float
    arc_steps: tuple[tuple[float, float], ...]
    steps: tuple[tuple[float, float], ...]
    entry_ft: float
    mda_ft: float
    vdp_nm: float
    map_nm: float
    threshold_nm: float
    crossing_ft: float
    missed_turn_ft: float
    missed_side: int
    missed_heading_deg: float
    missed_radial_deg: float
    missed_nm: float
    missed_ft: float
    missed_turn_nm: float = -99.0


SALTMARSH = Plan(
    "saltmarsh", 36.90, -45.20, -13, 310, 10, 1, 214, 214, ((310, 3400), (345, 3000)),
    ((-10, 2400), (-5, 1760), (0, 780), (3.0, 560)), 3600, 560, 3.8, 4.7, 5.2, 112, 900, -1, 120, 165, 14, 3600,
)  # fmt: skip
WYGATE = Plan(
    "wygate", 37.65, -46.85, -13, 268, 12, -1, 23, 23, ((268, 3000),),
    ((-12, 2000), (-6, 1000), (-3.0, 640)), 3400, 640, -1.8, -1.1, -0.6, 265, 1500, 1, 115, 75, 12, 3500, 3.0,
)  # fmt: skip
EZRICK = Plan(
    "ezrick", 36.15, -47.05, -12, 18, 13, 1, 281, 277, ((18, 4200),),
    ((-13, 3200), (-5, 2500), (0, 1660), (2.5, 1500)), 4700, 1500, 3.0, 4.2, 4.7, 955, 2200, 1, 20, 340, 16, 4700,
)  # fmt: skip
PLANS = {plan.name: plan for plan in (SALTMARSH, WYGATE, EZRICK)}


@dataclass
class Habits:
    """How the point flies; the defaults make a clean approach, one mistake is one changed value."""

    kt: float = 95.0
    turn_deg_s: float = 3.0
    wind_from_deg: float = 0.0
    wind_kt: float = 0.0
    end: str = "missed"
    join_late_nm: float = 0.0
    lead_late_deg: float = 0.0
    chase_deg: float = 0.0
    final_heading: str = "corrected"
    straight_on_arc_deg: float = 0.0
    early_step: int | None = None
    sector_early_deg: float = 0.0
    below_mda_ft: float = 0.0
    turn_before_map_nm: float = 0.0
    wait_past_map_nm: float = 0.0
    radial_off_deg: float = 0.0
    dive_fpm: float = 0.0
    margin_ft: float = 40.0
    down_fpm: float = 650.0
    up_fpm: float = 700.0
    wrong_side_missed: bool = False
    low_turn_missed_ft: float = 0.0
    weak_climb_fpm: float = 0.0
    through_missed_nm: float = 0.0
    hold: tuple[tuple[float, float | None, int], ...] = ()


@dataclass
class _Point:
    plan: Plan
    habits: Habits
    east: float = 0.0
    north: float = 0.0
    track: float = 0.0  # true, over the ground
    alt: float = 0.0
    rows: list = field(default_factory=list)
    dt: float = 0.5

    def true(self, magnetic_deg):
        return magnetic_deg + self.plan.declination_deg

    def radial(self):
        return (math.degrees(math.atan2(self.east, self.north)) - self.plan.declination_deg) % 360

    def dist(self):
        return math.hypot(self.east, self.north)

    def along_across(self, course_deg):
        a = math.radians(self.true(course_deg))
        return (
            self.east * math.sin(a) + self.north * math.cos(a),
            self.east * math.cos(a) - self.north * math.sin(a),
        )

    def air_and_ground(self, track_true):
        """Heading (true) that makes this track, and the ground speed."""
        w = self.habits
        off = math.radians(w.wind_from_deg - track_true)
        wca = math.asin(max(-0.95, min(0.95, w.wind_kt * math.sin(off) / w.kt)))
        return track_true + math.degrees(wca), w.kt * math.cos(wca) - w.wind_kt * math.cos(off)

    def ground_of_heading(self, heading_true):
        w = self.habits
        h, f = math.radians(heading_true), math.radians(w.wind_from_deg)
        e = w.kt * math.sin(h) - w.wind_kt * math.sin(f)
        n = w.kt * math.cos(h) - w.wind_kt * math.cos(f)
        return math.degrees(math.atan2(e, n)), math.hypot(e, n)

    def step(self, wanted_true, floor_ft, fpm, heading_true=None, side=0):
        turn = (wanted_true - self.track + 180) % 360 - 180
        if side and abs(turn) > 40 and (turn > 0) != (side > 0):
            turn += 360 * side
        most = self.habits.turn_deg_s * self.dt
        self.track += max(-most, min(most, turn))
        heading, gs = self.air_and_ground(self.track)
        if heading_true is not None:
            heading = heading_true
            self.track, gs = self.ground_of_heading(heading_true)
        self.rows.append((len(self.rows) * self.dt, self.east, self.north, self.alt, heading % 360))
        self.east += gs * self.dt / 3600 * math.sin(math.radians(self.track))
        self.north += gs * self.dt / 3600 * math.cos(math.radians(self.track))
        change = fpm / 60 * self.dt
        self.alt += max(-change, min(change, floor_ft - self.alt))

    def towards_line(self, course_deg, cut=30.0):
        """Track (true) that closes in on a line through the station."""
        _, across = self.along_across(course_deg)
        return self.true(course_deg) - max(-cut, min(cut, across * 60.0))


def make(plan, habits=None):
    """Rows of (time, east, north, alt, heading true) every half second of one whole approach."""
    h = habits or Habits()
    p = _Point(plan, h)
    down, margin = h.down_fpm, h.margin_ft
    start = math.radians(p.true(plan.entry_radial_deg + 180))
    p.east, p.north = 4 * math.sin(start), 4 * math.cos(start)
    p.track, p.alt = p.true(plan.entry_radial_deg), plan.entry_ft + margin
    level = plan.entry_ft + margin
    radius = h.kt / 3600 / math.radians(h.turn_deg_s)

    # Out on the entry radial until the lead to the arc.
    lead = plan.arc_nm - math.sqrt(plan.arc_nm**2 - 2 * plan.arc_nm * radius)
    while p.dist() < plan.arc_nm - lead + h.join_late_nm or p.along_across(plan.entry_radial_deg)[0] < 0:
        p.step(p.towards_line(plan.entry_radial_deg), level, down)

    # Round the arc until the lead to the final line.
    end_radial = (plan.inbound_deg + 180) % 360
    lead_deg = math.degrees(math.asin(radius / (plan.arc_nm - radius))) - h.lead_late_deg
    straight_left = h.straight_on_arc_deg
    held = None
    while True:
        to_go = (plan.side * (end_radial - p.radial())) % 360
        if to_go > 300:
            to_go -= 360
        if to_go < lead_deg and p.dist() > 2:
            break
        for radial, floor in plan.arc_steps:
            passed = (plan.side * (p.radial() - radial) + 180) % 360 - 180
            if passed > 1.5 - h.sector_early_deg:
                level = floor + margin
        tangent = p.true(p.radial()) + 90 * plan.side
        wanted = tangent + max(-30, min(30, (p.dist() - plan.arc_nm) * 60)) * plan.side
        total = (plan.side * (end_radial - plan.entry_radial_deg)) % 360
        if straight_left and to_go < 0.55 * total and (held is None or held - to_go < straight_left):
            held = to_go if held is None else held
            wanted = p.track
        p.step(wanted, level, down, side=plan.side if len(p.rows) < 50 else 0)

    # In along the final line, down the steps.
    def final(until_nm, level, hold_level=None):
        step_fpm = down
        while True:
            course = plan.inbound_deg if p.along_across(plan.inbound_deg)[0] < 0 else plan.final_deg
            course += h.radial_off_deg
            along, _ = p.along_across(course)
            if along >= until_nm:
                return level
            for number, (fix, floor) in enumerate(plan.steps):
                early = 0.8 if number == h.early_step else 0.0
                last = number == len(plan.steps) - 1
                if along > fix + 0.15 - early:
                    level = min(level, floor + margin)
                    if last and hold_level is not None:
                        level = hold_level
                    step_fpm = h.dive_fpm if last and h.dive_fpm else down
            wanted = p.towards_line(course)
            heading = None
            if h.final_heading != "corrected" and along > (-4.5 if plan.steps[-1][0] > 0 else -8):
                wca = p.air_and_ground(p.true(course))[0] - p.true(course)
                heading = p.true(course) + (0 if h.final_heading == "course" else -wca)
            if h.chase_deg and p.dist() < 0.9 and plan.steps[-1][0] > 0:
                wanted += h.chase_deg * (1 if along < 0 else -1)
            p.step(wanted, level, step_fpm, heading)

    low = plan.mda_ft - h.below_mda_ft if h.below_mda_ft else None
    if h.end == "landing":
        level = final(plan.vdp_nm + 0.05, level, low)
        while p.along_across(plan.final_deg)[0] < plan.threshold_nm:
            left = plan.threshold_nm - p.along_across(plan.final_deg)[0]
            line = plan.crossing_ft + max(left, 0) * 318
            p.step(p.towards_line(plan.final_deg), min(p.alt, line), 900)
        for _ in range(20):
            p.step(p.true(plan.final_deg), plan.crossing_ft - 50, 500)
        return np.array(p.rows)

    level = final(plan.map_nm - h.turn_before_map_nm + h.wait_past_map_nm, level, low)
    up = h.weak_climb_fpm or h.up_fpm
    turn_ft = plan.missed_turn_ft - h.low_turn_missed_ft
    if not h.turn_before_map_nm:
        while p.alt < turn_ft or (
            not h.low_turn_missed_ft and p.along_across(plan.final_deg)[0] < plan.missed_turn_nm
        ):
            p.step(p.towards_line(plan.final_deg), plan.missed_ft, up)
    side = -plan.missed_side if h.wrong_side_missed else plan.missed_side
    limit = len(p.rows) + 1800
    met, came = False, None
    turning = True
    while len(p.rows) < limit:
        along, across = p.along_across(plan.missed_radial_deg)
        heading = p.true(plan.missed_heading_deg)
        turning = turning and abs((heading - p.track + 180) % 360 - 180) > 5
        cut = (plan.missed_radial_deg - plan.missed_heading_deg + 180) % 360 - 180
        lead_nm = radius * (1 - math.cos(math.radians(cut))) + 0.05
        if h.through_missed_nm:  # no lead: on until so far on the other side
            came = across if came is None and not turning else came
            met = met or (came is not None and -across * math.copysign(1.0, came) > h.through_missed_nm)
        else:
            met = met or (not turning and along > 0 and abs(across) < lead_nm)
        if along > plan.missed_nm + 0.2:
            break
        wanted = p.towards_line(plan.missed_radial_deg) if met else heading
        p.step(wanted, plan.missed_ft, up, side=side if turning else 0)
    # Each: turn to this track by this side, then go straight on; without seconds along the line, to the fix.
    for heading, seconds, side in h.hold:
        while abs((p.true(heading) - p.track + 180) % 360 - 180) > 1:
            p.step(p.true(heading), plan.missed_ft, up, side=side)
        if seconds is None:
            outwards = abs((heading - plan.missed_radial_deg + 180) % 360 - 180) < 90
            while p.along_across(heading)[0] < (plan.missed_nm if outwards else -plan.missed_nm):
                p.step(p.towards_line(heading), plan.missed_ft, up)
        else:
            for _ in range(int(seconds / p.dt)):
                p.step(p.true(heading), plan.missed_ft, up)
    return np.array(p.rows)


def record(
    plan, rows, *, every_s=1.0, noise_m=0.0, step_ft=0.0, noise_ft=0.0, pause=(0.0, 0.0), seed=0, heading=False
):
    """Sample, roughen and interrupt a flight the way recordings are; positions by the geodesic."""
    rng = np.random.default_rng(seed)
    times = np.arange(rows[0, 0], rows[-1, 0], every_s)
    lost = (times >= pause[0]) & (times < pause[0] + pause[1])
    times = times[~lost]
    east, north, alt = (np.interp(times, rows[:, 0], rows[:, at]) for at in (1, 2, 3))
    east = east + rng.normal(0, noise_m / NM_M, len(times))
    north = north + rng.normal(0, noise_m / NM_M, len(times))
    alt = alt + rng.normal(0, noise_ft, len(times))
    if step_ft:
        alt = np.round(alt / step_ft) * step_ft
    bearings = np.degrees(np.arctan2(east, north))
    places = [
        Geodesic.WGS84.Direct(plan.lat_deg, plan.lon_deg, b, d * NM_M, Geodesic.LATITUDE | Geodesic.LONGITUDE)
        for b, d in zip(bearings, np.hypot(east, north), strict=True)
    ]
    more = {}
    if heading:
        at = np.minimum(np.searchsorted(rows[:, 0], times), len(rows) - 1)
        more["heading_deg"] = np.mod(rows[at, 4] - plan.declination_deg, 360)
    return Track(times, np.array([g["lat2"] for g in places]), np.array([g["lon2"] for g in places]), alt, **more)
