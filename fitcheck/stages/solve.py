"""Fourth stage: where body and garment lie. Everything that asks the joint adjustment stands here, with what is tried again.

It is asked three times: with the points alone and with the outlines, while the photos are read (`place`), and with the garment points
that can only be read off the seams once the body is placed. Where stickers or tape then show that the card was printed off size, it is
asked again with more doubt of the card. No pixel is looked at: what she puts right afterwards changes no reading of a picture.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.body.adjust import adjust
from fitcheck.body.landmarks import pose_sightings, seen_ties, unmarked
from fitcheck.body.off_the_card import off_or_misprinted, off_the_card
from fitcheck.body.paper_edges import paper_edges
from fitcheck.body.placed import put_right, put_seams_right
from fitcheck.body.placed_doubt import Asked, believed, outside
from fitcheck.body.sticker_size import printed_share, sticker_ratio, unlike_the_card
from fitcheck.core.check import TapeCheck
from fitcheck.core.errors import UsageError
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import SeamLine, Side, Sighting, View
from fitcheck.core.seen import SeenFitting, SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.core.solution import Solution
from fitcheck.measure.garment_points import garment_points
from fitcheck.measure.tape import tape_checks, unlike_the_tape

SWINGS = 3.2  # of `Solution.hang`, in standard deviations: pinned half tissues reach 2.1 (43 scenes), one that swings 4.8


@dataclass(frozen=True, slots=True)
class Solved:
    """Body and garment of a fitting, solved.

    Attributes
    ----------
    body : Solution
    evidence : Evidence
        What it rests on.
    marks : dict of view to tuple of Sighting
        Stickers, dots and placed points of every photo, and the garment points read off its seams.
    seams : dict of view to tuple of SeamLine
        As read, or as put right.
    tape : tuple of TapeCheck
        Her own tape against it.
    flags : tuple of str
    questions : tuple of str
        About points put right by hand that lie far from the body, and what to move where she stood far off the card.
    """

    body: Solution
    evidence: Evidence
    marks: dict[View, tuple[Sighting, ...]]
    seams: dict[View, tuple[SeamLine, ...]]
    tape: tuple[TapeCheck, ...]
    flags: tuple[str, ...]
    questions: tuple[str, ...] = ()


def place(photos: Iterable[SeenPhoto], before: Solution | None = None) -> Solution:
    """The body as it lies by what the photos show of it: by the points alone where no outline was found yet.

    Parameters
    ----------
    photos : iterable of SeenPhoto
    before : Solution, optional
        Placed with less to go by.

    Raises
    ------
    NothingMeasuredError
        As `adjust`.
    """
    return adjust(evidence_of(photos), before)


def evidence_of(photos: Iterable[SeenPhoto], placed: Sequence[Sighting] = ()) -> Evidence:
    """What the usable photos tell about the body, with points placed by hand in place of the same points' marks."""
    usable = [(photo, photo.pose, photo.scale) for photo in photos if photo.usable]
    marks = {photo.view: put_right(photo.marks, placed, photo.view) for photo, _, _ in usable}
    beside = [s for photo, pose, scale in usable if pose and scale for s in pose_sightings(photo.view, pose, scale.mm_per_px)]
    beside += [s for photo, _, _ in usable for s in photo.soles]
    beside += [s for photo, _, _ in usable for s in photo.garment.beneath]
    seen = [*unmarked(beside, marks), *(s for found in marks.values() for s in found)]
    outlines = {photo.view: photo.outline for photo, _, _ in usable if photo.outline is not None}
    coarse = {photo.view: photo.coarse_px for photo, _, _ in usable}
    scales = {photo.view: scale for photo, _, scale in usable if scale}
    half = next((photo.garment.half for photo, _, _ in usable if photo.garment.half is not None), None)
    return Evidence(scales, seen, seen_ties(seen), outlines, coarse_px=coarse, half=half)


