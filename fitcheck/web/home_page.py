"""Home: who is in the diary, their fittings as pictures, what lies on the table, and the way to a new fitting."""

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fitcheck.core.diary import Entry
from fitcheck.diary.store import Diary
from fitcheck.web.frame import page
from fitcheck.web.house import house_of


@dataclass(frozen=True, slots=True)
class Round:
    """A recorded fitting and the round before it of the same garment, 0 where there is none."""

    entry: Entry
    before: int


@dataclass(frozen=True, slots=True)
class Garment:
    """A garment with its fittings, the newest first."""

    name: str
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Wearer:
    """A wearer with her garments, that which was fitted last first."""

    number: int
    name: str
    garments: tuple[Garment, ...]


def home(request: Request) -> Response:
    """The page one comes to."""
    house = house_of(request)
    wearers: list[Wearer] = []
    news: list[str] = []
    if house.has_diary:
        with house.diary() as diary:
            news = diary.take_news()
            wearers = [_wearer(diary, name) for name in diary.wearers()]
    works = [work for work in house.bench.works() if work.photos and not (work.recorded and work.recorded_version == work.version)]
    return page(request, "home.html.j2", wearers=wearers, works=works, news=news)


def _wearer(diary: Diary, name: str) -> Wearer:
    entries = diary.entries(name)
    names = dict.fromkeys(entry.garment for entry in reversed(entries))
    garments = (Garment(garment, _rounds(entry for entry in entries if entry.garment == garment)) for garment in names)
    return Wearer(diary.wearer_number(name), name, tuple(garments))


def _rounds(entries: Iterable[Entry]) -> tuple[Round, ...]:
    rounds: list[Round] = []
    last = 0
    for entry in entries:
        rounds.append(Round(entry, last))
        last = last if entry.retake else entry.number
    return tuple(reversed(rounds))


routes = [Route("/", home)]
