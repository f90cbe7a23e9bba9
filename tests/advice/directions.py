"""Words of direction and their contraries, so that two sentences about one measurement can be held against each other."""

import re

# One line a pair of contraries; what stands between bars means the same. Of each line the first word found in a sentence counts.
CONTRARIES = (
    ("in front|at the front|to the front|forward", "behind|at the back|to the back|further back|leaning back"),
    ("above|higher|rises|drawn up|too high", "below|lower|drops|sags|too low"),
    ("outside|beyond|past|further from the middle", "inside|short of|nearer to the middle"),
    ("left", "right"),
    ("steeper", "flatter"),
    ("gapes|away from|stands off|stands \\{amount\\} off", "too close|presses in|pressing in"),
    ("lacks|too tight", "wider|too wide"),
    ("exceeds the high bust by more|larger|more than the pattern", "smaller|less than the pattern"),
    ("measures more than the crotch seam|shorter|too short", "longer|too long"),
    ("can be pinned out", "the cloth is \\{amount\\} short|missing"),
)


def agree(one: str, other: str) -> int:
    """Whether two sentences about the same thing say the same (1) or the contrary (-1).

    Every pair of contraries of which both sentences have a word is compared: words that only name the place are then the same in both,
    and where two are turned round ("right is lower", "left is higher") the meaning is the same again.

    Raises
    ------
    ValueError
        They share no pair, so that nothing can be said.
    """
    signs = [mine * yours for mine, yours in zip(_senses(one), _senses(other), strict=True) if mine and yours]
    if not signs:
        raise ValueError(f"Nothing compares {one!r} with {other!r}.")
    return -1 if signs.count(-1) % 2 else 1


def _senses(sentence: str) -> list[int]:
    """For each pair 1 or -1 by the word that comes first, 0 where it has neither."""
    found = []
    for plus, minus in CONTRARIES:
        hit = re.search(f"(?P<plus>{plus})|(?P<minus>{minus})", sentence)
        found.append(0 if hit is None else 1 if hit["plus"] else -1)
    return found
