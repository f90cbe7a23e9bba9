"""What is made of a piece for the eye and for paper: the picture to check, and its drawing as PDF, SVG or DXF with the steps below."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import cv2
import numpy as np
from PIL import Image

from fitcheck.advice.table import knowledge
from fitcheck.core.drawing import PatternSheet
from fitcheck.core.fitting import FittingFacts
from fitcheck.pattern.told import told
from fitcheck.piece.altering import Alteration
from fitcheck.piece.draw_own import drawn_piece
from fitcheck.piece.dxf_file import write_dxf
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.reading import Reading
from fitcheck.piece.svg_file import write_svg
from fitcheck.piece.table import Table
from fitcheck.report.on_disk import in_place
from fitcheck.report.print.sheet import Below, write_sheet
from fitcheck.report.words.units import Units, fill, length

PaperChoice = Literal["a4", "letter", "sheet"]
SEEN_MM_PER_PX = 0.5  # of the picture to check by eye


@dataclass(frozen=True, slots=True)
class OnPaper:
    """A piece drawn, its title, and what is written below it."""

    sheet: PatternSheet
    title: str
    below: Below


def on_paper(piece: OwnPiece, before: OwnPiece | None, steps: Sequence[Alteration], facts: FittingFacts, units: Units) -> OnPaper:
    """Draw a piece at full size; `before` as it was before the alterations."""
    marks = [mark for step in steps for one in step.pieces if one.after.name == piece.name for mark in one.marks]
    title = piece.name.replace("_", " ") + (" altered" if before is not None else "")
    below = Below([fill(text, units) for step in steps for text in instructions(step, facts, units)])
    return OnPaper(drawn_piece(piece, before, marks), title, below)


def write_as(path: Path, drawn: OnPaper, paper: PaperChoice, units: Units) -> None:
    """Write a drawn piece as its file's name ends: pdf, svg or dxf.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    if path.suffix == ".pdf":
        write_sheet(path, drawn.sheet, drawn.title, paper, True, drawn.below, units)
    elif path.suffix == ".svg":
        write_svg(path, drawn.sheet, drawn.title, units)
    else:
        write_dxf(path, drawn.sheet, units)


def instructions(step: Alteration, facts: FittingFacts, units: Units) -> tuple[str, ...]:
    """How an alteration is made, and what has to follow on pieces that were not read; lengths filled in."""
    facts = _of_these(step, facts)
    row = knowledge().alterations[step.id]
    direction = row.direction(step.amount_mm)
    sentences = told((*direction.steps_for(facts), *direction.matching_for(facts)), step.changed)
    head = f"{direction.name}, {length(abs(step.amount_mm), units)}:"
    return (head, *(fill(text, units, step.amount_mm) for text in sentences), *(fill(text, units) for text in step.says))


def _of_these(step: Alteration, facts: FittingFacts) -> FittingFacts:
    """The facts with front and kind of garment as the pieces themselves show them."""
    pieces = step.changed.block.pieces
    if "outside" in pieces["front"].edges:
        return facts.model_copy(update={"kind": "trousers"})
    if "shoulder" not in pieces["front"].edges:
        return facts.model_copy(update={"kind": "skirt"})
    kind = facts.kind if facts.kind in ("dress", "top", "jacket", "coat") else "dress"
    if not any(one.after.name == "front" for one in step.pieces):
        return facts.model_copy(update={"kind": kind})
    dart = any(mark.kind == "dart" for mark in pieces["front"].marks)
    front = "dart" if "dart_upper" in pieces["front"].edges else "waist_dart" if dart else "none"
    return facts.model_copy(update={"kind": kind, "front": front})


def write_seen(path: Path, table: Table, reading: Reading) -> Path:
    """The table from straight above with what was read drawn on it, to be checked by eye."""
    outline = reading.outline
    picture = table.picture(SEEN_MM_PER_PX, outline.min(axis=0) - 30, outline.max(axis=0) + 30)
    image = picture.rgb.copy()

    def draw(points: Any, colour: tuple[int, int, int], closed: bool = False) -> None:
        px = np.round(picture.to_px(np.asarray(points)) * 16).astype(np.int32).reshape(-1, 1, 2)
        cv2.polylines(image, [px], closed, colour, 2, cv2.LINE_AA, 4)

    for i, edge in enumerate(reading.edges):
        draw(edge, (230, 160, 0) if i == reading.fold else (0, 170, 0))
        px = np.round(picture.to_px(edge[:1])[0]).astype(int)
        cv2.circle(image, (int(px[0]), int(px[1])), 7, (220, 0, 0), 2, cv2.LINE_AA)
    for stretch in reading.bridged:
        draw(stretch.points, (220, 0, 0))
    for dart in reading.darts:
        draw(dart, (200, 0, 200))
    for notch in reading.notches:
        px = np.round(picture.to_px(notch[None])[0]).astype(int)
        cv2.circle(image, (int(px[0]), int(px[1])), 12, (0, 120, 255), 2, cv2.LINE_AA)
    if reading.grain is not None:
        draw(reading.grain, (0, 120, 255))
    with in_place(path) as waiting:
        Image.fromarray(image).save(waiting, "JPEG", quality=88)
    return path
