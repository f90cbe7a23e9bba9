"""The fittings that the reading process has before it, and everything that the page asks about them.

A question brings its whole case along, so a desk that was just set up answers as well as one that holds the last stages' results; only
slower. What measures is loaded when the first photo comes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.core.progress import Progress
from fitcheck.core.records import View
from fitcheck.report.words.units import Units
from fitcheck.web.case import Case, CasePhoto, Film, FilmView, Look
from fitcheck.web.own_words import in_own_words

if TYPE_CHECKING:
    from fitcheck.body.placed import PlacedFile
    from fitcheck.core.camera import Photo
    from fitcheck.core.check import FitCheck
    from fitcheck.core.fitting import FittingFacts
    from fitcheck.core.settings import Settings
    from fitcheck.stages.kept import Kept
    from fitcheck.web.live import Glance

WARM = 2  # fittings whose opened photos and results of stages are held in each reading process: some 200 MB each


@dataclass
class _Held:
    """What is held of one fitting: its opened photos, the results of stages, and the latest result with what it is of."""

    kept: "Kept"
    opened_from: tuple[CasePhoto, ...] = ()
    opened: "tuple[Photo, ...]" = field(default_factory=tuple)
    case: Case | None = None
    drawn: bool = False
    result: "FitCheck | None" = None


class Desk:
    """Answers about fittings, one after the other: what measures is not made for two at a time."""

    def __init__(self, tell: Progress) -> None:
        self._tell = tell
        self._held: dict[str, _Held] = {}

    def load(self) -> None:
        """Load what measures, before the first photo needs it."""
        for name in ("fitcheck.pipeline", "fitcheck.report.page.fitting_page"):
            import_module(name)
        import_module("fitcheck.vision.person.pose").get_ready()

    def look(self, path: Path) -> Look:
        """Look at one photo.

        Raises
        ------
        PhotoError
            It cannot be used.
        """
        from fitcheck.web.looking import look

        return look(path)

    def glance(self, data: bytes, view: View, turned: bool) -> "Glance":
        """Look at a small picture out of the camera.

        Raises
        ------
        PhotoError
            It is none.
        """
        from fitcheck.web.live import glance

        return glance(data, view, turned)

    def film(self, path: Path, folder: Path) -> Film:
        """Take the views out of a film, into a folder that is made for them.

        Raises
        ------
        PhotoError
            It cannot be used.
        """
        from fitcheck.web.filming import filmed

        self.load()
        return filmed(path, folder, self._tell)

    def moment(self, path: Path, view: View, moment_s: float, folder: Path) -> FilmView:
        """One view of a film at another moment.

        Raises
        ------
        PhotoError
            Nobody is seen then.
        """
        from fitcheck.web.filming import at_moment

        self.load()
        return at_moment(path, view, moment_s, folder)

    def check(self, case: Case) -> tuple[View, ...]:
        """Check a fitting, or only what has to be done anew; the views that were seen.

        Raises
        ------
        FitcheckError
            As `check_fit`.
        """
        return tuple(photo.photo.view for photo in self._result(case).photos)

    def marks(self, case: Case, units: Units) -> dict[str, Any]:
        """What the correcting page shows and moves, as the case has it put right; no drawings are made for it.

        Raises
        ------
        FitcheckError
            As `check_fit`.
        """
        from fitcheck.web.marks import marks

        return marks(self._result(case), case.placed, units)

    def tried(self, case: Case, placed: "Sequence[PlacedFile]") -> list[dict[str, float]]:
        """The numbers under each of these corrections.

        Raises
        ------
        UsageError
            Something lies outside its picture.
        """
        from fitcheck.web.trials import tried

        photos = tuple(photo.photo for photo in self._result(case).photos)  # as they were put upright
        return tried(self._of(case).kept, photos, _settings(case), [_settings(replace(case, placed=one)) for one in placed])

    def answer(self, case: Case, units: Units) -> str:
        """What the report says, with its drawings, as part of a page."""
        from fitcheck.report.page.fitting_page import content, environment
        from fitcheck.web.shared_templates import part

        links = {"put_right": f"/fitting/{case.id}/right", "sheets": f"/fitting/{case.id}/sheet"}
        return part(environment(units), "report_body.html.j2", **links, **content(self._result(case, True), units))

    def steps(self, case: Case, units: Units) -> str:
        """This round's alterations, drawn small, as part of a page."""
        from fitcheck.report.page.fitting_page import environment
        from fitcheck.web.shared_templates import part

        return part(environment(units), "steps.html.j2", steps=self._result(case, True).round.steps)

    def advised(self, case: Case) -> tuple[tuple[str, float, bool], ...]:
        """This round's alterations: id, amount in mm, on one side only."""
        steps = self._result(case, True).round.steps
        return tuple((step.amount.id, step.cut_mm or step.amount.amount_mm, step.amount.side != "both") for step in steps)

    def report(self, case: Case, units: Units) -> str:
        """The answer as one file to keep or print."""
        from fitcheck.report.page.fitting_page import render

        return in_own_words(render(self._result(case, True), units))

    def upright(self, case: Case, view: str) -> bytes | None:
        """A photo at its full size, as its points were read in it; None where there is none of that view."""
        from fitcheck.web.picture import jpeg_of

        found = [photo.photo.rgb for photo in self._result(case).photos if photo.photo.view == view]
        return jpeg_of(found[0]) if found else None

    def sheet(self, case: Case, step: int, full: bool, paper: str, units: Units, path: Path) -> str | None:
        """One step of the round, from 1, drawn as a PDF at a path; the alteration's name, or None where the round has no such step.

        Raises
        ------
        UsageError
            There is no drawing of it.
        """
        from fitcheck.web.sheets import write

        steps = self._result(case, True).round.steps
        if not 0 < step <= len(steps):
            return None
        write(path, steps[step - 1], case.facts, full, paper, units)
        return steps[step - 1].amount.id

    def record(self, case: Case, facts: "FittingFacts", diary: Path, retake: bool) -> int:
        """Record the result under what is told now; its number in the diary.

        Raises
        ------
        DiaryError, UsageError
            Nothing of it is then in the diary.
        """
        from fitcheck.diary_commands import recorder

        ready = recorder(str(diary), facts, "copy", retake)
        return ready.record(self._result(case, True), {photo.view: photo.path for photo in case.photos})

    def forget(self, id: str) -> None:
        """Let go of a fitting."""
        self._held.pop(id, None)

    def _result(self, case: Case, drawn: bool = False) -> "FitCheck":
        """The result of a case, made anew as far as something has changed."""
        from fitcheck.pipeline import check_fit
        from fitcheck.vision.person.pose import get_ready

        held = self._of(case)
        if held.result is None or held.case != case or (drawn and not held.drawn):
            photos = self._photos(held, case)
            get_ready()
            held.result = check_fit(photos, _settings(case), self._tell, held.kept, drawn)
            held.case, held.drawn = case, drawn
        return held.result

    def _of(self, case: Case) -> _Held:
        """What is held of a fitting, which now is the one used last; those used longest ago let go of their memory."""
        from fitcheck.stages.kept import Kept

        self._held[case.id] = held = self._held.pop(case.id, None) or _Held(Kept())
        for other in list(self._held)[:-WARM]:
            del self._held[other]
        return held

    def _photos(self, held: _Held, case: Case) -> "tuple[Photo, ...]":
        from fitcheck.web.looking import opened

        if held.opened_from != case.photos:
            self._tell("opening the photos", 0.0)
            held.opened, held.opened_from = opened(case.photos), case.photos
        return held.opened


def _settings(case: Case) -> "Settings":
    from fitcheck.body.placed import as_placed
    from fitcheck.core.settings import Settings
    from fitcheck.photo.camera.lens_profiles import profile_path, read_lenses

    return Settings(case.facts, {}, tuple(read_lenses(profile_path())), *as_placed(case.placed), last_round=case.last_round)
