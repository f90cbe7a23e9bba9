"""What other parts of fitcheck say with their commands in mind, said by the page's own buttons and fields."""

import re

INSTEAD: tuple[tuple[str, str], ...] = (  # a pattern of what is said for the terminal, and what stands for it here
    (
        r": did you mean [^<]*? If it is right, say sure = true in placed\.toml \(or ,sure after its pixels\)",
        ". If it is right, choose it under “Put right what was misread” and press “It is right there”",
    ),
    (
        r"Print one with 'fitcheck card' and retake, or give a sheet's corners \(--scale-corners\) or your height \(--height-mm\)\.",
        "Print one under “Set-up” and take the photos again, or tell your height under “Your tape, if you measured”.",
    ),
    (r"or print a card with 'fitcheck card' and retake", "or print a card under “Set-up” and take the photos again"),
    (r" \('fitcheck card' prints them\), and retake", " (“Set-up” prints them), and take the photos again"),
    (r"Say it with --wearer and --garment, or in fitting\.toml\.", "Say it in the fields before “Record in the diary”."),
    (
        r"Run 'fitcheck diary rescue': it keeps",
        "Press “Rescue the diary” under “Settings”: that keeps",
    ),
    (r"run 'fitcheck diary rescue' then", "press “Rescue the diary” under “Settings” then"),
    (r"Record a fitting with 'fitcheck check FOLDER --diary', or name the right folder\.", "Record a fitting first."),
    (r"Name the diary's folder with --diary, or the file if you moved it\.", "Move it back, or record a fitting."),
    (r"Import a backup with 'fitcheck diary import'", "Bring an export in under “Settings”"),
    (r"See the numbers with 'fitcheck diary list'\.", "Choose one of your fittings."),
    (r"Export it again with 'fitcheck diary export'\.", "Export it again under “Settings”."),
    (r"Import under another name with --as, or delete her first\.", "Bring her in under another name, or delete her first."),
    (r" letters with --as\.", " letters in the field for her name."),
    (r" with --profile\.", "."),
    (r"Delete it and calibrate again with 'fitcheck calibrate'\.", "Delete that file, or calibrate the camera again."),
    (r"In fitting\.toml, `camera` is", "The camera was said to be"),
    (r"Write it as 'fitcheck calibrate' told it, or leave it out\.", "Begin a new fitting."),
    (
        r"Say with --size which is yours, counted from the outermost: ([^;]*); edge if it is cut out; or click it with --at X,Y\.",
        r"Choose yours, counted from the outermost: \1; or click it.",
    ),
    (r"Give one of these with --size, counted", "Choose one of these, counted"),
    (r"The place given with --at lies on no paper\.", "The place that you clicked lies on no paper."),
    (r"Say with --at X,Y which one, by a pixel that lies on it, or photograph", "Click the one you mean, or photograph"),
    (r"Put its dart into piece\.toml, if it has one\.", "Photograph it with its dart drawn, if it has one."),
    (
        r"Photograph that piece too and give it with --with, or leave it out\.",
        "Photograph that piece of the garment too, and tick it under “Sewn to it”, or leave this alteration out.",
    ),
    (r"'fitcheck rules' lists all names\.", "“Words” lists all names."),
)
_PATTERNS = tuple((re.compile(pattern), words) for pattern, words in INSTEAD)


def in_own_words(said: str) -> str:
    """A sentence, or a page of them, without commands, options and files of settings."""
    for pattern, words in _PATTERNS:
        said = pattern.sub(words, said)
    return said
