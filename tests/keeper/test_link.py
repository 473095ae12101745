import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, Frame, encode, stuff, unstuff

frames = st.builds(Frame, st.integers(0, 255), st.integers(0, 65535), st.binary(max_size=240))
u64 = st.integers(0, 2**64 - 1)
u8, u16, u32 = st.integers(0, 255), st.integers(0, 65535), st.integers(0, 2**32 - 1)
FIELDS = {"B": u8, "?": st.booleans(), "H": u16, "I": u32, "Q": u64}
cues = st.lists(st.tuples(u32, st.integers(0, 3)), max_size=messages.MAX_CUES).map(tuple)


def any_of(kind: type[messages.Message]) -> st.SearchStrategy[messages.Message]:
    """Any message of ``kind``: a value for each field of its layout."""
    if kind is messages.Arm:
        return st.builds(messages.Arm, u64, u64, st.booleans(), cues, u32, u32)
    if kind is messages.Dose:
        return st.builds(messages.Dose, u64, u32, u64, u16, st.booleans(), cues)
    if kind is messages.Fault:
        return st.builds(messages.Fault, st.text(max_size=40))
    return st.builds(kind, *(FIELDS[letter] for letter in kind.LAYOUT.format.removeprefix("<")))


any_message = st.one_of([any_of(kind) for kind in messages.KINDS.values()])


@pytest.mark.parametrize(
    ("plain", "stuffed"),
    [
        # the worked examples of COBS: S. Cheshire, "Consistent Overhead Byte Stuffing", as listed in
        # https://en.wikipedia.org/wiki/Consistent_Overhead_Byte_Stuffing
        (b"\x00", b"\x01\x01"),
        (b"\x00\x00", b"\x01\x01\x01"),
        (b"\x00\x11\x00", b"\x01\x02\x11\x01"),
        (b"\x11\x22\x00\x33", b"\x03\x11\x22\x02\x33"),
        (b"\x11\x22\x33\x44", b"\x05\x11\x22\x33\x44"),
        (b"\x11\x00\x00\x00", b"\x02\x11\x01\x01\x01"),
    ],
)
def test_cobs_examples(plain: bytes, stuffed: bytes) -> None:
    assert stuff(plain) == stuffed
    assert unstuff(stuffed) == plain


@given(st.binary(max_size=250))
def test_stuffing_has_no_zero_and_comes_undone(data: bytes) -> None:
    assert 0 not in stuff(data)
    assert unstuff(stuff(data)) == data


@given(st.lists(frames, max_size=5), st.integers(1, 40))
def test_frames_survive_any_cut(sent: list[Frame], cut: int) -> None:
    data = b"".join(encode(frame) for frame in sent)
    decoder = Decoder()
    assert [f for n in range(0, len(data), cut) for f in decoder.feed(data[n : n + cut])] == sent
    assert decoder.dropped == 0


@given(st.binary(max_size=600), frames)
def test_after_any_noise_the_next_frame_is_read(noise: bytes, sent: Frame) -> None:
    decoder = Decoder()
    assert [*decoder.feed(noise + encode(sent))][-1] == sent


def test_no_flipped_bit_gets_through() -> None:
    data = bytearray(encode(messages.to_frame(messages.Arm(7, 8_000_000, True, ((1, 1),)), 3)))
    for bit in range(len(data) * 8):
        data[bit // 8] ^= 1 << bit % 8
        assert [*Decoder().feed(bytes(data))] == []
        data[bit // 8] ^= 1 << bit % 8


def test_ten_thousand_damaged_frames_are_dropped() -> None:
    chance = random.Random(4)
    whole = encode(messages.to_frame(messages.Arm(7, 8_000_000, True), 3))
    for _ in range(10_000):
        data = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            data[chance.randrange(1, len(data) - 1)] = chance.randrange(256)
        if bytes(data) != whole:
            assert [*Decoder().feed(bytes(data))] == []


@given(any_message, st.integers(0, 65535))
def test_messages_come_back_as_they_were(message: messages.Message, number: int) -> None:
    frame = messages.to_frame(message, number)
    assert messages.from_frame(*Decoder().feed(encode(frame))) == message


@given(frames)
def test_any_body_is_a_message_or_none(frame: Frame) -> None:
    messages.from_frame(frame)


def test_too_many_cues_are_refused_here() -> None:
    with pytest.raises(ValueError, match="40"):
        messages.to_frame(messages.Arm(1, 1, True, ((1, 1),) * 41), 1)
