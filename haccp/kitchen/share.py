"""What a count says of a share in the long run."""

from math import sqrt
from statistics import NormalDist

# The middle 95 % of what a share may be.
_LEVEL = 0.95


def interval(bad: int, of: int, level: float = _LEVEL) -> tuple[float, float]:
    """Bound the share behind `bad` of `of` by the score interval, of `level` of all such counts.

    Source: Wilson 1927; the formula from memory.
    """
    if not of:
        return 0.0, 1.0
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, spread = bad / of, z * z / of
    middle = (share + spread / 2) / (1 + spread)
    half = z * sqrt(share * (1 - share) / of + spread / (4 * of)) / (1 + spread)
    return max(0.0, middle - half), min(1.0, middle + half)
