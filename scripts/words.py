"""List every string that a person can meet, and find the words that none of them is to use.

`words.py` prints the catalogue: place, kind, text. `words.py --check` is the lint, with the list in
words.toml beside this file. Files of a surface that are not clean yet are named in words-to-do.txt. That list
only becomes shorter: `--write` removes the clean ones.
"""

from __future__ import annotations

import argparse
import ast
import io
import re
import sys
import tokenize
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
LIST, TO_DO = Path(__file__).with_name("words.toml"), Path(__file__).with_name("words-to-do.txt")
READ = ("src/**/*.py", "src/**/*.html", "src/**/*.js", "src/**/*.toml", "docs/**/*.md", "examples/*", "*.md")
SKIPPED = ("/uplot/", "/vue/", "record_render.js", "CHANGELOG.md", "/decisions/")
"""Somebody else's script, and what is history: it says what was said then."""

WORDY = re.compile(
    r"(?:[^\W\d_]{2,}|\{\})[,:;.]? +[^\W\d_]+|[^\W\d_]{2,}[,:;.]? +\{\}|^[A-Z][a-z]{2,}(?: \(.*)?$"
)
"""Two words in a row, one of them a value perhaps, or one with a capital: a sentence or a label."""
CODE = re.compile(
    r"\b(?:SELECT|INSERT|UPDATE|CREATE|PRAGMA|DELETE)\b|^[\w.-]+\(|</?\w+[ >]|\\[wsd]|^[.#\w-]+\{"
)
ARGUMENT = re.compile(r"^ +[\w*]+(?:, [\w*]+)*(?= : |$)|`[^` ]*`", re.MULTILINE)
"""A line of a docstring that names arguments, and names of code: they are not read as words."""
TAG = re.compile(r"<(style|script)\b.*?</\1>|\{[%#].*?[%#]\}|<[^>]*>", re.DOTALL)
EXPRESSION = re.compile(r"\{\{.*?\}\}", re.DOTALL)
QUOTED = re.compile(r"""(?<=[ (?:+,])(['"])([^'"<>\n]+)\1(?=[ ),:;}\]])""")
SAID_BY_TAG = re.compile(r"""(?<![:\w])(?:title|alt|aria-label|placeholder)=(["'])(.*?)\1""", re.DOTALL)
SCRIPT = re.compile(
    r""""((?:[^"\\\n]|\\.)*)"|'((?:[^'\\\n]|\\.)*)'|`((?:[^`\\]|\\.)*)`|(//[^\n]*|/\*.*?\*/)""", re.DOTALL
)


@dataclass(frozen=True, slots=True)
class Said:
    """One string that a person can meet: where, of which kind, and what it says."""

    path: str
    line: int
    kind: str
    text: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}\t{self.kind}\t{' '.join(self.text.split())}"


def read_python(path: str, text: str) -> Iterator[Said]:
    """Docstrings, errors, helps, other sentences and labels, and comments of a module."""
    yield from _walk(path, ast.parse(text), "said")
    if "#" in text:
        for token in tokenize.generate_tokens(io.StringIO(text).readline):
            if token.type == tokenize.COMMENT:
                yield Said(path, token.start[0], "comment", token.string.lstrip("# "))


def _walk(path: str, node: ast.AST, kind: str) -> Iterator[Said]:
    for child in ast.iter_child_nodes(node):
        if _is_code(child):
            continue
        below = kind
        if isinstance(child, ast.Raise):
            below = "error"
        elif isinstance(child, ast.keyword) and child.arg in ("help", "mend"):
            below = "help" if child.arg == "help" else "error"
        text = _text(child)
        if isinstance(child, ast.Expr) and isinstance(text := _text(child.value), str):
            called = isinstance(node, ast.FunctionDef) and _is_command(node)
            yield Said(path, child.lineno, "help" if called else "docstring", ARGUMENT.sub("", text))
        elif text is None:
            yield from _walk(path, child, below)
        else:
            if WORDY.search(text) and not CODE.search(text):
                yield Said(path, getattr(child, "lineno", 0), below, text)
            if isinstance(child, ast.JoinedStr):
                yield from _walk_inside(path, child, below)


def _walk_inside(path: str, joined: ast.JoinedStr, kind: str) -> Iterator[Said]:
    for each in joined.values:
        if isinstance(each, ast.FormattedValue):
            yield from _walk(path, each, kind)


def _text(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(each) or "{}" for each in node.values)
    return None


def _is_code(node: ast.AST) -> bool:
    """Names of a module for others, and codes that a type allows: nobody meets them."""
    if isinstance(node, ast.Assign):
        return any(isinstance(each, ast.Name) and each.id == "__all__" for each in node.targets)
    return isinstance(node, ast.Subscript) and ast.unparse(node.value) == "Literal"


def _is_command(node: ast.FunctionDef) -> bool:
    return any(
        "command" in ast.unparse(each) or "callback" in ast.unparse(each) for each in node.decorator_list
    )


