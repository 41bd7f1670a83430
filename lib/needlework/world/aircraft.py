"""Aircraft as data: the speeds, limits and rates with which one is flown."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from needlework.basis.errors import BadData
from needlework.world.datafiles import Part, datasets_dir, did_you_mean, make, ranged, read_toml, refuse, shown

Speed = Annotated[float, ranged(40, 250, "kt", "is this in mph or m/s?")]
# Upper ends of the threshold speeds of approach categories, 14 CFR 97.3.
_BELOW_KT = {"A": 91.0, "B": 121.0, "C": 141.0, "D": 166.0, "E": 1000.0}


class Configuration(Part):
    """One step of flap or gear; ``max_kt`` is the indicated airspeed at or below which it is set."""

    name: str = Field(min_length=1, description="the name in quotes")
    max_kt: Speed | None = Field(default=None, description="indicated airspeed in kt")


class Aircraft(Part):
    """One aircraft. Speeds are indicated [kt]; rates are of the level or climbing aircraft in still air."""

    name: str = Field(min_length=1, description="the name in quotes")
    type: str = Field(min_length=1, description="what it is, in quotes")
    callsign: str = Field(min_length=1, description="the callsign in quotes")
    category: Literal["A", "B", "C", "D", "E"] = Field(description='approach category, "A" to "E"')
    cruise_kt: Speed = Field(description="indicated airspeed in kt")
    arc_kt: Speed = Field(description="indicated airspeed in kt")
    to_final_fix_kt: Speed = Field(description="indicated airspeed in kt")
    final_kt: Speed = Field(description="indicated airspeed in kt")
    threshold_kt: Speed = Field(description="indicated airspeed in kt")
    climb_kt: Speed = Field(description="indicated airspeed in kt")
    climb_fpm: Annotated[float, ranged(100, 6000, "ft/min", "is this in m/s?")] = Field(
        description="rate of climb in ft/min"
    )
    descent_fpm: Annotated[float, ranged(100, 3000, "ft/min", "is this in m/s?")] = Field(
        description="rate of descent in ft/min"
    )
    acceleration_kt_s: Annotated[float, ranged(0.1, 10, "kt/s")] = Field(description="kt per second")
    roll_rate_deg_s: Annotated[float, ranged(1, 30, "deg/s")] = Field(description="degrees per second")
    bank_limit_deg: Annotated[float, ranged(10, 45, "deg")] = Field(description="bank in degrees")
    vertical_lag_s: Annotated[float, ranged(0, 20, "s")] = Field(description="time constant in seconds")
    configurations: tuple[Configuration, ...] = Field(min_length=1, description="a list of at least one")

    def configuration(self, name: str) -> Configuration:
        """Look a configuration up by name; BadData if the aircraft has none of that name."""
        for step in self.configurations:
            if step.name == name:
                return step
        known = [step.name for step in self.configurations]
        raise BadData(f"The {self.name} has no configuration {shown(name)}: {did_you_mean(name, known)}")


def names(path: Path | None = None) -> tuple[str, ...]:
    """Names of the aircraft in the course's file, or in another one."""
    return tuple(sorted(read_toml(path or datasets_dir() / "aircraft.toml")))


def load(name: str, path: Path | None = None) -> Aircraft:
    """Load an aircraft by name (capitals do not matter); BadData lists every fault of its block."""
    path = path or datasets_dir() / "aircraft.toml"
    table = read_toml(path)
    key = next((key for key in table if key.lower() == name.strip().lower()), None)
    if key is None:
        raise BadData(f"There is no aircraft {shown(name)} in {path.name}: {did_you_mean(name, table)}")
    faults: list[str] = []
    block = table[key]
    rows = block.get("configurations") if isinstance(block, dict) else None
    if isinstance(rows, list) and rows:
        steps = [make(Configuration, row, f"{key}.configurations {n}", faults) for n, row in enumerate(rows, 1)]
        block = {**block, "configurations": tuple(step or Configuration(name="faulty") for step in steps)}
    made = make(Aircraft, block, key, faults)
    if made is not None:
        faults += _contradictions(made, key)
    refuse(path.name, faults)
    assert made is not None
    return made


def _contradictions(made: Aircraft, key: str) -> list[str]:
    """Say what cannot be true together."""
    faults = []
    order = ("cruise_kt", "arc_kt", "to_final_fix_kt", "final_kt", "threshold_kt")
    for faster, slower in itertools.pairwise(order):
        if getattr(made, slower) > getattr(made, faster):
            faults.append(
                f"{key}.{slower} = {getattr(made, slower):g} kt is more than {faster} = "
                f"{getattr(made, faster):g} kt: expected each speed at most the one before it"
            )
    right = next(category for category, limit in _BELOW_KT.items() if made.threshold_kt < limit)
    if made.category < right:
        faults.append(
            f'{key}.category = "{made.category}": expected "{right}" for {made.threshold_kt:g} kt at the threshold'
        )
    limits = [(step.name, step.max_kt) for step in made.configurations if step.max_kt is not None]
    for (before, high), (after, low) in itertools.pairwise(limits):
        if low > high:
            faults.append(
                f"{key}.configurations: {after} up to {low:g} kt comes after {before} up to {high:g} kt: "
                "expected limits that fall from step to step"
            )
    if limits and made.final_kt > limits[-1][1]:
        faults.append(
            f"{key}.final_kt = {made.final_kt:g} kt: expected at most {limits[-1][1]:g} kt, "
            f"the limit of {limits[-1][0]}"
        )
    seen: set[Any] = set()
    for step in made.configurations:
        if step.name in seen:
            faults.append(f"{key}.configurations: {shown(step.name)} stands twice: expected each name once")
        seen.add(step.name)
    return faults
