"""The lookers themselves: they must see what is wrong."""

from __future__ import annotations

from overlapsim.report.style import look, new_figure
from tests.report.looking import overlapping_words, words_cut_off


def test_words_on_top_of_each_other_and_off_the_paper_are_seen() -> None:
    with look():
        figure = new_figure(4, 3)
        figure.text(0.5, 0.5, "one")
        figure.text(0.52, 0.5, "two")
        figure.text(0.5, 0.9, "apart")
        figure.text(0.97, 0.2, "off the paper")
        assert overlapping_words(figure) == [("one", "two")]
        assert words_cut_off(figure) == ["off the paper"]
