"""What phone and computer say to each other, sealed with the key that stands in the code on the screen.

XSalsa20 and Poly1305 as in NaCl's secretbox: a nonce of 24 bytes, then the box. In it: how long the words are (two bytes, the high one
first), the words as JSON, and after them a piece of a file or nothing.
"""

import json
import secrets
from base64 import urlsafe_b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from nacl.exceptions import CryptoError
from nacl.secret import SecretBox

NONCE_BYTES = SecretBox.NONCE_SIZE
LONGEST_WORDS = 2**16 - 1


class NotOursError(Exception):
    """What came was not sealed with this key, or was changed on its way."""


@dataclass(frozen=True, slots=True)
class Said:
    """One message from the phone.

    Attributes
    ----------
    number : bytes
        The nonce, by which its answer is known.
    words : mapping
    piece : bytes
    """

    number: bytes
    words: Mapping[str, Any]
    piece: bytes


class Box:
    """One key, for as long as a phone is let in.

    Attributes
    ----------
    told : str
        The key as it stands in the address.
    """

    def __init__(self) -> None:
        key = secrets.token_bytes(SecretBox.KEY_SIZE)
        self.told = urlsafe_b64encode(key).decode().rstrip("=")
        self._box = SecretBox(key)

    def opened(self, sealed: bytes) -> Said:
        """A message.

        Raises
        ------
        NotOursError
        """
        try:
            plain = self._box.decrypt(sealed)
            end = 2 + int.from_bytes(plain[:2], "big")
            words = json.loads(plain[2:end])
        except (CryptoError, ValueError, TypeError):
            raise NotOursError from None
        if end > len(plain) or not isinstance(words, dict):
            raise NotOursError
        return Said(sealed[:NONCE_BYTES], words, plain[end:])

    def answer(self, to: Said, words: Mapping[str, Any]) -> bytes:
        """The answer to a message, which says to which one: an older answer sent again would not pass."""
        return self.sealed({**words, "answers": to.number.hex()})

    def sealed(self, words: Mapping[str, Any], piece: bytes = b"") -> bytes:
        """Something said."""
        plain = json.dumps(words).encode()
        return bytes(self._box.encrypt(len(plain).to_bytes(2, "big") + plain + piece))
