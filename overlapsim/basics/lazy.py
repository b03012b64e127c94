"""Properties that are worked out when they are first asked for, and kept."""

from __future__ import annotations

from functools import cached_property
from typing import Any, TypeVar

T_co = TypeVar("T_co", covariant=True)


class lazy(cached_property[T_co]):
    """The same without a lock, so that several threads work out the properties of several objects at once.

    Python 3.11 holds one lock for all objects of a class meanwhile. Two threads that ask the same object may
    both work it out; what they keep is the same.

    Examples
    --------
    >>> class Square:
    ...     side = 3.0
    ...     @lazy
    ...     def area(self):
    ...         print("worked out")
    ...         return self.side**2
    >>> one = Square()
    >>> one.area, one.area
    worked out
    (9.0, 9.0)
    """

    def __get__(self, instance: Any, owner: type[Any] | None = None) -> Any:
        """Work it out, or give what is kept."""
        if instance is None:
            return self
        assert self.attrname is not None
        kept = instance.__dict__
        if self.attrname not in kept:
            kept[self.attrname] = self.func(instance)
        return kept[self.attrname]
