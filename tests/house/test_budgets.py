"""The house keeps its budgets: small files, short functions, few parameters, no cycles."""

from __future__ import annotations

import ast
import statistics
from collections.abc import Iterator
from pathlib import Path

import grimp
import pytest

ROOT = Path(__file__).parents[2]
SOURCE = sorted((ROOT / "src" / "evenhand").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
Function = ast.FunctionDef | ast.AsyncFunctionDef


def lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def functions() -> Iterator[tuple[str, Function]]:
    for path in SOURCE:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{path.relative_to(ROOT)}:{node.name}", node


def body_lines(function: Function) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body
    first = body[0]
    if (
        isinstance(first, ast.Expr)
        and isinstance(first.value, ast.Constant)
        and isinstance(first.value.value, str)
    ):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_files_are_small() -> None:
    """The median file (of those over 20 lines) holds at most 150 lines, none over 600."""
    sizes = {str(path.relative_to(ROOT)): lines(path) for path in SOURCE}
    assert not {path: size for path, size in sizes.items() if size > 600}
    assert statistics.median(size for size in sizes.values() if size > 20) <= 150


def test_functions_are_short() -> None:
    """95 % of function bodies hold at most 40 lines, none over 80."""
    sizes = {name: body_lines(function) for name, function in functions()}
    assert not {name: size for name, size in sizes.items() if size > 80}
    longer = {name: size for name, size in sizes.items() if size > 40}
    assert len(longer) <= 0.05 * len(sizes), longer


def test_functions_take_few_parameters() -> None:
    """At most 8 parameters, self and cls aside."""
    many = {}
    for name, function in functions():
        args = function.args
        names = [arg.arg for arg in (*args.posonlyargs, *args.args, *args.kwonlyargs)]
        count = len([arg for arg in names if arg not in ("self", "cls")])
        if count > 8 and not name.startswith("src/evenhand/cli/"):
            many[name] = count
    assert not many


def test_everything_is_annotated() -> None:
    """Every parameter and every result has a type."""
    bare = []
    for name, function in functions():
        args = function.args
        every = (*args.posonlyargs, *args.args, *args.kwonlyargs)
        if function.returns is None or any(
            arg.annotation is None and arg.arg not in ("self", "cls") for arg in every
        ):
            bare.append(name)
    assert not bare


def test_no_import_cycles() -> None:
    """No module imports itself by a detour, lazy imports included."""
    graph = grimp.build_graph("evenhand", exclude_type_checking_imports=True, cache_dir=None)
    cycles = []
    for module in sorted(graph.modules):
        for imported in graph.find_modules_directly_imported_by(module):
            if graph.chain_exists(importer=imported, imported=module):
                cycles.append((module, imported))
    assert not cycles


def test_tests_are_at_least_as_long_as_the_source() -> None:
    """The suite is no afterthought. Expectations written by hand beside the files of quirks are tests too."""
    expectations = sorted((ROOT / "tests" / "files").rglob("*.expected.json"))
    assert sum(map(lines, [*TESTS, *expectations])) >= sum(map(lines, SOURCE))


@pytest.mark.parametrize(
    "room", sorted(path.parent.name for path in (ROOT / "src" / "evenhand").glob("*/__init__.py"))
)
def test_every_room_says_what_it_is(room: str) -> None:
    """Each room's `__init__` opens with a sentence that says what it does and what it never does."""
    tree = ast.parse((ROOT / "src" / "evenhand" / room / "__init__.py").read_text(encoding="utf-8"))
    sentence = ast.get_docstring(tree) or ""
    assert any(word in sentence for word in ("never", "Never", "nothing", "Nothing", "no ", "without")), (
        sentence
    )
