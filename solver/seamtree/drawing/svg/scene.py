"""What an SVG document paints: its tree walked in paint order, with styles, transforms and references followed.

Coordinates are px of the root's viewport, x to the right and y down. Nothing is scaled to finished size, flattened or
judged here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from seamtree.drawing import limits
from seamtree.drawing.affine import IDENTITY, Affine, apply, compose, is_invertible, translation
from seamtree.drawing.clips import Clip
from seamtree.drawing.drawn import Label
from seamtree.drawing.flatten import encloses
from seamtree.drawing.outlines import Arc, Outline, bounds_of, moved, placing, rectangle
from seamtree.drawing.painted import PaintedShape, Sheet, Stroke
from seamtree.drawing.svg.compositing import GROUPS, NEVER_PAINTED, Compositing
from seamtree.drawing.svg.place import Place, called_itself, called_within, layer_names
from seamtree.drawing.svg.shapes import SHAPES, BadValueError, Viewport, read_length, read_outlines
from seamtree.drawing.svg.style import INITIAL, Paint, Style
from seamtree.drawing.svg.style_sheets import StyleSheet
from seamtree.drawing.svg.styles import Styles, shows
from seamtree.drawing.svg.tally import Tally
from seamtree.drawing.svg.values import fit_view_box, parse_number, parse_view_box
from seamtree.drawing.svg.xml import Element
from seamtree.drawing.wording import short
from seamtree.errors import Finding, OptionError, Point

MAX_PX = 1e12
"""No drawing reaches as far from its origin; beyond, the arithmetic loses the digits that seams need."""

_DEFAULT_SIZE = (300.0, 150.0)
"""CSS 2.2, section 10.3.2: size of a replaced element that states none, in px."""

_TOO_FAR = "reaches so far out, once transforms are applied, that no seam can be meant"


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that a document paints, and what makes it unusable.

    Parameters
    ----------
    sheet
        What is painted; its page is the rectangle of the viewBox (of the viewport where there is none).
    findings
        What makes the drawing unusable.
    """

    sheet: Sheet
    findings: tuple[Finding, ...]


def read_scene(
    root: Element, *, source: str, skip_layers: Collection[str] = (), marks: Collection[str] = ()
) -> Scene:
    """Walk an SVG document.

    Parameters
    ----------
    root
        The root element, an ``svg``.
    source
        File name for messages.
    skip_layers
        Labels, ids or classes of elements to leave out with everything inside them.
    marks
        Such names of what is sewn on afterwards.

    Raises
    ------
    OptionError
        When nothing has a name of `skip_layers` or `marks`.
    LimitError
        When the document is larger than a limit.
    """
    walker = _Walker(root, source, skip_layers, marks)
    return walker.walk()


