"""The mark that names a source, and the sources that stand behind several checks."""

import pytest

NOT_NAMED = "author not named in what was read"


def published(author: str, title: str, page: str) -> pytest.MarkDecorator:
    """Where the value was read; ``page`` may be a chapter or an address where there is no number."""
    return pytest.mark.published(author=author, title=title, page=page)


E142 = published("Eastman Kodak Company", "KODAK PROFESSIONAL ULTRA III Paper, Publication E-142", "p. 3")
SS0514_PACKS = published("US Army", "Subcourse SS0514", "p. 5-6")
NAVY_PRINTING = published(
    "US Navy", "Photography (Basic), NAVEDTRA 14209, ch. 12, Trial-and-error printing", "photographytraining.tpub.com/14209"
)
NAVY_NEUTRAL = published(
    "US Navy", "Photography (Basic), NAVEDTRA 14209, ch. 3, Neutral density filters", "photographytraining.tpub.com/14209"
)
NAVY_VIEWING = published(
    "US Navy", "Photography (Basic), NAVEDTRA 14209", "dofmaster.com/courses/basic/photographycourse-314.html"
)
NAVY_CONTRAST = published(
    "US Navy", "Photography (Basic), NAVEDTRA 14209", "dofmaster.com/courses/basic/photographycourse-298.html"
)
LAMBRECHT = published("R. W. Lambrecht", "f/stop Timing Table [s], 1999, 2005", "boxegg.com/detail/7562")