def solve(fitting: SeenFitting, settings: Settings) -> Solved:
    """Solve for the body and the garment on it.

    Parameters
    ----------
    fitting : SeenFitting
    settings : Settings
        What she put right by hand, and her tape.

    Returns
    -------
    Solved

    Raises
    ------
    NothingMeasuredError
        As `adjust`.
    UsageError
        Something was put outside its picture.
    """
    usable = [photo for photo in fitting.photos if photo.usable]
    asked = _asked(fitting, settings)
    evidence = evidence_of(usable, asked.points)
    body = fitting.body if fitting.body is not None and not settings.placed_points else adjust(evidence, fitting.body)
    seams = {photo.view: put_seams_right(photo.garment.lines, settings.placed_seams, photo.view) for photo in usable}
    stuck = [mark for photo in usable for mark in photo.marks]
    worn = garment_points(body, [seam for found in seams.values() for seam in found], stuck)
    stickers, scales = sticker_ratio(body, evidence.sightings, evidence.scales), list(evidence.scales.values())
    misprint = unlike_the_card(stickers, scales)
    either = off_or_misprinted(stickers, scales) if misprint else ()
    evidence = evidence.with_points(worn.sightings, worn.ties).with_paper_edges(paper_edges(body, evidence))
    evidence = evidence.doubting_the_card(misprint) if misprint else evidence.sized_by_stickers(printed_share(stickers, scales))
    body = adjust(evidence, body)
    tape = tape_checks(body, settings.facts.tape.given_mm())
    if off := unlike_the_tape(tape):
        evidence = evidence.doubting_the_card(off)
        body = adjust(evidence, body)
    odd = "height_odd" if all(scale.source == "height" for scale in evidence.scales.values()) else "card_scale_odd"
    swings = fitting.half is not None and bool(np.abs(body.hang).max(initial=0.0) > SWINGS)
    flags = (
        *(["tissue_swings"] if swings else []),
        *([odd] if misprint else []),
        *([] if all(check.agrees for check in tape) else ["tape_disagrees"]),
    )
    questions = (*asked.questions, *(either or off_the_card(body, evidence.scales)))
    return Solved(body, evidence, _marks(fitting.photos, asked.points, worn.sightings), seams, tape, flags, questions)


def _asked(fitting: SeenFitting, settings: Settings) -> Asked:
    """What she placed by hand, as far as it is believed."""
    sizes = {photo.view: (photo.photo.rgb.shape[1], photo.photo.rgb.shape[0]) for photo in fitting.photos}
    if beyond := outside(settings.placed_points, settings.placed_seams, sizes):
        raise UsageError(beyond, "Give pixels of the upright photo, across and then down from its top left corner.")
    scales = {photo.view: photo.scale for photo in fitting.photos if photo.usable and photo.scale is not None}
    marks = [mark for photo in fitting.photos for mark in photo.marks]
    asked = believed(settings.placed_points, marks, fitting.body, scales)
    if not asked.questions:
        return asked
    # a sticker that she puts right may itself have led the body astray
    doubted = {(p.name, p.side, p.view) for p in settings.placed_points}
    others = [_without(photo, doubted) for photo in fitting.photos if photo.usable]
    return believed(settings.placed_points, marks, place(others, fitting.body), scales)


def _without(photo: SeenPhoto, points: set[tuple[str, Side | None, View]]) -> SeenPhoto:
    """A copy without the stickers and dots on these points."""
    stickers, dots = (tuple(s for s in found if (s.name, s.side, s.view) not in points) for found in (photo.stickers, photo.dots))
    return replace(photo, stickers=stickers, dots=dots)


def _marks(photos: Iterable[SeenPhoto], placed: Sequence[Sighting], worn: Sequence[Sighting]) -> dict[View, tuple[Sighting, ...]]:
    return {
        photo.view: (
            *(put_right(photo.marks, placed, photo.view) if photo.usable else photo.marks),
            *(s for s in worn if s.view == photo.view),
        )
        for photo in photos
    }
