"""How fast approaches are flown: ensembles against scipy's solve_ivp and against a plain Python loop.

Run ``python tests/benchmarks/flight.py``. All three fly the same twenty minutes (the turns, speeds and
levels of an approach by way of an arc) in the same winds in the same run, put out every second, and
must agree within 0.02 NM; each number is the best of its repeats, in seconds of processor time, which a
busy machine spoils least (seconds by the clock stand beside it). Peak memory is that of a fresh
process that does nothing else.

The last rows are whole approaches flown by the reference pilot: the same steps, and besides them each
second a reading of every instrument, a look at it by the pilot, and a record of seventeen columns. The
10,000 are shared out to two processes. After them, every filled plan of the course: seconds to fly, judge and draw it
a second time, from the answer to what the cell shows.
"""

from __future__ import annotations

import json
import math
import resource
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
from needlework.exercises import judging
from needlework.exercises.catalogue import QUESTIONS
from needlework.exercises.flown import FilledPlan
from needlework.flying import arithmetic, flight, reference_pilot
from needlework.showing import pictures
from needlework.world import aircraft, procedure, weather
from scipy.integrate import solve_ivp

FINCH = aircraft.load("finch")
# Seconds, heading, IAS, rate, level.
LEGS = (
    (250, 310, 108, 500, 3600), (60, 45, 98, 500, 3400), (60, 55, 98, 500, 3400), (60, 65, 98, 500, 3400),
    (60, 78, 98, 500, 3000), (60, 92, 98, 500, 3000), (60, 105, 98, 500, 3000), (120, 214, 98, 500, 2400),
    (90, 210, 92, 500, 1760), (120, 217, 84, 450, 560), (120, 214, 75, 650, 3000), (140, 120, 75, 650, 3000),
)  # fmt: skip
LENGTH_S = sum(leg[0] for leg in LEGS)
HEIGHTS_FT = (0.0, 3000.0, 6000.0)
VARIATION_DEG, LAT_DEG = -13.1, 36.9


def winds(count):
    """Directions and speeds at three heights for any number of flights, always the same ones."""
    rng = np.random.default_rng(11)
    drawn = rng.uniform(0.0, 1.0, (count, 4))
    direction = 360.0 * drawn[:, 0] + np.array([[0.0], [1.0], [2.0]]) * (20.0 * drawn[:, 1] - 10.0)
    speed = 25.0 * drawn[:, 2] + np.array([[0.0], [1.0], [2.0]]) * 7.5 * drawn[:, 3]
    return direction % 360.0, speed


def ensemble(count, most=5_000):
    """Fly any number of flights at once; east, north, altitude each second: (1200, N, 3)."""
    directions, speeds = winds(count)
    flown = np.empty((LENGTH_S, count, 3), dtype=np.float32)
    for first in range(0, count, most):
        part = slice(first, min(first + most, count))
        air = flight.air(
            HEIGHTS_FT, directions[:, part], speeds[:, part], variation_deg=VARIATION_DEG, lat_deg=LAT_DEG
        )
        begin = flight.start(np.zeros(part.stop - first), 0.0, 3600.0, 310.0, 108.0)
        if count == 1:
            flown[:, 0] = [(now.east_nm, now.north_nm, now.alt_ft) for now in each_second(begin, air)]
            break
        for second, now in enumerate(each_second(begin, air)):
            flown[second, part, 0], flown[second, part, 1] = now.east_nm, now.north_nm
            flown[second, part, 2] = now.alt_ft
    return flown


def each_second(now, air):
    """Fly the legs; give the state after every second."""
    alone = len(now) == 1
    if alone:
        now, air = arithmetic.alone(now), arithmetic.alone(air)
    for seconds, heading, ias, rate, level in LEGS:
        orders = replace(
            flight.steady(now),
            heading_deg=flight.aim(now.heading_deg, heading),
            ias_kt=np.array([float(ias)]),
            vs_fpm=np.array([float(rate)]),
            level_ft=np.array([float(level)]),
            configuration=np.zeros(len(now)),
        )
        orders = arithmetic.alone(orders) if alone else orders
        for _ in range(seconds):
            now = flight.advance(now, orders, air, FINCH, 1.0)
            yield now


