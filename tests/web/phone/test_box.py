"""Sealed and opened: by the other library's own numbers, and refused where one bit is other."""

import json
from base64 import urlsafe_b64decode

import pytest
from nacl.secret import SecretBox

from fitcheck.web.phone.box import Box, NotOursError


def key_of(box: Box) -> SecretBox:
    return SecretBox(urlsafe_b64decode(box.told + "="))


def message(words: bytes, piece: bytes = b"") -> bytes:
    return len(words).to_bytes(2, "big") + words + piece


def test_the_key_is_whole_and_new_each_time():
    keys = {Box().told for _ in range(50)}
    assert len(keys) == 50
    assert {len(key) for key in keys} == {43}  # 32 bytes in base 64


def test_words_and_a_piece():
    box = Box()
    sealed = bytes(key_of(box).encrypt(message(b'{"asks": "piece"}', b"\0\1\2")))
    said = box.opened(sealed)
    assert (said.words, said.piece, said.number) == ({"asks": "piece"}, b"\0\1\2", sealed[:24])


def test_an_answer_names_what_it_answers():
    box = Box()
    said = box.opened(bytes(key_of(box).encrypt(message(b"{}"))))
    plain = key_of(box).decrypt(box.answer(said, {"have": 7}))
    assert json.loads(plain[2:]) == {"have": 7, "answers": said.number.hex()}


def test_another_key():
    box = Box()
    with pytest.raises(NotOursError):
        box.opened(bytes(key_of(Box()).encrypt(message(b"{}"))))


def test_one_bit_changed_anywhere():
    box = Box()
    sealed = bytes(key_of(box).encrypt(message(b'{"asks": "have"}')))
    box.opened(sealed)
    for at in range(len(sealed)):
        with pytest.raises(NotOursError):
            box.opened(sealed[:at] + bytes([sealed[at] ^ 1]) + sealed[at + 1 :])


@pytest.mark.parametrize("plain", [b"", b"\0", b"\0\2[]", b"\0\1{", b"\xff\xff{}", b"\0\4null"])
def test_sealed_rightly_but_no_words(plain):
    box = Box()
    with pytest.raises(NotOursError):
        box.opened(bytes(key_of(box).encrypt(plain)))


@pytest.mark.parametrize("length", [0, 1, 23, 24, 39])
def test_too_short_to_be_sealed(length):
    with pytest.raises(NotOursError):
        Box().opened(bytes(length))
