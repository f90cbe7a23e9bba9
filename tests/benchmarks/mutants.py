"""Whether the tests notice a wrong sign, a wrong side or a wrong step: python -m tests.benchmarks.mutants [WORD ...]

Forty single lines are broken, one at a time, in a copy of the tree, and the tests that should notice are run on it. A line that cannot
be found any more is an error: then its mutant has to be written anew. With words, only mutants whose name has one of them are run.
Prints what was caught and what survived, and how long it took; ends with 1 if more than two survive.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
CAUGHT, SURVIVED = 1, 0  # how pytest ends when a test fails, and when none does
MAY_SURVIVE = 2
SKIPPED = shutil.ignore_patterns("__pycache__", ".*_cache")

SIGNS = "tests/measure/test_signs.py"
POSTURE = "tests/body/test_posture.py"
OF_POSTURE = "tests/advice/test_signs_of_posture.py"
OF_ALTERATIONS = "tests/advice/test_signs_of_alterations.py"
EQUATION = "tests/advice/test_equation.py"
OF_SIDES = "tests/advice/test_signs_of_sides.py"
POINTS = "tests/measure/test_garment_points.py"
PAPER = "tests/pattern/test_signs.py"

MEASURE = "fitcheck/measure/observables.py"
BODY = "fitcheck/body/posture.py"
PRIOR = "fitcheck/advice/prior.py"
ALTERATIONS = "fitcheck/advice/knowledge/alterations.toml"


@dataclass(frozen=True, slots=True)
class Mutant:
    """One line broken.

    Attributes
    ----------
    old, new : str
        What stands exactly once in the file, and what is put there.
    tests : tuple of str
        What should notice, as pytest is told it.
    """

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


MUTANTS = (
    # how the garment lies against the body
    Mutant("seam behind the tip: sign", MEASURE, "float(point[Z] - tip[Z])", "float(tip[Z] - point[Z])", (SIGNS,)),
    Mutant(
        "seam behind at the neck: line of the body",
        MEASURE,
        "(neck[X] - side_neck[X]) /",
        "(side_neck[X] - neck[X]) /",
        (SIGNS, "tests/measure/test_observables.py"),
    ),
    Mutant("tip beyond: sign", MEASURE, "float((tip - point)[:2] @ along", "float((point - tip)[:2] @ along", (SIGNS,)),
    Mutant(
        "slope excess: sign", MEASURE, "slope(neck, tip) - slope(side_neck, point)", "slope(side_neck, point) - slope(neck, tip)", (SIGNS,)
    ),
    Mutant("bust mark outside: side", MEASURE, "out = OUTWARDS[side]", "out = -OUTWARDS[side]", (SIGNS,)),
    Mutant("side seam forward: sign", MEASURE, "float(seam[Z] - under[Z])", "float(under[Z] - seam[Z])", (SIGNS,)),
    Mutant("side seam tilt: sign", MEASURE, "np.arctan(-(y @ z) / (y @ y))", "np.arctan((y @ z) / (y @ y))", (SIGNS,)),
    Mutant("waist mark above: sign", MEASURE, "float(seam[Y] - waist[Y])", "float(waist[Y] - seam[Y])", (SIGNS,)),
    Mutant("centre line left: sign", MEASURE, "lambda line: float(line[X])", "lambda line: float(-line[X])", (SIGNS,)),
    Mutant("open front: whole gap", MEASURE, "float(left[X] - right[X]) / 2", "float(left[X] - right[X])", (SIGNS,)),
    Mutant("armpit: its doubt left out", MEASURE, "float(np.hypot(result.sd, sd))", "float(result.sd)", (SIGNS,)),
    Mutant(
        "shoulder seam read from its other end",
        "fitcheck/measure/garment_points.py",
        "np.linalg.norm(curve[0] - tip_px) > np",
        "np.linalg.norm(curve[0] - tip_px) < np",
        (POINTS,),
    ),
    Mutant(
        "seam's end looked for inside the bone",
        "fitcheck/measure/garment_points.py",
        "TIP_OUT_MM * OUTWARDS[side], TIP_UP_MM",
        "-TIP_OUT_MM * OUTWARDS[side], TIP_UP_MM",
        (POINTS,),
    ),
    Mutant(
        "girth: the doubt of its factor left out",
        "fitcheck/measure/tape.py",
        "np.hypot(own.factor * found.sd, own.factor_sd * found.value)",
        "np.hypot(own.factor * found.sd, 0.0)",
        ("tests/measure/test_tape.py",),
    ),
    # posture
    Mutant("craniovertebral angle: sign", BODY, "ear[Z] - c7[Z]", "c7[Z] - ear[Z]", (POSTURE,)),
    Mutant("shoulder forward: sign", BODY, "float(point[Z] - c7[Z])", "float(c7[Z] - point[Z])", (POSTURE,)),
    Mutant(
        "hip difference: sign",
        BODY,
        'add("hip_height_difference", None, "mm", lambda left, right: float(left[Y] - right[Y])',
        'add("hip_height_difference", None, "mm", lambda left, right: float(right[Y] - left[Y])',
        (POSTURE,),
    ),
    # what posture says beforehand, and what a change of it asks for
    Mutant("lean of the forward neck", PRIOR, '"neck_forward", -0.4', '"neck_forward", 0.4', (OF_POSTURE,)),
    Mutant("lean of the rounded back", PRIOR, '"rounded_erect_upper_back", -0.3', '"rounded_erect_upper_back", 0.3', (OF_POSTURE,)),
    Mutant("unlike hips lean by their sign", PRIOR, "abs(p.value) * spread", "p.value * spread", (OF_POSTURE,)),
    Mutant("a sloping shoulder asks for squaring", "fitcheck/diary/posture.toml", "per_unit = -2.4", "per_unit = 2.4", (OF_POSTURE,)),
    # the table of alterations
    Mutant("seat width: side seam", ALTERATIONS, "side_seam_forward_hip = -6,", "side_seam_forward_hip = 6,", (OF_ALTERATIONS,)),
    Mutant("back width: at the blades", ALTERATIONS, "centre_back_short_blade = 5,", "centre_back_short_blade = -5,", (OF_ALTERATIONS,)),
    Mutant("sleeve cap: bow of its grain", ALTERATIONS, "sleeve_bow = 10 ", "sleeve_bow = -10 ", (OF_ALTERATIONS,)),
    Mutant("uneven hips: which hip", ALTERATIONS, "hip_height_difference = -10", "hip_height_difference = 10", (OF_ALTERATIONS,)),
    # the equation
    Mutant(
        "one-sided effect: side",
        "fitcheck/advice/equation.py",
        '"wearer_right": 1.0, "wearer_left": -1.0',
        '"wearer_right": -1.0, "wearer_left": 1.0',
        (EQUATION,),
    ),
    Mutant(
        "one side shows whole on the midline",
        "fitcheck/advice/equation.py",
        "np.where(both, 1.0, 0.5)",
        "np.where(both, 1.0, 1.0)",
        (EQUATION,),
    ),
    Mutant(
        "straying left out of the noise",
        "fitcheck/advice/equation.py",
        "measuring + straying_noise(observables, used)",
        "measuring",
        (EQUATION,),
    ),
    Mutant(
        "armhole wanted lower: sign", "fitcheck/advice/rows.py", "measured.value - self.wanted", "measured.value + self.wanted", (SIGNS,)
    ),
    Mutant(
        "left and right exchanged",
        "fitcheck/advice/weigh.py",
        "turn[row, at, at] = -0.5, 1.0, 0.5",
        "turn[row, at, at] = 0.5, 1.0, 0.5",
        (OF_SIDES,),
    ),
    Mutant(
        "what the next photos show",
        "fitcheck/advice/plan.py",
        "values[fit.keys[k]] - whole[k]",
        "values[fit.keys[k]] + whole[k]",
        ("tests/advice/test_plan.py",),
    ),
    # amounts, inches, doubts
    Mutant(
        "what to cut always rounded down",
        "fitcheck/advice/plan.py",
        "np.floor(abs(amount.amount_mm) / step + 0.5)",
        "np.floor(abs(amount.amount_mm) / step)",
        ("tests/advice/test_plan.py",),
    ),
    Mutant(
        "inches: told in quarters",
        "fitcheck/report/words/units.py",
        '"in": MM_PER_INCH / 8',
        '"in": MM_PER_INCH / 4',
        ("tests/report/words/test_units.py",),
    ),
    Mutant("doubt twice as large", "fitcheck/core/solution.py", "/ (2 * STEP_MM)", "/ STEP_MM", ("tests/core/test_solution.py",)),
    Mutant(
        "smallest change without the root of two",
        "fitcheck/diary/statistics.py",
        "Z95 * math.sqrt(2.0) * sem",
        "Z95 * sem",
        ("tests/diary/test_statistics.py",),
    ),
    Mutant(
        "full bust: not halved for the half front",
        "fitcheck/advice/size.py",
        "chart.cup_difference) / 2",
        "chart.cup_difference)",
        ("tests/advice/test_size.py",),
    ),
    # paper
    Mutant(
        "sleeve cap trued back for front",
        "fitcheck/pattern/moves/true_seams.py",
        '_fitted_cap(found["sleeve"], back, front, cap)',
        '_fitted_cap(found["sleeve"], front, back, cap)',
        ("tests/pattern/test_alter.py", "-k", "millimetre and forward_shoulder"),
    ),
    Mutant(
        "what darts and ease take out of a seam is left in",
        "fitcheck/pattern/piece.py",
        "path_length(self.edges[edge]) - self.taken.get(edge, 0.0)",
        "path_length(self.edges[edge])",
        ("tests/pattern/test_alter.py", "-k", "full_amount or (millimetre and gape)"),
    ),
    Mutant(
        "forward neck: the front raised",
        "fitcheck/pattern/recipes/upper.py",
        "neck_end_raised(case.front, -half_amount, -half_amount)",
        "neck_end_raised(case.front, half_amount, half_amount)",
        (PAPER,),
    ),
    Mutant(
        "sway back: let out",
        "fitcheck/pattern/recipes/upper.py",
        "case.body.waist_level - 30, -case.amount, 0.0",
        "case.body.waist_level - 30, case.amount, 0.0",
        (PAPER,),
    ),
)


def main(words: list[str]) -> int:
    chosen = [one for one in MUTANTS if not words or any(word in one.name for word in words)]
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        _copy(tree)
        for one in chosen:
            _broken(one, tree)
        for tests in dict.fromkeys(one.tests for one in chosen):
            if _run(tests, tree) != SURVIVED:
                raise SystemExit(f"Without any mutant these tests must pass: {' '.join(tests)}")
        caught = [_is_caught(one, tree) for one in chosen]
    survived = [one.name for one, seen in zip(chosen, caught, strict=True) if not seen]
    print(
        f"{sum(caught)} of {len(chosen)} caught in {(time.perf_counter() - start) / 60:.1f} min; survived: {', '.join(survived) or 'none'}"
    )
    return int(len(survived) > MAY_SURVIVE)


def _copy(tree: Path) -> None:
    """What the tests need: package and tests as copies, large files that no mutant touches as links."""
    for name in ("fitcheck", "tests"):
        shutil.copytree(ROOT / name, tree / name, ignore=SKIPPED)
    for name in ("models", "sample_images", "pyproject.toml"):
        (tree / name).symlink_to(ROOT / name)


def _broken(one: Mutant, tree: Path) -> str:
    """The file of a mutant with its line broken.

    Raises
    ------
    SystemExit
        The line does not stand there exactly once.
    """
    text = (tree / one.file).read_text("utf-8")
    if (times := text.count(one.old)) != 1:
        raise SystemExit(f"{one.name}: {one.file} has {one.old!r} {times} times, not once. Write this mutant anew.")
    return text.replace(one.old, one.new)


def _is_caught(one: Mutant, tree: Path) -> bool:
    path = tree / one.file
    whole, start = path.read_text("utf-8"), time.perf_counter()
    path.write_text(_broken(one, tree), "utf-8")
    ended = _run(one.tests, tree)
    path.write_text(whole, "utf-8")
    if ended not in (CAUGHT, SURVIVED):
        raise SystemExit(f"{one.name}: the tests broke off (pytest ended with {ended}) instead of failing: {' '.join(one.tests)}")
    print(f"{'caught  ' if ended == CAUGHT else 'SURVIVED'} {time.perf_counter() - start:5.0f} s  {one.name}", flush=True)
    return ended == CAUGHT


def _run(tests: tuple[str, ...], tree: Path) -> int:
    """How pytest ends on a tree; nothing it compiles is kept, so that a file put back within a second is read anew."""
    environment = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    return subprocess.run(command, cwd=tree, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
