"""Cascading style sheets as far as SVG drawings need them.

Selectors may name elements, ``*``, ids, classes, attributes (present, equal, one word of), ``:root`` and the
combinators descendant and child. tinycss2 parses; matching and the order of rules are done here, since matchers that
go back over ancestors take time beyond all limits for a selector with many of them: cssselect2 half a minute for
seven among forty nested groups.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from seamtree.drawing import limits
from seamtree.drawing.wording import short

if TYPE_CHECKING:
    from seamtree.drawing.svg.xml import Element

Declaration = tuple[str, str, bool]
"""Property in lower case, value, whether it is marked important."""

_LIVE = frozenset({"hover", "active", "focus", "focus-visible", "focus-within", "visited", "link", "target"})
"""Pseudo-classes that never hold in a drawing on paper."""

_MAX_BRACKETS = 64
_QUOTING = ("/*", '"', "'", "\\", "!", "{", "@", "data:")


class Compound(NamedTuple):
    """The conditions on one element of a selector, and how it is joined to the compound before it."""

    combinator: str = ""
    tag: str | None = None
    ids: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    attributes: tuple[tuple[str, str, str], ...] = ()
    root: bool = False

    def holds(self, element: Element) -> bool:
        """Tell whether the element fulfils the conditions."""
        if self.tag is not None and self.tag != element.tag:
            return False
        if self.root and element.parent is not None:
            return False
        if any(each != element.get("id") for each in self.ids):
            return False
        words = (element.get("class") or "").split() if self.classes else ()
        if any(each not in words for each in self.classes):
            return False
        return all(_attribute_holds(element.get(name), how, value) for name, how, value in self.attributes)


def _attribute_holds(actual: str | None, how: str, value: str) -> bool:
    if actual is None:
        return False
    if how == "=":
        return actual == value
    return how == "" or value in actual.split()


class Rule(NamedTuple):
    """One selector with its declarations."""

    selector: tuple[Compound, ...]
    declarations: tuple[Declaration, ...]
    specificity: tuple[int, int, int]


@dataclass(slots=True)
class StyleSheet:
    """The rules of a drawing, found by the last compound of their selectors.

    Attributes
    ----------
    source
        File name for messages.
    left_out
        Texts of what was not understood or not fetched, for a note.
    """

    source: str
    left_out: list[str] = field(default_factory=list)
    _rules: dict[str, list[tuple[int, Rule]]] = field(default_factory=dict)
    _count: int = 0
    _trials: int = 0
    _length: int = 0

    def add(self, text: str) -> None:
        """Add the rules of the text of a ``style`` element."""
        self._length += len(text)
        if self._length > limits.MAX_STYLE_TEXT:
            limits.refuse(
                f"The style sheets of {self.source} have more than {limits.MAX_STYLE_TEXT:,} characters. "
                "Save the drawing with presentation attributes instead of style sheets.",
                source=self.source,
            )
        if not is_shallow(text):
            self.left_out.append(text)
            return
        import tinycss2

        self._add_nodes(tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True))

    def _add_nodes(self, nodes: Sequence[Any]) -> None:
        import tinycss2

        for node in nodes:
            if node.type == "qualified-rule":
                declarations = _declarations(node.content)
                for part in _split(node.prelude, ","):
                    self._add_rule(part, declarations)
            elif node.type == "at-rule" and node.lower_at_keyword == "media" and node.content is not None:
                if tinycss2.serialize(node.prelude).strip().lower() in {"", "all", "screen"}:
                    self._add_nodes(tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True))
            elif node.type == "at-rule" and node.lower_at_keyword == "import":
                self.left_out.append(f"@import{tinycss2.serialize(node.prelude)}")
            elif node.type == "error":
                self.left_out.append(node.message)

    def _add_rule(self, tokens: Sequence[Any], declarations: tuple[Declaration, ...]) -> None:
        import tinycss2

        try:
            selector = tuple(_compounds(tokens))
        except _NeverHoldsError:
            return
        except ValueError:
            self.left_out.append(tinycss2.serialize(tokens).strip())
            return
        last = selector[-1]
        key = "#" + last.ids[0] if last.ids else "." + last.classes[0] if last.classes else last.tag or "*"
        self._count += 1
        rule = Rule(selector, declarations, _specificity(selector))
        self._rules.setdefault(key, []).append((self._count, rule))

    def declarations(self, element: Element) -> list[Declaration]:
        """Return the declarations of all rules that match the element, the strongest last."""
        if not self._rules:
            return []
        keys = ["*", element.tag, *("." + each for each in set((element.get("class") or "").split()))]
        if element.get("id") is not None:
            keys.append(f"#{element.get('id')}")
        tried = [entry for key in keys for entry in self._rules.get(key, ())]
        self._trials += len(tried)
        if self._trials > limits.MAX_RULE_TRIALS:
            limits.refuse(
                f"The style sheets of {self.source} take more than {limits.MAX_RULE_TRIALS:,} comparisons. "
                "Save the drawing with presentation attributes instead of style sheets.",
                source=self.source,
            )
        found = [(rule.specificity, order, rule) for order, rule in tried if matches(rule.selector, element)]
        found.sort(key=lambda entry: entry[:2])
        return [declaration for _, _, rule in found for declaration in rule.declarations]


@lru_cache(maxsize=512)
def parse_declarations(text: str) -> tuple[Declaration, ...]:
    """Return the declarations of a ``style`` attribute."""
    if len(text) > limits.MAX_VALUE_TEXT:
        raise ValueError(f"its style has more than {limits.MAX_VALUE_TEXT:,} characters")
    if not any(mark in text for mark in _QUOTING):
        pairs = (part.partition(":") for part in text.split(";"))
        return tuple((name.strip().lower(), value.strip(), False) for name, colon, value in pairs if colon)
    if not is_shallow(text):
        raise ValueError(f"its style '{short(text)}' has too many brackets inside each other")
    import tinycss2

    return _declarations(tinycss2.parse_component_value_list(text))


def _declarations(content: Sequence[Any]) -> tuple[Declaration, ...]:
    import tinycss2

    nodes = tinycss2.parse_declaration_list(content, skip_comments=True, skip_whitespace=True)
    return tuple(
        (node.lower_name, tinycss2.serialize(_without_comments(node.value)).strip(), node.important)
        for node in nodes
        if node.type == "declaration"
    )


def _without_comments(tokens: Sequence[Any]) -> list[Any]:
    return [token for token in tokens if token.type != "comment"]


def _split(tokens: Sequence[Any], mark: str) -> Iterator[list[Any]]:
    part: list[Any] = []
    for token in _without_comments(tokens):
        if _is_mark(token, mark):
            yield part
            part = []
        else:
            part.append(token)
    yield part


def is_shallow(text: str) -> bool:
    """Tell whether brackets are nested no deeper than any sensible style; tinycss2 recurses into them."""
    depth = 0
    for character in text:
        if character in "([{":
            depth += 1
            if depth > _MAX_BRACKETS:
                return False
        elif character in ")]}":
            depth = max(0, depth - 1)
    return True


class _NeverHoldsError(Exception):
    """The selector needs something that a drawing on paper never is, such as the pointer over it."""


def _compounds(tokens: Sequence[Any]) -> Iterator[Compound]:
    """Yield the compounds of one selector from left to right."""
    combinator = ""
    pending: list[Any] = []
    for token in _trimmed(tokens):
        joint = " " if token.type == "whitespace" else ">" if _is_mark(token, ">") else ""
        if not joint:
            pending.append(token)
            continue
        if pending:
            yield _compound(combinator, pending)
            pending, combinator = [], joint
        elif joint != " ":
            if combinator != " ":
                raise ValueError("two combinators in a row")
            combinator = joint
    if not pending:
        raise ValueError("a selector ends with a combinator or is empty")
    yield _compound(combinator, pending)


def _is_mark(token: Any, mark: str) -> bool:
    return bool(token == mark)


def _trimmed(tokens: Sequence[Any]) -> list[Any]:
    kept = list(tokens)
    while kept and kept[-1].type == "whitespace":
        kept.pop()
    while kept and kept[0].type == "whitespace":
        kept.pop(0)
    return kept


def _compound(combinator: str, tokens: list[Any]) -> Compound:
    tag: str | None = None
    ids: list[str] = []
    classes: list[str] = []
    attributes: list[tuple[str, str, str]] = []
    root = False
    rest = iter(tokens)
    for index, token in enumerate(rest):
        if token.type == "ident" and index == 0:
            tag = token.value
        elif token.type == "hash":
            ids.append(token.value)
        elif token.type == "[] block":
            attributes.append(_attribute(token.content))
        elif _is_mark(token, "."):
            classes.append(_name(next(rest, None)))
        elif _is_mark(token, ":"):
            root = _pseudo_class(next(rest, None)) or root
        elif not (index == 0 and _is_mark(token, "*")):
            raise ValueError("not a simple selector")
    return Compound(combinator, tag, tuple(ids), tuple(classes), tuple(attributes), root)


def _name(token: Any) -> str:
    if token is None or token.type != "ident":
        raise ValueError("a name is missing")
    return str(token.value)


def _pseudo_class(token: Any) -> bool:
    name = _name(token).lower()
    if name in _LIVE:
        raise _NeverHoldsError
    if name != "root":
        raise ValueError("unknown pseudo-class")
    return True


def _attribute(content: Sequence[Any]) -> tuple[str, str, str]:
    tokens = [token for token in _without_comments(content) if token.type != "whitespace"]
    name = _name(tokens[0] if tokens else None)
    if len(tokens) == 1:
        return name, "", ""
    if len(tokens) != 3 or tokens[1] not in ("=", "~=") or tokens[2].type not in {"ident", "string"}:
        raise ValueError("unknown attribute selector")
    return name, tokens[1].value, tokens[2].value


def _specificity(selector: tuple[Compound, ...]) -> tuple[int, int, int]:
    return (
        sum(len(each.ids) for each in selector),
        sum(len(each.classes) + len(each.attributes) + each.root for each in selector),
        sum(each.tag is not None for each in selector),
    )


def matches(selector: tuple[Compound, ...], element: Element) -> bool:
    """Tell whether a selector matches an element."""
    if not selector[-1].holds(element):
        return False
    # Candidates for the compound before; a set of elements replaces backtracking.
    candidates = [element]
    for index in range(len(selector) - 1, 0, -1):
        wanted, joint = selector[index - 1], selector[index].combinator
        found = {id(other): other for each in candidates for other in _related(each, joint) if wanted.holds(other)}
        if not found:
            return False
        candidates = list(found.values())
    return True


def _related(element: Element, combinator: str) -> Iterator[Element]:
    """Yield the parent, or all elements around the element, as the combinator says."""
    ancestor = element.parent
    while ancestor is not None:
        yield ancestor
        ancestor = None if combinator == ">" else ancestor.parent
