"""Every public function of calc tells its units, range and source, and its examples come out as printed."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest

import calc

MODULES = sorted({found.name for found in pkgutil.walk_packages(calc.__path__, "calc.")})
SYMBOLS = {
    "mm", "mm2", "mm²", "mm/mm", "mm/s", "um", "m2/s", "rad", "rad/s", "rad/mm", "rad/rad", "°C", "degC", "K", "1/K", "1e-6/K", "L", "s", "1/s", "kg",
    "kg/m3", "1/in", "N", "N/mm", "N·m", "MPa", "W", "J", "J/(kg K)", "W/(m K)", "W/(m2 K)", "1", "-", "text",
}  # fmt: skip
"""Units that a docstring may name: 1 is a pure number, - a name or a record."""
UNIT = re.compile(r"\[([^\[\]]+)\]")
SECTION = re.compile(r"^(Formula|Parameters|Returns|Result|Range|Source):|^>>>")


def public_functions(module: ModuleType) -> Iterator[tuple[str, Callable[..., Any]]]:
    """Public functions that the module defines, behind any cache."""
    for name, thing in vars(module).items():
        plain = inspect.unwrap(thing) if callable(thing) else thing
        if not name.startswith("_") and inspect.isfunction(plain) and plain.__module__ == module.__name__:
            yield name, plain


FUNCTIONS = [
    pytest.param(function, id=f"{module.removeprefix('calc.')}.{name}")
    for module in MODULES
    for name, function in public_functions(importlib.import_module(module))
]


def _text(function: Callable[..., Any]) -> str:
    return inspect.getdoc(function) or ""


def _part(text: str, opening: str) -> str:
    """What follows an opening such as 'width:' up to the next parameter, section or example, on one line."""
    found = re.search(rf"^\s*{opening}:(.*(?:\n(?!\s*(?:\w+:|>>>)|\s*$).*)*)", text, re.MULTILINE)
    return " ".join(found[1].split()) if found else ""


def _symbols(part: str) -> list[str]:
    """Unit symbols in the last bracket of a description: '[mm, rad]' -> ['mm', 'rad']."""
    brackets = UNIT.findall(part)
    return re.split(r",\s*|\s+or\s+", brackets[-1]) if brackets else []


def _result(text: str) -> str:
    return re.split(r"\b(?:Range|Source):", _part(text, "(?:Result|Returns)"))[0]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_it_opens_with_one_sentence(function: Callable[..., Any]) -> None:
    summary = _text(function).split("\n\n")[0]
    assert summary and "\n" not in summary and summary.endswith(".")
    # A point before a space would open a second sentence; figures and formulas carry theirs without one.
    assert not re.search(r"[a-z]{3}\. [A-Z]", summary)


@pytest.mark.parametrize("function", FUNCTIONS)
def test_every_parameter_has_its_unit(function: Callable[..., Any]) -> None:
    for name in inspect.signature(function).parameters:
        part = _part(_text(function), name)
        assert part, f"{name} is not described"
        assert part.endswith("]") and set(_symbols(part)) <= SYMBOLS, f"{name}: {part}"


@pytest.mark.parametrize("function", FUNCTIONS)
def test_its_result_has_its_unit(function: Callable[..., Any]) -> None:
    told = _result(_text(function))
    assert told
    if inspect.signature(function).return_annotation not in (None, "None"):
        assert _symbols(told) and set(_symbols(told)) <= SYMBOLS, told


@pytest.mark.parametrize("function", FUNCTIONS)
def test_it_says_where_it_holds_and_where_it_comes_from(function: Callable[..., Any]) -> None:
    text = _text(function)
    assert re.search(r"\bRange: \S", text), "no range"
    source = re.search(r"\bSource: (\S+ .*|\S+)", text)
    assert source and len(source[1]) > 5, "no source"


@pytest.mark.parametrize("function", FUNCTIONS)
def test_it_shows_an_example_with_an_answer(function: Callable[..., Any]) -> None:
    shown = doctest.DocTestParser().get_examples(_text(function))
    assert any(example.want for example in shown)
    assert any(function.__name__ + "(" in example.source for example in shown)


@pytest.mark.parametrize("name", MODULES)
def test_examples_come_out_as_printed(name: str) -> None:
    module = importlib.import_module(name)
    tests = [test for test in doctest.DocTestFinder().find(module, name) if test.examples]
    # Each public function's example is among those that run, one behind a cache too.
    assert {f"{name}.{function}" for function, _ in public_functions(module)} <= {test.name for test in tests}
    runner, told = doctest.DocTestRunner(), list[str]()
    for test in tests:
        runner.run(test, out=told.append)
    assert runner.failures == 0, "".join(told)
