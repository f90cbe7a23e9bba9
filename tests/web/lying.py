"""Pieces on the page's table, as if they had been read without fault."""

from piece.own_pieces import as_read
from web.asked import Asked

from fitcheck.web import piece_tasks
from fitcheck.web.piece_work import PieceWork, Told


def begin(asked: Asked, **form: str) -> str:
    answer = asked.post("/pieces", form)
    assert answer.status == 303
    return answer.headers["location"]


def lying(asked: Asked, drafted, garment: str = "", wearer: str = "") -> PieceWork:
    """A piece on the table as if it had been read without fault."""
    address = begin(asked, garment=garment, wearer=wearer)
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    found = piece_tasks.blank(asked.house.bench.desk, as_read(drafted))
    work.told = Told(drafted.name, drafted.allowance)
    work.was_read(found.piece, found.picture)
    return work
