"""XML files as a tree of elements, without what makes XML dangerous.

A document type and small internal entities are normal in the files that editors save and pass. External entities
are never fetched, and a file that declares one is refused; so is a file whose entities would expand beyond
`limits.MAX_ENTITY_TEXT`. The external part of a document type is not fetched either; nothing in a drawing needs it.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from typing import NamedTuple
from xml.parsers import expat

from seamtree.drawing import limits
from seamtree.drawing.encoding import decode_text, is_wide
from seamtree.drawing.wording import short
from seamtree.errors import DrawingError, Finding, SeamtreeError

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
XLINK_NAMESPACE = "http://www.w3.org/1999/xlink"

_DRAWN_NAMESPACES = frozenset({"", SVG_NAMESPACE})
_SEPARATOR = "\n"  # between namespace and local name; cannot occur in either
_MAX_ENTITY_DEPTH = 16
_MOST_COMMENTS = 5
_AMPLIFICATION_BREACH = 43  # XML_ERROR_AMPLIFICATION_LIMIT_BREACH, unnamed in older Pythons
_ENTITY = re.compile(r"&([^\s&;#]+);")
_SAYS_WIDE = re.compile(rb"""\s*<\?xml[^>]*encoding\s*=\s*["'](?:utf-?16|utf-?32|ucs-?[24])""", re.IGNORECASE)
_PREDEFINED = frozenset({"amp", "lt", "gt", "apos", "quot"})


class Element:
    r"""One element of the tree.

    Attributes
    ----------
    tag
        Local name when the element belongs to SVG (or to no namespace), else an empty string.
    attributes
        Values by local name; by ``namespace`` + ``\n`` + ``local name`` for attributes in a namespace.
    text, tail
        Characters before the first child, and after this element inside its parent.
    line
        Line of the file on which its tag starts.
    """

    __slots__ = ("attributes", "children", "line", "parent", "tag", "tail", "text")

    def __init__(self, tag: str, attributes: dict[str, str], parent: Element | None, line: int) -> None:
        self.tag = tag
        self.attributes = attributes
        self.parent = parent
        self.line = line
        self.children: list[Element] = []
        self.text = ""
        self.tail = ""

    def get(self, name: str) -> str | None:
        """Return the attribute of that local name outside any namespace, or None."""
        return self.attributes.get(name)

    def href(self) -> str | None:
        """Return the reference of the element: plain ``href`` before ``xlink:href``."""
        plain = self.attributes.get("href")
        return self.attributes.get(XLINK_NAMESPACE + _SEPARATOR + "href") if plain is None else plain

    def in_namespaces(self, local: str) -> Iterator[str]:
        """Yield the values of all attributes with this local name that are in some namespace."""
        ending = _SEPARATOR + local
        for name, value in self.attributes.items():
            if name.endswith(ending):
                yield value

    def walk(self) -> Iterator[Element]:
        """Yield this element and all below it in the order of the file."""
        stack = [self]
        while stack:
            element = stack.pop()
            yield element
            stack.extend(reversed(element.children))


def unpack(data: bytes, source: str) -> bytes:
    """Return the data, unpacked if it is packed with gzip.

    Raises
    ------
    LimitError
        When there are more bytes than `limits.MAX_BYTES`, packed or unpacked.
    DrawingError
        ``not-xml`` when the packed data is damaged.
    """
    limits.check_size(data, source)
    if not data.startswith(b"\x1f\x8b"):
        return data
    unpacker = zlib.decompressobj(wbits=31)
    try:
        unpacked = unpacker.decompress(data, limits.MAX_BYTES + 1)
    except zlib.error:
        unpacked = b""
    limits.check_size(unpacked, source)
    if not unpacker.eof:
        message = f"{source} is packed with gzip, but the packed data is damaged. Save the drawing again."
        raise DrawingError(Finding("not-xml", message), source=source)
    return unpacked


class Document(NamedTuple):
    """A parsed file: its root, its first comments, and the names of the namespaces that it declares."""

    root: Element
    comments: tuple[str, ...]
    namespaces: frozenset[str]


