"""Every small wrong change that a source text offers, as a piece of text replaced."""

import ast
import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

ONE_OFF = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
OPPOSITE = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
ARITHMETIC = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
CALLS = {"min": "max", "minimum": "maximum", "any": "all", "ceil": "floor"}
CALLS |= {new: old for old, new in CALLS.items()}
EITHER_WAY = {"min", "max", "minimum", "maximum", "clip"}  # of their first two
EMPTY = {"tuple": "()", "list": "[]", "dict": "{}", "frozenset": "frozenset()"}
UNTOUCHED = ("annotation", "returns", "decorator_list")

Siblings = Mapping[str, tuple[str, ...]]
New = tuple[str, ast.AST, str]  # kind of change, what is replaced, by which text


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One wrong change: the bytes from `start` to `end` of `path` become `new`."""

    path: str
    line: int
    last_line: int
    head_line: int  # of the statement it lies in
    kind: str
    start: int
    end: int
    new: str
    was: str  # the lines it touches, as they stand and as they become
    now: str


def siblings(texts: Mapping[str, str]) -> Siblings:
    """Return for each field of a record the next of the same type beside it."""
    found: dict[str, tuple[str, ...]] = {}
    for text in texts.values():
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.ClassDef):
                continue
            typed = {
                line.target.id: ast.unparse(line.annotation)
                for line in node.body
                if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
            }
            for name, kind in typed.items():
                like = [n for n, k in typed.items() if k == kind]
                after = like[(like.index(name) + 1) % len(like)]
                if after not in (name, *found.get(name, ())):
                    found[name] = (*found.get(name, ()), after)
    return found


def changes(path: str, text: str, fields: Siblings) -> list[Change]:
    """Return every change that `text` offers, in the order of the text."""
    source = text.encode()
    begins = [0]
    for line in source.splitlines(keepends=True):
        begins.append(begins[-1] + len(line))
    out = []
    for kind, node, new, head in _offered(ast.parse(text), fields):
        first, last = node.lineno, node.end_lineno
        start = begins[first - 1] + node.col_offset
        end = begins[last - 1] + node.end_col_offset
        lines = source[begins[first - 1] : start] + new.encode()
        lines += source[end : begins[last]]
        was = source[begins[first - 1] : begins[last]]
        if lines == was:
            continue
        out.append(
            Change(
                path=path,
                line=first,
                last_line=last,
                head_line=head,
                kind=kind,
                start=start,
                end=end,
                new=new,
                was=" ".join(was.decode().split()),
                now=" ".join(lines.decode().split()),
            )
        )
    return sorted(out, key=lambda c: (c.start, c.end, c.kind, c.new))


def changed(source: bytes, change: Change) -> bytes:
    """Return `source` with the change made; SyntaxError if that is no Python."""
    new = source[: change.start] + change.new.encode() + source[change.end :]
    compile(new, change.path, "exec")
    return new


def _offered(tree: ast.Module, fields: Siblings):
    """Yield (kind, node, new text, line of its statement), leaving out mere words."""
    todo: list[tuple[ast.AST, int, ast.AST]] = [(tree, 1, tree)]
    while todo:
        node, head, scope = todo.pop()
        if isinstance(node, ast.stmt):
            head = node.lineno
        if isinstance(node, ast.JoinedStr):
            continue  # words; and their parts have no true place before Python 3.12
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        if isinstance(node, ast.FunctionDef):
            scope = node
        for kind, old, new in (
            *_compared(node),
            *_joined(node),
            *_reckoned(node),
            *_called(node),
            *_gone(node, scope),
            *_other(node, scope, fields),
        ):
            yield kind, old, new, head
        for name, value in ast.iter_fields(node):
            below = value if isinstance(value, list) else [value]
            if name not in UNTOUCHED:
                todo += [(b, head, scope) for b in below if isinstance(b, ast.AST)]


def _text(node: ast.AST, **parts: object) -> str:
    """Return `node` as text in brackets, with some of its parts exchanged."""
    new = copy.copy(node)
    for name, part in parts.items():
        setattr(new, name, part)
    return f"({ast.unparse(new)})"


def _compared(node: ast.AST) -> Iterator[New]:
    if isinstance(node, ast.Compare):
        for at, sign in enumerate(node.ops):
            for kind, table in (("one off", ONE_OFF), ("opposite", OPPOSITE)):
                if type(sign) in table:
                    ops = [*node.ops[:at], table[type(sign)](), *node.ops[at + 1 :]]
                    yield kind, node, _text(node, ops=ops)


def _joined(node: ast.AST) -> Iterator[New]:
    match node:
        case ast.BoolOp(op=op, values=values):
            other = ast.And() if isinstance(op, ast.Or) else ast.Or()
            yield "and/or", node, _text(node, op=other)
            for at in range(len(values)):
                kept = values[:at] + values[at + 1 :]
                new = kept[0] if len(kept) == 1 else ast.BoolOp(op=op, values=kept)
                yield "condition dropped", node, _text(new)
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "opposite", node, _text(operand)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield "sign", node, _text(operand)
        case ast.If(test=test) | ast.While(test=test):
            yield "condition dropped", test, "False"
            if isinstance(node, ast.If):
                yield "condition dropped", test, "True"
        case ast.IfExp(body=body, orelse=orelse):
            yield "branches swapped", node, _text(node, body=orelse, orelse=body)
        case ast.comprehension(iter=source, ifs=tests):
            yield from (("condition dropped", test, "True") for test in tests)
            yield from _shortened(source)
        case ast.For(iter=source):
            yield from _shortened(source)
        case _:
            pass


def _shortened(source: ast.AST) -> Iterator[New]:
    yield "only the first", source, f"[*{_text(source)}][:1]"
    yield "not the first", source, f"[*{_text(source)}][1:]"


def _reckoned(node: ast.AST) -> Iterator[New]:
    match node:
        case ast.BinOp(op=op) if type(op) in ARITHMETIC:
            yield "arithmetic", node, _text(node, op=ARITHMETIC[type(op)]())
        case ast.BinOp(op=ast.FloorDiv(), left=left):
            up = ast.unparse(_minus(ast.BinOp(_minus(left), node.op, node.right)))
            yield "arithmetic", node, f"({up})"
        case ast.BinOp(op=ast.BitOr() | ast.BitAnd() as op):
            other = ast.BitAnd() if isinstance(op, ast.BitOr) else ast.BitOr()
            yield "and/or", node, _text(node, op=other)
        case ast.AugAssign(op=op) if type(op) in ARITHMETIC:
            new = copy.copy(node)
            new.op = ARITHMETIC[type(op)]()
            yield "arithmetic", node, ast.unparse(new)
        case ast.Constant(value=bool() as value):
            yield "constant", node, repr(not value)
        case ast.Constant(value=int() as value):
            yield "constant", node, repr(value + 1)
            if value > 0:
                yield "constant", node, repr(value - 1)
        case ast.Constant(value=float() as value):
            yield "constant", node, repr(value * 1.1 if value else 0.1)
        case _:
            pass


def _minus(node: ast.expr) -> ast.UnaryOp:
    return ast.UnaryOp(op=ast.USub(), operand=node)


def _called(node: ast.AST) -> Iterator[New]:
    if not isinstance(node, ast.Call):
        return
    name = getattr(node.func, "id", getattr(node.func, "attr", ""))
    if name in CALLS:
        func = copy.copy(node.func)
        setattr(func, "id" if isinstance(func, ast.Name) else "attr", CALLS[name])
        yield "call", node, _text(node, func=func)
    for one, other in pairwise(node.args[name in EITHER_WAY :]):
        swapped = {one: other, other: one}
        args = [swapped.get(a, a) for a in node.args]
        yield "arguments swapped", node, _text(node, args=args)
    for left, right in pairwise(node.keywords):
        values = {left: right.value, right: left.value}
        keywords = [ast.keyword(k.arg, values.get(k, k.value)) for k in node.keywords]
        yield "arguments swapped", node, _text(node, keywords=keywords)


def _gone(node: ast.AST, scope: ast.AST) -> Iterator[New]:
    """Yield the statement left out, or what it returns left empty."""
    match node:
        case ast.Expr(value=ast.Call()) | ast.AugAssign() | ast.Raise():
            yield "statement dropped", node, "pass"
        case (
            ast.Continue() | ast.Break() | ast.Expr(value=ast.Yield() | ast.YieldFrom())
        ):
            yield "statement dropped", node, "pass"
        case ast.Return(value=ast.expr() as value) if isinstance(
            scope, ast.FunctionDef
        ):
            kind = ast.unparse(scope.returns) if scope.returns else ""
            if "None" in kind.split(" | "):
                yield "returns nothing", value, "None"
            elif empty := EMPTY.get(kind.split("[")[0]):
                yield "returns nothing", value, empty


def _other(node: ast.AST, scope: ast.AST, fields: Siblings) -> Iterator[New]:
    """Yield another field of the same record, another argument of the same type."""
    match node:
        case ast.Attribute(attr=attr, ctx=ast.Load()):
            for other in fields.get(attr, ()):
                yield "another field", node, _text(node, attr=other)
        case ast.Name(id=name, ctx=ast.Load()) if isinstance(scope, ast.FunctionDef):
            typed = {
                a.arg: ast.unparse(a.annotation)
                for a in (*scope.args.args, *scope.args.kwonlyargs)
                if a.annotation
            }
            for other, kind in typed.items():
                if other != name and kind == typed.get(name):
                    yield "another argument", node, other
