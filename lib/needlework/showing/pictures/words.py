"""How a pilot writes what stands in a picture: R345 at a line, radial 345 in a sentence, 4.7 DME for a distance."""

from __future__ import annotations

import re
import typing

from needlework.trade.angles import three_digits
from needlework.trade.units import NM_M

if typing.TYPE_CHECKING:
    from needlework.world.procedure import Procedure


def short_radial(radial_deg: float) -> str:
    """Write a radial for a label or a table: ``R345``."""
    return f"R{three_digits(direction_deg=radial_deg, reference='').rstrip('°')}"


def spoken_radial(radial_deg: float) -> str:
    """Write a radial for a sentence: ``radial 345``."""
    return f"radial {short_radial(radial_deg)[1:]}"


def dme(dist_nm: float, *, tenths: bool = True) -> str:
    """Write a DME distance: ``4.7 DME``, or without the tenth where there is none: ``10 DME``."""
    return f"{dist_nm:.1f} DME" if tenths else f"{dist_nm:g} DME"


def fix_words(procedure: Procedure, name: str) -> list[str]:
    """Write a fix as a pilot reads it: name, then radial and DME; a fix named for what it is needs no second line."""
    fix = procedure.fix(name)
    if re.fullmatch(r"R\d{3}( .*DME)?", name):
        return [name]
    if fix.dme_nm is None:
        return [f"{name} by time"]
    if name in ("MAP", "VDP", *procedure.step_downs):
        # The final's radial stands at its leg; the fixes are too close together for more words.
        reading = dme(fix.dme_nm)
        return [reading if name == reading else f"{name} {reading}"]
    return [name, f"{short_radial(fix.radial_deg)} {dme(fix.dme_nm, tenths=False)}"]


def runway_words(procedure: Procedure) -> tuple[str, str]:
    """Write where the runway lies: beside its symbol, and in the sentence."""
    runway, turn = procedure.runway, procedure.runway_turn_deg
    label, said = f"RWY {runway.name}", f"runway {runway.name} on {three_digits(direction_deg=runway.heading_deg)}"
    if abs(turn) < 0.5:
        return label, f"{said}, straight ahead on the final"
    side = "left" if turn < 0 else "right"
    label += f", {abs(turn):.0f}° {side}"
    said += f", {abs(turn):.0f} degrees {side} of the final course"
    if runway.centre_line_crossed_nm:
        aside_m = abs(procedure.threshold_right_nm) * NM_M
        said += (
            f", which crosses its centre line {runway.centre_line_crossed_nm:g} NM before the threshold and "
            f"passes the threshold {aside_m:.0f} m to its {'right' if side == 'left' else 'left'}"
        )
    return label, said
