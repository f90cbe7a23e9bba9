"""What an error says and what a shell script can tell from its exit code."""

import pytest

from fitcheck.core import errors
from fitcheck.core.errors import FitcheckError, PhotoError, UnforeseenError, UsageError


def test_one_sentence_and_the_next_step_stand_in_one_line():
    error = PhotoError("front.jpg is no picture.", "Take another.")
    assert str(error) == "front.jpg is no picture. Take another."
    assert (error.problem, error.next_step) == ("front.jpg is no picture.", "Take another.")


def test_several_faults_stand_in_lines_of_their_own():
    assert str(UsageError("One is wrong.\nTwo is wrong.", "Mend both.")).splitlines() == ["One is wrong.", "Two is wrong.", "Mend both."]


def test_every_kind_has_an_exit_code_of_its_own():
    kinds = [kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, FitcheckError)]
    codes = [kind.exit_code for kind in kinds]
    assert len(kinds) > 5
    assert len(set(codes)) == len(codes)
    assert all(0 < code < 126 for code in codes)  # 0 is success, 126 and above belong to the shell


@pytest.mark.parametrize(("kind", "code"), [(UsageError, 2), (UnforeseenError, 70)])
def test_the_codes_that_the_system_has_agreed_on(kind, code):
    assert kind.exit_code == code
