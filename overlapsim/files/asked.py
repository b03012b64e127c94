"""What is asked about a planter, in order: one table for prompts, options and customers' sheets.

Defaults are of the usual order (common practice, no source), stand in until somebody knows better, and are
marked as assumed in the files that are written. Nothing stands in for a tape reading.
"""

from __future__ import annotations

from overlapsim.files.asked_answers import Answers, Question, length_text
from overlapsim.scenario.machine import Machine, Rank, Setup
from overlapsim.scenario.plain import Choice, Count, Text
from overlapsim.scenario.settings import Plan, Speed
from overlapsim.scenario.switching import Response, Switching
from overlapsim.scenario.tables import kinds

__all__ = ["BY_KEY", "FIRST_ANSWER", "QUESTIONS", "answers"]

_RANK, _SETUP = kinds(Rank), kinds(Setup)
_SWITCHING, _RESPONSE = kinds(Switching), kinds(Response)
_SOURCES = ("taped", "builder's sheet", "assumed")


def _two(answers: Answers) -> bool:
    return answers.rear_rows > 0


def _alike(answers: Answers) -> bool:
    return answers.rear_rows == answers.rows


def _rank(key: str) -> tuple[str, ...]:
    return f"machine.ranks.front.{key}", f"machine.ranks.rear.{key}"


