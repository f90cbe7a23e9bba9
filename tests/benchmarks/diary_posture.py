"""Claims about posture in simulated diaries: python -m tests.benchmarks.diary_posture [DIARIES, 400].

Without a change: the share of diaries with any claim (at most 0.05). With one number changed by twice its smallest detectable change: the
share in which that number is claimed (at least 0.90 from six days on).
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from diary.simulated import PHOTO_SD, simulate


def main(diaries: int = 400) -> None:
    print(f"{'days':>5s}{'repeated':>9s}{'no change':>11s}{'drift':>8s}{'step':>8s}{'last':>8s}")
    keys = list(PHOTO_SD)
    for days in (2, 3, 4, 6, 8, 12):
        for repeats in (0, 1, 2):
            rng = np.random.default_rng(days * 10 + repeats)
            false = np.mean([any(t.claim for t in simulate(rng, days, repeats=repeats)) for _ in range(diaries)])
            found = []
            for kind in ("drift", "step", "last"):
                changed = [keys[k % len(keys)] for k in range(diaries)]
                found.append(np.mean([any(t.claim and t.id == c for t in simulate(rng, days, c, 2.0, kind, repeats)) for c in changed]))
            print(f"{days:5d}{repeats:9d}{false:11.3f}{found[0]:8.3f}{found[1]:8.3f}{found[2]:8.3f}", flush=True)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
