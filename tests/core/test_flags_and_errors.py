"""Every doubt has a plain sentence and a way out; every error its own exit code; the code raises no flag that is not defined."""

import re
from pathlib import Path

import fitcheck
from fitcheck.core import errors
from fitcheck.core.flags import FLAGS

SOURCE = Path(fitcheck.__file__).parent


def test_flags_are_sentences():
    for code, flag in FLAGS.items():
        assert re.fullmatch(r"[a-z][a-z0-9_]*", code)
        assert flag.says.endswith(".")
        assert flag.retake.endswith(".")


def test_every_flag_is_used_somewhere():
    text = "".join(p.read_text() for p in SOURCE.rglob("*.py") if p.name != "flags.py")
    unused = [code for code in FLAGS if f'"{code}"' not in text]
    assert unused == []


def test_exit_codes_differ_and_are_no_success():
    kinds = errors.FitcheckError.__subclasses__()
    codes = [kind.exit_code for kind in kinds]
    assert len(set(codes)) == len(codes)
    assert all(code > 1 for code in codes)
    error = errors.PhotoError("It is broken.", "Mend it.")
    assert str(error) == "It is broken. Mend it."


def test_nothing_refers_to_papers_that_are_not_here():
    for file in (*SOURCE.rglob("*.py"), *SOURCE.rglob("*.toml"), *SOURCE.rglob("*.j2")):
        assert not re.search(r"\bTRADE\b(?!'S)|\bDESIGN\b|trade brief|\bsection \d", file.read_text("utf-8")), file
