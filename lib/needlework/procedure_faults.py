"""Everything that can be wrong with a procedure whose fields are readable, said in plain words."""

from __future__ import annotations

import datetime
from typing import Any


def find_faults(parts: dict[str, Any], day: datetime.date) -> list[str]:
    """List every fault."""
    return []
