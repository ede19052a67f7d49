"""Data classes made here mean what the standard library's mean, one by one."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import operator
import pickle
import subprocess
import sys
from collections.abc import Callable
from typing import Any, Generic, TypeVar

import pytest

from clauseway.language import core
from clauseway.law import codec
from clauseway.records import making

T = TypeVar("T")
FORMS = [
    {"frozen": frozen, "slots": slots, "order": order}
    for frozen in (True, False)
    for slots in (True, False)
    for order in (True, False)
]
Decorator = Callable[..., Any]


def classes(make: Decorator, field: Decorator, form: dict[str, bool]) -> dict[str, Any]:
    """The same classes by one decorator."""

    @make(**form)
    class Empty:
        """Nothing in it."""

    @make(**form)
    class One:
        only: float

        def twice(self) -> float:
            return self.only * 2

    @make(**form)
    class Many(Empty):
        first: int
        second: str = "b"
        made: list[int] = field(default_factory=list)
        aside: int = field(default=7, compare=False, repr=False)
        late: int = field(init=False, default=3)

    @make(**form)
    class Own(Generic[T]):
        value: Any
        all: Any = field(init=False, repr=False, compare=False)

        def __post_init__(self) -> None:
            object.__setattr__(self, "all", (self.value, self.value))

        def __hash__(self) -> int:
            return 5

        def __repr__(self) -> str:
            return "mine"

    @make(**form)
    class More(One):
        also: int = 2

    return {"Empty": Empty, "One": One, "Many": Many, "Own": Own, "More": More}


VALUES: dict[str, list[tuple[tuple[Any, ...], dict[str, Any]]]] = {
    "Empty": [((), {})],
    "One": [((1.0,), {}), ((), {"only": 2.0}), ((float("nan"),), {})],
    "Many": [((1,), {}), ((1, "b"), {"made": [3]}), ((), {"first": 0, "aside": 9}), ((1, "b", [], 8), {})],
    "Own": [(((),), {}), ((4,), {})],
    "More": [((1.0,), {}), ((1.0, 3), {}), ((), {"also": 2, "only": 1.0})],
}
CHANGES: list[dict[str, Any]] = [{}, {"first": 5}, {"only": 6.0}, {"nope": 1}, {"late": 1}]
WRONG: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    ((1,) * 9, {}),
    ((), {"nope": 1}),
    ((1,), {"first": 1, "only": 1}),
]


def outcome(ask: Callable[..., Any], *arguments: Any, **named: Any) -> Any:
    """What is answered, or the kind of error with its words."""
    try:
        return ask(*arguments, **named)
    except Exception as error:
        return type(error).__name__, str(error)


def shown(ask: Callable[..., Any], *arguments: Any, **named: Any) -> str:
    return repr(outcome(ask, *arguments, **named))


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_values_behave_as_those_of_the_standard_library(form: dict[str, bool]) -> None:
    ours = classes(making.dataclass, making.field, form)
    theirs = classes(dataclasses.dataclass, dataclasses.field, form)
    for name, calls in VALUES.items():
        pairs = [(ours[name](*given, **named), theirs[name](*given, **named)) for given, named in calls]
        for a, b in pairs:
            assert repr(a) == repr(b) == repr(copy.copy(a)) == repr(copy.deepcopy(a))
            assert outcome(hash, a) == outcome(hash, b)
            for changed in CHANGES:
                expected = shown(dataclasses.replace, b, **changed)
                assert shown(making.replace, a, **changed) == expected
                assert shown(dataclasses.replace, a, **changed) == expected
                assert shown(a.__replace__, **changed) == expected
            assert hasattr(a, "__dict__") is hasattr(b, "__dict__")
            for attribute in ("first", "only", "new"):
                # Of a frozen class with slots, the standard library of 3.11 says it in words about `super`.
                words = 0 if form["frozen"] and form["slots"] else 2
                for change, more in ((delattr, ()), (setattr, (1,))):
                    told, expected = (outcome(change, each, attribute, *more) for each in (a, b))
                    assert (told is None) is (expected is None)
                    assert words == 0 or told == expected
            assert shown(repr, a) == shown(repr, b)
        for number, (a, b) in enumerate(pairs):
            for c, d in pairs[number:]:
                for compare in (operator.eq, operator.ne, operator.lt, operator.le, operator.gt, operator.ge):
                    assert outcome(compare, a, c) == outcome(compare, b, d)
            assert outcome(operator.eq, a, b) is False
        for given, named in WRONG:
            assert outcome(ours[name], *given, **named) == outcome(theirs[name], *given, **named)


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_classes_answer_as_those_of_the_standard_library(form: dict[str, bool]) -> None:
    ours = classes(making.dataclass, making.field, form)
    theirs = classes(dataclasses.dataclass, dataclasses.field, form)
    for name, a in ours.items():
        b = theirs[name]
        assert dataclasses.is_dataclass(a)
        known = operator.attrgetter("name", "type", "init", "repr", "compare", "default")
        told = [known(each) for each in dataclasses.fields(b)]
        assert [known(each) for each in dataclasses.fields(a)] == told
        assert making.field_types(a) == making.field_types(b) == {each[0]: each[1] for each in told}
        assert a.__match_args__ == b.__match_args__
        assert str(inspect.signature(a)) == str(inspect.signature(b))
        assert a.__dataclass_params__.frozen is b.__dataclass_params__.frozen
        assert (a.__name__, a.__qualname__, a.__module__) == (b.__name__, b.__qualname__, b.__module__)
        assert getattr(a, "__slots__", None) == getattr(b, "__slots__", None)
        assert set(vars(b)) - set(vars(a)) <= {"__doc__"}
        assert a.__hash__ is None if b.__hash__ is None else a.__hash__ is not None


def test_what_is_not_known_here_is_left_to_the_standard_library() -> None:
    @making.dataclass(frozen=True)
    class Counted:
        value: int
        limit: dataclasses.InitVar[int] = 3
        _: dataclasses.KW_ONLY = None  # type: ignore[assignment]
        named: list[int] = making.field(default_factory=list)

        def __post_init__(self, limit: int) -> None:
            object.__setattr__(self, "value", min(self.value, limit))

    assert repr(Counted(5, named=[1])).endswith("Counted(value=3, named=[1])")
    assert not making.is_record(Counted)
    assert making.replace(Counted(1), value=2, limit=9).value == 2


def test_each_kind_derives_from_the_other() -> None:
    @making.dataclass(frozen=True)
    class Ours:
        a: int

    @dataclasses.dataclass(frozen=True)
    class Theirs(Ours):
        b: int = 2

    @making.dataclass(frozen=True)
    class Again(Theirs):
        c: int = 3

    class Plain(Ours):
        pass

    assert (Again(1), Theirs(1)) == (Again(1, 2, 3), Theirs(1, 2))
    assert making.replace(Again(1), b=5) == Again(1, 5)
    assert making.replace(Theirs(1), b=5) == Theirs(1, 5)
    assert (making.is_record(Plain), making.is_record(Theirs), making.is_record(int)) == (True, False, False)
    assert Plain(1) != Ours(1)
    with pytest.raises(TypeError, match="non-frozen"):

        @making.dataclass
        class Thawed(Ours):
            d: int = 1


def test_what_is_wrong_with_a_class_is_refused() -> None:
    with pytest.raises(TypeError, match="non-default argument 'b' follows default argument"):

        @making.dataclass
        class Mixed:
            a: int = 1
            b: int

    shared: list[int] = []
    with pytest.raises(ValueError, match="mutable default <class 'list'> for field a is not allowed"):

        @making.dataclass
        class Shared:
            a: list[int] = shared

    with pytest.raises(TypeError, match="already specifies __slots__"):

        @making.dataclass(slots=True)
        class Twice:
            __slots__ = ("a",)
            a: int


def test_records_of_the_engine_are_kept_and_matched() -> None:
    term = core.And((core.TRUE, core.Not(core.Name("x"))))
    assert pickle.loads(pickle.dumps(term)) == term
    match term:
        case core.And((_, core.Not(core.Name(name)))):
            assert name == "x"
        case _:
            pytest.fail("not matched")
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'parts'"):
        term.parts = ()  # type: ignore[misc]
    assert codec.decode(codec.encode(term)) == term


def test_a_record_that_holds_itself_can_be_shown() -> None:
    @making.dataclass
    class Chain:
        rest: Any = None

    chain = Chain()
    chain.rest = chain
    assert repr(chain).endswith("Chain(rest=...)")


def test_the_classes_of_a_check_are_made_without_the_standard_library() -> None:
    code = (
        "import sys, clauseway; clauseway.check; clauseway.open_project; clauseway.report_json\n"
        "import clauseway.law.packed; print(sorted({'dataclasses', 'inspect'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
