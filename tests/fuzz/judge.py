"""One command in this process, as a person would have run it; and what is wrong with what came of it."""

import io
import sys
import time
from contextlib import suppress

from timer.cli import main
from timer.text import UNFIT

LONGEST_S = 5.0


def faults_of(line: list[str]) -> list[str]:
    """What is wrong with the outcome of ``line``; empty when it is a result or one sentence."""
    return outcome(line)[0]


def outcome(line: list[str]) -> tuple[list[str], float]:
    """What is wrong with the outcome of ``line``, and the processor's seconds that it took.

    Not the clock's: what else runs on the machine says nothing about the input. Who waits for ever is ended by an alarm.
    """
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    before = sys.stdout, sys.stderr, sys.stdin
    began = time.process_time()
    code: object = "no exit"
    sys.stdout, sys.stderr, sys.stdin = out, err, io.TextIOWrapper(io.BytesIO())
    try:
        main(line)
    except SystemExit as ended:
        code = ended.code
    except BaseException as error:
        code = repr(error)
    finally:
        took = time.process_time() - began
        sys.stdout, sys.stderr, sys.stdin = before
    said, complained = _text(out), _text(err)
    found = []
    if code not in (0, 1, 2):
        found.append(f"exit {code}: {complained[-600:]}")
    if "Traceback" in said + complained:
        found.append("a traceback")
    if code in (1, 2) and not (said or (complained.strip().splitlines()[-1:] and "Error: " in complained)):
        found.append(f"exit {code} without a sentence: {complained[-200:]!r}")
    if any(len(sentence) > 1500 for sentence in complained.splitlines()):
        found.append("a sentence of over 1,500 letters")
    shown = complained if said.startswith("%PDF-") else said + complained  # that is for a pipe, and refused on a terminal
    if "--terminal" not in line and UNFIT.search(shown):
        found.append("what acts on a terminal")
    if took > LONGEST_S:
        found.append(f"{took:.1f} s")
    return found, took


def _text(stream: io.TextIOWrapper) -> str:
    with suppress(ValueError):
        stream.flush()
        buffer = stream.buffer
        assert isinstance(buffer, io.BytesIO)
        return buffer.getvalue().decode(errors="replace")
    return ""