def parse_xml(data: bytes, source: str) -> Document:
    """Parse an XML file.

    Parameters
    ----------
    data
        The file: UTF-8, UTF-16 or what its XML declaration names.
    source
        File name for messages.

    Returns
    -------
    Document
        What is in it.

    Raises
    ------
    DrawingError
        ``not-xml``, ``external-entity`` or ``entity-bomb``.
    LimitError
        When elements are nested deeper than `limits.MAX_DEPTH` or are more than `limits.MAX_ELEMENTS`.
    """
    builder = _Builder(_in_utf8(data, source), source)
    try:
        builder.parse()
    except SeamtreeError:
        raise
    except expat.ExpatError as error:
        if error.code == _AMPLIFICATION_BREACH:
            builder.refuse_bomb()
        reason = expat.ErrorString(error.code)
        message = f"{source} is not a well-formed XML file: {reason} in line {error.lineno}."
        raise DrawingError(Finding("not-xml", message), source=source) from error
    except (LookupError, ValueError) as error:
        message = f"{source} is not an XML file that can be read: its character encoding is unknown."
        raise DrawingError(Finding("not-xml", message), source=source) from error
    if builder.root is None:
        raise DrawingError(Finding("not-xml", f"{source} is not an XML file."), source=source)
    return Document(builder.root, tuple(builder.comments), frozenset(builder.namespaces))


def _in_utf8(data: bytes, source: str) -> tuple[bytes, bool]:
    """Return the file, and whether it is in UTF-8 for certain, whatever it says itself.

    A byte-order mark and the width of the characters count before the XML declaration, for programs that save a file
    anew often leave the declaration as it was.
    """
    if not is_wide(data):
        return data, bool(_SAYS_WIDE.match(data))
    try:
        return decode_text(data).encode(), True
    except UnicodeError as error:
        message = f"{source} is not an XML file that can be read: its characters are damaged. Save the drawing again."
        raise DrawingError(Finding("not-xml", message), source=source) from error


