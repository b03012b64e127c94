"""Where the tape goes on one machine: distances from the hitch pin, as data for a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from overlapsim.questions.offset import typed as as_typed
from overlapsim.questions.tuned import Tuned
from overlapsim.report.card_lines import by_rank, lettered
from overlapsim.report.phrases import and_words
from overlapsim.report.setting import measured_from
from overlapsim.report.words import Words
from overlapsim.scenario.machine import Machine


@dataclass(frozen=True)
class TapeRank:
    """One rank as the tape finds it.

    Attributes
    ----------
    name : str
        Its letter and its name.
    metres : float
        Hitch pin back to where the seed meets the ground, m.
    text : str
        The same in the reader's unit.
    rows : str
        How many rows, how far apart.
    works_in : str
        Row setups on the card in which it works; empty where it works in all of them.
    """

    name: str
    metres: float
    text: str
    rows: str
    works_in: str


@dataclass(frozen=True)
class TapeSetting:
    """One row setup's reference offset as it lies on the machine.

    Attributes
    ----------
    name : str
        Of the row setup.
    metres : tuple of float
        Behind the hitch pin, m; several where there is one for each rank.
    as_good : tuple of (float, float)
        Stretches that are just as good, m behind the hitch pin.
    text : str
        What is typed in, in the controller's unit; where the tape reads otherwise, that in brackets.
    """

    name: str
    metres: tuple[float, ...]
    as_good: tuple[tuple[float, float], ...]
    text: str

    @property
    def last(self) -> float:
        """How far back any of it reaches, m behind the hitch pin."""
        return max([*self.metres, *(high for _, high in self.as_good)])


@dataclass(frozen=True)
class Tape:
    """A machine from the side with its distances.

    Attributes
    ----------
    ranks : tuple of TapeRank
        Foremost first.
    settings : tuple of TapeSetting
        One for each row setup on the card.
    from_axle : float
        Rear axle back to the hitch pin, m, where offsets are typed in from the axle; else nothing.
    axle_text : str
        The same in the reader's unit; empty where it is nothing.
    wheels : float or None
        Hitch pin back to the machine's ground wheels, m, where it is stated.
    mounted : bool
        Whether the machine hangs on the lower links: then the pin is midway between their ends.
    """

    ranks: tuple[TapeRank, ...]
    settings: tuple[TapeSetting, ...]
    from_axle: float
    axle_text: str
    wheels: float | None
    mounted: bool


def tape_of(machine: Machine, columns: Sequence[Tuned], words: Words) -> Tape:
    """Lay out the distances on a machine.

    Parameters
    ----------
    machine : Machine
        As it was described: what a tape reads on it.
    columns : sequence of Tuned
        Row setups on the card.
    words : Words
        The reader's units.

    Returns
    -------
    Tape
        All ranks of the machine, also those that work in no row setup on the card.
    """
    ranks = []
    for name, rank in sorted(machine.ranks.items(), key=lambda item: (item[1].behind_pin, item[0])):
        setups = [one.scenario.machine.setup for one in columns if name in one.scenario.machine.working_ranks]
        where = f"{and_words(setups)} only" if setups else "not in these row setups"
        rows = f"{rank.rows} row{'s' * (rank.rows > 1)}"
        if rank.rows > 1:
            rows += f", {words.short(rank.spacing)} apart"
        ranks.append(
            TapeRank(
                lettered(machine, name), rank.behind_pin, words.short(rank.behind_pin), rows,
                "" if len(setups) == len(columns) else where,
            )
        )  # fmt: skip
    more = measured_from(columns[0].scenario)
    return Tape(
        tuple(ranks), tuple(_setting(one, words) for one in columns), more, words.short(more) if more else "",
        machine.pin_to_wheels, machine.hitch == "mounted",
    )  # fmt: skip


def _setting(one: Tuned, words: Words) -> TapeSetting:
    scenario, offset = one.scenario, one.scenario.switching.reference_offset
    places = tuple(float(metres) for metres in by_rank(offset).values())
    tape = f"{' / '.join(words.short_number(metres) for metres in places)} {words.short_unit}"
    text = as_typed(scenario, places[0])
    if len(places) > 1:
        # What is typed in for each rank stands in the table.
        text = f"{tape} on the tape"
    elif measured_from(scenario) or scenario.units != words.units:
        text += f" (tape: {tape})"
    return TapeSetting(scenario.machine.setup, places, tuple(by_rank(one.found.as_good).values()), text)
