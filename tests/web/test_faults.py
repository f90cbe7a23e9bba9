"""What went wrong, as the page tells it."""

import pytest

from fitcheck.core.errors import DiaryError, FitcheckError, PhotoError
from fitcheck.web.faults import as_told, as_unforeseen


def test_errors_of_ours_keep_their_sentences():
    told = as_told(PhotoError("The photo is dark.", "Add light."))
    assert isinstance(told, FitcheckError)
    assert (told.problem, told.next_step) == ("The photo is dark.", "Add light.")


def test_commands_in_them_become_buttons():
    told = as_told(DiaryError("The diary already knows Anna.", "Import under another name with --as, or delete her first."))
    assert told.next_step == "Bring her in under another name, or delete her first."


@pytest.mark.parametrize("how", [as_told, as_unforeseen])
def test_anything_else_says_where_and_never_what(how):
    try:
        raise ValueError("Anna, bust 89")
    except ValueError as error:
        told = how(error)
    assert "ValueError in test_faults.py" in told.problem
    assert "Anna" not in told.problem + told.next_step
    assert "report" in told.next_step
