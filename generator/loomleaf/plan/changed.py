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
        now = vars(thing)
        made = object.__new__(type(thing))
        vars(made).update({name: now[name] for name in fields}, **values)
        return made


__all__ = ["changed"]
