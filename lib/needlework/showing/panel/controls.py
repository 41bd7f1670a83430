"""The buttons of the panel, each with the key that stands for it at first."""

from __future__ import annotations

from needlework.showing.faces import Control

RATES = (1, 2, 5, 10)
"""How many times as fast time can run."""


def _steps(group: str, name: str, said: str, unit: str, keys: str, sizes: tuple[int, int]) -> list[Control]:
    """Four buttons: much less, little less, little more, much more."""
    less, more = keys.split()
    small, large = sizes
    made = []
    for size, key in ((-large, less), (-small, f"Shift+{less}"), (small, f"Shift+{more}"), (large, more)):
        sign = "−" if size < 0 else "+"
        words = said.split("|")[size > 0]
        made.append(Control(f"{name}{size:+d}", group, f"{sign}{abs(size)}", key, f"{words} {abs(size)} {unit}"))
    return made


CONTROLS: tuple[Control, ...] = (
    *_steps("heading", "heading", "turn left|turn right", "degrees", "ArrowLeft ArrowRight", (1, 10)),
    *_steps("course 1", "course1", "selector 1 back|selector 1 on", "degrees", "q w", (1, 10)),
    *_steps("course 2", "course2", "selector 2 back|selector 2 on", "degrees", "a s", (1, 10)),
    *_steps("airspeed", "ias", "slower by|faster by", "knots", "z x", (1, 5)),
    Control("vs-100", "vertical speed", "−100", "ArrowDown", "descend 100 feet a minute more"),
    Control("level", "vertical speed", "level now", "l", "level off now"),
    Control("vs+100", "vertical speed", "+100", "ArrowUp", "climb 100 feet a minute more"),
    *_steps("level off at", "stop", "lower by|higher by", "feet", "PageDown PageUp", (20, 100)),
    Control("configuration-1", "flap and gear", "one step up", "Shift+f", "flap or gear one step up"),
    Control("configuration+1", "flap and gear", "next step", "f", "flap or gear one step down"),
    Control("stopwatch", "stopwatch", "start / stop", "c", "start or stop the stopwatch"),
    Control("zero", "stopwatch", "zero", "Shift+c", "set the stopwatch to zero"),
    Control("identify", "station", "identify", "i", "listen to the ident of the station"),
    Control("pause", "time", "fly / pause", "Space", "fly, or pause"),
    *(Control(f"rate{n}", "time", f"×{n}", str(n)[-1], f"time runs {n} times as fast") for n in RATES),
    Control("plan", "plan view", "cover / uncover", "p", "cover or uncover the plan view"),
    Control("speak", "plan view", "speak needles", "r", "speak needles, flags and DME"),
    Control("end", "flight", "end and debrief", "e", "end the flight"),
)
"""Every button of the panel with the key that stands for it at first."""

ACTIONS = tuple(control.action for control in CONTROLS)
"""What the buttons ask for."""
