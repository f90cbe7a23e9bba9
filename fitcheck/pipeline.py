"""The whole chain on one screen: photos in, what does not fit and what to alter out. Nothing here reads or writes a file."""

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from fitcheck.advice.findings import find
from fitcheck.advice.folds import fold_measurements, in_words, with_folds
from fitcheck.advice.plan import plan_round
from fitcheck.advice.prior import by_hand
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.body.adjust import adjust
from fitcheck.body.agreement import looks_like, lying, odd_ones_out
from fitcheck.body.landmarks import facing_points, landmarks, outline_rows, pose_sightings, seen_ties, unmarked
from fitcheck.body.placed import put_right
from fitcheck.body.posture import posture
from fitcheck.body.sticker_size import sticker_ratio, unlike_the_card
from fitcheck.core.advice import Round
from fitcheck.core.camera import Photo, Scale
from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.folds import Fold
from fitcheck.core.records import VIEWS, Measurement, Pose, SeamLine, Sighting, Standing, View
from fitcheck.core.settings import Settings
from fitcheck.core.solution import Solution
from fitcheck.garment import read_garment
from fitcheck.measure.fold_frame import places_in
from fitcheck.measure.folds import group_folds
from fitcheck.measure.garment_points import garment_points
from fitcheck.measure.observables import measure
from fitcheck.measure.tape import tape_checks, unlike_the_tape
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drawing.lay_out import lay_out
from fitcheck.pattern.drawing.svg import drawing, drawn_seams
from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.quality import photo_flags
from fitcheck.photo.stand.card_height import above_floor
from fitcheck.photo.without_card.other_scales import scale_from_corners, scale_from_height
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.person.silhouette import torso_edges
from fitcheck.vision.person.soles import find_soles
from fitcheck.vision.person.torso_colour import torso_colour
from fitcheck.vision.stickers.dots import find_dots, of_one_colour
from fitcheck.vision.stickers.find_stickers import find_point_markers

Progress = Callable[[str, float], None]
TURN_SD_DEG = 0.4  # beside the solution's own: in a side photo a fuller bust than the model's looks like a turn; from 40 rendered fittings
TURNED_DEG = 3.0
FEWEST_STICKERS, FEWEST_DOTS = 2, 4  # a photo with fewer stickers is searched for dots; fewer dots in all are buttons
THREADS = 2  # OpenCV and numpy leave Python's lock for most of the work on a photo


