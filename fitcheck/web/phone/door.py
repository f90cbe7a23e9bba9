"""The door for one phone: opened for one fitting at a time, and what comes through it is put into that fitting."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any

from fitcheck.core.errors import FitcheckError, PhotoError
from fitcheck.web.arrivals import in_list, must_take_more, take_in
from fitcheck.web.bench import Bench
from fitcheck.web.faults import as_told
from fitcheck.web.phone.home_network import home_addresses
from fitcheck.web.phone.incoming import Incoming, Piece, is_photo
from fitcheck.web.work import MOST_PHOTOS, Work

if TYPE_CHECKING:
    from fitcheck.web.phone.box import Said
    from fitcheck.web.phone.listener import Listener

LIFE_S = 15 * 60.0
SOON_S = 8.0  # an answer later than that, the phone would take for none
Words = dict[str, object]


@dataclass
class _Open:
    """What is open, and what is known of it."""

    work: Work
    listener: "Listener"
    addresses: tuple[str, ...]
    share: float = 0.0
    why: str = ""


class Door:
    """Lets a phone in when she asks for it.

    Parameters
    ----------
    bench : Bench
    addresses : callable
        Tells this computer's addresses in the home network, or refuses.
    life_s : float
        How long it stays open.
    """

    def __init__(self, bench: Bench, addresses: Callable[[], tuple[str, ...]] = home_addresses, life_s: float = LIFE_S) -> None:
        self._bench, self._addresses, self._life_s = bench, addresses, life_s
        self._open: _Open | None = None

    def open(self, work: Work, which: int = 0) -> None:
        """Let a phone in for a fitting; whatever was open before is closed.

        Parameters
        ----------
        which : int
            Of this computer's addresses in the home network, where there are several.

        Raises
        ------
        UsageError
            The fitting takes nothing now, there is no home network, or it is a public one.
        """
        from fitcheck.web.phone.listener import Listener  # what seals is loaded only when a phone is wanted

        if self._open is not None:
            self._open.listener.close()
        must_take_more(work)
        addresses = self._addresses()
        hearing = _Hearing(self, self._bench, work)
        listener = Listener(addresses[which % len(addresses)], hearing.hear, self._life_s)
        self._open = _Open(work, listener, addresses)

    def link(self, work: Work) -> str:
        """What the code says; "" where no phone is let in for this fitting."""
        held = self._of(work)
        return held.listener.link if held and held.listener.is_open else ""

    def state(self, work: Work) -> Words:
        """What the page shows of it."""
        held = self._of(work)
        if held is None:
            return {"open": False, "why": ""}
        is_open = held.listener.is_open
        why = held.why or ("" if is_open else "A quarter of an hour has passed, so the phone is let in no more.")
        left_s = max(0, round(held.listener.ends_at - monotonic()))
        return {
            "open": is_open,
            "why": why,
            "left_s": left_s,
            "seen": held.listener.seen,
            "share": held.share,
            "others": len(held.addresses) - 1,
        }

    def coming(self, work: Work, share: float) -> None:
        """How much of a file has come."""
        if held := self._of(work):
            held.share = share

    def over(self, work: Work, why: str) -> None:
        """Everything has come; the listener closes with its answer."""
        if held := self._of(work):
            held.why = why

    def close_for(self, work: Work, why: str = "") -> None:
        """Let nobody in any more for this fitting."""
        if held := self._of(work):
            held.why = held.why or why
            held.listener.close()

    def end(self) -> None:
        """The program ends."""
        if self._open is not None:
            self._open.listener.end()

    def _of(self, work: Work) -> _Open | None:
        return self._open if self._open is not None and self._open.work is work else None


class _Hearing:
    """Answers one phone about one fitting."""

    def __init__(self, door: Door, bench: Bench, work: Work) -> None:
        self._door, self._bench, self._work = door, bench, work
        self._incoming = Incoming(work.folder)
        self._whole: dict[str, asyncio.Task[Words]] = {}  # by the phone's name of the file

    async def hear(self, said: "Said") -> tuple[Words, bool]:
        """What is said; the answer, and whether that was all."""
        try:
            return await self._heard(said.words, said.piece)
        except Exception as error:
            refusal = as_told(error)
            return {"problem": f"{refusal.problem} {refusal.next_step}"}, False

    async def _heard(self, words: Any, data: bytes) -> tuple[Words, bool]:
        asks, file = words.get("asks"), str(words.get("file", ""))
        if asks == "enough":
            self._door.over(self._work, "The phone says that this is all.")
            return {}, True
        if file not in self._whole:
            must_take_more(self._work)
            if asks == "have":
                return {"have": self._incoming.have(file)}, False
            piece = Piece(file, _whole_number(words.get("at")), _whole_number(words.get("size")), data)
            path = self._incoming.add(piece)
            have = piece.size if path else self._incoming.have(file)
            self._door.coming(self._work, have / max(piece.size, 1))
            if path is None:
                return {"have": have}, False
            self._whole[file] = asyncio.create_task(self._taken(path))
        return await self._answered(file)

    async def _answered(self, file: str) -> tuple[Words, bool]:
        """What came of a whole file; asked again after a lost connection, the same. `looking` while others are read before it."""
        try:
            words = await asyncio.wait_for(asyncio.shield(self._whole[file]), SOON_S)
        except TimeoutError:
            return {"looking": True}, False
        except FitcheckError:
            self._whole.pop(file, None)  # it may be sent once more
            raise
        photos = self._work.photos
        all_good = len(photos) >= MOST_PHOTOS and not any(held.look.trouble for held in photos)
        over = "film" in words or all_good
        if over:
            self._door.over(self._work, "All four photos have come." if all_good else "The film has come.")
        return words, over

    async def _taken(self, path: Path) -> Words:
        if is_photo(path.suffix):
            return {"photo": in_list(await take_in(self._bench, self._work, path))}
        self._bench.film(self._work, path)
        return {"film": True}


def _whole_number(given: object) -> int:
    if not isinstance(given, int) or given < 0:
        raise PhotoError("The phone said something that is not understood.", "Load its page again.")
    return given
