"""Words typed on a page, a key at a time. Space is dark now even here, so an underscore writes a space."""

from dataclasses import dataclass, replace

from textual.keys import _character_to_key, key_to_character

LONGEST = 60
_SIGNS = {_character_to_key(chr(code)): chr(code) for code in range(33, 127)}
"""Textual's names for the signs of a keyboard, ``slash`` and the like, which it does not give back."""


@dataclass(frozen=True)
class EntryLine:
    """What is typed so far of ``what``."""

    what: str
    text: str = ""
    most: int = LONGEST

    def came(self, key: str) -> "EntryLine":
        """With the letter of ``key``, or one less for backspace; as it was for a key that writes nothing."""
        if key == "backspace":
            return replace(self, text=self.text[:-1])
        letter = letter_of(key)
        if not letter or len(self.text) >= self.most:
            return self
        return replace(self, text=self.text + (" " if letter == "_" else letter))

    def __str__(self) -> str:
        return f"{self.what}: {self.text}_"

    def shown(self, width: int) -> str:
        """In one row of ``width``: of long words their end, where the next letter comes."""
        row = str(self).replace("\n", " / ")
        if len(row) <= width:
            return row
        what = self.what if len(self.what) <= width // 2 else f"{self.what[: width // 2 - 1]}…"
        typed = row[len(self.what) + 2 :]
        room = width - len(what) - 2
        return f"{what}: {typed if len(typed) <= room else f'…{typed[1 - room :]}'}"


def letter_of(key: str) -> str:
    """What ``key`` writes; nothing for one that writes nothing."""
    letter = _SIGNS.get(key) or key_to_character(key) or ""
    return letter if letter.isprintable() and letter != " " else ""