class _Walker:
    def __init__(self, root: Element, source: str, skip_layers: Collection[str], marks: Collection[str]) -> None:
        self._root = root
        self._source = source
        self._skip = frozenset(skip_layers)
        self._marks = frozenset(marks)
        ids: dict[str, Element] = {}
        numbers: dict[Element, int] = {}
        sheet = StyleSheet(source)
        self._styles = Styles(ids, sheet)
        self._tally = Tally(source, numbers)
        self._compositing = Compositing(self._styles, self._tally)
        self._has_page = True
        self._index(ids, numbers, sheet)

    def _index(self, ids: dict[str, Element], numbers: dict[Element, int], sheet: StyleSheet) -> None:
        """Find ids and style sheets, and number the elements of each kind for messages."""
        counts: dict[str, int] = {}
        for element in self._root.walk():
            counts[element.tag] = numbers[element] = counts.get(element.tag, 0) + 1
            identity = element.get("id")
            if identity is not None:
                ids.setdefault(identity, element)
            if element.tag == "style" and _is_css(element):
                sheet.add(element.text)
        self._check_layers()

    def _check_layers(self) -> None:
        wanted = self._skip | self._marks
        if not wanted:
            return
        known: dict[str, None] = {}
        groups: dict[str, None] = {}
        for element in self._root.walk():
            names = list(layer_names(element))
            known.update(dict.fromkeys(names))
            if element.tag in GROUPS:
                groups.update(dict.fromkeys(names))
        missing = sorted(wanted - known.keys())
        if missing:
            shown = ", ".join(f"'{short(name)}'" for name in [*groups][:20]) or "none"
            unknown = ", ".join(f"'{short(name)}'" for name in missing)
            raise OptionError(
                f"Nothing in {self._source} has the layer name, id or class {unknown}. Groups with names: {shown}."
            )

    def walk(self) -> Scene:
        start = self._start()
        if start is not None:
            self._run(start)
        tally = self._tally
        page = self._page if start is not None else (0.0, 0.0, 0.0, 0.0)
        sheet = Sheet(
            self._source,
            tuple(tally.shapes),
            tuple([Label(each.text, each.at) for each in tally.labels]),
            page,
            self._has_page,
            tuple(self._tally.notes(self._skip, self._styles)),
            sum(tally.left_out.values()),
        )
        return Scene(sheet, tuple(tally.findings.values()))

    def _run(self, start: list[tuple[Element, Place]]) -> None:
        stack = start[::-1]
        while stack:
            element, place = stack.pop()
            self._tally.elements += 1
            if self._tally.elements > limits.MAX_ELEMENTS:
                self._tally.refuse(f"more than {limits.MAX_ELEMENTS:,} elements once references are followed")
            if place.depth > limits.MAX_DEPTH:
                self._tally.refuse(f"elements nested more than {limits.MAX_DEPTH} deep once references are followed")
            try:
                stack.extend(reversed(self._visit(element, place)))
            except BadValueError as fault:
                self._tally.find_bad_value(element, place._replace(layer=self._layer(element, place)), fault)

    def _start(self) -> list[tuple[Element, Place]] | None:
        """Return the children of the root with their place, None when the root has a fault or does not show."""
        root = self._root
        nowhere = Place(IDENTITY, INITIAL, Viewport(*_DEFAULT_SIZE))
        try:
            style = self._styles.of(root, INITIAL)
            view_box = _view_box(root)
            width, height = (self._stated_size(name, style) for name in ("width", "height"))
            if 0.0 in (width, height) or (view_box is not None and 0.0 in view_box[2:]):
                self._tally.find(root, nowhere, "zero-size", "has no size: its width, height or viewBox is zero")
                return None
            matrix, viewport = self._root_frame(view_box, width, height)
            if not shows(style):
                return []
            matrix = compose(matrix, self._styles.transform(style, viewport))
        except BadValueError as fault:
            self._tally.find_bad_value(root, nowhere._replace(layer=self._layer(root, nowhere)), fault)
            return None
        place = Place(
            matrix, style, viewport, layer=self._layer(root, nowhere), marked=self._is_marked(root), depth=2
        )
        return [(child, place) for child in root.children]

    def _stated_size(self, name: str, style: Style) -> float | None:
        """Return width or height of the root in px, None when the file leaves it to the program that shows it."""
        value = style[name]
        if not value or value.lower() == "auto" or value.endswith("%"):
            return None
        size = read_length(name, value, style, Viewport(*_DEFAULT_SIZE))
        if size < 0.0:
            raise BadValueError("bad-number", name, value, "is negative")
        return size

    def _root_frame(
        self,
        view_box: tuple[float, float, float, float] | None,
        width: float | None,
        height: float | None,
    ) -> tuple[Affine, Viewport]:
        """Return the map from user units to px, and the viewport in user units; note where the page lies."""
        if view_box is None:
            viewport = Viewport(width or _DEFAULT_SIZE[0], height or _DEFAULT_SIZE[1])
            self._page = (0.0, 0.0, viewport.width, viewport.height)
            self._has_page = width is not None and height is not None
            return IDENTITY, viewport
        left, top, across, down = view_box
        if width is None and height is None:
            width, height = across, down
        elif width is None:
            width = (height or down) * across / down
        elif height is None:
            height = width * down / across
        matrix = _fitted(view_box, (width, height or down), self._root)
        self._page = (*apply(matrix, (left, top)), *apply(matrix, (left + across, top + down)))
        return matrix, Viewport(across, down)

    def _visit(self, element: Element, place: Place) -> list[tuple[Element, Place]]:
        """Take in one element and return the elements to visit next, in paint order."""
        tag = element.tag
        if tag in NEVER_PAINTED:
            return []
        style = self._styles.of(element, place.style)
        if not shows(style):
            return []
        turned = self._styles.transform(style, place.viewport)
        here = Place(
            matrix=place.matrix if turned is IDENTITY else compose(place.matrix, turned),
            style=style,
            viewport=place.viewport,
            clips=place.clips,
            opacity=place.opacity,
            veil=place.veil,
            layer=self._layer(element, place),
            marked=place.marked or self._is_marked(element),
            uses=place.uses,
            depth=place.depth + 1,
            called=place.called,
            group=place.group,
        )
        if tag in SHAPES:
            self._take_shape(element, here)
            return []
        if element.attributes:
            here = called_within(element, here)
        return self._enter(element, self._compositing.composed(here, None))

    def _enter(self, element: Element, here: Place) -> list[tuple[Element, Place]]:
        """Return what is inside an element that is no shape."""
        tag = element.tag
        if tag in GROUPS:
            return [(child, here) for child in element.children]
        if tag == "switch":
            return [(child, here) for child in element.children if _is_chosen(child)][:1]
        if tag == "use":
            return self._follow(element, here)
        if tag == "svg":
            return self._enter_viewport(element, here, None)
        if tag == "text":
            self._take_text(element, here)
        else:
            self._tally.note_unseen(element, here)
        return []

    def _layer(self, element: Element, place: Place) -> str | None:
        if place.layer is None and self._skip:
            return next((name for name in layer_names(element) if name in self._skip), None)
        return place.layer

    def _is_marked(self, element: Element) -> bool:
        return bool(self._marks) and not self._marks.isdisjoint(layer_names(element))

    def _take_shape(self, element: Element, here: Place) -> None:
        style = here.style
        if style["visibility"].lower() != "visible":
            return
        paint = self._styles.painted(style)
        if paint.fill is None and paint.stroke is None:
            return
        self._tally.check_length(element, style)
        own = read_outlines(element, style, here.viewport)
        self._tally.count_pieces(own)
        outlines = tuple([moved(outline, here.matrix) for outline in own if outline.pieces])
        if not outlines:
            return
        name = self._tally.name(element, here)
        if not all(map(_is_within_reach, outlines)):
            raise BadValueError("bad-number", "", "", _TOO_FAR)
        hides = paint.fill is not None and element.tag != "line" and any(map(_has_area, outlines))
        fill = paint.fill if hides else None
        if fill is None and paint.stroke is None:
            return
        here = self._compositing.composed(here, own)
        if here.layer is not None:
            self._tally.count_left_out(here.layer)
            return
        self._tally.shapes.append(
            PaintedShape(
                name=name,
                outlines=outlines,
                bounds=bounds_of(outlines),
                fill=fill and fill.fabric,
                evenodd=paint.evenodd,
                veil=here.veil_over(fill),
                stroke=_stroke(paint.stroke, here),
                dashed=paint.dashed,
                clips=here.clips,
                marked=here.marked,
                called=called_itself(element, here.called),
            )
        )
        self._tally.check_count()

    def _take_text(self, element: Element, here: Place) -> None:
        from seamtree.drawing.svg.lettering import Lettering, read_lettering

        if any(child.tag == "textPath" for child in element.walk()):
            self._tally.note_unseen(next(child for child in element.walk() if child.tag == "textPath"), here)

        self._tally.count(sum(len(each.text) + len(each.tail) for each in element.walk()))

        def style_of(child: Element, parent: Style) -> Style | None:
            style = self._styles.of(child, parent)
            return style if shows(style) and self._layer(child, here) is None else None

        for lettering in read_lettering(element, here.style, here.viewport, style_of, self._is_readable):
            if here.layer is not None:
                self._tally.count_left_out(here.layer)
                continue
            if here.marked:
                self._tally.marked_texts += 1
                continue
            at = apply(here.matrix, lettering.at)
            if not _are_near([at]):
                raise BadValueError("bad-number", "", "", _TOO_FAR)
            self._tally.labels.append(Lettering(lettering.text, at))
            self._tally.check_count()

    def _is_readable(self, style: Style) -> bool:
        if style["visibility"].lower() != "visible":
            return False
        paint = self._styles.painted(style)
        return paint.fill is not None or paint.stroke is not None

    def _follow(self, element: Element, here: Place) -> list[tuple[Element, Place]]:
        """Return what a ``use`` shows."""
        address = (element.href() or "").strip()
        if not address:
            return []
        target = self._styles.ids.get(address[1:]) if address.startswith("#") else None
        if target is None:
            where = "does not exist" if address.startswith("#") else "lies outside the file; nothing else is fetched"
            self._tally.find(element, here, "missing-reference", f"refers to '{short(address)}', which {where}")
            return []
        if element in here.uses:
            self._tally.find(element, here, "use-loop", f"refers to '{short(address)}', which contains it again")
            return []
        self._tally.uses += 1
        if self._tally.uses > limits.MAX_USES:
            self._tally.refuse(f"more than {limits.MAX_USES:,} references to follow")
        x, y = (self._length(name, here) for name in ("x", "y"))
        inner = here._replace(uses=(*here.uses, element), matrix=compose(here.matrix, translation(x, y)))
        if target.tag not in {"svg", "symbol"}:
            return [(target, inner)]
        style = self._styles.of(target, inner.style)
        if not shows(style):
            return []
        turned = self._styles.transform(style, inner.viewport)
        place = inner._replace(
            style=style,
            matrix=compose(inner.matrix, turned),
            layer=self._layer(target, inner),
            marked=inner.marked or self._is_marked(target),
            depth=inner.depth + 1,
        )
        return self._enter_viewport(target, self._compositing.composed(place, None), here.style)

    def _enter_viewport(self, element: Element, here: Place, user: Style | None) -> list[tuple[Element, Place]]:
        """Return what is inside a nested ``svg`` or ``symbol``; `user` is the style of the ``use`` that shows it."""
        x, y = (self._length(name, here) for name in ("x", "y"))
        size = tuple(self._viewport_size(name, here, user) for name in ("width", "height"))
        width, height = size
        view_box = _view_box(element)
        if not (width and height) or (view_box is not None and 0.0 in view_box[2:]):
            return []
        matrix = compose(here.matrix, translation(x, y))
        clips = here.clips
        if here.style["overflow"].lower() not in {"visible", "auto"}:
            edge = moved(rectangle(0.0, 0.0, width, height), matrix)
            clips = (*clips, Clip((((edge,), False),)))
        viewport = Viewport(width, height)
        if view_box is not None:
            matrix = compose(matrix, _fitted(view_box, (width, height), element))
            viewport = Viewport(view_box[2], view_box[3])
        place = here._replace(matrix=matrix, viewport=viewport, clips=clips)
        return [(child, place) for child in element.children]

    def _length(self, name: str, here: Place) -> float:
        value = here.style[name]
        return read_length(name, value, here.style, here.viewport) if value else 0.0

    def _viewport_size(self, name: str, here: Place, user: Style | None) -> float:
        """Return width or height of a nested drawing: what the ``use`` says, else its own, else all there is."""
        values = [style[name] for style in (user, here.style) if style is not None]
        value = next((each for each in values if each and each.lower() != "auto"), "100%")
        size = read_length(name, value, here.style, here.viewport)
        if size < 0.0:
            raise BadValueError("bad-number", name, value, "is negative")
        return size


