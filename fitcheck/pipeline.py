"""The whole chain on one screen: photos in, what does not fit and what to alter out. Nothing here reads or writes a file."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from threadpoolctl import threadpool_limits

from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.progress import AtPhoto, Begins, Progress, unheard
from fitcheck.core.records import VIEWS, View
from fitcheck.core.seen import SeenFitting
from fitcheck.core.settings import Settings
from fitcheck.stages.advise import Advised, advise
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.cross_check import cross_checked
from fitcheck.stages.draw import with_drawings
from fitcheck.stages.kept import Kept, stage_keys
from fitcheck.stages.measure import Measured, measure_fitting
from fitcheck.stages.people import find_everyone
from fitcheck.stages.put_right import put_right
from fitcheck.stages.read import read
from fitcheck.stages.see import see_photos
from fitcheck.stages.solve import Solved, solve

USUAL = Settings()


def check_fit(
    photos: Sequence[Photo], settings: Settings = USUAL, progress: Progress = unheard, kept: Kept | None = None, drawn: bool = True
) -> FitCheck:
    """Check one fitting: see every photo, agree on card, floor and lens, read what has a scale, solve, measure, advise.

    Parameters
    ----------
    photos : sequence of Photo
        One to four views.
    settings : Settings
    progress : callable
        Told the name of each stage, the share done (0 to 1), and the photo that is being read.
    kept : Kept, optional
        Results of an earlier check of this fitting: only stages that go by something else than then run again.
    drawn : bool
        Whether the steps of the round are drawn, for a report.

    Raises
    ------
    NothingMeasuredError
        Nobody, or no scale, in any photo; or neither lines nor stickers, so that nothing of the fit can be measured.
    """
    photos = tuple({photo.view: photo for photo in photos}.values())
    kept = kept or Kept()
    run = kept.under(stage_keys(photos, settings))
    with threadpool_limits(1, "blas"), ThreadPoolExecutor(1) as beside:  # matrices are small: algebra's own threads only wait
        begins = _photo_by_photo(photos, "wearer and scale card", (0.0, 0.5), progress)
        progress("wearer and scale card", 0.0)
        cards = beside.submit(run, "cards", card_scales, photos, settings)
        seen = run("see", see_photos, photos, find_everyone(photos, begins))
        scales = cards.result()
        mended = put_right(seen, scales)
        if any(new is not old for new, old in zip(mended, photos, strict=True)):
            run = kept.under(stage_keys(mended, settings))
            seen = run("see", see_photos, mended, find_everyone(mended))
            scales = run("cards", card_scales, mended, settings)
        agreed = run("agree", agree, seen, scales, settings)
        progress("seam lines and folds", 0.5)
        fitting = run("read", read, agreed, settings, _photo_by_photo(photos, "seam lines and folds", (0.5, 0.8), progress))
        progress("measuring", 0.8)
        fitting = run("cross_check", cross_checked, fitting)
        solved = run("solve", solve, fitting, settings)
        measured = run("measure", measure_fitting, fitting, solved)
        progress("what to alter", 0.9)
        settings = replace(settings, facts=settings.facts.as_worn(fitting.half))
        advised = run("advise", advise, measured, settings.facts, settings.last_round)
        plan = with_drawings(advised.round, settings.facts, drawn)
        plan = replace(plan, look_again=(*solved.questions, *plan.look_again))
    return _result(fitting, solved, measured, replace(advised, round=plan), settings)


def _photo_by_photo(photos: Sequence[Photo], stage: str, shares: tuple[float, float], progress: Progress) -> Begins:
    """Tells of a stage photo by photo, each time one is begun."""
    views, (first, last) = [photo.view for photo in photos], shares

    def begins(view: View) -> None:
        at = views.index(view)
        progress(stage, first + (last - first) * at / len(views), AtPhoto(view, at + 1, len(views)))

    return begins


def _result(fitting: SeenFitting, solved: Solved, measured: Measured, advised: Advised, settings: Settings) -> FitCheck:
    seen = {photo.view: photo for photo in fitting.photos}
    return FitCheck(
        photos=tuple(
            PhotoResult(
                seen[view].photo,
                seen[view].scale,
                seen[view].pose,
                measured.standing.get(view),
                solved.marks[view],
                solved.seams.get(view, ()),
                seen[view].flags,
            )
            for view in VIEWS
            if view in seen
        ),
        landmarks=measured.landmarks,
        measurements=advised.measurements,
        unmeasured=measured.unmeasured,
        findings=advised.findings,
        explanations=advised.explanations,
        round=advised.round,
        posture=measured.posture,
        settings=settings.facts.model_dump(),
        tape=solved.tape,
        folds=measured.folds,
        fold_groups=advised.fold_groups,
        flags=(*solved.flags, *fitting.flags, *(["view_missing"] if len(seen) < len(VIEWS) else [])),
    )
