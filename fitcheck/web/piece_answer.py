"""What comes of a piece on the table: where its round and its partners come from, what altering it gives, and how it is kept."""

from typing import TYPE_CHECKING, Any

from fitcheck.core.errors import DiaryError, FitcheckError, UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web import piece_tasks
from fitcheck.web.desk import Desk
from fitcheck.web.house import Form, House
from fitcheck.web.piece_tasks import Wanted
from fitcheck.web.piece_work import Pieces, PieceWork, Round, Told

if TYPE_CHECKING:
    from fitcheck.piece.own_piece import OwnPiece
    from fitcheck.piece_diary import KeptPieces

LONGEST_NAME = 200
Trouble = tuple[str, str]


def kept_names(house: House) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Wearer, garment and names of the pieces in the diary."""
    from fitcheck.piece_diary import garments_with_pieces

    return garments_with_pieces(house.diary_folder) if house.has_diary else ()


def begun(house: House, pieces: Pieces, form: Form) -> PieceWork:
    """A new piece on the table: of the fitting that a form names, or of a wearer's garment, or of nobody's yet; `kept` out of the diary."""
    work = pieces.begin(house.bench.place.new_folder())
    fitting = house.bench.get(form.get("fitting", ""))
    if fitting is not None:
        work.facts = fitting.facts
        if fitting.checked:
            case = fitting.case(fitting.checked, house.choices)
            work.round = Round(house.bench.ask(Desk.advised, case).result(), fitting.recorded)
    else:
        named = {name: form.get(name, "")[:LONGEST_NAME] for name in ("wearer", "garment")}
        work.facts = FittingFacts.model_validate(named)
    work.told = Told(form.get("kept") or "front", work.facts.seam_allowance_mm, work.facts.card_bar_mm)
    if form.get("kept"):
        _out_of_the_diary(house, pieces, work)
    elif fitting is None and (kept := _kept(house, work)) is not None:
        work.round = Round(kept.round, kept.fitting or 0)
    work.asked = work.round.alterations
    return work


def _out_of_the_diary(house: House, pieces: Pieces, work: PieceWork) -> None:
    kept = _kept(house, work)
    if kept is None or kept.piece is None:
        pieces.clear(work)
        raise UsageError("The diary no longer holds this piece.", "Photograph it again.")
    found = house.bench.ask(piece_tasks.blank, kept.piece).result()
    work.was_read(found.piece, found.picture)
    work.round = Round(kept.round, kept.fitting or 0)
    work.partners = tuple(piece.name for piece in kept.others)


def _kept(house: House, work: PieceWork) -> "KeptPieces | None":
    """What the diary holds about a piece of this name of the garment; None where it knows no such wearer."""
    from fitcheck.piece_diary import PieceDiary, kept_pieces

    if not (house.has_diary and work.facts.wearer and work.facts.garment):
        return None
    try:
        return kept_pieces(PieceDiary(house.diary_folder, work.facts.wearer, work.facts.garment), work.told.name, by_hand=False)
    except DiaryError:
        with house.diary() as diary:
            if work.facts.wearer in diary.wearers():
                raise
        return None


def partners_of(house: House, pieces: Pieces, work: PieceWork) -> "dict[str, OwnPiece]":
    """Pieces of the same garment that may be altered along: those on the table, else as the diary holds them."""
    kept = _kept(house, work)
    in_diary = {} if kept is None else {piece.name: piece for piece in kept.others}
    return in_diary | pieces.beside(work)


def wanted_of(house: House, pieces: Pieces, work: PieceWork) -> Wanted:
    """What is to be done on a piece that was read."""
    if work.piece is None:
        raise UsageError("This piece is not read yet.", "Read it first.")
    kept = _kept(house, work)
    tape = work.facts.tape.model_copy(update=dict(kept.tape_mm if kept else {}) | work.facts.tape.given_mm())
    others = partners_of(house, pieces, work)
    found = (work.piece, *(others[name] for name in work.partners if name in others))
    units = house.choices.told_in
    facts = work.facts.model_copy(update={"tape": tape, "units": house.choices.units, "finest": house.choices.finest})
    return Wanted(found, work.asked, facts, units)


def answer(house: House, pieces: Pieces, work: PieceWork) -> tuple[dict[str, Any], Trouble]:
    """What the page of a piece shows below it, and what went wrong if something did."""
    from fitcheck.advice.page_facts import alteration_names

    wanted = wanted_of(house, pieces, work)
    shown = {
        "round": work.round.alterations,
        "called": {id: name for (id, plus), name in alteration_names().items() if plus},
        "named": alteration_names(),
        "known": house.bench.ask(piece_tasks.known_alterations, wanted.pieces).result(),
        "others": tuple(partners_of(house, pieces, work)),
        "outcome": None,
    }
    try:
        return shown | {"outcome": _outcome(house, work, wanted)}, ("", "")
    except FitcheckError as error:
        return shown, (error.problem, error.next_step)


def _outcome(house: House, work: PieceWork, wanted: Wanted) -> piece_tasks.Outcome:
    """Worked out once for the same pieces, alterations and choices."""
    held = work.outcome
    key = (work.at, len(work.steps), tuple(id(piece) for piece in wanted.pieces[1:]), wanted.asked, wanted.facts, wanted.units)
    if held is None or held[0] != key or held[1] is not work.piece:
        held = (key, work.piece, house.bench.ask(piece_tasks.outcome, wanted).result())
        work.outcome = held
    found: piece_tasks.Outcome = held[2]
    return found


def keep_in_diary(house: House, pieces: Pieces, work: PieceWork, form: Form) -> None:
    """Keep the piece and its partners as they are, and as they are altered.

    Raises
    ------
    FitcheckError
        Nothing of it is then in the diary.
    """
    from fitcheck.diary_commands import recorder
    from fitcheck.piece_diary import PieceDiary

    named = {name: form[name][:LONGEST_NAME] for name in ("wearer", "garment") if form.get(name)}
    work.facts = work.facts.model_copy(update=named)
    ready = recorder(str(house.diary_folder), work.facts)
    place = PieceDiary(ready.folder, ready.wearer, ready.garment)
    wanted = wanted_of(house, pieces, work)
    found = _outcome(house, work, wanted)
    place.keep(wanted.pieces, None)
    changed = [new for old, new in zip(wanted.pieces, found.after, strict=True) if new.done != old.done]
    of_round = bool(set(work.asked) & set(work.round.alterations))
    if changed:
        place.keep(changed, (work.round.number or None) if of_round else None)
    work.kept = f"{len(wanted.pieces)} {'piece' if len(wanted.pieces) == 1 else 'pieces'}{', altered' if changed else ''}"
