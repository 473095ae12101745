"""Words that older notebooks hold, read as the ones of today. What is stored stays as it was written, and so do its sums."""

import re
from typing import Any

PAPERS = {"silver": "bw"}
HEADS = {"gel": "cp", "dial": "dichroic"}
_IN_A_RECIPE = re.compile(r"""\b(?P<key>kind|head)(?P<is>\s*=\s*)(?P<quote>["'])(?P<word>silver|gel|dial)(?P=quote)""")


def paper(kind: Any) -> Any:
    """A stored kind of paper, or whatever else stands in its place."""
    return PAPERS.get(kind, kind) if isinstance(kind, str) else kind


def recipe(text: str) -> str:
    """A stored recipe's text, as recipes are written now."""
    return _IN_A_RECIPE.sub(_now, text)


def _now(found: re.Match[str]) -> str:
    word = (PAPERS if found["key"] == "kind" else HEADS).get(found["word"], found["word"])
    return f"{found['key']}{found['is']}{found['quote']}{word}{found['quote']}"
