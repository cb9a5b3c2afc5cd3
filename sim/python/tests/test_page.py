"""What stands in the book's page is what comes out."""

import doctest
from pathlib import Path

PAGE = Path(__file__).parents[3] / "docs/src/python.md"


def test_the_page_shows_what_comes_out():
    test = doctest.DocTestParser().get_doctest(PAGE.read_text(encoding="utf-8"), {}, PAGE.name, str(PAGE), 0)
    said = []
    ended = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=said.append)
    assert ended.attempted > 10 and ended.failed == 0, "".join(said)
