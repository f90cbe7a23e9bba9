"""Random numbers for drawn specs."""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np

_T = TypeVar("_T")


class Draw:
    """Random numbers, rounded as a person would write them."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def between(self, low: float, high: float, digits: int = 1) -> float:
        """Anywhere between two."""
        return round(float(self.rng.uniform(low, high)), digits)

    def either_way(self, low: float, high: float) -> float:
        """Of that size, with either sign."""
        return self.between(low, high) * (1 if self.chance(0.5) else -1)

    def about(self, middle: float, sd: float, digits: int = 1) -> float:
        """Normally distributed."""
        return round(float(self.rng.normal(middle, sd)), digits)

    def chance(self, share: float) -> bool:
        """True in that share of cases."""
        return bool(self.rng.uniform() < share)

    def one(self, choices: Sequence[_T]) -> _T:
        """One of them."""
        return choices[int(self.rng.integers(len(choices)))]

    def some(self, choices: Sequence[str], n: int) -> list[str]:
        """So many different ones."""
        return [str(word) for word in self.rng.choice(choices, size=n, replace=False)]
