"""A photographed piece read whole: its cutting line in stretches between corners, and what is printed on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from shapely import Point, Polygon

from fitcheck.core.errors import NothingMeasuredError, PhotoError, UsageError
from fitcheck.core.polyline import arc_length
from fitcheck.core.records import Floats
from fitcheck.piece.askew import ASKEW_DEG, slant_deg
from fitcheck.piece.bridged import Bridged, bridged_stretches, hidden_note
from fitcheck.piece.corners import FIRST_WAVE_MM, parted, settled, touching, without_ends
from fitcheck.piece.darts import find_darts
from fitcheck.piece.dashes import DASH_WORDS, DASHES, Dash
from fitcheck.piece.drawn_lines import drawn_lines
from fitcheck.piece.grading import graded_lines
from fitcheck.piece.ink import Ink, darkest_line, find_ink
from fitcheck.piece.line_ways import SizePrint, changes_along, with_ways
from fitcheck.piece.mouths import with_mouths
from fitcheck.piece.nest import nest_of
from fitcheck.piece.paper import Paper, find_papers
from fitcheck.piece.paper_edge import STEP_MM, USUAL_MM, WAVE_MM, refined
from fitcheck.piece.printed import find_fold, find_grain, find_notches
from fitcheck.piece.size_lines import SizeLine, followed_again, lines_along
from fitcheck.piece.smooth import cornered, smooth_line
from fitcheck.piece.table import Table
from fitcheck.piece.which_size import chosen_lines, sizes_seen

FIRST_SEARCH_MM, THEN_MM = 5.0, 1.5  # beside the coarse outline, and beside what was found there
CHIP_MM = 30.0  # an edge of the sheet so short without a line on it is a chip of the paper, or a pin at its corner
ALONE_SHARE = 0.6  # of a line's length that is dashed as its size is, where no other size lies on it
PAPER_EDGE = "edge"  # the answer that the piece is cut out along her line
RECTANGLE = 0.985  # of the area of its smallest box that a plain sheet fills
LEAST_LINE = 0.2  # by which a drawn line is darker than paper: creases reach 0.13, print 0.3 and more (18 rendered sheets)
RIM_MM = 6.0  # of a sheet, where its own edge is seen
SIDE_BY_SIDE_SHARE = 0.35  # of the largest sheet's area: a second one so large is another piece
FLAT_CORNER_MM = 4.0  # by which the corner of a mouth may be off


class SeveralError(UsageError):
    """Several sizes, or several pieces, are seen and none was chosen.

    Attributes
    ----------
    sizes : tuple of Dash
        From the outermost inwards; none where there are several pieces.
    """

    def __init__(self, problem: str, next_step: str, sizes: Sequence[Dash] = ()) -> None:
        super().__init__(problem, next_step)
        self.sizes = tuple(sizes)


@dataclass(frozen=True, slots=True)
class Reading:
    """One piece as it lies on the table (mm, y downwards).

    Attributes
    ----------
    edges : tuple of ndarray, shape (N, 2)
        The cutting line of the chosen size, clockwise, each stretch beginning where the one before ends.
    sizes : tuple of Dash
        Nested lines from the outermost inwards; empty where the paper's edge is the cutting line.
    size : Dash or None
    darts : tuple of ndarray, shape (3, 2)
    notches : tuple of ndarray, shape (2,)
    grain : ndarray, shape (2, 2), or None
    fold : int or None
        Index of the edge on the fold.
    notes : tuple of str
        What there is to doubt, in sentences.
    mouths : tuple of int
        Which edges lie between the legs of a dart: three points.
    bridged : tuple of Bridged
        Stretches of the edges of which nothing is seen.
    """

    edges: tuple[Floats, ...]
    sizes: tuple[Dash, ...] = ()
    size: Dash | None = None
    darts: tuple[Floats, ...] = ()
    notches: tuple[Floats, ...] = ()
    grain: Floats | None = None
    fold: int | None = None
    notes: tuple[str, ...] = ()
    mouths: tuple[int, ...] = ()
    bridged: tuple[Bridged, ...] = ()

    @property
    def outline(self) -> Floats:
        """Closed, without the first point again."""
        return np.vstack([edge[:-1] for edge in self.edges])


def read_piece(table: Table, size: str = "", at_mm: Floats | None = None) -> Reading:
    """Read the piece on a table.

    Parameters
    ----------
    size : str
        Which of several nested lines: how it is dashed, or its number from the outermost inwards.
    at_mm : ndarray, shape (2,), optional
        A place on or in the piece that is meant, on the line where there are several.

    Raises
    ------
    NothingMeasuredError
        There is no piece, or a plain sheet without print.
    PhotoError
        The piece is cut off, or two pieces touch.
    SeveralError
        Several pieces or sizes are seen and none was chosen.
    UsageError
        What was chosen is not there.
    """
    paper = _chosen_paper(find_papers(table), at_mm)
    edges = _paper_edges(table, paper)
    sheet = np.vstack([edge[:-1] for edge in edges])
    ink = find_ink(table, sheet, paper.cover)
    if _blank(sheet, ink):
        raise NothingMeasuredError(
            "Only a blank rectangle of paper is seen.",
            "Lay the pattern piece with its printed side up; on a piece that is a rectangle draw its grain line.",
        )
    drawn = drawn_lines(ink)
    nest = nest_of(ink, edges, drawn)
    parts, again = nest.parts, nest.again
    nested = [lines_along(ink, part, nest.shallowest_mm) for part in parts]
    sizes = sizes_seen(nested)
    notes: list[str] = []
    chosen: Dash | None = None
    if sizes and size != PAPER_EDGE:
        chosen = _chosen_size(sizes, nested, size, at_mm)
        by_size = [chosen_lines(nested, sizes, dash) for dash in sizes]
        lines = graded_lines(ink, parts, by_size, sizes.index(chosen), again)
        edges = settled(_along_lines(ink, parts, lines, sizes, chosen, again, notes))
    outline = np.vstack([edge[:-1] for edge in edges])
    darts = find_darts(ink, drawn, outline, chosen)
    edges, mouths = with_mouths(edges, darts, table, ink if chosen else None)
    darts = tuple(_ended(dart, [edges[i] for i in mouths]) for dart in darts)
    outline = np.vstack([edge[:-1] for edge in edges])
    grain, fold = find_grain(ink, drawn, outline), find_fold(ink, edges)
    if grain is not None and fold is not None and slant_deg(grain, edges[fold]) > ASKEW_DEG:
        fold = None  # a line along another edge
    bridged = bridged_stretches(ink, edges, chosen is not None)
    if bridged:
        notes.append(hidden_note(bridged))
    notches = find_notches(ink, [edge for i, edge in enumerate(edges) if i not in (fold, *mouths)], darts)
    return Reading(tuple(edges), tuple(sizes), chosen, darts, notches, grain, fold, tuple(notes), tuple(mouths), bridged)


def _chosen_paper(papers: list[Paper], at_mm: Floats | None) -> Paper:
    if at_mm is not None:
        inside = [paper for paper in papers if Polygon(paper.outline).buffer(5).contains(Point(*at_mm))]
        if not inside:
            raise UsageError("The place given with --at lies on no paper.", "Give a pixel of the first photo that lies on the piece.")
        paper = inside[0]
    else:
        paper = papers[0]
        areas = [Polygon(one.outline).area for one in papers]
        if len(papers) > 1 and areas[1] > SIDE_BY_SIDE_SHARE * areas[0]:
            raise SeveralError(
                "Two pieces are seen.", "Say with --at X,Y which one, by a pixel that lies on it, or photograph one at a time."
            )
    if paper.under_card:
        raise PhotoError(
            "The card lies on the piece, or touches it.", "Lay it a hand's breadth beside the piece and photograph both again."
        )
    if paper.joined or touching(paper.outline, paper.hidden):
        raise PhotoError("Two pieces touch each other.", "Lay them a hand's breadth apart, or photograph one at a time.")
    if paper.cut_off:
        raise PhotoError(
            "The piece is cut off at the picture's border.", "Go farther away, or take two or three photos that overlap by a third."
        )
    return paper


def _paper_edges(table: Table, paper: Paper) -> list[Floats]:
    stretches, covered = parted(paper.outline, paper.hidden)
    first = [refined(table, line, dark, FIRST_SEARCH_MM, FIRST_WAVE_MM) for line, dark in zip(stretches, covered, strict=True)]
    edges = cornered([smooth_line(without_ends(line), STEP_MM, WAVE_MM, USUAL_MM) for line in first])
    again = []
    for edge, line, dark in zip(edges, stretches, covered, strict=True):
        # what was covered stays so: the same share of the way along
        share = np.interp(arc_length(edge) / arc_length(edge)[-1], arc_length(line) / arc_length(line)[-1], dark.astype(float))
        again.append(refined(table, edge, share > 0.3, THEN_MM))
    return cornered([without_ends(line) for line in again])


def _blank(sheet: Floats, ink: Ink) -> bool:
    """Whether a sheet is a rectangle on which no line is drawn: any other form was cut by somebody."""
    area, box = float(Polygon(sheet).area), float(Polygon(sheet).minimum_rotated_rectangle.area)
    if area / box < RECTANGLE:
        return False
    inside = np.zeros(ink.dark.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(ink.picture.to_px(sheet)).astype(np.int32)], 1)
    reach = 2 * round(RIM_MM / ink.picture.mm_per_px) + 1
    return darkest_line(ink, cv2.erode(inside, np.ones((reach, reach), np.uint8)).astype(np.uint8)) < LEAST_LINE


def _chosen_size(sizes: Sequence[Dash], nested: Sequence[Sequence[SizeLine]], size: str, at_mm: Floats | None) -> Dash:
    seen = ", ".join(f"{i} {DASH_WORDS[dash]} ({dash})" for i, dash in enumerate(sizes, 1))
    if size:
        if size.isdigit() and 1 <= int(size) <= len(sizes):
            return sizes[int(size) - 1]
        named = [dash for dash in DASHES if dash == size]
        if named and named[0] in sizes:
            return named[0]
        raise UsageError(f'No size line "{size[:30]}" is seen.', f"Give one of these with --size, counted from the outermost: {seen}.")
    if at_mm is not None:
        near = [(float(np.hypot(*(line.points - at_mm).T).min()), line.dash) for lines in nested for line in lines if line.dash in sizes]
        return min(near)[1]
    raise SeveralError(
        "Several size lines are seen.",
        f"Say with --size which is yours, counted from the outermost: {seen}; edge if it is cut out; or click it with --at X,Y.",
        sizes,
    )


def _along_lines(
    ink: Ink,
    parts: list[Floats],
    lines: Sequence[SizeLine | None],
    sizes: Sequence[Dash],
    dash: Dash,
    again: Sequence[int],
    notes: list[str],
) -> list[Floats]:
    """The chosen size's lines joined at their corners; an edge on which none is seen is the paper's own."""
    kept = [k for k, (part, line) in enumerate(zip(parts, lines, strict=True)) if line is not None or arc_length(part)[-1] > CHIP_MM]
    again = [kept.index(k) for k in again if k in kept]
    parts, lines = [parts[k] for k in kept], [lines[k] for k in kept]
    if any(line is None for line in lines):
        notes.append("On part of the outline no line of this size is seen; what lies outermost is taken there.")
    seen = [part if line is None else line.points for part, line in zip(parts, lines, strict=True)]
    whole = [followed_again(ink, edge, line) for edge, line in zip(cornered(seen, again), lines, strict=True)]
    whole = cornered(whole, again)
    alone = [
        (line.cover, changes_along(ink, line.points)) for line in lines if line is not None and line.shares.get(dash, 0.0) > ALONE_SHARE
    ]
    if alone:
        covers, changes = np.median(alone, axis=0).tolist()
        whole = with_ways(ink, whole, lines, SizePrint(dash, covers, changes, frozenset(sizes) - {dash, "solid"}))
    for k in sorted(again, reverse=True):
        whole[k - 1 : k + 1] = [np.vstack([whole[k - 1], whole[k]])]
    return whole


def _ended(dart: Floats, mouths: Sequence[Floats]) -> Floats:
    """A dart whose legs end where its mouth does, or where they are drawn: they tell that more exactly than a flat corner."""
    near = [mouth for mouth in mouths if np.hypot(*(mouth[[0, -1]] - dart[[0, 2]]).T).max() < 8.0]
    if not near:
        return dart
    ends = near[0][[0, -1]]
    off = np.hypot(*(ends - dart[[0, 2]]).T)
    first, last = (leg if far < FLAT_CORNER_MM else end for leg, end, far in zip(dart[[0, 2]], ends, off, strict=True))
    return np.array([first, dart[1], last])