def check_fit(photos: Sequence[Photo], settings: Settings | None = None, progress: Progress | None = None) -> FitCheck:
    """Check one fitting.

    Parameters
    ----------
    photos : sequence of Photo
        One to four views.
    settings : Settings, optional
    progress : callable, optional
        Told the name of each stage and the share done (0 to 1).

    Returns
    -------
    FitCheck

    Raises
    ------
    NothingMeasuredError
        Nobody, or no scale, in any photo; or neither lines nor stickers, so that nothing of the fit can be measured.
    """
    settings = settings or Settings()
    tell = progress or (lambda stage, share: None)
    views = {photo.view: photo for photo in photos}
    with ThreadPoolExecutor(THREADS) as pool:
        tell("wearer and scale card", 0.0)
        cards = pool.submit(_card_scales, views, settings)
        poses: dict[View, Pose] = {}
        doubts: dict[View, Future[tuple[str, ...]]] = {}
        sought: dict[View, Future[tuple[Sighting, ...]]] = {}
        for view, photo in views.items():  # one photo's stickers beside the next one's pose: the pose model leaves Python's lock alone
            pose = find_people(photo)
            doubts[view] = pool.submit(photo_flags, photo, pose)
            if pose is not None:
                poses[view] = pose
                sought[view] = pool.submit(find_point_markers, photo, pose=pose)
        scales = _scales(views, cards.result(), poses, settings)
        _require(poses, scales, settings)
        tell("stickers", 0.3)
        flags = {view: [*codes.result(), *(() if view in scales else ("no_card",))] for view, codes in doubts.items()}
        stickers = {view: found.result() for view, found in sought.items()}
        usable = _usable(views, poses, scales, stickers, flags)
        beside = [s for view in usable for s in pose_sightings(view, poses[view], usable[view].mm_per_px)]
        beside += [s for view in usable for s in find_soles(views[view].rgb, poses[view], view)]
        stickers |= _dots(views, poses, usable, stickers, beside)
        stickers |= {view: put_right(stickers[view], settings.placed_points, view) for view in usable}
        tell("seam lines and folds", 0.5)
        # a photo's folds beside the next one's seams: the network leaves Python's lock alone
        read = pool.map(lambda v: read_garment(views[v], poses[v], stickers[v], usable[v].mm_per_px, settings), usable)
        seams: dict[View, tuple[SeamLine, ...]] = {}
        folds: tuple[Fold, ...] = ()
        for view, garment in zip(usable, read, strict=True):
            seams[view] = garment.lines
            folds += garment.folds
            beside += garment.bust
            flags[view].extend(garment.flags)

    tell("measuring", 0.8)
    seen = [*unmarked(beside, stickers), *(s for view in usable for s in stickers[view])]
    body = adjust(usable, seen, seen_ties(seen))
    outlines = {view: torso_edges(views[view].rgb, poses[view], outline_rows(body, view)) for view in body.views}
    body = adjust(usable, seen, seen_ties(seen), outlines, body)
    worn = garment_points(body, [seam for found in seams.values() for seam in found], seen)
    general: list[str] = []
    if misprint := unlike_the_card(sticker_ratio(body, seen, usable), list(usable.values())):
        general = ["card_scale_odd"]
        usable = _doubted(usable, misprint)
    every, ties = [*seen, *worn.sightings], [*seen_ties(seen), *worn.ties]
    body = adjust(usable, every, ties, outlines, body, sticker_sizes=not misprint)
    measurements, unmeasured = measure(body, every)
    tape = tape_checks(body, settings.facts.tape.given_mm())
    if off := unlike_the_tape(tape):
        usable = _doubted(usable, off)
        body = adjust(usable, every, ties, outlines, body)
        measurements, unmeasured = measure(body, every)
    general += [] if all(check.agrees for check in tape) else ["tape_disagrees"]

    tell("what to alter", 0.9)
    groups = group_folds(folds, places_in(body))
    in_folds = fold_measurements(groups, measurements)
    measurements += in_folds
    table = with_folds(knowledge(), in_folds)
    measurements += by_hand(table, settings.facts)
    _require_something(measurements, seen)
    findings = find(measurements, table, settings.facts)
    stance = posture(body)
    solution = solve(measurements, table, settings.facts, stance)
    return FitCheck(
        photos=tuple(
            PhotoResult(
                views[view],
                scales.get(view),
                poses.get(view),
                _standing(body, view),
                (*stickers.get(view, ()), *(s for s in worn.sightings if s.view == view)),
                seams.get(view, ()),
                tuple(dict.fromkeys(flags[view])),
            )
            for view in VIEWS
            if view in views
        ),
        landmarks=landmarks(body, seen),
        measurements=measurements,
        unmeasured=unmeasured,
        findings=findings,
        explanations=solution.explanations,
        round=_with_diagrams(plan_round(solution, findings, measurements, table, settings.facts), settings.facts),
        posture=stance,
        settings=settings.facts.model_dump(),
        tape=tape,
        folds=folds,
        fold_groups=in_words(groups, in_folds, solution, table),
        flags=tuple([*general, *(["view_missing"] if len(views) < len(VIEWS) else [])]),
    )


def _with_diagrams(plan: Round, facts: FittingFacts) -> Round:
    """The round with a drawing of the pieces for every step that has one."""
    steps = []
    for step in plan.steps:
        one_side = step.amount.side != "both"
        changed = alter(step.amount.id, step.cut_mm, Body.of(facts.tape), facts.front, facts.kind, one_side)
        if changed is not None:
            drawn = drawing(lay_out(changed))
            step = replace(step, diagram_svg=drawn, diagram_note=changed.note, seams=drawn_seams(changed))
        steps.append(step)
    return replace(plan, steps=tuple(steps))


def _card_scales(views: dict[View, Photo], settings: Settings) -> dict[View, Scale]:
    """The photos that show the scale card, and how high it stands."""
    found = scales_from_cards(list(views.values()), settings.facts.card_bar_mm, settings.lenses, settings.facts.camera)
    cards = {view: scale for view, scale in zip(views, found, strict=True) if scale is not None}
    return above_floor(views, cards, settings.facts.card_height_mm)


def _scales(views: dict[View, Photo], cards: dict[View, Scale], poses: dict[View, Pose], settings: Settings) -> dict[View, Scale]:
    """The scale card where there is one, else what the user gave instead."""
    scales: dict[View, Scale] = {}
    lens = settings.lenses, settings.facts.camera
    for view, photo in views.items():
        scale = cards.get(view)
        if scale is None and view in settings.sheets:
            scale = scale_from_corners(photo, settings.sheets[view].corners_px, settings.sheets[view].size, *lens)
        if scale is None and view in poses and settings.facts.height_mm is not None:
            scale = scale_from_height(photo, poses[view], settings.facts.height_mm, *lens)
        if scale is not None:
            scales[view] = scale
    return scales


