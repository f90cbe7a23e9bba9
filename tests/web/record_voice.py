"""Record the sentences of `spoken.toml` anew: `python -m tests.web.record_voice`. Needs espeak-ng and the packages of the tests.

For browsers that have no voice of their own on the computer; one that asks a voice somewhere else is never used.
"""

import io
import subprocess
from pathlib import Path

import av

from fitcheck.web.spoken import ENDING, sentences

FOLDER = Path(__file__).parents[2] / "fitcheck/web/static/voice"

WORDS_A_MINUTE, PITCH = 145, 55  # slow and clear enough across a room
BITS_A_SECOND = 24_000
RATE = 22_050  # of espeak-ng


def record(words: str, language: str, path: Path) -> None:
    """Speak a sentence into an MP3 file."""
    command = ["espeak-ng", "--stdout", "-v", language, "-s", str(WORDS_A_MINUTE), "-p", str(PITCH), words]
    spoken = subprocess.run(command, check=True, capture_output=True).stdout
    with av.open(io.BytesIO(spoken)) as said, av.open(str(path), "w", format="mp3") as kept:
        stream = kept.add_stream("mp3", rate=RATE, layout="mono")
        stream.bit_rate = BITS_A_SECOND
        into = av.AudioResampler(format=stream.format, layout="mono", rate=RATE)
        for frame in said.decode(audio=0):
            for fitting in into.resample(frame):
                kept.mux(stream.encode(fitting))
        kept.mux(stream.encode(None))


def main() -> None:
    """Record all of them."""
    language, all_of_them = sentences()
    for name, words in all_of_them.items():
        record(words, language, FOLDER / f"{name}{ENDING}")


if __name__ == "__main__":
    main()
