"""Small faults planted in a module's text, one at a time: where one can go, and the text with it in.

Only the characters of the fault change, so that lines stay where they are. Code in f-strings,
annotations, decorators and docstrings is left alone: it decides nothing, or has no place of its own.
"""

from __future__ import annotations

import ast
from typing import NamedTuple


class Fault(NamedTuple):
    """One change: what sort, on which line, from which octet to which, and what stands there then."""

    sort: str
    line: int
    start: int
    end: int
    before: str
    after: str


_OPPOSITE: dict[type[ast.cmpop], str] = {
    ast.Eq: "!=", ast.NotEq: "==", ast.Is: "is not", ast.IsNot: "is", ast.In: "not in",
    ast.NotIn: "in", ast.Lt: ">=", ast.LtE: ">", ast.Gt: "<=", ast.GtE: "<",
}  # fmt: skip
_BOUNDARY: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">",
}  # fmt: skip
_SIGNS: dict[type[ast.cmpop], str] = {
    ast.Eq: "==", ast.NotEq: "!=", ast.Is: "is", ast.IsNot: "is not", ast.In: "in",
    ast.NotIn: "not in", ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=",
}  # fmt: skip


def faults(text: str) -> list[Fault]:
    """Every fault that can be planted in a module, in the order of its text."""
    finder = _Finder(text)
    finder.visit(ast.parse(text))
    return sorted(set(finder.found), key=lambda fault: (fault.start, fault.end, fault.after))


def planted(text: str, fault: Fault) -> str:
    """The module with one fault in it."""
    octets = text.encode()
    if octets[fault.start : fault.end].decode() != fault.before:
        raise ValueError(f"line {fault.line} does not say {fault.before!r} there")
    return (octets[: fault.start] + fault.after.encode() + octets[fault.end :]).decode()


class _Finder(ast.NodeVisitor):
    """Walks a module and notes each place where a fault can go."""

    def __init__(self, text: str) -> None:
        self.found: list[Fault] = []
        self._octets = text.encode()
        self._starts = [0]
        for line in self._octets.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(line))

    def _at(self, line: int, column: int) -> int:
        return self._starts[line - 1] + column

    def _span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        assert node.end_lineno is not None and node.end_col_offset is not None
        return (
            self._at(node.lineno, node.col_offset),
            self._at(node.end_lineno, node.end_col_offset),
        )

    def _note(self, sort: str, line: int, start: int, end: int, after: str) -> None:
        before = self._octets[start:end].decode()
        if before != after:
            self.found.append(Fault(sort, line, start, end, before, after))

    def _text(self, node: ast.expr) -> str:
        start, end = self._span(node)
        return self._octets[start:end].decode()

    def _between(self, left: ast.expr, right: ast.expr, word: str) -> tuple[int, int] | None:
        """Where an operator stands between two operands, brackets and comments left alone."""
        start, end = self._span(left)[1], self._span(right)[0]
        gap = self._octets[start:end].decode()
        if "#" in gap or gap.count(word) != 1:
            return None
        at = start + len(gap[: gap.index(word)].encode())
        return at, at + len(word.encode())

    def visit_Compare(self, node: ast.Compare) -> None:
        """The opposite, and for more and less the boundary moved by one."""
        left = node.left
        for operator, right in zip(node.ops, node.comparators, strict=True):
            span = self._between(left, right, _SIGNS[type(operator)])
            if span:
                self._note("opposite", left.end_lineno or 0, *span, _OPPOSITE[type(operator)])
                if type(operator) in _BOUNDARY:
                    self._note("boundary", left.end_lineno or 0, *span, _BOUNDARY[type(operator)])
            left = right
        for one in (node.left, *node.comparators):
            for constant in [one, *(one.elts if isinstance(one, (ast.Tuple, ast.List)) else ())]:
                if isinstance(constant, ast.Constant) and isinstance(constant.value, str):
                    changed = repr(constant.value + "?")
                    self._note("word", constant.lineno, *self._span(constant), changed)
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """And for or, or for and, all along: half of them would bind otherwise."""
        word, other = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        start, end = self._span(node)
        parts, at = [], start
        for left, right in zip(node.values, node.values[1:], strict=False):
            span = self._between(left, right, word)
            if span is None:
                break
            parts += [self._octets[at : span[0]].decode(), other]
            at = span[1]
        else:
            text = "".join([*parts, self._octets[at:end].decode()])
            self._note("and/or", node.lineno, start, end, f"({text})")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        """A "not" left out."""
        if isinstance(node.op, ast.Not):
            self._note("not", node.lineno, *self._span(node), f"({self._text(node.operand)})")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        """A number one more, a true that is false."""
        if isinstance(node.value, bool):
            self._note("constant", node.lineno, *self._span(node), str(not node.value))
        elif isinstance(node.value, int):
            self._note("constant", node.lineno, *self._span(node), str(node.value + 1))

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Code in a string has no place of its own to point at."""

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        """Its value, not its annotation."""
        if node.value:
            self.visit(node.value)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        """Its defaults and its body, not how it is decorated or annotated."""
        for part in [*node.args.defaults, *node.args.kw_defaults, *node.body]:
            if part is not None:
                self.visit(part)

    def generic_visit(self, node: ast.AST) -> None:
        """Statements that only do something are left out in turn."""
        for name in ("body", "orelse", "finalbody"):
            listed = getattr(node, name, None)
            if isinstance(listed, list):
                for statement in listed:
                    self._drop(statement)
        super().generic_visit(node)

    def _drop(self, node: ast.stmt) -> None:
        doing = isinstance(node, (ast.AugAssign, ast.Raise, ast.Continue, ast.Break))
        if isinstance(node, ast.Expr):
            doing = not isinstance(node.value, ast.Constant)
        if isinstance(node, ast.Assign):
            doing = not any(isinstance(target, ast.Name) for target in node.targets)
        if doing:
            self._note("dropped", node.lineno, *self._span(node), "pass")
