"""Draws every sentence that is said to the painter out of the code, for whoever translates it.

    .venv/bin/python packaging/words.py [FILE]

Writes one JSON object, each English sentence with an empty translation, to FILE or to the terminal; what a catalogue
already at FILE translates is kept. What is said from a table of resources/, from a rule, or from the words that a
record may hold comes with the rest. A call that can't be drawn out is named with its place, and nothing is written:
exit status 1.
"""

import ast
import json
import re
import string
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CODE = ROOT / "benchtool"
TELLERS = {"say": 1, "say_n": 2}
"""How many sentences each of these takes, first of all."""
FIELDS = frozenset({"ask", "how", "why", "words", "what", "remedy", "moisture", "note"})
"""Fields of the tables in resources/ that are said from there."""
REASONS = frozenset({"reason", "source"})
"""What a step or a rule is given as its ground, and said by who explains it."""
OF_A_RULE = ("title", "reason", "source", "remedy")
"""What a rule is registered with, and said by who explains it."""
ENUMS = frozenset({"value", "during"})
"""What gives one of the words that a record may hold."""


@dataclass(frozen=True)
class Call:
    """One call that says something: its place, its sentences, the names it fills in, and what is wrong with it."""

    place: str
    sentences: tuple[str, ...]
    fault: str = ""


def calls(code: Path = CODE) -> Iterator[Call]:
    """Give every call of `say` and `say_n` in the code, in the order of the files."""
    for path, tree in _modules(code):
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in TELLERS and node.args:
                yield _call(node, f"{path.relative_to(code.parent).as_posix()}:{node.lineno}", TELLERS[node.func.id])


@cache
def _modules(code: Path) -> tuple[tuple[Path, ast.Module], ...]:
    """Read the code once; what says the sentences says what it is given."""
    paths = (path for path in sorted(code.rglob("*.py")) if path.name != "saying.py")
    return tuple((path, ast.parse(path.read_text(encoding="utf-8"))) for path in paths)


def _call(node: ast.Call, place: str, count: int) -> Call:
    parts = node.args[:count]
    if count == 1 and _attribute(parts[0]) in FIELDS.union(REASONS, OF_A_RULE, ENUMS):
        return Call(place, ())
    texts = tuple(p.value for p in parts if isinstance(p, ast.Constant) and isinstance(p.value, str))
    if len(texts) < count:
        return Call(place, (), f"says {ast.unparse(parts[0])}, which is no sentence in the code")
    return Call(place, texts, _mismatch(texts, node))


def _mismatch(texts: tuple[str, ...], node: ast.Call) -> str:
    """Say which names a call fills in that no sentence has, or has not that a sentence needs."""
    try:
        needed = {name for text in texts for name in placeholders(text)}
    except ValueError as wrong:
        return f"is no sentence to fill in ({wrong})"
    given = {k.arg for k in node.keywords if k.arg is not None} | ({"n"} if len(texts) == 2 else set())
    if any(k.arg is None for k in node.keywords):  # more names come from a group of values
        return ""
    missing, idle = needed - given, given - needed - {"n"}
    if not node.keywords and len(texts) == 1:
        return f"leaves {sorted(needed)} unfilled" if needed else ""
    if missing:
        return f"leaves {sorted(missing)} unfilled"
    return f"fills in {sorted(idle)}, which no sentence of it has" if idle else ""


def placeholders(text: str) -> set[str]:
    """Give the names that a sentence leaves open.

    Raises:
        ValueError: a brace stands alone, or a name is none.
    """
    names = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
    odd = [name for name in names if not re.fullmatch(r"[A-Za-z_]\w*", name)]
    if odd:
        raise ValueError(f"“{odd[0]}” is no name")
    return set(names)


def _attribute(node: ast.expr) -> str:
    """Give the field that is said, such as `note` of `row.note`; empty where it is none."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "capitalize":
        node = node.func.value
    return node.attr if isinstance(node, ast.Attribute) else ""


def from_elsewhere(code: Path = CODE, resources: Path = ROOT / "resources") -> Iterator[str]:
    """Give what is said from the tables, from the rules, and from the words that a record may hold."""
    for _, tree in _modules(code):
        for node in ast.walk(tree):
            match node:
                case ast.keyword(arg=name, value=ast.Constant(value=str(text))) if name in REASONS:
                    yield text
                case ast.ClassDef(bases=[ast.Name(id="StrEnum")], body=body):
                    yield from (
                        each.value.value
                        for each in body
                        if isinstance(each, ast.Assign)
                        and isinstance(each.value, ast.Constant)
                        and isinstance(each.value.value, str)
                    )
    yield from of_rules()
    for path in sorted(resources.glob("*.json")):
        yield from _values(json.loads(path.read_text(encoding="utf-8")))


def of_rules() -> Iterator[str]:
    """Give what the rules are registered with: asked of them, since a source may be put together from others."""
    if str(ROOT) not in sys.path:
        sys.path.insert(0, str(ROOT))
    from benchtool.rules.engine import ALL

    for rule in ALL:
        yield from (getattr(rule, name) for name in OF_A_RULE)


def _values(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key in FIELDS and isinstance(inner, str):
                yield inner
            else:
                yield from _values(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _values(inner)


def words() -> list[str]:
    """Give all sentences once, those of the code first, in the order of the files."""
    return list(dict.fromkeys([*(text for call in calls() for text in call.sentences), *from_elsewhere()]))


def main(argv: list[str]) -> int:
    """Write the catalogue."""
    wrong = [call for call in calls() if call.fault]
    for call in wrong:
        print(f"{call.place}: it {call.fault}.", file=sys.stderr)
    if wrong:
        return 1
    file = Path(argv[0]) if argv else None
    before = json.loads(file.read_text(encoding="utf-8")) if file is not None and file.exists() else {}
    made = json.dumps({text: before.get(text, "") for text in words()}, ensure_ascii=False, indent=1) + "\n"
    if file is None:
        sys.stdout.write(made)
    else:
        file.write_text(made, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