def wind_at(direction, speed, alt):
    """East and north of one wind at one height, in plain Python."""
    share = min(max(alt / 3000.0, 0.0), 1.0)
    upper = min(max(alt / 3000.0 - 1.0, 0.0), 1.0)
    at = direction[0] + share * (direction[1] - direction[0]) + upper * (direction[2] - direction[1])
    kt = speed[0] + share * (speed[1] - speed[0]) + upper * (speed[2] - speed[1])
    return -kt * math.sin(math.radians(at)), -kt * math.cos(math.radians(at))


def wanted_bank(to_go, pull, bank_limit, p):
    """Bank for the angle still to turn, in plain Python."""
    joint, square = 6.4 * p * flight.ROLL_LAG_S, 1.6 * p / pull
    size = abs(to_go) * square
    bank = math.degrees(size / joint if size < joint * joint else math.sqrt(size))
    most = min(math.degrees(math.atan(math.radians(3.0) / pull)), bank_limit)
    return math.copysign(min(bank, most), to_go)


def clip(value, low, high):
    """Hold a number between two others."""
    return low if value < low else high if value > high else value


class OneFlight:
    """One flight in plain Python: the equations for a solver, and the same stepping as a loop."""

    def __init__(self, number):
        """Take one wind out of the many."""
        directions, speeds = winds(number + 1)
        self.direction = np.unwrap(directions[:, number], period=360.0).tolist()
        self.speed = speeds[:, number].tolist()
        self.factors = [float(c) for c in flight.air().tas_factors[:, 0]]
        self.p = math.radians(FINCH.roll_rate_deg_s)
        self.lean = math.tan(math.radians(LAT_DEG)) / 60.0 * math.pi / 180.0

    def tas(self, ias, alt):
        """True airspeed."""
        c, h = self.factors, alt * 1e-4
        return ias * (c[0] + h * (c[1] + h * (c[2] + h * c[3])))

    def over_ground(self, east, alt, heading, ias):
        """Velocity in the plane round the station, in kt."""
        tas, track = self.tas(ias, alt), math.radians(heading + VARIATION_DEG)
        wind_east, wind_north = wind_at(self.direction, self.speed, alt)
        ve, vn = tas * math.sin(track) + wind_east, tas * math.cos(track) + wind_north
        lean = east * self.lean
        return ve - lean * vn, vn + lean * ve

    def rates(self, _, y, target, ias_wanted, rate, level):
        """Right-hand side for solve_ivp."""
        east, _, alt, heading, bank, ias, vs = y
        pull = flight._G_KT_S / self.tas(ias, alt)
        wanted = wanted_bank(math.radians(target - heading), pull, FINCH.bank_limit_deg, self.p)
        ve, vn = self.over_ground(east, alt, heading, ias)
        roll, push = FINCH.roll_rate_deg_s, FINCH.acceleration_kt_s
        vs_wanted = min(clip((level - alt) * 60.0 / flight.CAPTURE_S, -rate, rate), FINCH.climb_fpm)
        return (
            ve / 3600.0,
            vn / 3600.0,
            vs / 60.0,
            math.degrees(pull * math.tan(math.radians(bank))),
            clip((wanted - bank) / flight.ROLL_LAG_S, -roll, roll),
            clip((ias_wanted - ias) / flight.SPEED_LAG_S, -push, push),
            (vs_wanted - vs) / FINCH.vertical_lag_s,
        )

    def solved(self):
        """Fly by solve_ivp, each command from where the last one ended."""
        y, t, flown = [0.0, 0.0, 3600.0, 310.0, 0.0, 108.0, 0.0], 0.0, []
        for seconds, heading, ias, rate, level in LEGS:
            target = y[3] + (heading - y[3] + 180.0) % 360.0 - 180.0
            found = solve_ivp(
                self.rates,
                (t, t + seconds),
                y,
                t_eval=np.arange(t + 1, t + seconds + 1),
                args=(target, ias, rate, level),
                rtol=1e-5,
                atol=1e-5,
            )
            flown.append(found.y[:3].T)
            y, t = found.y[:, -1].tolist(), t + seconds
        return np.concatenate(flown)

    def looped(self, dt=0.5):
        """Fly by the stepping of flight.step, one number at a time."""
        east = north = bank = vs = 0.0
        alt, heading, ias = 3600.0, 310.0, 108.0
        roll, push, lag = FINCH.roll_rate_deg_s * dt, FINCH.acceleration_kt_s * dt, FINCH.vertical_lag_s
        hand, ease = 1 - math.exp(-dt / flight.ROLL_LAG_S), 1 - math.exp(-dt / flight.SPEED_LAG_S)
        fade, flown = math.exp(-dt / lag), []
        for seconds, wanted_heading, wanted_ias, rate, level in LEGS:
            target = heading + (wanted_heading - heading + 180.0) % 360.0 - 180.0
            for half in range(2 * seconds):
                pull = flight._G_KT_S / self.tas(ias, alt)
                to_go = math.radians(target - heading) - 0.5 * dt * pull * math.tan(math.radians(bank))
                wanted = wanted_bank(to_go, pull, FINCH.bank_limit_deg, self.p)
                new_bank = bank + clip((wanted - bank) * hand, -roll, roll)
                turned = math.degrees(pull * math.tan(math.radians(0.5 * (bank + new_bank))) * dt)
                new_ias = ias + clip((wanted_ias - ias) * ease, -push, push)
                gap = (level - alt - vs * 0.5 * dt / 60.0) * 60.0 / flight.CAPTURE_S
                vs_wanted = min(clip(gap, -rate, rate), FINCH.climb_fpm)
                risen = vs_wanted * dt + (vs - vs_wanted) * lag * (1 - fade)
                vs = vs_wanted + (vs - vs_wanted) * fade
                new_alt = alt + risen / 60.0
                ve, vn = self.over_ground(east, 0.5 * (alt + new_alt), heading + 0.5 * turned, 0.5 * (ias + new_ias))
                east, north = east + ve * dt / 3600.0, north + vn * dt / 3600.0
                alt, heading, bank, ias = new_alt, heading + turned, new_bank, new_ias
                if half % 2:
                    flown.append((east, north, alt))
        return np.array(flown)


