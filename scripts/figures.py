"""Print how the house is built: sizes, records that say the same, functions that ask too much.

Counts come from the syntax tree of src/strikeproof alone; nothing is imported and nothing is run.
"""

from __future__ import annotations

import ast
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

SOURCE = Path(__file__).parent.parent / "src" / "strikeproof"
LONG_FILE, LONG_FUNCTION, MANY_FIELDS, MANY_ARGUMENTS, SMALL_MODULE = 400, 50, 8, 6, 120
ASKING = 3
"""Arguments from which on a docstring has to say what each of them means."""


def read_modules(source: Path) -> dict[str, ast.Module]:
    """Syntax trees by dotted name, `strikeproof.room.module`; packages by the name of their folder."""
    trees = {}
    for path in sorted(source.rglob("*.py")):
        parts = path.relative_to(source.parent).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        trees[name] = ast.parse(path.read_text("utf-8"))
    return trees


def lines_of(node: ast.AST) -> int:
    """Lines that a node takes, decorators left out."""
    return (getattr(node, "end_lineno", 0) or 0) - getattr(node, "lineno", 0) + 1


def nodes(trees: dict[str, ast.Module], kind: type[ast.AST]) -> Iterator[ast.AST]:
    """All nodes of one kind."""
    return (node for tree in trees.values() for node in ast.walk(tree) if isinstance(node, kind))


def fields_of(node: ast.ClassDef) -> list[ast.AnnAssign]:
    """What a record holds: its annotated names, properties of the class itself excluded."""
    found = [each for each in node.body if isinstance(each, ast.AnnAssign)]
    return [each for each in found if "ClassVar" not in ast.unparse(each.annotation)]


def names_of(node: ast.ClassDef) -> set[str]:
    """Names of the fields of a record."""
    return {each.target.id for each in fields_of(node) if isinstance(each.target, ast.Name)}


def importers(trees: dict[str, ast.Module]) -> Counter[str]:
    """How many modules of the project import each module; a package and its parts count as what is named."""
    seen: set[tuple[str, str]] = set()
    for name, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                asked = {each.name for each in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                asked = {node.module, *(f"{node.module}.{each.name}" for each in node.names)}
            else:
                continue
            seen |= {(name, each) for each in asked if each in trees and each != name}
    return Counter(asked for _, asked in seen)


def names_asked(node: ast.FunctionDef) -> list[str]:
    """Names of the arguments that a caller may give."""
    given = node.args
    every = [*given.posonlyargs, *given.args, given.vararg, *given.kwonlyargs, given.kwarg]
    return [each.arg for each in every if each is not None and each.arg not in {"self", "cls"}]


def arguments_of(node: ast.FunctionDef) -> int:
    """How many arguments a caller may give."""
    return len(names_asked(node))


def names_described(node: ast.FunctionDef) -> list[str]:
    """Names under the heading "Parameters" of a docstring, as in `angle, torque : (n,)`."""
    lines = (ast.get_docstring(node) or "").splitlines()
    if "Parameters" not in lines:
        return []
    section = lines[lines.index("Parameters") + 2 :]
    end = next((i for i, line in enumerate(section) if re.fullmatch("-+", line)), len(section) + 1)
    heads = [line.split(" : ")[0] for line in section[: end - 1] if line and line[0] != " "]
    return [name.strip().lstrip("*") for head in heads for name in head.split(",")]


def is_described(node: ast.FunctionDef) -> bool:
    """Whether the docstring says what each argument means."""
    return set(names_asked(node)) <= set(names_described(node))


def public_functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions of a module and methods of its classes whose names begin with no underscore."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name[0] != "_":
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and node.name[0] != "_":
            for each in node.body:
                if isinstance(each, ast.FunctionDef) and each.name[0] != "_":
                    yield f"{node.name}.{each.name}", each


def is_kernel(node: ast.FunctionDef) -> bool:
    """Kernels see arrays and floats only, so that they are long and take many."""
    return any("kernel" in ast.unparse(each) for each in node.decorator_list)


def is_none(node: ast.AST | None) -> bool:
    """The word None."""
    return isinstance(node, ast.Constant) and node.value is None


Figures = list[tuple[str, int | list[str]]]


def find_figures(trees: dict[str, ast.Module], lengths: dict[str, int]) -> Figures:
    """Words, and a count or the names that are counted, in the order they are printed."""
    classes = [node for node in nodes(trees, ast.ClassDef) if isinstance(node, ast.ClassDef)]
    functions = [node for node in nodes(trees, ast.FunctionDef) if isinstance(node, ast.FunctionDef)]
    plain = [node for node in functions if not is_kernel(node)]
    public = [each for tree in trees.values() for each in public_functions(tree)]
    bare = [name for name, node in public if not ast.get_docstring(node)]
    asking = [node for _, node in public if arguments_of(node) >= ASKING]
    used = importers(trees)
    small = [name for name in trees if used[name] == 1 and lengths[name] < SMALL_MODULE]
    twice = [name for name, count in Counter(node.name for node in classes).items() if count > 1]

    def having(test: Callable[[ast.ClassDef], bool]) -> list[str]:
        return sorted(node.name for node in classes if test(node))

    return [
        ("files", len(trees)),
        ("lines", sum(lengths.values())),
        (f"files over {LONG_FILE} lines", [name for name, each in lengths.items() if each > LONG_FILE]),
        (f"modules under {SMALL_MODULE} lines with one importer", small),
        ("classes", len(classes)),
        ("class names used twice or more", sorted(twice)),
        (f"classes with more than {MANY_FIELDS} fields", having(lambda c: len(fields_of(c)) > MANY_FIELDS)),
        ("records that carry run and article", having(lambda c: {"run", "article"} <= names_of(c))),
        ("fields that default to None", sum(is_none(f.value) for c in classes for f in fields_of(c))),
        (f"functions over {MANY_ARGUMENTS} arguments, kernels left out", [
            node.name for node in plain if arguments_of(node) > MANY_ARGUMENTS
        ]),
        (f"functions over {LONG_FUNCTION} lines, kernels left out", [
            node.name for node in plain if lines_of(node) > LONG_FUNCTION
        ]),
        ("public functions without a docstring", bare),
        (f"public functions with {ASKING} arguments or more", len(asking)),
        ("of them with all parameters described", sum(map(is_described, asking))),
    ]  # fmt: skip


def main() -> None:
    """Print the figures; with `--list` the names behind them too."""
    trees = read_modules(SOURCE)
    lengths = {}
    for name in trees:
        place = SOURCE.parent / Path(*name.split("."))
        path = place / "__init__.py" if place.is_dir() else place.with_suffix(".py")
        lengths[name] = len(path.read_text("utf-8").splitlines())
    for words, found in find_figures(trees, lengths):
        names = found if isinstance(found, list) else []
        print(f"{len(names) if isinstance(found, list) else found:7,}  {words}")
        if "--list" in sys.argv[1:]:
            print("".join(f"{'':9}{name}\n" for name in names), end="")
    rooms = Counter(name.split(".")[1] for name in trees if "." in name)
    for room, files in sorted(rooms.items()):
        own = sum(lengths[name] for name in trees if f"{name}.".startswith(f"strikeproof.{room}."))
        if files > 1:
            print(f"{own:7,}  lines in {files} files of {room}")


if __name__ == "__main__":
    main()