QUESTIONS = (
    Question(
        "units", "Tape in inches (us) or centimetres (metric)?",
        "A number without a unit is then read so; any other unit may be written behind it.",
        Choice(("us", "metric")), lambda _: "us",
    ),
    Question(
        "rows", "How many row units stand on the front rank?",
        "Count on the front toolbar, those locked up as well.",
        _RANK["rows"], lambda _: "16", home=("machine.ranks.front.rows",),
    ),
    Question(
        "rear-rows", "How many on the rear rank? 0 = there is none",
        "As many as in front, or one more or less: they stand between the front rows.",
        Count(0, 72, example=16), lambda a: str(a.rows), home=("machine.ranks.rear.rows",),
    ),
    Question(
        "spacing", "How far apart are two rows of one rank?",
        "Tape over ten gaps of one toolbar and divide; not from a front row to a rear row.",
        _RANK["spacing"], lambda a: "30 in" if a.us else "75 cm", home=_rank("spacing"),
    ),
    Question(
        "extra-row", "On which side does the rear rank reach one row farther out?",
        "Look from behind, the way you drive: is the outermost row on the left or on the right a rear one?",
        Choice(("left", "right")), lambda _: "left", _alike, shared=("machine.ranks.rear.right",),
    ),
    Question(
        "setup", "Which row setup is to plant: narrow (both ranks) or wide (front rank only)?",
        "The one that the section controller is being set for.",
        Choice(("narrow", "wide")), lambda _: "narrow", _two, shared=("machine.setup",),
    ),
    Question(
        "front", "How far behind the hitch pin does the front rank's seed meet the ground?",
        "Planter down in the ground and level, engine off: from the middle of the pin straight back to where "
        "the seed falls between the openers. Mounted: from midway between the lower-link ends.",
        _RANK["behind_pin"], home=("machine.ranks.front.behind_pin",),
    ),
    Question(
        "rear", "And the rear rank's?",
        "The same way, from the same pin; not from the front rank.",
        _RANK["behind_pin"], None, _two, home=("machine.ranks.rear.behind_pin",),
    ),
    Question(
        "distances", "Where do these distances come from: taped, builder's sheet, or assumed?",
        "A drawing does not know how the hitch is set today: a tape does.",
        Choice(_SOURCES), lambda _: "taped", shared=_rank("behind_pin"),
    ),
    Question(
        "hitch", "Is the planter drawn or mounted?",
        "Drawn = on a hitch pin; mounted = on the three-point linkage.",
        kinds(Machine)["hitch"], lambda _: "drawn", home=("machine.hitch",),
    ),
    Question(
        "hitch-shift", "How far to the right does the hitch move the planter in narrow rows? Minus = left",
        "Where the hitch has two settings, tape between them; 0 = it stays in the middle.",
        _SETUP["hitch_shift"], lambda a: length_text(a.centring, a.us), _two,
        home=("machine.setups.narrow.hitch_shift",),
    ),
    Question(
        "lateral-offset", "What lateral offset is entered in guidance?",
        "Where guidance keeps the machine's sizes; plus = the tractor is steered left, so the rows' middle "
        "runs left. 0 = none.",
        _SWITCHING["lateral_offset"], lambda a: length_text(0.0, a.us), lambda a: a.off_centre != 0,
        home=("switching.lateral_offset",),
    ),
    Question(
        "speed", "How fast is it driven?",
        "As it is driven where rows are switched, at the ends.",
        kinds(Speed)["working"], lambda a: "5 mph" if a.us else "8 km/h", home=("speed.working",),
    ),
    Question(
        "sections", "How many sections switch by themselves? each-row, a number, or rows of each (8 8 8 8)",
        "Where the section controller keeps the machine's sizes; of the row setup that is to plant.",
        None, lambda _: "each-row", home=("switching.sections",),
    ),
    Question(
        "entered", "What reference offset is entered today, behind the hitch pin?",
        "Read it off the section controller and write it down before it is changed.",
        _SWITCHING["reference_offset"], lambda a: a.text("front"), home=("switching.reference_offset",),
    ),
    Question(
        "on-time", "What turn-on time is entered?",
        "In the same place; some write it in milliseconds: 400 ms.",
        _SWITCHING["turn_on_time"], lambda _: "0.40 s", home=("switching.turn_on_time",),
    ),
    Question(
        "off-time", "And what turn-off time?",
        "In the same place.",
        _SWITCHING["turn_off_time"], lambda a: a.text("on-time"), home=("switching.turn_off_time",),
    ),
    Question(
        "on-latency", "How long from the on command until seed reaches the ground, if that is known?",
        "From digs (overlapsim correct) or a log. Enter = not known: then it is taken as equal to the time.",
        _RESPONSE["on_latency"], lambda _: "", home=("response.on_latency",),
    ),
    Question(
        "off-latency", "And from the off command until no more seed does?",
        "Likewise.",
        _RESPONSE["off_latency"], lambda _: "", home=("response.off_latency",),
    ),
    Question(
        "latencies", "Where do the latencies come from: dug, logged, builder's sheet, or assumed?",
        "Dug or logged on this planter, or read in its papers.",
        Choice(("dug", "logged", *_SOURCES[1:])), lambda _: "assumed",
        lambda a: a.has("on-latency") or a.has("off-latency"),
        shared=("response.on_latency", "response.off_latency"),
    ),
    Question(
        "field", "Which file holds the field's boundary? Enter = none: a textbook field of 80 ac stands in",
        "GeoJSON, shapefile (zipped too), GeoPackage, KML.",
        None, lambda _: "", home=("field.file",),
    ),
    Question(
        "which-field", "Which field of that file: its name, its number from 1, or all? Enter = it holds one",
        "Or key = value, where fields are told apart by another attribute.",
        None, lambda _: "", lambda a: a.has("field"), home=("field.where", "field.all", "field"),
    ),
    Question(
        "heading", "On what heading is it driven? auto = along the long side",
        "Of the first pass, clockwise from north.",
        kinds(Plan)["heading"], lambda a: "auto" if a.has("field") else "0 deg", home=("plan.heading",),
    ),
    Question(
        "laps", "How many headland laps?",
        "Rounds along the boundary, before the passes; 0 = passes run to the boundary.",
        kinds(Plan)["headland_laps"], lambda a: "2" if a.has("field") else "0", home=("plan.headland_laps",),
    ),
    Question(
        "customer", "Whose planter is it? Enter = not said",
        "Stands on reports.",
        Text(example="Example farm"), lambda _: "", shared=("about.customer",),
    ),
    Question(
        "title", "What shall reports be headed?",
        "A line that tells this job from others.",
        Text(example="Home field, narrow rows"), lambda a: _title(a), shared=("title",),
    ),
)  # fmt: skip
"""All questions, in the order asked."""

BY_KEY = {question.key: question for question in QUESTIONS}
"""The same by key."""

FIRST_ANSWER = ("front", "rear")
"""Once these are answered, there is a number to type in."""


def answers(given: dict[str, str] | None = None) -> Answers:
    """Begin with some answers, or none.

    Parameters
    ----------
    given : dict of str to str, optional
        As typed, by key.

    Returns
    -------
    Answers
        Names of files counted from where the program stands.
    """
    return Answers(BY_KEY, dict(given or {}))


def _title(answers: Answers) -> str:
    rows = f"{answers.working_rows} rows" + (f", {answers.text('setup')}" if answers.rear_rows else "")
    where = answers.path("field").stem if answers.has("field") else ""
    return ", ".join(part for part in (answers.text("customer"), where, rows) if part)
