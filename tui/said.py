"""What is wrong, and what is new, as every page shows it; and until when."""

from typing import Literal

About = Literal["", "lamp", "paper"]
"""What a trouble is about: the lamp and its keeper, paper that is out, or nothing that lasts."""


class Said:
    """Trouble goes with the next key that does something; one about lamp or paper only with its cause. News is no trouble.

    ``times``: how often something was said, so that whoever acts on a key can see whether it was refused.
    """

    def __init__(self) -> None:
        self._lasting: dict[About, str] = {}
        self._passing = self.news = ""
        self.times = 0

    @property
    def troubles(self) -> tuple[str, ...]:
        """All that is wrong, what lasts first."""
        return tuple(dict.fromkeys(text for text in (*self._lasting.values(), self._passing) if text))

    @property
    def trouble(self) -> str:
        """All that is wrong, in one text."""
        return "; ".join(self.troubles)

    def trouble_with(self, text: str, about: About = "") -> None:
        """Something is wrong."""
        self.times, self.news = self.times + 1, ""
        if about:
            self._lasting[about] = text
        else:
            self._passing = text

    def tell(self, text: str) -> None:
        """Something was done that is worth a line."""
        self.times, self.news, self._passing = self.times + 1, text, ""

    def works(self) -> None:
        """A key has done something: what was refused before is no matter any more."""
        self._passing = self.news = ""

    def is_back(self, about: About) -> None:
        """The cause has gone: it is still shown, till the next key that does something."""
        self._passing = self._lasting.pop(about, self._passing)

    def over(self) -> None:
        """All is answered: there is light by a press, or the paper is in its box."""
        self._lasting.clear()
        self.works()
