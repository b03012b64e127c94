"""Pages made of a report's own parts: what is said first, then a section for each table that has a title."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from overlapsim.report.page.markup import METRIC, US, Section, parts_html, sentence

_ELSEWHERE = ("CHECKED", "DIGGING", "FIRST", "CAUTION")  # what a page says in a place of its own


@dataclass(frozen=True)
class Told:
    """A report in both systems of units.

    Attributes
    ----------
    us, metric : list of dict
        The same parts.
    """

    us: list[dict[str, Any]]
    metric: list[dict[str, Any]]

    def picked(self, *labels: str) -> str:
        """Set the parts that bear one of these labels, or a title that begins with one.

        Parameters
        ----------
        *labels : str
            As they are printed.

        Returns
        -------
        str
            HTML.
        """
        us, metric = (
            [one for one in parts if name_of(one).startswith(labels) and name_of(one)]
            for parts in (self.us, self.metric)
        )
        return parts_html(us, metric)

    def lines(self, label: str) -> list[str]:
        """Give the sentences of a part.

        Parameters
        ----------
        label : str
            As it is printed.

        Returns
        -------
        list of str
            In inches and feet; none where there is no such part.
        """
        return [line for one in self.us if one["label"] == label for line in one.get("lines", ())]


def told(result: Any) -> Told:
    """Take a result's report in both systems of units, without what every page says at its end.

    Parameters
    ----------
    result : object
        Finished result.

    Returns
    -------
    Told
        Its parts.
    """
    from overlapsim.report.data import report_of

    return Told(*(report_of(result, words.units)["parts"] for words in (US, METRIC)))


def name_of(one: dict[str, Any]) -> str:
    """Name a part.

    Parameters
    ----------
    one : dict
        A part of a report.

    Returns
    -------
    str
        Its label, or a table's title.
    """
    return str(one["label"] or one.get("title", ""))


def opening(result: Any, drawn: str = "") -> str:
    """Write the first screen of a report's own parts: all up to the first table with a title.

    Parameters
    ----------
    result : object
        Finished result.
    drawn : str
        What stands beside it, HTML.

    Returns
    -------
    str
        HTML.
    """
    report = told(result)
    us, metric = (_before(parts) for parts in (report.us, report.metric))
    strong = next((one["label"] for one in us if one.get("tone") == "strong"), "")
    title = sentence(strong or "Result")
    body = parts_html([_plain(one) for one in us], [_plain(one) for one in metric])
    source = "".join(f'<p class="from">{line}</p>' for line in [report.picked("FROM")] if line)
    return (
        '<section id="answer" class="answer" aria-labelledby="answer-title"><div class="enter">'
        f'<h2 id="answer-title">{title}</h2>{body}{source}</div>{drawn}</section>'
    )


def lead(result: Any) -> str:
    """Write the same parts as the beginning of a section.

    Parameters
    ----------
    result : object
        Finished result.

    Returns
    -------
    str
        HTML: with their labels, since a title stands above that says what they are about.
    """
    report = told(result)
    return parts_html(_before(report.us), _before(report.metric))


def _before(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    found = []
    for one in parts:
        if "rows" in one and one.get("title"):
            break
        if one["label"] not in (*_ELSEWHERE, "FROM"):
            found.append(one)
    # What stands under the title already is the first part without a label.
    return [one for one in found if one is not next((o for o in found if not name_of(o)), None)]


def _plain(one: dict[str, Any]) -> dict[str, Any]:
    return {**one, "label": ""} if one.get("tone") == "strong" else one


def told_sections(result: Any, without: tuple[str, ...] = ()) -> list[Section]:
    """Write a section for each table that has a title, with what follows it.

    Parameters
    ----------
    result : object
        Finished result.
    without : tuple of str
        Labels of parts that stand elsewhere on the page.

    Returns
    -------
    list of Section
        In the order of the report.
    """
    report = told(result)
    groups = [_groups(parts, without) for parts in (report.us, report.metric)]
    if len(groups[0]) != len(groups[1]):
        groups[1] = groups[0]
    made = []
    for number, (us, metric) in enumerate(zip(*groups, strict=True)):
        title = sentence(re.split(r":| at \d", us[0]["title"])[0])
        if title == sentence(us[0]["title"]):  # said once, as the heading
            us, metric = ([{**one[0], "title": "", "name": title}, *one[1:]] for one in (us, metric))
        made.append(Section(f"told-{number}", title, parts_html(us, metric), title))
    return made


def _groups(parts: list[dict[str, Any]], without: tuple[str, ...]) -> list[list[dict[str, Any]]]:
    groups: list[list[dict[str, Any]]] = []
    for one in parts:
        if one["label"] in (*_ELSEWHERE, "FROM", *without):
            continue
        if "rows" in one and one.get("title"):
            groups.append([one])
        elif groups:
            groups[-1].append(one)
    return groups
