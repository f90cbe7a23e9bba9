"""What is said against the truth: python -m tests.benchmarks.confusion SCENES_FOLDER [...] [--cases]

Every folder below with truth.json and photos is checked, with what the photos alone tell (no tape, no facts). An observable is truly
present where its true value lies outside the tolerance of observables.toml, truly absent within; printed per observable and per kind of
stickers: how often it is said to be present, unclear or absent, or is not measured. `wrong` counts plain contradictions; `near` are those
of them whose truth lies within 1.5 mm (deg) of the tolerance, which nobody could tell.

Alterations are judged as `named.py` says: each that the truth asks for, in any group, is named rightly, with another amount, or missed, and
every miss is listed with its cause; shoulders of two heights need nothing where the garment was cut for them. In a control (nothing changed
by the spec) everything that the truth does not ask for is false.
--cases lists every contradiction, the worst first.
"""

import json
import sys
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.table import knowledge
from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement, Side, measurement_key
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from tests.benchmarks.accuracy import true_half, truth_for
from tests.benchmarks.named import MISSED, NAMED, Judged, judge

TRUE_SD = 0.1  # of a true observable given to the equation, mm or degrees
NEAR = 1.5
GAPING_MM = 2.0
LOWER_MM_PER_DEG = 1.85  # of the scene maker's shoulders: how much lower one lies by a degree
SAID = ("present", "unclear", "absent", "unmeasured")
FACTS = FittingFacts()
HALF_SIDES: dict[str, Side] = {"right": "wearer_right", "left": "wearer_left"}


@dataclass
class Case:
    """A plain contradiction: said present where the truth lies within tolerance, or the other way round."""

    scene: str
    kind: str
    said: str
    measured: Measurement
    true: float
    tolerance: float

    @property
    def beyond(self) -> float:
        """How far the truth lies on the other side of the tolerance."""
        return abs(abs(self.true) - self.tolerance)

    def __str__(self) -> str:
        m = self.measured
        share = max(m.sources, key=lambda source: m.sources[source], default="")
        return (
            f"{self.scene:24s} {self.kind:8s} {m.key:30s} said {self.said:8s} {m.value:+6.1f} ({m.sd:.1f}) true {self.true:+6.1f} "
            f"in {m.view}, most doubt {share}, {' '.join(m.flags)}"
        )


@dataclass
class Counts:
    """Of one group of scenes."""

    verdicts: Counter[tuple[str, bool, str]] = field(default_factory=Counter)  # observable, truly present, said
    alterations: Counter[str] = field(default_factory=Counter)
    scenes: int = 0
    controls: int = 0
    false_on_controls: list[str] = field(default_factory=list)


def kind_of(scene: Path, truth: dict) -> str:
    """Kind of stickers: as the spec says, else as the truth shows."""
    spec = scene / "spec.json"
    if spec.exists():
        return str(json.loads(spec.read_text()).get("markers", "aruco"))
    markers = [marker for view in truth["views"].values() for marker in view["point_markers"].values()]
    ids = {marker.get("id", 0) for marker in markers}
    return "none" if not markers else "dots" if ids == {0} else "pointer" if max(ids) >= 60 else "aruco"


def is_control(truth: dict) -> bool:
    cause = truth["cause"]
    changed = cause["subject_minus_reference"].values()
    cut = [gap for key, gap in truth["reference"]["fit_when_hung_on_reference"].items() if key[-2:] in ("_L", "_R") and "_short_" in key]
    gaping = any(gap is not None and abs(gap) > GAPING_MM for gap in cut)  # a half tissue whose centre lines were drawn elsewhere
    return not any(cause["line_offsets_mm"].values()) and not any(group for group in changed) and not gaping


def true_measurements(truth: dict, table: Knowledge, facts: FittingFacts) -> dict[str, Measurement]:
    """All that the table knows and the truth holds, almost without doubt."""
    out = {}
    for observable in table.observables.values():
        for at in observable.levels:
            for side in {*observable.sides(at), None} if observable.whole else observable.sides(at):
                key = measurement_key(observable.id, at, side)
                value = truth_for(truth, key)
                if value is not None and observable.applies(at, facts):
                    out[key] = Measurement(observable.id, at, side, None, value, observable.unit, TRUE_SD, {"definition": TRUE_SD})
    return out


def not_cut_for(truth: dict, truly: Mapping[str, Measurement]) -> dict[str, Measurement]:
    """The same with so much of her shoulders' difference in height as the garment was not cut for: in a control none of it."""
    changed = truth["cause"]["subject_minus_reference"]["posture"].get("shoulder_right_lower", 0.0)
    key = "shoulder_height_difference"
    return {k: replace(m, value=LOWER_MM_PER_DEG * changed) if k == key else m for k, m in truly.items()}


def compare_findings(
    scene: str, kind: str, result: FitCheck, truly: dict[str, Measurement], table: Knowledge, counts: Counts
) -> list[Case]:
    """Count what is said of every true observable; return the contradictions."""
    said = {key: finding.verdict for finding in result.findings for key in finding.measurements}
    measured = {m.key: m for m in result.measurements}
    cases = []
    for key, true in truly.items():
        observable = table.observables[true.id]
        deviation, tolerance = observable.deviation(true, FACTS), observable.tolerance.amount
        present, verdict = abs(deviation) > tolerance, said.get(key, "unmeasured")
        counts.verdicts[measurement_key(true.id, true.at, None), present, verdict] += 1
        if verdict == ("absent" if present else "present"):
            cases.append(Case(scene, kind, verdict, measured[key], deviation, tolerance))
    return cases