def _is_css(element: Element) -> bool:
    kind = (element.get("type") or "text/css").strip().lower()
    media = (element.get("media") or "all").strip().lower()
    return kind == "text/css" and media in {"all", "screen", ""}


def _stroke(paint: Paint | None, here: Place) -> Stroke | None:
    if paint is None:
        return None
    style = here.style
    scaled = style["vector-effect"].lower() != "non-scaling-stroke"
    join = style["stroke-linejoin"].lower()
    return Stroke(
        paint.fabric,
        here.veil_over(paint),
        read_length("stroke-width", style["stroke-width"], style, here.viewport),
        style["stroke-linecap"].lower(),
        join if join in {"round", "bevel"} else "miter",
        parse_number(style["stroke-miterlimit"]),
        here.matrix if scaled else IDENTITY,
    )


def _view_box(element: Element) -> tuple[float, float, float, float] | None:
    text = element.get("viewBox")
    if text is None or not text.strip():
        return None
    try:
        return parse_view_box(text)
    except ValueError as error:
        raise BadValueError("bad-number", "viewBox", text, str(error)) from error


def _fitted(view_box: tuple[float, float, float, float], size: tuple[float, float], element: Element) -> Affine:
    aspect = element.get("preserveAspectRatio")
    try:
        matrix = fit_view_box(view_box, size, aspect)
    except ValueError as error:
        raise BadValueError("bad-number", "preserveAspectRatio", aspect or "", str(error)) from error
    if not is_invertible(matrix):
        raise BadValueError("bad-number", "viewBox", element.get("viewBox") or "", "cannot be fitted to the size")
    return matrix


def _is_chosen(element: Element) -> bool:
    """Tell whether a ``switch`` may show its child: foreign content and required extensions it may not."""
    return (
        element.tag not in {"", "foreignObject"}
        and not element.get("requiredExtensions")
        and element.get("systemLanguage") != ""
    )


def _are_near(points: Iterable[Point]) -> bool:
    return all(abs(x) <= MAX_PX and abs(y) <= MAX_PX for x, y in points)


def _is_within_reach(outline: Outline) -> bool:
    return _are_near(placing(outline))


def _has_area(outline: Outline) -> bool:
    if outline.curves and any(isinstance(curve, Arc) for curve in outline.curves):
        return True
    points = placing(outline)
    return len(points) > 2 and encloses(points)
