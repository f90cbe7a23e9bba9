"""Small fittings for the diary: real records, tiny photos, no measuring."""

import hashlib
import json
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from fitcheck.core.advice import Amount, Expectation, Finding, Round, RoundStep
from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck, PhotoResult, PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Landmark, Measurement, SeamLine, Sighting
from fitcheck.diary import migrations
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.database import open_database
from fitcheck.diary.recording import NewFitting, add_note, record
from fitcheck.diary.store import OF_A_FITTING, Diary
from fitcheck.report.result import to_json

TIP = ("shoulder_seam_behind", "tip")


def measurement(value: float, sd: float = 1.0, side: str = "wearer_right", id_at: tuple[str, str] = TIP) -> Measurement:
    ends = {"from_px": np.array([20.0, 30.0]), "to_px": np.array([20.0 + value / 2, 30.0])}
    return Measurement(*id_at, side, "right", value, "mm", sd, {"pixel": sd}, (), **ends)


def step(amount_mm: float, *expect: tuple[str, float, float], id: str = "forward_shoulder") -> RoundStep:
    return RoundStep(
        Amount(id, "both", amount_mm, 1.5, 0.97), id, 1, "", ("Move it by {amount}.",), (), tuple(Expectation(*one) for one in expect)
    )


def fit_check(
    seed: object = 0,
    measurements: tuple[Measurement, ...] = (measurement(10.2),),
    steps: tuple[RoundStep, ...] = (step(10.0, ("shoulder_seam_behind_tip_R", 10.2, 0.2)),),
    posture: tuple[PostureValue, ...] = (PostureValue("shoulder_forward", "wearer_right", 45.0, "mm", 2.0),),
    later: tuple[Amount, ...] = (),
    placed: bool = False,
    **facts: object,
) -> FitCheck:
    """A fitting of two photos; `seed` makes its photos its own."""
    photos = []
    for view in ("front", "right"):
        name = hashlib.sha256(f"{seed}{view}".encode()).hexdigest()
        rgb = np.full((80, 60, 3), int(name[:2], 16), np.uint8)
        rgb[20:60, 20:40] = 90
        points = [
            Sighting("shoulder_point", "wearer_right", view, "placed" if placed else "marker", np.array([20.0, 25.0]), 0.5),
            Sighting("shoulder_point", "wearer_left", view, "marker", np.array([40.0, 25.0]), 0.5),
            Sighting("waist_front", None, view, "marker", np.array([30.0, 60.0]), 0.5),
        ]
        seam = SeamLine("centre_front", None, view, np.array([[30.0, 20.0], [30.0, 60.0]]), 0.5)
        photos.append(PhotoResult(Photo(view, f"{view}.jpg", name, rgb, None, "Secret Camera"), None, None, None, tuple(points), (seam,)))
    landmarks = tuple(
        Landmark(name, side, np.array(xyz, float), np.ones(3))
        for name, side, xyz in (
            ("shoulder_point", "wearer_right", (-160, 1360, 0)),
            ("shoulder_point", "wearer_left", (160, 1360, 0)),
            ("waist_front", None, (0, 800, 90)),
        )
    )
    finding = Finding("shoulder_seam_behind", "wearer_right", "The seam lies {mm:10} behind.", "present", ("shoulder_seam_behind_tip_R",))
    told = FittingFacts.model_validate({"stage": "tissue"} | facts).model_dump()
    return FitCheck(
        tuple(photos), landmarks, measurements, (), (finding,), (), Round(steps, "This round: {mm:10}.", (), (), later), posture, told
    )


def new_fitting(check: FitCheck, wearer: str = "Anna", garment: str = "bodice", day: date | None = None, **options: object) -> NewFitting:
    return NewFitting(check, json.dumps(to_json(check)), wearer, garment, options.pop("sources", {}), day=day, **options)


def old_diary(folder: Path, *fittings: tuple[str, str, object]) -> Path:
    """A diary as the first step of its tables left it: wearer, garment and photos of each fitting, names told apart by every letter."""
    kept = migrations.STEPS
    try:
        migrations.STEPS = kept[:1]
        connection = open_database(folder, create=True)
    finally:
        migrations.STEPS = kept
    with Diary(folder.with_name("source"), create=True) as source:
        for number, (wearer, garment, seed) in enumerate(fittings, 1):
            record(source, new_fitting(fit_check(seed), f"w{number}", f"g{number}", date(2026, 4, number)))
            numbers = [source.connection.execute(f"SELECT max(id) FROM {table}").fetchone()[0] for table in ("wearer", "garment")]
            known = connection.execute("SELECT id FROM wearer WHERE name = ?", [wearer]).fetchone()
            if known is None:
                connection.execute("INSERT INTO wearer (id, name) VALUES (?, ?)", [numbers[0], wearer])
            her = known[0] if known else numbers[0]
            same = connection.execute("SELECT id FROM garment WHERE wearer = ? AND name = ?", [her, garment]).fetchone()
            if same is None:
                connection.execute("INSERT INTO garment (id, wearer, name) VALUES (?, ?, ?)", [numbers[1], her, garment])
            for table in ("fitting", *OF_A_FITTING):
                for row in source.rows(f"SELECT * FROM {table} WHERE {'id' if table == 'fitting' else 'fitting'} = ?", [number]):
                    connection.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
            if same:
                connection.execute("UPDATE fitting SET garment = ? WHERE id = ?", [same[0], number])
    connection.close()
    (folder.with_name("source") / "photos").rename(folder / "photos")
    return folder


@pytest.fixture
def diary(tmp_path: Path):
    with Diary(tmp_path / "diary", create=True) as held:
        yield held


@pytest.fixture
def archive(diary, tmp_path):
    number = record(diary, new_fitting(fit_check(1, tape={"bust": 920}), "Anna"))
    record(diary, new_fitting(fit_check(2), "Anna", "coat"))
    record(diary, new_fitting(fit_check(3), "Berta"))
    add_note(diary, "loose", fitting=number)
    path = tmp_path / "anna.zip"
    assert export_wearer(diary, "anna", path) == {"fittings": 2, "photos": 4, "photos referenced": 0}
    return path
