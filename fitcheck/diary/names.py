"""Names of wearers and garments: one name whatever its capitals and however its accents are composed."""

import unicodedata


def tidy(name: str) -> str:
    """A name as it is shown: composed (NFC), one blank between words, nothing that cannot be seen.

    Examples
    --------
    >>> tidy("  Anna\\n Ma\\u0308rz ")
    'Anna März'
    """
    seen = "".join(_seen(letter) for letter in unicodedata.normalize("NFC", name))
    return " ".join(seen.split())


def folded(name: str) -> str:
    """What two spellings of one name have in common.

    Canonical caseless matching of the Unicode Standard, 3.13 (D145; from memory), composed again.

    Examples
    --------
    >>> folded("MÄRZ") == folded("Ma\\u0308rz")
    True
    """
    decomposed = unicodedata.normalize("NFD", tidy(name))
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", decomposed.casefold()))


def _seen(letter: str) -> str:
    category = unicodedata.category(letter)
    if category == "Cs":  # half a letter, as from a command line in another encoding
        return "\ufffd"
    return " " if category in ("Cc", "Zl", "Zp") else letter
