"""What a count says of a share in the long run."""

from math import sqrt
from statistics import NormalDist

# The middle 95 % of what a share may be.
_Z = NormalDist().inv_cdf(0.975)


def interval(bad: int, of: int) -> tuple[float, float]:
    """Bound the share behind `bad` of `of`, by 95 of 100 such counts.

    Source: Wilson 1927, the score interval; the formula from memory.
    """
    if not of:
        return 0.0, 1.0
    share, spread = bad / of, _Z * _Z / of
    middle = (share + spread / 2) / (1 + spread)
    half = _Z * sqrt(share * (1 - share) / of + spread / (4 * of)) / (1 + spread)
    return max(0.0, middle - half), min(1.0, middle + half)