def _doubted(scales: dict[View, Scale], share: float) -> dict[View, Scale]:
    """The scales with so much more doubt, as a share."""
    return {view: replace(scale, scale_sd=float(np.hypot(scale.scale_sd, share))) for view, scale in scales.items()}


def _require(poses: dict[View, Pose], scales: dict[View, Scale], settings: Settings) -> None:
    if not poses:
        raise NothingMeasuredError(
            "Nobody was found in any photo.", "Stand in the middle of the picture, head to feet, before a plain wall."
        )
    if not scales and settings.facts.height_mm is not None:
        raise NothingMeasuredError(
            "No scale card was found, and your height cannot stand in for it: no photo shows you from head to feet.",
            "Step back until head and feet are both in the picture, or print a card with 'fitcheck card' and retake.",
        )
    if not scales:
        raise NothingMeasuredError(
            "No scale card was found in any photo, so nothing can be measured.",
            "Print one with 'fitcheck card' and retake, or give a sheet's corners (--scale-corners) or your height (--height-mm).",
        )


def _require_something(measurements: Sequence[Measurement], seen: Sequence[Sighting]) -> None:
    """A person beside a card is no fitting yet; with stickers her posture at least is worth a report."""
    of_body = {observable.id for observable in knowledge().observables.values() if observable.of_body}
    if all(m.id in of_body for m in measurements) and all(sighting.grade == "detected" for sighting in seen):
        raise NothingMeasuredError(
            "No seam lines and no stickers were found on the wearer, so nothing of the fit can be measured.",
            "Draw the seam lines with a strong pen, or put stickers on the body points ('fitcheck card' prints them), and retake.",
        )


def _usable(
    views: dict[View, Photo],
    poses: dict[View, Pose],
    scales: dict[View, Scale],
    stickers: dict[View, tuple[Sighting, ...]],
    flags: dict[View, list[str]],
) -> dict[View, Scale]:
    """Scales of the photos that can be measured together; the others are flagged, and left out."""
    for view, pose in poses.items():
        if looks_like(pose, stickers[view]) not in (view, None):
            flags[view].append("view_mixed_up")
    for view in odd_ones_out(poses, scales, {view: torso_colour(views[view], pose) for view, pose in poses.items()}):
        flags[view].append("different_person")
    usable = {
        view: scale for view, scale in scales.items() if view in poses and not {"view_mixed_up", "different_person"} & set(flags[view])
    }
    if usable:
        return usable
    codes = {code for found in flags.values() for code in found}
    problem = "No photo shows both the wearer and a scale."
    if "different_person" in codes:
        problem = "The photos show different people or different clothes."
    if "view_mixed_up" in codes:
        problem = "The photos do not show the views their file names say."
    if all(lying(pose) for pose in poses.values()):
        raise NothingMeasuredError("The photos stand on their heads or lie on their sides.", "Turn them upright and save them so.")
    raise NothingMeasuredError(problem, "Check the file names (right: your right side faces the camera) and use photos of one fitting.")


def _dots(
    views: dict[View, Photo],
    poses: dict[View, Pose],
    usable: dict[View, Scale],
    stickers: dict[View, tuple[Sighting, ...]],
    beside: Sequence[Sighting],
) -> dict[View, tuple[Sighting, ...]]:
    """Plain dots in the photos that show hardly a printed sticker, looked for where the pose says the body points are."""
    plain = [view for view in usable if len(stickers[view]) < FEWEST_STICKERS]
    if not plain:
        return {}
    seen = [*beside, *(s for view in usable for s in stickers[view])]
    body = adjust(usable, seen, seen_ties(seen))
    found = {
        view: find_dots(views[view], poses[view], facing_points(body, view), usable[view].mm_per_px) for view in plain if view in body.views
    }
    dots = of_one_colour(views, found)
    if sum(map(len, dots.values())) < max(FEWEST_DOTS, sum(map(len, found.values())) / 2):
        return {}
    return {view: (*stickers[view], *in_view) for view, in_view in dots.items()}


def _standing(body: Solution, view: View) -> Standing | None:
    if view not in body.views:
        return None
    turn = body.turn_deg(view)
    return Standing(view, turn.value, float(np.hypot(turn.sd, TURN_SD_DEG)), ("turned",) if abs(turn.value) > TURNED_DEG else ())
