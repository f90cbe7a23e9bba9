"""Only what a pose needs is loaded, and whoever wants the whole package still gets it."""

import subprocess
import sys
from pathlib import Path


def run(script: str) -> None:
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parents[3], check=False)
    assert done.returncode == 0, done.stderr
    assert "Exception" not in done.stderr


def test_no_plot_and_no_audio_library_is_loaded():
    run("""if True:
        import sys
        import fitcheck.vision.person.pose
        loaded = {name.partition(".")[0] for name in sys.modules}
        assert not loaded & {"matplotlib", "sounddevice", "tensorflow", "mediapipe"}, loaded""")


def test_the_whole_package_can_be_had_before_and_after():
    use = """
        import mediapipe
        from mediapipe.tasks.python import vision
        assert vision.PoseLandmarker and vision.drawing_utils and mediapipe.tasks.audio
    """
    ours = """
        from skimage import data
        from fitcheck.core.camera import Photo
        from fitcheck.vision.person.pose import find_people
        assert find_people(Photo("front", "", "", data.astronaut(), None, "")) is not None
    """
    run(f"if True:{use}{ours}")
    run(f"if True:{ours}{use}")
