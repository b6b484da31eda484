"""Frozen records of named fields: those of `dataclasses`, at a fraction of what they cost to define.

`dataclass(frozen=True)` writes six methods for a class and compiles each, half a millisecond a class, before
one thing of it is made. A command defines some hundred and fifty classes, and makes things of half of them.
Here every class shares the same methods, and only `__init__` is compiled, when the first thing is made.
`fields`, `replace`, `asdict` and patterns of `match` work as ever.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from operator import attrgetter
from reprlib import recursive_repr
from types import MemberDescriptorType
from typing import Any, TypeVar, cast, dataclass_transform, overload

__all__ = ["record"]

Made = TypeVar("Made")


@overload
def record(kind: type[Made], /) -> type[Made]: ...
@overload
def record(
    *, eq: bool = True, kw_only: bool = False, slots: bool = False
) -> Callable[[type[Made]], type[Made]]: ...
@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(
    kind: type[Any] | None = None, /, *, eq: bool = True, kw_only: bool = False, slots: bool = False
) -> Any:
    """Make a class a frozen record of the fields it annotates.

    Parameters
    ----------
    eq : bool
        Whether things are equal, and hash alike, when their fields are; else each is equal to itself alone.
    kw_only : bool
        Whether `__init__` takes fields by name alone.
    slots : bool
        Whether things have room for their fields alone.

    Examples
    --------
    >>> @record(slots=True)
    ... class Ring:
    ...     gap: float
    ...     land: str = "top"
    >>> Ring(0.35), Ring(0.35) == Ring(0.35, "top"), len({Ring(0.35), Ring(0.35)})
    (Ring(gap=0.35, land='top'), True, 1)
    >>> Ring(0.35).gap = 0.4
    Traceback (most recent call last):
    ...
    dataclasses.FrozenInstanceError: cannot assign to field 'gap'
    """

    def make(plain: type[Any]) -> type[Any]:
        made: Any = dataclass(init=False, repr=False, eq=False, kw_only=kw_only, slots=slots)(plain)
        shared = {"__repr__": _repr, "__setattr__": _set, "__delattr__": _delete}
        if slots:
            shared |= {"__getstate__": _state, "__setstate__": _restore}
        if eq:
            compared = [one.name for one in fields(made) if one.compare]
            # of two names or more a getter gives a tuple
            made._compared = attrgetter(*(compared or ["__class__"]), "__class__")
            shared |= {"__eq__": _equal, "__hash__": _hash}
        for name, method in shared.items():
            if name not in vars(plain):
                setattr(made, name, method)
        made.__init__ = _first_init(made)
        return cast(type[Any], made)

    return make if kind is None else make(kind)


def _first_init(kind: Any) -> Callable[..., None]:
    def init(self: Any, *args: Any, **kwargs: Any) -> None:
        kind.__init__ = _init_of(kind)
        kind.__init__(self, *args, **kwargs)

    return init


def _init_of(kind: Any) -> Callable[..., None]:
    """Write and compile the `__init__` of a record, past what holds it frozen.

    Slots are set through their descriptors, other fields in the dictionary of the thing: that is compiled and
    run in half the time that `object.__setattr__` for each of them takes.
    """
    given: dict[str, Any] = {"_UNSAID": MISSING}
    by_place: list[str] = []
    by_name: list[str] = []
    slots: list[str] = []
    others: list[str] = []
    for one in fields(kind):
        value = one.name
        if one.default is not MISSING:
            given[f"_usual_{one.name}"] = one.default
            said = f"{one.name}=_usual_{one.name}"
        elif one.default_factory is not MISSING:
            given[f"_new_{one.name}"] = one.default_factory
            said, value = f"{one.name}=_UNSAID", f"_new_{one.name}() if {one.name} is _UNSAID else {one.name}"
        else:
            said = one.name
        if one.init:
            (by_name if one.kw_only else by_place).append(said)
        else:
            value = f"_usual_{one.name}" if one.default is not MISSING else f"_new_{one.name}()"
        if isinstance(slot := getattr(kind, one.name, None), MemberDescriptorType):
            given[f"_set_{one.name}"] = slot.__set__
            slots.append(f"  _set_{one.name}(self, {value})")
        else:
            others.append(f"  _held[{one.name!r}] = {value}")
    lines = [*slots, *(["  _held = self.__dict__", *others] if others else [])]
    if hasattr(kind, "__post_init__"):
        lines.append("  self.__post_init__()")
    takes = ", ".join(["self", *by_place, *(["*", *by_name] if by_name else [])])
    made: dict[str, Any] = {}
    exec(f"def __init__({takes}):\n" + ("\n".join(lines) or "  pass"), given, made)  # names of fields alone
    init: Callable[..., None] = made["__init__"]
    init.__qualname__ = f"{kind.__qualname__}.__init__"
    return init


@recursive_repr()
def _repr(self: Any) -> str:
    said = (f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{type(self).__qualname__}({', '.join(said)})"


def _equal(self: Any, other: Any) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    compared = self._compared
    return compared(self) == compared(other)


def _hash(self: Any) -> int:
    return hash(self._compared(self))


def _set(self: Any, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _delete(self: Any, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, one.name) for one in fields(self)]


def _restore(self: Any, state: list[Any]) -> None:
    for one, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, one.name, value)
