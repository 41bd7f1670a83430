"""What went well stands only on what nothing else that was found tells otherwise."""

from __future__ import annotations

from needlework.debrief.findings import Judgement, not_judged

# Row that would be praised: rows whose findings tell otherwise, with the numbers of their errors (none: any of them).
_OTHERWISE: dict[str, dict[str, tuple[int, ...]]] = {
    "established_first": {"floor": (65,), "mda": (65,)},
    "level": {"floor": ()},
    "wind": {"needle_before_final": ()},
    "cone": {"outbound": ()},
    "outbound": {"cone": (13,)},
    "mda": {"vdp": ()},
    "mda_high": {"mda": (), "vdp": ()},
}


def unpraised(judgements: tuple[Judgement, ...]) -> tuple[Judgement, ...]:
    """Take back the praise that a finding of another row tells otherwise."""
    missed = {one.row.key: one for one in judgements if one.verdict == "missed"}
    return tuple(_unpraised(one, missed) for one in judgements)


def _unpraised(judgement: Judgement, missed: dict[str, Judgement]) -> Judgement:
    if judgement.verdict != "met":
        return judgement
    for key, errors in _OTHERWISE.get(judgement.row.key, {}).items():
        if key not in missed:
            continue
        sure = [found for found in missed[key].findings if found.sure]
        if not errors or any(found.error in errors for found in sure):
            return not_judged(judgement.row, f"Told by another: {missed[key].row.quantity}.")
    return judgement
