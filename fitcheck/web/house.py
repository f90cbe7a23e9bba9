"""What all pages of one running program share."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qsl

from starlette.exceptions import HTTPException
from starlette.requests import Request

from fitcheck.core.last_round import LastRound
from fitcheck.core.toml_file import checked
from fitcheck.diary.database import FILE_NAME
from fitcheck.diary.store import Diary
from fitcheck.diary_commands import earlier_round
from fitcheck.web.bench import Bench
from fitcheck.web.case import Case
from fitcheck.web.choices import Choices, keep_choices, read_choices
from fitcheck.web.corrections import Corrections
from fitcheck.web.phone.door import Door
from fitcheck.web.work import Work

Form = dict[str, str]
LARGEST_NUMBER = 2**62  # of rows in the diary's file


@dataclass(frozen=True, slots=True)
class House:
    """The fittings on the table, the diary, and her choices.

    Attributes
    ----------
    door : Door
        Through which a phone may come.
    stop : callable
        Ends the program.
    """

    bench: Bench
    door: Door
    diary_folder: Path
    choices_file: Path
    stop: Callable[[], None]

    @property
    def choices(self) -> Choices:
        """As they are kept now: another window may have changed them."""
        return read_choices(self.choices_file)

    def choose(self, form: Form) -> None:
        """Keep other choices."""
        keep_choices(self.choices_file, checked(self.choices.model_dump() | form, Choices, "In your choices", "Choose again."))

    @property
    def has_diary(self) -> bool:
        """Whether anything was ever recorded."""
        return (self.diary_folder / FILE_NAME).exists()

    @contextmanager
    def diary(self, create: bool = False) -> Iterator[Diary]:
        """The diary, open; one that is not there yet holds nothing that could be asked for."""
        if not create and not self.has_diary:
            raise HTTPException(404, "Nothing is recorded in the diary yet.")
        with Diary(self.diary_folder, create) as held:
            yield held

    def last_round(self, work: Work) -> LastRound | None:
        """What came of the round before a fitting is asked with this; None where the diary has no earlier one of its garment.

        Raises
        ------
        DiaryError
            The diary is damaged.
        """
        told = work.facts
        if not (told.wearer and told.garment and self.has_diary):
            return None
        return earlier_round(self.diary_folder, told.wearer, told.garment, without=work.recorded)


def house_of(request: Request) -> House:
    """The house that a request came to."""
    house: House = request.app.state.house
    return house


def work_of(request: Request) -> Work:
    """The fitting that a request's address names."""
    work = house_of(request).bench.get(request.path_params["id"])
    if work is None:
        raise HTTPException(404, "This fitting is no longer on the table. If you recorded it, it is in the diary.")
    return work


def case_of(house: House, work: Work, corrections: Corrections | None = None) -> Case:
    """What the answer of a fitting is of, told as she chose; under other corrections than those that hold, if given.

    Raises
    ------
    HTTPException
        There is no answer yet.
    """
    if not work.checked:
        raise HTTPException(409, "This fitting is not checked yet.")
    return work.case(work.checked, house.choices, corrections)


async def form_of(request: Request) -> Form:
    """A small form's fields, each once."""
    body = await request.body()
    try:
        return {name: value.strip() for name, value in parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=200)}
    except ValueError:
        raise HTTPException(400, "This form cannot be read. Go back and try again.") from None


def number_of(request: Request, name: str) -> int:
    """A number in the address."""
    number = int(request.path_params[name])
    if number > LARGEST_NUMBER:
        raise HTTPException(404, "There is nothing of that number.")
    return number


def hold_wearer(diary: Diary, number: int) -> str:
    """A wearer's name by her number."""
    found = diary.checked("wearer", "name", "WHERE id = ?", [number])
    if not found:
        raise HTTPException(404, "The diary knows no such wearer.")
    return str(found[0][0])
