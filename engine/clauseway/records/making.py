"""Data classes as `dataclasses` makes them, in a fraction of the time.

The standard library writes up to seven functions for each class as text and has each compiled, and it loads `inspect`;
for the classes that a check needs, that takes longer than the check. Here only `__init__` is written, all else is
shared code that knows the names of a class. What such a class is asked by `dataclasses` (`fields`, `replace`,
`is_dataclass`) is made when it is asked. What is not known here (`kw_only`, `InitVar` ...) is left to the standard
library, so that a class means the same either way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from operator import attrgetter
from reprlib import recursive_repr
from types import FunctionType, MemberDescriptorType
from typing import Any

RECORD = "__record__"


class _NoValue:
    def __repr__(self) -> str:
        return "<factory>"


_NO_VALUE: Any = _NoValue()
_ELSEWHERE = ("ClassVar", "InitVar", "KW_ONLY")


class Given:
    """What a class says of one of its fields with `field(...)`."""

    __slots__ = ("compare", "default", "default_factory", "init", "repr")

    def __init__(self, default: Any, default_factory: Any, init: bool, repr: bool, compare: bool) -> None:
        self.default = default
        self.default_factory = default_factory
        self.init = init
        self.repr = repr
        self.compare = compare


class Record:
    """What is known of a class that was made here: its fields, their types as text, and how it was asked for."""

    __slots__ = ("asked", "compared", "fields", "types")

    def __init__(self, fields: Mapping[str, Given], types: Mapping[str, str], asked: Mapping[str, bool]) -> None:
        self.fields = fields
        self.types = types
        self.asked = asked
        self.compared: Any = _getter([name for name, each in fields.items() if each.compare])


def field(
    *, default: Any = _NO_VALUE, default_factory: Any = _NO_VALUE, init: bool = True, repr: bool = True,
    compare: bool = True,
) -> Any:  # fmt: skip
    """What a class says of a field, as `dataclasses.field`."""
    return Given(default, default_factory, init, repr, compare)


def dataclass(cls: Any = None, /, *, frozen: bool = False, slots: bool = False, order: bool = False) -> Any:
    """The class with `__init__`, `__repr__`, `__eq__` and what else it asks for, as `dataclasses.dataclass`."""
    asked = {"frozen": frozen, "slots": slots, "order": order}
    if cls is None:
        return lambda cls: _made(cls, asked)
    return _made(cls, asked)


def replace(value: Any, /, **changes: Any) -> Any:
    """The same record with other values in some fields, as `dataclasses.replace`.

    Raises:
        TypeError: for a field that the class does not have.
        ValueError: for a field that cannot be given; a TypeError from Python 3.13 on.
    """
    record = _record_of(type(value))
    if record is None:
        return _replaced_by_library(value, changes)
    for name, each in record.fields.items():
        if not each.init:
            if name in changes:
                return _replaced_by_library(value, changes)
        elif name not in changes:
            changes[name] = getattr(value, name)
    return type(value)(**changes)


def _replaced_by_library(value: Any, changes: Mapping[str, Any]) -> Any:
    import dataclasses

    return dataclasses.replace(value, **changes)


def is_record(cls: type) -> bool:
    """Whether a class is one of these, or derived from one."""
    return _record_of(cls) is not None


def field_types(cls: type) -> Mapping[str, str]:
    """The fields of a data class, in order, with their types as they are written."""
    record = _record_of(cls)
    if record is not None:
        return record.types
    import dataclasses

    return {each.name: str(each.type) for each in dataclasses.fields(cls)}


def _record_of(cls: type) -> Record | None:
    """What is known of a class, where it, or the next data class above it, was made here."""
    for base in cls.__mro__:
        found: Record | None = vars(base).get(RECORD)
        if found is not None or "__dataclass_fields__" in vars(base):
            return found
    return None


# --- making a class -----------------------------------------------------------------------------------------------


def _made(cls: type, asked: Mapping[str, bool]) -> type:
    types: dict[str, str] = {}
    fields: dict[str, Given] = {}
    for base in cls.__mro__[-2:0:-1]:
        record: Record | None = vars(base).get(RECORD)
        if record is not None and record.asked["frozen"] is asked["frozen"]:
            types.update(record.types)
            fields.update(record.fields)
        elif "__dataclass_fields__" in vars(base):
            return _by_library(cls, asked)
    own: dict[str, Any] = vars(cls).get("__annotations__", {})
    for name, written in own.items():
        given = cls.__dict__.get(name, _NO_VALUE)
        if not isinstance(written, str) or any(each in written for each in _ELSEWHERE):
            return _by_library(cls, asked)
        if not isinstance(given, Given):
            given = Given(given, _NO_VALUE, True, True, True)
        if type(given.default).__hash__ is None:
            raise ValueError(f"mutable default {type(given.default)} for field {name} is not allowed")
        types[name], fields[name] = written, given
    record = Record(fields, types, asked)
    if asked["slots"]:
        cls = _with_slots(cls, tuple(own))
    else:
        for name in own:
            default = fields[name].default
            if default is not _NO_VALUE:
                setattr(cls, name, default)
            elif name in cls.__dict__:
                delattr(cls, name)
    _give_methods(cls, record)
    return cls


def _by_library(cls: type, asked: Mapping[str, bool]) -> type:
    """The class as the standard library makes it."""
    import dataclasses

    for name, given in list(vars(cls).items()):
        if isinstance(given, Given):
            setattr(cls, name, _standard(given))
    return dataclasses.dataclass(**asked)(cls)


def _standard(given: Given) -> Any:
    import dataclasses

    said = {name: getattr(given, name) for name in Given.__slots__}
    return dataclasses.field(**{name: value for name, value in said.items() if value is not _NO_VALUE})


def _with_slots(cls: type, own: tuple[str, ...]) -> type:
    held = dict(cls.__dict__)
    if "__slots__" in held:
        raise TypeError(f"{cls.__name__} already specifies __slots__")
    inherited = {name for base in cls.__mro__[1:-1] for name in vars(base).get("__slots__", ())}
    held["__slots__"] = tuple(name for name in own if name not in inherited)
    for name in (*own, "__dict__", "__weakref__"):
        held.pop(name, None)
    qualified = cls.__qualname__
    cls = type(cls)(cls.__name__, cls.__bases__, held)
    cls.__qualname__ = qualified
    return cls


def _give_methods(cls: Any, record: Record) -> None:
    fields, asked = record.fields, record.asked
    has = cls.__dict__
    explicit_hash = "__hash__" in has and not (has["__hash__"] is None and "__eq__" in has)
    made: dict[str, Any] = {
        RECORD: record,
        "__match_args__": tuple(name for name, each in fields.items() if each.init),
        "__repr__": _repr([name for name, each in fields.items() if each.repr]),
        "__eq__": _eq(record.compared),
        "__init__": _init(cls, record),
        "__dataclass_fields__": _Described("__dataclass_fields__"),
        "__dataclass_params__": _Described("__dataclass_params__"),
    }
    if not explicit_hash:
        made["__hash__"] = _hash(record.compared) if asked["frozen"] else None
    if asked["frozen"]:
        made |= {"__setattr__": _no_setting(cls, fields), "__delattr__": _no_deleting(cls, fields)}
        if asked["slots"]:
            made |= {"__getstate__": _getstate(tuple(fields)), "__setstate__": _setstate(tuple(fields))}
    if asked["order"]:
        made |= _orders(record.compared)
    own = {"__repr__", "__eq__", "__init__", "__match_args__", "__getstate__", "__setstate__"}
    for name, value in made.items():
        if not (name in own and name in has):
            if callable(value):
                value.__qualname__ = f"{cls.__qualname__}.{name}"
            setattr(cls, name, value)
    if "__replace__" not in has:
        # What `copy.replace` asks for, from Python 3.13 on.
        cls.__replace__ = replace


def _init(cls: type, record: Record) -> Callable[..., None]:
    """`__init__`, the one method that is written: its arguments have names and defaults."""
    frozen = record.asked["frozen"]
    known: dict[str, Any] = {}
    names, lines, defaults = ["self"], [], []
    for number, (name, given) in enumerate(record.fields.items()):
        # The text has numbers for names, so that it is the same for many classes.
        value, is_made = f"_{number}", given.default_factory is not _NO_VALUE
        if is_made:
            known |= {"_unset": _NO_VALUE, f"_made{number}": given.default_factory}
        if given.init:
            names.append(name)
            if is_made or given.default is not _NO_VALUE:
                defaults.append(given.default)
            elif defaults:
                raise TypeError(f"non-default argument {name!r} follows default argument")
            value = f"_made{number}() if {value} is _unset else {value}" if is_made else value
        elif is_made or given.default is not _NO_VALUE:
            known[f"_default{number}"] = given.default
            value = f"_made{number}()" if is_made else f"_default{number}"
        else:
            continue
        slot = getattr(cls, name, None)
        if not frozen:
            lines.append(f"self.{name}={value}")
        elif type(slot) is MemberDescriptorType:
            # A frozen class refuses the usual way; what its slot does with a value is found once, here.
            known[f"_set{number}"] = slot.__set__
            lines.append(f"_set{number}(self,{value})")
        else:
            known |= {"_set": object.__setattr__, f"_name{number}": name}
            lines.append(f"_set(self,_name{number},{value})")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    arguments = [f"_{number}" for number, given in enumerate(record.fields.values()) if given.init]
    body = "\n  ".join(lines or ["pass"])
    made = _maker(f"def make({','.join(known)}):\n def __init__({','.join(['self', *arguments])}):\n  {body}")(**known)
    code = made.__code__.replace(co_varnames=tuple(names))
    init = FunctionType(code, {"__name__": cls.__module__}, "__init__", tuple(defaults), made.__closure__)
    init.__annotations__ = {**record.types, "return": None}
    return init


@cache
def _maker(written: str) -> Callable[..., Any]:
    """What a text makes that says how `__init__` is made; compiled once for all classes that look alike."""
    found: dict[str, Any] = {}
    exec(f"{written}\n return __init__", {}, found)
    make: Callable[..., Any] = found["make"]
    return make


def _getter(names: list[str]) -> Callable[[Any], tuple[Any, ...]]:
    if not names:
        return _nothing
    if len(names) == 1:
        only = names[0]
        return lambda value: (getattr(value, only),)
    return attrgetter(*names)


def _nothing(_: Any) -> tuple[Any, ...]:
    return ()


def _eq(compared: Callable[[Any], tuple[Any, ...]]) -> Callable[..., Any]:
    def __eq__(self: Any, other: Any) -> Any:
        if other.__class__ is self.__class__:
            return compared(self) == compared(other)
        return NotImplemented

    return __eq__


def _hash(compared: Callable[[Any], tuple[Any, ...]]) -> Callable[..., int]:
    def __hash__(self: Any) -> int:
        return hash(compared(self))

    return __hash__


def _orders(compared: Callable[[Any], tuple[Any, ...]]) -> dict[str, Any]:
    def __lt__(self: Any, other: Any) -> Any:
        return compared(self) < compared(other) if other.__class__ is self.__class__ else NotImplemented

    def __le__(self: Any, other: Any) -> Any:
        return compared(self) <= compared(other) if other.__class__ is self.__class__ else NotImplemented

    def __gt__(self: Any, other: Any) -> Any:
        return compared(self) > compared(other) if other.__class__ is self.__class__ else NotImplemented

    def __ge__(self: Any, other: Any) -> Any:
        return compared(self) >= compared(other) if other.__class__ is self.__class__ else NotImplemented

    return {"__lt__": __lt__, "__le__": __le__, "__gt__": __gt__, "__ge__": __ge__}


def _repr(names: list[str]) -> Callable[..., str]:
    @recursive_repr("...")
    def __repr__(self: Any) -> str:
        return f"{self.__class__.__qualname__}({', '.join([f'{name}={getattr(self, name)!r}' for name in names])})"

    return __repr__


def _no_setting(cls: Any, fields: Mapping[str, Given]) -> Callable[..., None]:
    def __setattr__(self: Any, name: str, value: Any) -> None:
        if type(self) is cls or name in fields:
            from dataclasses import FrozenInstanceError

            raise FrozenInstanceError(f"cannot assign to field {name!r}")
        super(cls, self).__setattr__(name, value)

    return __setattr__


def _no_deleting(cls: Any, fields: Mapping[str, Given]) -> Callable[..., None]:
    def __delattr__(self: Any, name: str) -> None:
        if type(self) is cls or name in fields:
            from dataclasses import FrozenInstanceError

            raise FrozenInstanceError(f"cannot delete field {name!r}")
        super(cls, self).__delattr__(name)

    return __delattr__


def _getstate(names: tuple[str, ...]) -> Callable[..., list[Any]]:
    def __getstate__(self: Any) -> list[Any]:
        return [getattr(self, name) for name in names]

    return __getstate__


def _setstate(names: tuple[str, ...]) -> Callable[..., None]:
    def __setstate__(self: Any, state: list[Any]) -> None:
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    return __setstate__


class _Described:
    """What the standard library keeps on its classes, found out when it is asked for."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __get__(self, value: Any, cls: type) -> Any:
        owner = next(base for base in cls.__mro__ if vars(base).get(self.name) is self)
        record: Record = vars(owner)[RECORD]
        twin = type(owner.__name__, (), {"__annotations__": dict(record.types), "__module__": owner.__module__})
        for name, given in record.fields.items():
            setattr(twin, name, _standard(given))
        import dataclasses

        asked = {**record.asked, "slots": False}
        made: Any = dataclasses.dataclass(**asked)(twin)
        for name in ("__dataclass_fields__", "__dataclass_params__"):
            setattr(owner, name, vars(made)[name])
        return vars(owner)[self.name]