class _Builder:
    """Receives the events of the parser and builds the tree."""

    def __init__(self, file: tuple[bytes, bool], source: str) -> None:
        self.root: Element | None = None
        self.comments: list[str] = []
        self.namespaces: set[str] = set()
        self._data, is_utf8 = file
        self._source = source
        self._open: list[Element] = []
        self._last_closed: Element | None = None
        self._count = 0
        self._entities: dict[str, str] = {}
        self._skips_silently = False
        self.parser = expat.ParserCreate("utf-8" if is_utf8 else None, namespace_separator=_SEPARATOR)
        self.parser.buffer_text = True
        # Defaults from the document type would be added to every element, and so even short ones multiply.
        self.parser.specified_attributes = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._characters
        self.parser.CommentHandler = self._comment
        self.parser.StartNamespaceDeclHandler = self._declare_namespace
        self.parser.EntityDeclHandler = self._declare_entity
        self.parser.StartDoctypeDeclHandler = self._start_doctype
        self.parser.EndDoctypeDeclHandler = self._end_doctype
        self.parser.ExternalEntityRefHandler = self._external

    def parse(self) -> None:
        """Parse the whole file."""
        self.parser.Parse(self._data, True)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        namespace, _, local = name.rpartition(_SEPARATOR)
        parent = self._open[-1] if self._open else None
        element = Element(
            local if namespace in _DRAWN_NAMESPACES else "", attributes, parent, self.parser.CurrentLineNumber
        )
        if parent is None:
            self.root = element
        else:
            parent.children.append(element)
        self._open.append(element)
        self._last_closed = None
        self._count += 1
        if len(self._open) > limits.MAX_DEPTH:
            limits.refuse(
                f"In {self._source} elements are nested more than {limits.MAX_DEPTH} deep "
                f"(line {element.line}). Ungroup the drawing.",
                source=self._source,
            )
        if self._count > limits.MAX_ELEMENTS:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_ELEMENTS:,} elements. Split the drawing.",
                source=self._source,
            )

    def _end(self, _name: str) -> None:
        self._last_closed = self._open.pop()

    def _characters(self, text: str) -> None:
        if self._last_closed is not None:
            self._last_closed.tail += text
        elif self._open:
            self._open[-1].text += text

    def _comment(self, text: str) -> None:
        if len(self.comments) < _MOST_COMMENTS:
            self.comments.append(text)

    def _declare_namespace(self, _prefix: str | None, name: str | None) -> None:
        if name:
            self.namespaces.add(name)

    def _start_doctype(self, _name: str, system_id: str | None, _public: str | None, _internal: int) -> None:
        self._skips_silently = system_id is not None

    def _declare_entity(
        self,
        name: str,
        is_parameter: int,
        value: str | None,
        _base: str | None,
        _system_id: str | None,
        _public_id: str | None,
        _notation: str | None,
    ) -> None:
        if value is None:
            self._external(name)
        if is_parameter:
            # What a parameter entity adds are declarations, and those are counted themselves.
            self._skips_silently = True
            return
        self._entities.setdefault(name, value or "")

    def _external(self, name: str | None, *_where: str | None) -> int:
        message = (
            f"{self._source} uses the external entity '{short(name or '')}'; nothing outside the file is fetched. "
            "Save the drawing as a plain SVG file."
        )
        raise DrawingError(Finding("external-entity", message), source=self._source)

    def _end_doctype(self) -> None:
        if not self._entities and not self._skips_silently:
            return
        text = self._data.decode("utf-8", "replace")
        sizes = self._expanded_sizes()
        counts: dict[str, int] = {}
        unknown: set[str] = set()
        for match in _ENTITY.finditer(text):
            name = match.group(1)
            if name in sizes:
                counts[name] = counts.get(name, 0) + 1
            elif name not in _PREDEFINED:
                unknown.add(name)
        if sum(sizes[name] * count for name, count in counts.items()) > limits.MAX_ENTITY_TEXT:
            self.refuse_bomb()
        if unknown and self._skips_silently:
            self._refuse_undefined(text, unknown)

    def _refuse_undefined(self, text: str, unknown: set[str]) -> None:
        # With an external document type the parser leaves out entities that it does not know, without a word.
        plain = _without(_without(_without(text, "<!--", "-->"), "<![CDATA[", "]]>"), "<!ENTITY", ">")
        for match in _ENTITY.finditer(plain):
            if match.group(1) in unknown:
                message = (
                    f"{self._source} uses the entity '{short(match.group(1))}', which it does not define. "
                    "Save the drawing as a plain SVG file."
                )
                raise DrawingError(Finding("not-xml", message), source=self._source)

    def _expanded_sizes(self) -> dict[str, int]:
        """Return how many characters each entity expands to."""
        sizes: dict[str, int] = {}

        def measure(name: str, depth: int) -> int:
            if depth > _MAX_ENTITY_DEPTH:
                self.refuse_bomb()
            if name not in sizes:
                value = self._entities[name]
                inner = (match.group(1) for match in _ENTITY.finditer(value))
                size = len(value) + sum(measure(each, depth + 1) for each in inner if each in self._entities)
                if size > limits.MAX_ENTITY_TEXT:
                    self.refuse_bomb()
                sizes[name] = size
            return sizes[name]

        for name in self._entities:
            measure(name, 1)
        return sizes

    def refuse_bomb(self) -> None:
        """Raise the error for entities that blow up."""
        message = (
            f"The entities of {self._source} expand to more than {limits.MAX_ENTITY_TEXT:,} characters or refer to "
            "each other without end. Save the drawing as a plain SVG file."
        )
        raise DrawingError(Finding("entity-bomb", message), source=self._source)


def _without(text: str, start: str, end: str) -> str:
    """Return the text without what stands between two marks."""
    kept = []
    position = 0
    while (opening := text.find(start, position)) >= 0:
        kept.append(text[position:opening])
        closing = text.find(end, opening + len(start))
        position = len(text) if closing < 0 else closing + len(end)
    kept.append(text[position:])
    return "".join(kept)