def print_alterations(counts: Mapping[str, Counts]) -> None:
    """Shares of each group: named rightly, named, missed by cause; false ones."""
    words = ("needed", "right", "named", *MISSED, "false", "later")
    print(f"\n{'alterations':28s}{'scenes':>8s}" + "".join(f"{word:>21s}" for word in words) + f"{'false on controls':>20s}")
    for kind, one in counts.items():
        needed = sum(one.alterations[word] for word in (*NAMED, *MISSED))
        named = sum(one.alterations[word] for word in NAMED)
        cells = [needed, one.alterations["right"], named, *(one.alterations[word] for word in MISSED)]
        shares = [f"{n:4d} {n / max(needed, 1):5.0%}" for n in cells] + [f"{one.alterations['false']:4d}", f"{one.alterations['later']:4d}"]
        print(
            f"{kind:28s}{one.scenes:8d}"
            + "".join(f"{cell:>21s}" for cell in shares)
            + f"{len(one.false_on_controls):11d} of {one.controls:<3d}"
        )


def print_confusion(title: str, verdicts: Counter[tuple[str, bool, str]], near: Counter[str]) -> None:
    print(f"\n{title:34s}{'truly present':^44s}{'truly absent':^44s}{'wrong':>7s}{'near':>6s}")
    print(f"{'':34s}" + 2 * "".join(f"{word:>11s}" for word in SAID))
    rows = sorted({row for row, _, _ in verdicts})
    for row in [*rows, "all"]:
        cells = [
            [
                sum(n for (r, p, s), n in verdicts.items() if r in (row, row if row != "all" else r) and (p, s) == (present, said))
                for said in SAID
            ]
            for present in (True, False)
        ]
        wrong = cells[0][SAID.index("absent")] + cells[1][SAID.index("present")]
        close = sum(near.values()) if row == "all" else near[row]
        print(f"{row:34s}" + "".join(f"{n or '.':>11}" for part in cells for n in part) + f"{wrong:7d}{close:6d}")


def add_scene(scene: Path, result: FitCheck, table: Knowledge, by_kind: dict[str, Counts], cases: list[Case]) -> None:
    """Count one checked scene, and print what came of its alterations."""
    truth = json.loads((scene / "truth.json").read_text())
    half, control = true_half(truth), is_control(truth)
    facts = FACTS.as_worn(None if half is None else HALF_SIDES[half])
    kind = kind_of(scene, truth) + (", half tissue" if half else "")
    counts, truly = by_kind[kind], true_measurements(truth, table, facts)
    counts.scenes, counts.controls = counts.scenes + 1, counts.controls + control
    cases += compare_findings(scene.name, kind, result, truly, table, counts)
    judged = judge(result, not_cut_for(truth, truly), table, facts)
    counts.alterations.update([one.verdict for one in judged] + ["later"] * sum(one.later and one.verdict != "false" for one in judged))
    counts.false_on_controls += [one.text for one in judged if control and one.verdict == "false"]
    print(f"{scene.parent.name}/{scene.name} ({kind}; {truth['cause']['note']})", flush=True)
    for one in judged or [Judged("right", "nothing to alter", False)]:
        print(f"    {one.verdict:20s} {one.text}{', in a later round' if one.later else ''}", flush=True)


def print_all(by_kind: Mapping[str, Counts], cases: Sequence[Case], every_case: bool) -> None:
    """All tables."""
    whole: Counter[tuple[str, bool, str]] = sum((counts.verdicts for counts in by_kind.values()), Counter())
    near = Counter(measurement_key(c.measured.id, c.measured.at, None) for c in cases if c.beyond < NEAR)
    print_confusion("all scenes", whole, near)
    for kind in sorted(by_kind):
        summed = Counter({("", p, s): 0 for p in (True, False) for s in SAID})
        for (_, present, said), n in by_kind[kind].verdicts.items():
            summed["", present, said] += n
        close = Counter({"": sum(c.kind == kind and c.beyond < NEAR for c in cases)})
        print_confusion(f"stickers: {kind} ({by_kind[kind].scenes} scenes)", summed, close)
    print_alterations(by_kind)
    if every_case:
        print()
        for case in sorted(cases, key=lambda c: -c.beyond):
            print(case)
    bias = defaultdict(list)
    for case in cases:
        bias[measurement_key(case.measured.id, case.measured.at, None), case.kind].append(case.measured.value - case.true)
    for (key, kind), errors in sorted(bias.items(), key=lambda row: -len(row[1])):
        print(f"contradicted {key:32s}{kind:22s}{len(errors):4d} times, error on average {np.mean(errors):+6.1f}")


def main(arguments: list[str]) -> None:
    table = knowledge()
    folders = [Path(word) for word in arguments if not word.startswith("--")]
    by_kind: dict[str, Counts] = defaultdict(Counts)
    cases: list[Case] = []
    for scene in sorted(path.parent for folder in folders for path in folder.rglob("truth.json") if find_views(path.parent)):
        photos: list[Photo] = [load_photo(path, view) for view, path in find_views(scene).items()]
        try:
            result = check_fit(photos, Settings(FACTS), drawn=False)
        except NothingMeasuredError as error:
            print(f"{scene.name}: {error}", flush=True)
            continue
        add_scene(scene, result, table, by_kind, cases)
    print_all(by_kind, cases, "--cases" in arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
