"""A pilot with hands: flies Outer Keld from RIMVO to the hold, by what the panel shows and by its buttons alone.

It reads the words of the faces, as somebody who cannot see them does, and the readings beside the buttons; it knows
the plate by heart and the wind only as it finds it on the way in. The same pilot flies the panel in the kernel and in
a browser: whoever gives it eyes and hands says which.
"""

import math
import re
from collections.abc import Callable

_TAS_SHARE = 1.045  # true over indicated airspeed on the way


def _off(from_deg: float, to_deg: float) -> float:
    return (to_deg - from_deg + 180.0) % 360.0 - 180.0


def _held(value: float, most: float) -> float:
    return max(-most, min(most, value))


class HandPilot:
    """Flies by ``words`` of faces and ``setting`` of groups, by ``press`` of buttons, ``wait`` of seconds."""

    def __init__(
        self,
        words: Callable[[str], str],
        setting: Callable[[str], str],
        press: Callable[[str], None],
        wait: Callable[[float], None],
    ) -> None:
        self.words, self.setting, self.press, self.wait = words, setting, press, wait
        self.wind = (0.0, 0.0)  # knots towards east and north, magnetic, as found
        self.extra = 0.0
        self.log: list[str] = []
        self.read: dict[str, float] = {}  # what was read at moments that the debrief speaks of

    # --- eyes -------------------------------------------------------------------------------------

    def number(self, name: str) -> float:
        found = re.search(r"-?[\d,]+(?:\.\d+)?", self.words(name).replace("−", "-"))
        return float(found[0].replace(",", "")) if found else math.nan

    def needle(self, number: int) -> float:
        """Degrees the line lies to the right."""
        said = self.words(f"needle {number}")
        if "full scale" in said:
            return 10.0 if "right" in said else -10.0
        dots = re.search(r"needle ([\d.]+) dots? (left|right)", said)
        return 0.0 if dots is None else 2.0 * float(dots[1]) * (1.0 if dots[2] == "right" else -1.0)

    def flag(self) -> str:
        return self.words("needle 1").rsplit(" ", 1)[-1].rstrip(".")

    @property
    def dme(self) -> float:
        return self.number("dme")

    @property
    def altitude(self) -> float:
        return self.number("altimeter")

    # --- hands ------------------------------------------------------------------------------------

    def steps(self, name: str, off: float, large: int, small: int) -> None:
        for size in (large, small):
            for _ in range(int(abs(off) / size + 1e-6)):
                self.press(f"{name}{int(math.copysign(size, off)):+d}")
            off = math.copysign(abs(off) % size, off) if abs(off) % size > 1e-6 else 0.0

    def head(self, heading_deg: float, side: str = "") -> None:
        off = round(_off(float(self.setting("heading")), heading_deg))
        if side == "right" and off < 0:
            off += 360
        if side == "left" and off > 0:
            off -= 360
        self.steps("heading", off, 10, 1)

    def course(self, number: int, course_deg: float) -> None:
        self.steps(f"course{number}", round(_off(float(self.setting(f"course {number}")), course_deg)), 10, 1)

    def speed(self, ias_kt: int) -> None:
        self.steps("ias", ias_kt - int(self.setting("airspeed").split()[0]), 5, 1)

    def to(self, stop_ft: int, fpm: int) -> None:
        """Set where to level off, then the rate."""
        now = int(self.setting("level off at").split()[0].replace(",", ""))
        self.steps("stop", stop_ft - now, 100, 20)
        for _ in range(abs(fpm) // 100):
            self.press("vs+100" if fpm > 0 else "vs-100")

    # --- the wind ---------------------------------------------------------------------------------

    def corrected(self, course_deg: float, tas_kt: float) -> float:
        """Heading that holds a course in the wind as found."""
        return course_deg + math.degrees(math.asin(_held(-self._across(course_deg) / tas_kt, 0.5)))

    def _across(self, course_deg: float) -> float:
        angle = math.radians(course_deg)
        return self.wind[0] * math.cos(angle) - self.wind[1] * math.sin(angle)

    def ground_speed(self, course_deg: float, tas_kt: float) -> float:
        angle = math.radians(course_deg)
        return tas_kt + self.wind[0] * math.sin(angle) + self.wind[1] * math.cos(angle)

    def find_wind(self, course_deg: float, heading_deg: float, tas_kt: float, gs_kt: float) -> None:
        over, through = math.radians(course_deg), math.radians(heading_deg)
        self.wind = (
            gs_kt * math.sin(over) - tas_kt * math.sin(through),
            gs_kt * math.cos(over) - tas_kt * math.cos(through),
        )
        from_deg = math.degrees(math.atan2(-self.wind[0], -self.wind[1])) % 360.0
        self.log.append(f"wind found: {from_deg:03.0f} magnetic, {math.hypot(*self.wind):.0f} kt")

    # --- flying -----------------------------------------------------------------------------------

    def follow(
        self, number: int, course_deg: float, tas_kt: float, until: Callable[[], bool], gain: float = 3.0
    ) -> None:
        """Hold a needle: half scale is cut for, and what stays off is corrected for good."""
        self.extra = 0.0
        while not until():
            needle = self.needle(number)
            if abs(needle) < 4.0:
                self.extra = _held(self.extra + 0.12 * needle, 15.0)
            wanted = self.corrected(course_deg, tas_kt) + self.extra + _held(gain * needle, 30.0)
            self.head(wanted)
            self.wait(4.0)

    def fly(self, lands: bool = False) -> None:
        """Fly it all, from the first key to the hold, or to the runway where that comes in sight in time."""
        standby = float(re.search(r"active, ([\d.]+)", self.setting("radio 1"))[1])
        for number in (1, 2):
            self.steps(f"tune{number}", round(100 * (115.60 - standby)), 100, 5)
            self.press(f"change over {number}")
        self.press("identify")
        self.course(1, 70)
        self.course(2, 240)
        self.press("pause")
        self.press("rate10")
        self.way_in()
        self.arc()
        self.final(3.7 if lands else 2.85)
        if lands:
            self.land()
            return
        self.around()
        self.hold()
        self.press("end")
        self.wait(1.0)
        self.press("end")

    def way_in(self) -> None:
        tas = 108 * _TAS_SHARE
        self.follow(1, 70, tas, lambda: self.dme <= 17.0)
        began, at, headings = self.number_of_clock(), self.dme, []

        def watched() -> bool:
            headings.append(self.number("heading"))
            return self.dme <= 13.6

        self.follow(1, 70, tas, watched)
        gs = (at - self.dme) / (self.number_of_clock() - began) * 3600.0
        mean = 70.0 + sum(_off(70.0, each) for each in headings) / len(headings)
        self.find_wind(70.0, mean, tas, gs)
        self.speed(98)
        lead = 0.5 * self.ground_speed(70, tas) / 100.0
        while self.dme > 12.0 + lead:
            self.wait(1.0)

    def number_of_clock(self) -> float:
        minutes, seconds = re.search(r"(\d+):(\d\d)", self.words("flown")).groups()
        return 60.0 * int(minutes) + int(seconds)

    def arc(self) -> None:
        tas, radial = 98 * _TAS_SHARE, 250
        self.to(2440, -400)
        while True:
            ahead = radial - 10
            track = radial - 5 - 90
            off = _held(35.0 * (self.dme - 12.0), 25.0)
            self.head(self.corrected(track, tas) - off, "right" if radial == 250 and self.dme > 12.25 else "")
            if radial <= 160 and abs(self.needle(1)) < 3.2:
                break
            if radial > 160 and self.needle(2) >= -0.3 and self.flag_of_2() == "FROM":
                radial = ahead
                if radial == 200:
                    self.course(1, 330)
                self.course(2, radial - 10 if radial > 160 else 20)
            self.wait(3.0)
        self.log.append(f"lead for the final at {self.dme:.1f} DME")

    def flag_of_2(self) -> str:
        return self.words("needle 2").rsplit(" ", 1)[-1].rstrip(".")

    def final(self, to_nm: float) -> None:
        tas = 92 * _TAS_SHARE
        self.speed(92)
        self.head(self.corrected(330, tas), "left")
        self.wait(20.0)
        self.press("configuration+1")
        self.follow(1, 330, tas, lambda: abs(self.needle(1)) < 3.0)
        self.wait(5.0)
        self.to(1880, -500)
        self.follow(1, 330, tas, lambda: self.dme <= 10.2)
        self.speed(84)
        self.follow(1, 330, tas, lambda: self.dme <= 9.2)
        self.press("configuration+1")
        tas = 84 * _TAS_SHARE
        rate = round(315 * self.ground_speed(330, tas) / 60 / 100) * 100
        self.follow(1, 330, tas, lambda: self.dme <= 8.0)
        self.press("stopwatch")
        self.to(760, -rate)
        self.follow(1, 330, tas, lambda: self.dme <= 4.55)
        self.to(520, -rate)
        self.follow(
            1, 330, tas, lambda: self.dme <= max(to_nm, 3.5) and self.setting("vertical speed") == "level", gain=2.0
        )
        # What the way out needs is set before it is needed, and time runs as it does in the air.
        self.press("rate1")
        while self.dme > to_nm:
            self.wait(1.0)
        self.read["minimums"] = self.altitude

    def land(self) -> None:
        """Down from the visual descent point by the ground speed, on the needle, until somebody says stop."""
        tas = 75 * _TAS_SHARE
        self.speed(74)
        self.to(0, -round(315 * self.ground_speed(330, tas) / 60 / 100) * 100)
        self.follow(1, 330, tas, lambda: self.altitude < 80, gain=2.0)
        self.wait(60.0)

    def around(self) -> None:
        tas = 75 * _TAS_SHARE
        straight = self.corrected(330, tas)
        self.to(2620, 600)
        self.press("rate2")
        self.speed(75)
        self.head(straight)
        self.wait(12.0)
        self.press("configuration-1")
        self.wait(12.0)
        self.press("configuration-1")
        while not (self.flag() == "FROM" and self.dme >= 2.0 and self.altitude >= 1200):
            if self.dme > 1.2:
                self.head(straight + _held(2.0 * self.needle(1), 15.0))
            self.wait(2.0)
        self.read["turn"] = self.dme
        self.head(self.corrected(60, tas), "right")
        while abs(self.needle(2)) > 7.0:
            self.wait(2.0)
        self.follow(2, 20, tas, lambda: self.altitude > 2560 or self.dme >= 12.0)
        self.speed(98)
        self.press("rate10")
        self.follow(2, 20, 98 * _TAS_SHARE, lambda: self.dme >= 12.0)

    def hold(self) -> None:
        tas = 98 * _TAS_SHARE
        self.course(1, 20)
        correction = _off(20.0, self.corrected(20, tas))
        outbound = 200.0 - _held(1.8 * correction, 30.0)
        self.head(outbound, "right")
        while self.dme > 8.0:
            self.wait(2.0)
        self.log.append(f"outbound ended at {self.dme:.1f} DME")
        self.head(self.corrected(20, tas), "right")
        self.wait(50.0)
        self.follow(1, 20, tas, lambda: self.dme >= 12.0)