def best_of(times, work):
    """Shortest processor time and clock time of several runs, in seconds, and the last result."""
    spent, result = [], None
    for _ in range(times):
        begun = time.process_time(), time.perf_counter()
        result = work()
        spent.append((time.process_time() - begun[0], time.perf_counter() - begun[1]))
    return *min(spent), result


def piloted(count):
    """Fly whole approaches by the reference pilot, each in one of 500 drawn winds; their mean length in minutes."""
    days = [weather.drawn(number) for number in range(min(count, 500))]
    place = procedure.load("saltmarsh")
    flights = reference_pilot.fly(
        place, FINCH, [days[n % len(days)] for n in range(count)], missed=False, extra_ft=np.zeros(count)
    )
    assert flights.finished.all()
    return float(flights.samples.mean()) / 60.0


def measured_apart(kind, count, processes=1):
    """Time, peak memory and result in processes of their own, the flights shared out evenly."""
    begun = [
        subprocess.Popen([sys.executable, __file__, kind, str(count // processes)], stdout=subprocess.PIPE, text=True)
        for _ in range(processes)
    ]
    told = [json.loads(process.communicate()[0]) for process in begun]
    longest = max(told, key=lambda t: t["processor_s"])
    return {**longest, "peak_mb": sum(t["peak_mb"] for t in told)}


KINDS = {"--ensemble": ensemble, "--pilot": piloted}


def main():
    """Measure and print."""
    if len(sys.argv) == 3:
        work, count = KINDS[sys.argv[1]], int(sys.argv[2])
        processor_s, clock_s, gave = best_of(3 if count < 5_000 else 1, lambda: work(count))
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        minutes = gave if work is piloted else LENGTH_S / 60
        print(json.dumps({"processor_s": processor_s, "clock_s": clock_s, "peak_mb": peak_mb, "minutes": minutes}))
        return
    some = range(3)
    solver_s, _, solved = best_of(2, lambda: [OneFlight(i).solved() for i in some])
    loop_s, _, looped = best_of(5, lambda: [OneFlight(i).looped() for i in some])
    one_s, _, _ = best_of(5, lambda: [ensemble(1) for _ in some])
    flown = ensemble(len(some))
    apart = max(np.abs(flown[:, i, :2] - other[i][:, :2]).max() for i in some for other in (solved, looped))
    print(f"one approach: {LENGTH_S / 60:.0f} min of flight, put out each second")
    print(f"largest distance between the three on {len(some)} flights: {apart:.4f} NM")
    assert apart < 0.02, "the three do not fly the same problem"
    solver_each, loop_each = solver_s / len(some), loop_s / len(some)
    print(f"{'solve_ivp':>27} {1 / solver_each:9.1f} approaches/s")
    print(f"{'plain Python loop':>27} {1 / loop_each:9.1f} approaches/s")
    print(
        f"{'flight.advance, N = 1, beside':>27} {len(some) / one_s:9.1f} approaches/s  {loop_s / one_s:7.2f} x loop"
    )
    each = {}
    for count in (1, 100, 1_000, 10_000):
        got = measured_apart("--ensemble", count)
        each[count] = got["processor_s"] / count
        ratios = f"{solver_each / each[count]:8.1f} x solve_ivp  {loop_each / each[count]:7.1f} x loop"
        print(f"{f'flight.advance, N = {count:,}':>27} {1 / each[count]:9.1f} approaches/s  {ratios}  {_spent(got)}")
    print(f"cost per flight, N = 10,000 against N = 1,000: {each[10_000] / each[1_000]:.2f} (1 is linear)")
    for count, processes in ((1, 1), (100, 1), (10_000, 2)):
        got = measured_apart("--pilot", count, processes)
        rate = f"{count / got['processor_s']:9.1f} approaches/s of {got['minutes']:.0f} min"
        print(f"{f'reference pilot, N = {count:,}':>27} {rate}  {_spent(got)}  in {processes} process(es)")
    for question in QUESTIONS.values():
        if isinstance(question, FilledPlan):
            print(f"{question.key:>27} {told(question)}")


def told(question):
    """Say how long a filled plan takes, from the answer to what is shown."""
    givens = judging.draw(question, "Finch 12")
    answer = question.right(givens)
    flown_s, _, flights = best_of(3, lambda: question.fly(givens, answer))
    judged_s, _, verdict = best_of(3, lambda: judging.judge(question, givens, answer, False, flights))
    drawn_s, _, _ = best_of(3, lambda: drawn(question.afterwards(givens, verdict)))
    minutes = len(flights[0].time_s) / 60
    total_s = flown_s + judged_s + drawn_s
    return f"{total_s:6.3f} s: {flown_s:.3f} to fly {minutes:.0f} min, {judged_s:.3f} to judge, {drawn_s:.3f} to draw"


def drawn(named):
    """Render the pictures a verdict names."""
    for name, values in named:
        pictures.png_bytes(getattr(pictures, name.replace("show_", "draw_"))(**values))


def _spent(got):
    """Say what a run took."""
    return f"{got['processor_s']:6.2f} s ({got['clock_s']:.1f} by the clock)  peak {got['peak_mb']:5.0f} MB"


if __name__ == "__main__":
    main()
