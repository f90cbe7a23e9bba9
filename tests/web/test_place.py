"""The private folder of what is not recorded."""

import stat
import subprocess
import sys

from fitcheck.web.place import Place


def test_it_is_the_owners_alone_and_gone_at_the_end(tmp_path):
    above = tmp_path / "unrecorded"
    with Place(above) as place:
        folder = place.new_folder()
        (folder / "front.jpg").write_text("hers")
        for one in (above, place.folder, folder):
            assert stat.S_IMODE(one.stat().st_mode) == 0o700
    assert not place.folder.exists()


def test_what_a_sudden_end_left_is_removed_at_the_next_start(tmp_path):
    code = "import os, sys; from pathlib import Path; from fitcheck.web.place import Place; p = Place(Path(sys.argv[1])); "
    code += "(p.new_folder() / 'front.jpg').write_text('hers'); os.kill(os.getpid(), 9)"
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=False)
    assert len(list(tmp_path.rglob("front.jpg"))) == 1
    with Place(tmp_path):
        assert not list(tmp_path.rglob("front.jpg"))


def test_another_program_that_still_runs_keeps_its_own(tmp_path):
    with Place(tmp_path) as first:
        (first.new_folder() / "front.jpg").write_text("hers")
        with Place(tmp_path) as second:
            assert second.folder != first.folder
            assert len(list(first.folder.rglob("front.jpg"))) == 1
        assert first.folder.exists()


def test_a_folder_without_a_lock_was_left(tmp_path):
    (tmp_path / "run-x").mkdir()
    with Place(tmp_path):
        assert not (tmp_path / "run-x").exists()
