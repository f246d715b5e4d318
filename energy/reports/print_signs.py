"""The signs of print in texts that are also for terminals."""

from __future__ import annotations

import re
from functools import lru_cache

_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


@lru_cache(maxsize=4096)  # pages say much alike from one answer to the next
def pretty(text: str) -> str:
    """Degrees, powers and minus signs as print has them: "-40 degC" becomes "−40 °C", "2e-9 m2/s" "2×10⁻⁹ m²/s"."""
    text = re.sub(r"(?<![A-Za-z])(?:delta_)?deg([CF])\b", r"°\1", text)
    text = re.sub(r"(?<![A-Za-z])(m|ft)([23])\b", lambda m: m[1] + "²³"[int(m[2]) - 2], text)
    text = re.sub(r"(\d)e-(\d+)", lambda m: f"{m[1]}×10⁻{str(int(m[2])).translate(_RAISED)}", text)
    return re.sub(r"(?<![\w-])-(?=\d)", "−", text)
