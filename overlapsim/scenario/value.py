"""What lost ground is worth, in the user's own figures and currency: nothing here has a price of its own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from overlapsim.basics.errors import Fault
from overlapsim.basics.units import AMOUNT
from overlapsim.scenario.plain import Text
from overlapsim.scenario.quantities import Measure
from overlapsim.scenario.tables import Table, fault

__all__ = ["Value", "check_value"]

# Any currency: some count in millions per hectare.
_AMOUNT = Measure(AMOUNT, 0.0, 1e6, likely=(0.0, 1.0), example="120 /ha", optional=True)
_AMOUNTS = ("seed", "lost_stand", "double_planting")


class Value(Table):
    """What a unit of ground costs that is lost; nothing of it need be said.

    Attributes
    ----------
    currency : str or None
        A label, as in ``"EUR"``; all amounts are in it.
    seed : float or None
        Seed for a unit of ground planted once, money per area, 1/m²: spent in vain on ground planted
        twice and off the field.
    lost_stand : float or None
        What a unit of ground without a stand costs, money per area, 1/m².
    double_planting : float or None
        What a unit of ground planted twice costs besides the seed, money per area, 1/m².
    free_gap : float
        Gaps along the row shorter than this cost nothing: the stand beside them makes up for them, m.
    """

    currency: Annotated[str | None, Text(example="EUR", optional=True)] = None
    seed: Annotated[float | None, _AMOUNT] = None
    lost_stand: Annotated[float | None, _AMOUNT] = None
    double_planting: Annotated[float | None, _AMOUNT] = None
    free_gap: Annotated[float, Measure("length", 0.0, 30.0, likely=(0.0, 3.0), example="1 ft")] = 0.0

    @property
    def given(self) -> bool:
        """Whether there is anything to reckon with."""
        return any(getattr(self, name) is not None for name in _AMOUNTS)

    @property
    def said(self) -> bool:
        """Whether the table says anything at all."""
        return self != Value()


def check_value(value: Value) -> Iterator[Fault]:
    """See that amounts have a currency, and that there are amounts.

    Parameters
    ----------
    value : Value
        The table.

    Yields
    ------
    Fault
        Keyed below ``value``.
    """
    if value.given and value.currency is None:
        yield fault(("value", "currency"), "is missing", 'Write currency = "EUR", or any other label.')
    if value.said and not value.given:
        remedy = 'Write seed, lost_stand or double_planting, as in lost_stand = "900 /ha".'
        yield fault(("value",), "says no amount", remedy)