def read_template(path: str, text: str, first: int = 1) -> Iterator[Said]:
    """What a page shows between its tags, what its tags say by themselves, and what its expressions quote."""
    for pattern in (SAID_BY_TAG, QUOTED):
        for found in pattern.finditer(text):
            if WORDY.search(found[2]):
                yield Said(path, first + text.count("\n", 0, found.start()), "template", found[2])
    line = first
    plain = EXPRESSION.sub("{}", TAG.sub(lambda found: "\0" + "\n" * found[0].count("\n"), text))
    for piece in plain.split("\0"):
        blank = piece[: len(piece) - len(piece.lstrip())]
        if WORDY.search(piece.strip()):
            yield Said(path, line + blank.count("\n"), "template", piece)
        line += piece.count("\n")


def read_script(path: str, text: str) -> Iterator[Said]:
    """Sentences, labels and comments of a script of the browser."""
    for found in SCRIPT.finditer(text):
        said = re.sub(r"\$\{[^}]*\}", "{}", found[1] or found[2] or found[3] or "")
        line = text.count("\n", 0, found.start()) + 1
        if found[4]:
            yield Said(path, line, "comment", found[4].strip("/* "))
        elif found[3] and "</" in said:
            yield from read_template(path, said, line)
        elif WORDY.search(said):
            yield Said(path, line, "said", said)


def read_lines(path: str, text: str) -> Iterator[Said]:
    """Each line of a document or of a file that people fill in; names of code in it are no words."""
    for number, line in enumerate(text.splitlines(), 1):
        if WORDY.search(line):
            yield Said(path, number, "docs", re.sub(r"`[^` ]*`", "``", line))


READERS = {".py": read_python, ".html": read_template, ".js": read_script}


def read_file(root: Path, path: Path) -> Iterator[Said]:
    """Everything in one file that a person can meet."""
    yield from READERS.get(path.suffix, read_lines)(
        path.relative_to(root).as_posix(), path.read_text("utf-8")
    )


def find_files(root: Path) -> list[Path]:
    """Files that are read, in order."""
    found = {path for pattern in READ for path in root.glob(pattern) if path.is_file()}
    return sorted(each for each in found if not any(part in f"/{each.relative_to(root)}" for part in SKIPPED))


@dataclass(frozen=True, slots=True)
class Rules:
    """The words not to be used: what to say instead of each, and the exceptions by path."""

    words: tuple[tuple[re.Pattern[str], str], ...]
    any_word: re.Pattern[str]
    exceptions: tuple[tuple[str, str], ...]

    def problems(self, said: Said) -> Iterator[str]:
        """What to change in one string."""
        for word, instead in self.words:
            for found in word.finditer(said.text):
                around = " ".join(said.text[max(found.start() - 40, 0) : found.end() + 40].split())
                if not any(path == said.path and words in around for path, words in self.exceptions):
                    place = f"{said.path}:{said.line + said.text.count(chr(10), 0, found.start())}"
                    yield f"{place}: {found[0]!r} in {around!r}: say {instead}"


def read_rules(path: Path) -> Rules:
    """The list of words beside this script."""
    given = tomllib.loads(path.read_text("utf-8"))
    finds = [each["find"] for each in given["word"]]
    words = [re.compile(rf"\b(?:{find})\b", re.IGNORECASE) for find in finds]
    exceptions = tuple((each["path"], each["words"]) for each in given.get("except", []))
    any_word = re.compile(rf"\b(?:{'|'.join(finds)})\b", re.IGNORECASE)
    return Rules(
        tuple(zip(words, [each["say"] for each in given["word"]], strict=True)), any_word, exceptions
    )


def surface(said: Said) -> str:
    """What a user reads, what the documents say, or what is read beside the code."""
    return {"docs": "docs", "docstring": "source", "comment": "source"}.get(said.kind, "shown")


def find_problems(root: Path, rules: Rules, to_do: set[str]) -> tuple[list[str], set[str]]:
    """What is to be changed outside the files of the list, and all surfaces of files that are not clean."""
    problems, unclean = [], set()
    for path in find_files(root):
        name = path.relative_to(root).as_posix()
        if {f"shown {name}", f"source {name}"} <= to_do or not rules.any_word.search(path.read_text("utf-8")):
            continue
        for said in read_file(root, path):
            place = f"{surface(said)} {said.path}"
            for problem in rules.problems(said):
                unclean.add(place)
                if place not in to_do:
                    problems.append(problem)
    return problems, unclean


def main(given: list[str] | None = None) -> int:
    """Print the catalogue, or the words that are to be changed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--check", action="store_true", help="the lint: exit code 1 for a word not to be used"
    )
    parser.add_argument("--write", action="store_true", help="remove clean files from words-to-do.txt")
    parser.add_argument("--root", type=Path, default=ROOT, help="the repository")
    asked = parser.parse_args(given)
    if not asked.check and not asked.write:
        for path in find_files(asked.root):
            for said in read_file(asked.root, path):
                print(said)
        return 0
    rules, to_do = read_rules(LIST), set(TO_DO.read_text("utf-8").splitlines())
    if asked.write:
        unclean = find_problems(asked.root, rules, set())[1]
        TO_DO.write_text("".join(f"{each}\n" for each in sorted(to_do & unclean)), "utf-8")
        return 0
    problems = find_problems(asked.root, rules, to_do)[0]
    print(*problems, sep="\n", end="\n" if problems else "")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
