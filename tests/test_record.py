"""Records are what `dataclasses` makes, frozen: each held against a dataclass of the same fields."""

import copy
import dataclasses
import pickle
from dataclasses import dataclass, field
from functools import cached_property
from math import nan

import pytest

from compat.record import record


class Fields:
    """The plain class that both are made of."""

    width: float
    name: str = "rod"
    notes: list[str] = field(default_factory=list, compare=False)
    hidden: int = field(default=3, repr=False)
    own: dict[str, int] = field(default_factory=dict, init=False, repr=False, compare=False)


Slotted = record(slots=True)(type("Slotted", (), {**vars(Fields), "__module__": __name__}))


def both(**options):
    """A record and a frozen dataclass, of the same fields."""
    body = {key: value for key, value in vars(Fields).items() if key not in ("__dict__", "__weakref__")}
    again = {key: copy.copy(value) for key, value in body.items()}
    return record(**options)(type("Bolt", (), body)), dataclass(frozen=True, **options)(type("Bolt", (), again))


@pytest.fixture(params=[{}, {"slots": True}, {"kw_only": True}, {"eq": False}], ids=str)
def pair(request):
    return both(**request.param)


def test_made_and_shown_alike(pair):
    made = [kind(width=1.5, notes=["a"]) for kind in pair]
    assert repr(made[0]) == repr(made[1]) == "Bolt(width=1.5, name='rod', notes=['a'])"
    assert dataclasses.asdict(made[0]) == dataclasses.asdict(made[1])
    assert pair[0].__match_args__ == pair[1].__match_args__
    assert pair[0](width=1.0).notes is not pair[0](width=1.0).notes


def test_equal_where_a_dataclass_is(pair):
    cases = [{"width": 1.0}, {"width": 1.0, "name": "pin"}, {"width": 1.0, "notes": ["x"]}, {"width": nan}]
    for one in cases:
        for other in cases:
            ours, theirs = ((kind(**one), kind(**other)) for kind in pair)
            assert (ours[0] == ours[1]) == (theirs[0] == theirs[1])
            assert (len({*ours})) == len({*theirs})
    assert pair[0](width=1.0) != pair[1](width=1.0)


def test_refuses_what_a_dataclass_refuses(pair):
    for kind in pair:
        with pytest.raises(TypeError, match="missing 1 required"):
            kind()
        with pytest.raises(TypeError, match="unexpected keyword"):
            kind(width=1.0, own={})
        thing = kind(width=1.0)
        with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'width'"):
            thing.width = 2.0
        with pytest.raises(dataclasses.FrozenInstanceError, match="cannot delete field 'width'"):
            del thing.width


def test_changed_copies(pair):
    for kind in pair:
        thing = dataclasses.replace(kind(width=1.0), width=2.0)
        assert (thing.width, thing.name, type(thing)) == (2.0, "rod", kind)
        assert dataclasses.astuple(copy.deepcopy(thing)) == dataclasses.astuple(thing)


def test_takes_a_way_of_its_own():
    @record(kw_only=True)
    class Base:
        width: float

        def __post_init__(self):
            object.__setattr__(self, "width", float(self.width))

        def __repr__(self):
            return "mine"

    @record(kw_only=True)
    class More(Base):
        depth: float = 2.0

        @cached_property
        def area(self):
            return self.width * self.depth

    thing = More(width="3")
    assert (thing.area, thing.width, [one.name for one in dataclasses.fields(More)]) == (
        6.0,
        3.0,
        ["width", "depth"],
    )
    assert repr(Base(width=1)) == "mine"
    assert repr(thing) == f"{More.__qualname__}(width=3.0, depth=2.0)"
    assert thing == More(width=3)
    assert thing != Base(width=3)


def test_one_of_no_field_and_one_that_is_packed():
    @record
    class Nothing:
        """Tells only that it is there."""

    assert Nothing() == Nothing()
    assert len({Nothing(), Nothing()}) == 1
    thing = Slotted(1.0, "pin")
    assert pickle.loads(pickle.dumps(thing)) == thing
    assert not hasattr(thing, "__dict__")


def test_records_of_as_many_fields_keep_their_own_names() -> None:
    """Whatever the names are, and whether they stand in slots."""
    kinds = []
    for number in range(3):
        names = {f"{word}_{number}": float for word in ("bore", "stroke", "_0", "self_")}
        for slots in (False, True):
            body = {"__annotations__": names, f"self__{number}": float(number), "__module__": __name__}
            kinds.append((number, record(slots=slots)(type(f"Size{number}", (), body))))
    for number, kind in kinds:
        made = kind(86.0, **{f"stroke_{number}": 94.0, f"_0_{number}": 1.0})
        assert dataclasses.astuple(made) == (86.0, 94.0, 1.0, float(number))
        with pytest.raises(TypeError, match=rf"Size{number}.__init__.. missing 1 required .* '_0_{number}'"):
            kind(86.0, 94.0)
        with pytest.raises(TypeError, match="unexpected keyword argument 'bore'"):
            kind(1.0, 2.0, 3.0, bore=1.0)


@pytest.mark.parametrize("slots", [False, True])
def test_a_record_of_nothing(slots: bool) -> None:
    kind = record(slots=slots)(type("Nothing", (), {"__module__": __name__}))
    assert kind() == kind()
    with pytest.raises(TypeError):
        kind(1)
