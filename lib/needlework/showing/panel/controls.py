"""The buttons of the panel, each with the key that stands for it at first."""

from __future__ import annotations

from collections.abc import Collection

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


def _tuning(number: int, keys: str) -> list[Control]:
    """Buttons of one receiver: the standby frequency down and up, and the change-over."""
    less, more, over = keys.split()
    group, made = f"radio {number}", []
    for size, key in ((-100, less), (-5, f"Shift+{less}"), (5, f"Shift+{more}"), (100, more)):
        sign, words = ("−", "down") if size < 0 else ("+", "up")
        step = f"{abs(size) / 100:g}"
        said = f"standby frequency {number} {words} {step} megahertz"
        made.append(Control(f"tune{number}{size:+d}", group, f"{sign}{step}", key, said))
    over_said = f"change over active and standby of receiver {number}"
    return [*made, Control(f"change over {number}", group, "change over", over, over_said)]


_HEADING = _steps("heading", "heading", "turn left|turn right", "degrees", "ArrowLeft ArrowRight", (1, 10))
CONTROLS: tuple[Control, ...] = (
    *_HEADING[:2],
    Control("wings", "heading", "level", "v", "wings level"),
    *_HEADING[2:],
    *_steps("course 1", "course1", "selector 1 back|selector 1 on", "degrees", "q w", (1, 10)),
    *_steps("course 2", "course2", "selector 2 back|selector 2 on", "degrees", "a s", (1, 10)),
    *_steps("airspeed", "ias", "slower by|faster by", "knots", "z x", (1, 5)),
    Control("vs-100", "vertical speed", "−100", "ArrowDown", "descend 100 feet a minute more"),
    Control("level", "vertical speed", "level now", "l", "level off now"),
    Control("vs+100", "vertical speed", "+100", "ArrowUp", "climb 100 feet a minute more"),
    *_steps("level off at", "stop", "lower by|higher by", "feet", "PageDown PageUp", (20, 100)),
    Control("configuration-1", "flap and gear", "less", "Shift+d", "flap or gear one step up"),
    Control("configuration+1", "flap and gear", "more", "d", "flap or gear one step down"),
    *_tuning(1, "t y u"),
    *_tuning(2, "g h j"),
    Control("stopwatch", "stopwatch", "start / stop", "c", "start or stop the stopwatch"),
    Control("zero", "stopwatch", "zero", "Shift+c", "set the stopwatch to zero"),
    Control("identify", "station", "identify", "i", "listen to the ident of the station"),
    Control("identify 2", "station", "identify on 2", "o", "listen to the ident on receiver 2"),
    Control("DME on", "station", "DME on 1 / 2", "k", "hang the DME on the other receiver"),
    Control("hand wings", "flown by hand", "wings", "b", "wings by hand: you set the bank"),
    Control("hand speed", "flown by hand", "speed", "n", "speed by hand: you set the power"),
    Control("hand level-off", "flown by hand", "level-off", "m", "level-off by hand: you set the nose"),
    Control("end", "flight", "end", "e", "end the flight and hear how it went"),
    Control("pause", "time", "fly / pause", "Space", "fly, or pause"),
    *(Control(f"rate{n}", "time", f"×{n}", str(n)[-1], f"time runs {n} times as fast") for n in RATES),
    Control("plan", "plan view", "cover / uncover", "p", "cover or uncover the plan view"),
    Control("speak", "plan view", "speak", "r", "speak needles, flags and DME"),
)
"""Every button of the panel with the key that stands for it at first; neighbours fill a line at 1,280 px of width."""

ACTIONS = tuple(control.action for control in CONTROLS)
"""What the buttons ask for."""

_BY_HAND: dict[str, tuple[tuple[str, str, str], ...]] = {
    "wings": (
        ("heading-10", "5 left", "bank 5 degrees to the left"),
        ("heading-1", "1 left", "bank 1 degree to the left"),
        ("heading+1", "1 right", "bank 1 degree to the right"),
        ("heading+10", "5 right", "bank 5 degrees to the right"),
    ),
    "speed": (
        ("ias-5", "−5", "5 percent less power"),
        ("ias-1", "−1", "1 percent less power"),
        ("ias+1", "+1", "1 percent more power"),
        ("ias+5", "+5", "5 percent more power"),
    ),
    "level-off": (
        ("vs-100", "½ down", "nose half a degree down"),
        ("vs+100", "½ up", "nose half a degree up"),
    ),
}
_HEADS = {"wings": ("heading", "bank"), "speed": ("airspeed", "power"), "level-off": ("vertical speed", "nose")}


def named_by_hand(taken: Collection[str]) -> tuple[dict[str, tuple[str, str]], dict[str, str]]:
    """Give what buttons and their groups are called when some of the flying is in the pilot's hands.

    Parameters
    ----------
    taken : collection of str
        What is flown by hand; see :data:`needlework.showing.panel.hands.SWITCHES`.

    Returns
    -------
    tuple of dict
        Label and said words by what a button asks for, and name by group, of those that differ.
    """
    buttons = {action: (label, said) for name in taken for action, label, said in _BY_HAND[name]}
    return buttons, dict(_HEADS[name] for name in taken)
