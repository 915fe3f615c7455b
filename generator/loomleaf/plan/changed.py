"""``dataclasses.replace`` for the values of a plan, without setting every field of them anew."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import replace as changed
else:

    def changed(thing: Any, **values: Any) -> Any:
        """The same value with some fields different. Only for classes that do nothing of their own when they are made.

        >>> from loomleaf.problems import Location
        >>> changed(Location(file="shop.yaml", line=3), line=4)
        Location(file='shop.yaml', line=4, column=0)
        """
        fields = thing.__dataclass_fields__
        if not values.keys() <= fields.keys():
            raise TypeError(f"{type(thing).__name__} has no {', '.join(sorted(values.keys() - fields.keys()))}")
        made = object.__new__(type(thing))
        now = vars(made)
        now.update(vars(thing))
        if len(now) > len(fields):  # what was worked out of the old fields stays behind
            for name in now.keys() - fields.keys():
                del now[name]
        now.update(values)
        return made


__all__ = ["changed"]
