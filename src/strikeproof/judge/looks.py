"""Looking before all runs are made: how sure each look must be so that all together keep the error.

Who looks after every block and stops at the first verdict has many chances to be wrong. Where the looks are
planned, each is judged at a level of its own: the first ones strictly, the last nearly as if it were alone.
Where one may look after every block, each look is judged strictly enough that all that may ever come keep the
error.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import ndtr, ndtri

from strikeproof.errors import BadInput

__all__ = ["MOST_LOOKS", "Looks", "last_bound", "level_of_any_look", "level_of_look"]

MOST_LOOKS = 20
NODES = 48


@dataclass(frozen=True, slots=True)
class Looks:
    """How many looks are planned, evenly over the runs, and how many of the planned blocks are made.

    With `planned` 0 one may look after every block, for ever.
    """

    planned: int
    blocks: int
    planned_blocks: int

    @property
    def number(self) -> int:
        """Which planned look this is; between two of them the one before, whose level is the stricter."""
        share = self.blocks * self.planned // self.planned_blocks
        return min(max(share, 1), self.planned)

    def level(self, level: float) -> float:
        """Two-sided level of this look, for all looks together at `level`."""
        if self.planned == 0:
            return level_of_any_look(self.blocks, self.planned_blocks, level)
        return level_of_look(self.number, self.planned, level)

    @property
    def beyond(self) -> bool:
        """Whether more blocks were made than the looks were planned for."""
        return self.planned > 0 and self.blocks > self.planned_blocks


def level_of_look(number: int, looks: int, level: float) -> float:
    """Two-sided level of one look so that a difference that is not there is seen at any look in `level`.

    The bounds are those of O'Brien and Fleming on the normal scale, used as levels of the t distribution.

    Parameters
    ----------
    number
        Of this look, from 1.
    looks
        Planned, over even shares of the runs.
    level
        Of all looks together, two-sided.

    Raises
    ------
    BadInput
        If there are no looks, or more than can be worked out.

    References
    ----------
    P. C. O'Brien, T. R. Fleming, Biometrics 35 (1979) 549; C. Jennison, B. W. Turnbull, *Group Sequential
    Methods*, 2000, sections 2.5 and 3.8 (levels for t), both from memory.
    """
    if not 1 <= looks <= MOST_LOOKS:
        raise BadInput(f"{looks} looks", where="protocol.looks", allowed=f"1 to {MOST_LOOKS}")
    return 2.0 * float(ndtr(-last_bound(looks, level) * np.sqrt(looks / number)))


def level_of_any_look(blocks: int, expected: int, level: float) -> float:
    """Two-sided level of a look after so many blocks, where one may look after each and go on for ever.

    The bound is that of a sum of normal steps that leaves it ever in `level` at most: a mixture of likelihood
    ratios over a normal spread of differences, narrowest near the expected number of blocks. It is used as a
    level of the t distribution.

    Parameters
    ----------
    blocks
        Made so far, 1 or more.
    expected
        About how many there will be, 1 or more; it does not limit them.
    level
        Of all looks together, two-sided.

    References
    ----------
    H. Robbins, Ann. Math. Stat. 41 (1970) 1397; S. R. Howard, A. Ramdas, J. McAuliffe, J. Sekhon, Ann. Stat.
    49 (2021) 1055, on its normal mixture and the tuning of that (both from memory).
    """
    many = -2.0 * float(np.log(level))
    spread = expected / (many + float(np.log1p(many)))
    whole = blocks + spread
    bound = float(np.sqrt(whole / blocks * (np.log(whole / spread) + many)))
    return 2.0 * float(ndtr(-bound))


@cache
def last_bound(looks: int, level: float) -> float:
    """Bound of |z| at the last of so many even looks; at look k it is wider by sqrt(looks / k).

    Parameters
    ----------
    looks
        Planned, over even shares of the runs.
    level
        Of all looks together, two-sided.

    Returns
    -------
    On the normal scale.

    References
    ----------
    P. C. O'Brien, T. R. Fleming, Biometrics 35 (1979) 549 (from memory).
    """
    from scipy.optimize import brentq  # a fifth of a second that no start of a program should pay

    alone = -float(ndtri(level / 2.0))
    if looks == 1:
        return alone
    return float(brentq(lambda bound: _seen(bound, looks) - level, alone, alone + 1.0, xtol=1e-9))


def _seen(bound: float, looks: int) -> float:
    """Chance that a sum of so many standard normal steps ever leaves plus or minus bound times sqrt(looks).

    References
    ----------
    P. Armitage, C. K. McPherson, B. C. Rowe, J. R. Stat. Soc. A 132 (1969) 235: the recursion (from memory).
    """
    wall = bound * np.sqrt(looks)
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    nodes, weights = wall * nodes, wall * weights
    density = np.exp(-0.5 * nodes**2) / np.sqrt(2.0 * np.pi)
    step = np.exp(-0.5 * (nodes[:, None] - nodes) ** 2) / np.sqrt(2.0 * np.pi)
    for _ in range(looks - 1):
        density = step @ (weights * density)
    return 1.0 - float(weights @ density)
