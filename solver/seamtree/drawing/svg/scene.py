"""What an SVG document paints: its tree walked in paint order, with styles, transforms and references followed.

Coordinates are px of the root's viewport, x to the right and y down. Nothing is scaled to finished size, flattened or
judged here.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from seamtree.drawing import limits
from seamtree.drawing.affine import IDENTITY, Affine, apply, compose, is_invertible, translation
from seamtree.drawing.clips import Clip, ClipPart, ClipParts
from seamtree.drawing.fabric_names import NAMELESS, Called, in_words
from seamtree.drawing.flatten import encloses
from seamtree.drawing.model import Label
from seamtree.drawing.outlines import Arc, Outline, bounds_of, moved, placing, rectangle
from seamtree.drawing.painted import PaintedShape, Sheet, Stroke
from seamtree.drawing.svg.path_data import COMMANDS
from seamtree.drawing.svg.shapes import SHAPES, BadValueError, Viewport, read_length, read_outlines
from seamtree.drawing.svg.style import INITIAL, Paint, Painted, Style, computed, declared, font_size, painted
from seamtree.drawing.svg.style_sheets import StyleSheet
from seamtree.drawing.svg.values import (
    fit_view_box,
    parse_colour,
    parse_number,
    parse_opacity,
    parse_transform,
    parse_view_box,
)
from seamtree.drawing.svg.xml import Element
from seamtree.drawing.wording import short, unescaped
from seamtree.errors import Finding, OptionError, Point, SeamtreeError
from seamtree.tolerances import OPAQUE

if TYPE_CHECKING:
    from seamtree.drawing.svg.lettering import Lettering

MAX_PX = 1e12
"""No drawing reaches as far from its origin; beyond, the arithmetic loses the digits that seams need."""

_DEFAULT_SIZE = (300.0, 150.0)
"""CSS 2.2, section 10.3.2: size of a replaced element that states none, in px."""

_GROUPS = frozenset({"g", "a"})
_SERVERS = frozenset({"linearGradient", "radialGradient", "meshgradient", "pattern", "hatch", "solidcolor"})
_NEVER_PAINTED = frozenset(
    {
        *_SERVERS,
        "",
        "animate",
        "animateColor",
        "animateMotion",
        "animateTransform",
        "clipPath",
        "color-profile",
        "cursor",
        "defs",
        "desc",
        "discard",
        "filter",
        "font",
        "font-face",
        "marker",
        "mask",
        "metadata",
        "script",
        "set",
        "style",
        "symbol",
        "title",
        "view",
    }
)
_ROUNDING = 1e-9
_TOO_FAR = "reaches so far out, once transforms are applied, that no seam can be meant"
_PLURALS = {"image": "images", "foreignObject": "foreign objects", "textPath": "texts on paths"}


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


class _Place(NamedTuple):
    """What an element inherits from where it stands."""

    matrix: Affine
    style: Style
    viewport: Viewport
    clips: tuple[Clip, ...] = ()
    opacity: float = 1.0
    veil: str = ""
    layer: str | None = None
    marked: bool = False
    uses: tuple[Element, ...] = ()
    depth: int = 1
    called: Called = NAMELESS
    group: str = ""

    def veil_over(self, paint: Paint | None) -> str:
        """Return why what lies under paint that is put here shows through, an empty text where it does not."""
        opacity = self.opacity * (1.0 if paint is None else paint.opacity)
        return self.veil or (f"{opacity:.0%} opaque" if opacity < OPAQUE - _ROUNDING else "")


@dataclass(slots=True)
class _Tally:
    """What is collected on the walk."""

    shapes: list[PaintedShape] = field(default_factory=list)
    labels: list[Lettering] = field(default_factory=list)
    findings: dict[tuple[Element, str, str], Finding] = field(default_factory=dict)
    left_out: dict[str, int] = field(default_factory=dict)
    unseen: dict[str, list[str]] = field(default_factory=dict)
    missing: dict[str, None] = field(default_factory=dict)
    marked_texts: int = 0
    elements: int = 0
    uses: int = 0
    pieces: int = 0


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


def layer_names(element: Element) -> Iterator[str]:
    """Yield the names by which an element can be left out: id, classes, and the labels that editors give."""
    for name in ("id", "data-name"):
        value = element.get(name)
        if value is not None:
            yield value
    yield from (element.get("class") or "").split()
    for local in ("label", "id"):
        yield from element.in_namespaces(local)


def label_of(element: Element) -> str | None:
    """Return what an editor shows an element as in its list: a label, or the title, which stands for it elsewhere."""
    label = element.get("data-name")
    for local in ("id", "label"):
        label = next(element.in_namespaces(local), label)
    if label is None and element.children:
        label = next((" ".join(child.text.split()) for child in element.children if child.tag == "title"), None)
    return label or None


def _called(element: Element, here: _Place) -> _Place:
    """Return the place inside an element, which may have names and classes."""
    label = label_of(element)
    name = label or element.get("id")
    classes = (element.get("class") or "").split()
    if not (name or classes):
        return here
    telling = label or (name if name and in_words(name) else None)
    group = telling or here.group or name or ""
    return here._replace(called=here.called.within(classes=classes, layers=[name] if name else []), group=group)


def _called_itself(element: Element, called: Called) -> Called:
    """Return what a shape is called, if it is in something called like this."""
    classes = element.get("class")
    if classes is not None:
        called = called.within(classes=classes.split())
    label = label_of(element)
    words = None if label is None else in_words(label)
    return called._replace(labels=frozenset([words])) if words else called


class _Walker:
    def __init__(self, root: Element, source: str, skip_layers: Collection[str], marks: Collection[str]) -> None:
        self._root = root
        self._source = source
        self._skip = frozenset(skip_layers)
        self._marks = frozenset(marks)
        self._sheet = StyleSheet(source)
        self._ids: dict[str, Element] = {}
        self._numbers: dict[Element, int] = {}
        self._declared: dict[Element, dict[str, str]] = {}
        self._fabrics: dict[str, Paint | None] = {}
        self._tally = _Tally()
        self._has_page = True
        self._index()

    def _index(self) -> None:
        """Find ids and style sheets, and number the elements of each kind for messages."""
        counts: dict[str, int] = {}
        for element in self._root.walk():
            counts[element.tag] = self._numbers[element] = counts.get(element.tag, 0) + 1
            identity = element.get("id")
            if identity is not None:
                self._ids.setdefault(identity, element)
            if element.tag == "style" and _is_css(element):
                self._sheet.add(element.text)
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
            if element.tag in _GROUPS:
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
            tuple(self._notes()),
            sum(tally.left_out.values()),
        )
        return Scene(sheet, tuple(tally.findings.values()))

    def _run(self, start: list[tuple[Element, _Place]]) -> None:
        stack = start[::-1]
        while stack:
            element, place = stack.pop()
            self._tally.elements += 1
            if self._tally.elements > limits.MAX_ELEMENTS:
                self._refuse(f"more than {limits.MAX_ELEMENTS:,} elements once references are followed")
            if place.depth > limits.MAX_DEPTH:
                self._refuse(f"elements nested more than {limits.MAX_DEPTH} deep once references are followed")
            try:
                stack.extend(reversed(self._visit(element, place)))
            except BadValueError as fault:
                self._find_bad_value(element, place, fault)

    # The root ---------------------------------------------------------------------------------------------------

    def _start(self) -> list[tuple[Element, _Place]] | None:
        """Return the children of the root with their place, None when the root has a fault or does not show."""
        root = self._root
        nowhere = _Place(IDENTITY, INITIAL, Viewport(*_DEFAULT_SIZE))
        try:
            style = self._style(root, INITIAL)
            view_box = _view_box(root)
            width, height = (self._stated_size(name, style) for name in ("width", "height"))
            if 0.0 in (width, height) or (view_box is not None and 0.0 in view_box[2:]):
                self._find(root, nowhere, "zero-size", "has no size: its width, height or viewBox is zero")
                return None
            matrix, viewport = self._root_frame(view_box, width, height)
            if not _shows(style):
                return []
            matrix = compose(matrix, self._transform(style, viewport))
        except BadValueError as fault:
            self._find_bad_value(root, nowhere, fault)
            return None
        place = _Place(
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

    # One element ------------------------------------------------------------------------------------------------

    def _visit(self, element: Element, place: _Place) -> list[tuple[Element, _Place]]:
        """Take in one element and return the elements to visit next, in paint order."""
        tag = element.tag
        if tag in _NEVER_PAINTED:
            return []
        style = self._style(element, place.style)
        if not _shows(style):
            return []
        turned = self._transform(style, place.viewport)
        here = _Place(
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
            here = _called(element, here)
        return self._enter(element, self._composed(here, None))

    def _enter(self, element: Element, here: _Place) -> list[tuple[Element, _Place]]:
        """Return what is inside an element that is no shape."""
        tag = element.tag
        if tag in _GROUPS:
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
            self._note_unseen(element, here)
        return []

    def _style(self, element: Element, parent: Style) -> Style:
        declarations = self._declared.get(element)
        try:
            if declarations is None:
                declarations = self._declared[element] = declared(element, self._sheet)
            return computed(parent, declarations)
        except SeamtreeError:
            raise
        except ValueError as error:
            raise BadValueError("bad-number", "", "", f"cannot be used: {error}") from error

    def _layer(self, element: Element, place: _Place) -> str | None:
        if place.layer is None and self._skip:
            return next((name for name in layer_names(element) if name in self._skip), None)
        return place.layer

    def _is_marked(self, element: Element) -> bool:
        return bool(self._marks) and not self._marks.isdisjoint(layer_names(element))

    def _transform(self, style: Style, viewport: Viewport) -> Affine:
        text = style["transform"]
        if not text:
            return IDENTITY
        try:
            matrix = parse_transform(text, font_size=font_size(style))
            origin = _origin(style, viewport) if style["transform-origin"] else (0.0, 0.0)
        except (ArithmeticError, ValueError) as error:
            raise BadValueError("bad-transform", "transform", text, str(error)) from error
        if not is_invertible(matrix):
            finite = all(map(math.isfinite, matrix))
            reason = "flattens everything to a line or a point" if finite else "is not finite"
            raise BadValueError("bad-transform", "transform", text, reason)
        if origin != (0.0, 0.0):
            matrix = compose(compose(translation(*origin), matrix), translation(-origin[0], -origin[1]))
        return matrix

    # Shapes and text --------------------------------------------------------------------------------------------

    def _take_shape(self, element: Element, here: _Place) -> None:
        style = here.style
        if style["visibility"].lower() != "visible":
            return
        paint = self._painted(style)
        if paint.fill is None and paint.stroke is None:
            return
        self._check_length(element, style)
        own = read_outlines(element, style, here.viewport)
        self._count_pieces(own)
        outlines = tuple([moved(outline, here.matrix) for outline in own if outline.pieces])
        if not outlines:
            return
        name = self._name(element, here)
        if not all(map(_is_within_reach, outlines)):
            raise BadValueError("bad-number", "", "", _TOO_FAR)
        hides = paint.fill is not None and element.tag != "line" and any(map(_has_area, outlines))
        fill = paint.fill if hides else None
        if fill is None and paint.stroke is None:
            return
        here = self._composed(here, own)
        if here.layer is not None:
            self._count_left_out(here.layer)
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
                called=_called_itself(element, here.called),
            )
        )
        self._check_count()

    def _take_text(self, element: Element, here: _Place) -> None:
        from seamtree.drawing.svg.lettering import Lettering, read_lettering

        if any(child.tag == "textPath" for child in element.walk()):
            self._note_unseen(next(child for child in element.walk() if child.tag == "textPath"), here)

        self._count(sum(len(each.text) + len(each.tail) for each in element.walk()))

        def style_of(child: Element, parent: Style) -> Style | None:
            style = self._style(child, parent)
            return style if _shows(style) and self._layer(child, here) is None else None

        for lettering in read_lettering(element, here.style, here.viewport, style_of, self._is_readable):
            if here.layer is not None:
                self._count_left_out(here.layer)
                continue
            if here.marked:
                self._tally.marked_texts += 1
                continue
            at = apply(here.matrix, lettering.at)
            if not _are_near([at]):
                raise BadValueError("bad-number", "", "", _TOO_FAR)
            self._tally.labels.append(Lettering(lettering.text, at))
            self._check_count()

    def _is_readable(self, style: Style) -> bool:
        if style["visibility"].lower() != "visible":
            return False
        paint = self._painted(style)
        return paint.fill is not None or paint.stroke is not None

    def _painted(self, style: Style) -> Painted:
        try:
            return painted(style, self._server)
        except (BadValueError, SeamtreeError):
            raise
        except ValueError as error:
            # A width in em is known only once the size of the font is.
            raise BadValueError("bad-number", "stroke-width", style["stroke-width"], str(error)) from error

    def _server(self, target: str) -> Paint | None:
        """Return the paint of a gradient or pattern: the id of the one whose stops or contents paint it."""
        if target not in self._fabrics:
            self._fabrics[target] = self._found_fabric(target)
        if self._fabrics[target] is None:
            self._tally.missing.setdefault(target)
        return self._fabrics[target]

    def _found_fabric(self, target: str) -> Paint | None:
        seen: set[Element] = set()
        element = self._ids.get(target)
        while element is not None and element.tag in _SERVERS and element not in seen:
            seen.add(element)
            if any(child.tag for child in element.children) or element.tag == "solidcolor":
                return Paint(element.get("id") or target, self._least_opacity(element))
            element = self._ids.get((element.href() or "").removeprefix("#"))
        return Paint("", 0.0) if seen else None

    def _least_opacity(self, element: Element) -> float:
        """Return the opacity of a gradient where it is least, but 0 only if it is so throughout."""
        stops = [_stop_opacity(self._style(stop, INITIAL)) for stop in element.children if stop.tag == "stop"]
        if not any(stops):
            return 0.0 if stops else 1.0
        return max(min(stops), _ROUNDING)

    # References, nested drawings, clips -------------------------------------------------------------------------

    def _follow(self, element: Element, here: _Place) -> list[tuple[Element, _Place]]:
        """Return what a ``use`` shows."""
        address = (element.href() or "").strip()
        if not address:
            return []
        target = self._ids.get(address[1:]) if address.startswith("#") else None
        if target is None:
            where = "does not exist" if address.startswith("#") else "lies outside the file; nothing else is fetched"
            self._find(element, here, "missing-reference", f"refers to '{short(address)}', which {where}")
            return []
        if element in here.uses:
            self._find(element, here, "use-loop", f"refers to '{short(address)}', which contains it again")
            return []
        self._tally.uses += 1
        if self._tally.uses > limits.MAX_USES:
            self._refuse(f"more than {limits.MAX_USES:,} references to follow")
        x, y = (self._length(name, here) for name in ("x", "y"))
        inner = here._replace(uses=(*here.uses, element), matrix=compose(here.matrix, translation(x, y)))
        if target.tag not in {"svg", "symbol"}:
            return [(target, inner)]
        style = self._style(target, inner.style)
        if not _shows(style):
            return []
        turned = self._transform(style, inner.viewport)
        place = inner._replace(
            style=style,
            matrix=compose(inner.matrix, turned),
            layer=self._layer(target, inner),
            marked=inner.marked or self._is_marked(target),
            depth=inner.depth + 1,
        )
        return self._enter_viewport(target, self._composed(place, None), here.style)

    def _enter_viewport(self, element: Element, here: _Place, user: Style | None) -> list[tuple[Element, _Place]]:
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

    def _length(self, name: str, here: _Place) -> float:
        value = here.style[name]
        return read_length(name, value, here.style, here.viewport) if value else 0.0

    def _viewport_size(self, name: str, here: _Place, user: Style | None) -> float:
        """Return width or height of a nested drawing: what the ``use`` says, else its own, else all there is."""
        values = [style[name] for style in (user, here.style) if style is not None]
        value = next((each for each in values if each and each.lower() != "auto"), "100%")
        size = read_length(name, value, here.style, here.viewport)
        if size < 0.0:
            raise BadValueError("bad-number", name, value, "is negative")
        return size

    def _composed(self, here: _Place, own: tuple[Outline, ...] | None) -> _Place:
        """Return a place with what is done to an element as a whole: opacity, blending, mask and clip.

        These apply in this order to groups as to shapes (Compositing and Blending 1, section 5; CSS Masking 1); `own`
        is the geometry of a shape.
        """
        style = here.style
        opacity, blend = style["opacity"], style["mix-blend-mode"].lower()
        if opacity != "1":
            here = here._replace(opacity=here.opacity * parse_opacity(opacity))
        if blend != "normal" and not here.veil:
            here = here._replace(veil=f"blended with what lies under it ({short(blend)})")
        if style["mask"] == style["clip-path"] == "none":
            return here
        mask = self._ids.get(_url_target(style["mask"]) or "")
        if mask is not None and mask.tag == "mask":
            parts = self._mask_parts(mask, here, own)
            if parts is None:
                here = here._replace(veil=here.veil or "masked")
            else:
                here = here._replace(clips=(*here.clips, Clip(parts)))
        return here._replace(clips=self._clips(here, own))

    def _clips(self, here: _Place, own: tuple[Outline, ...] | None) -> tuple[Clip, ...]:
        """Return the clips of an element: those around it and its own."""
        clips = here.clips
        value = here.style["clip-path"]
        clip = _url_target(value)
        if clip is None:
            # Neither a reference nor nothing: one of the shapes of CSS.
            return clips if value.lower() in {"none", ""} else (*clips, Clip(None))
        target = self._ids.get(clip)
        if target is None or target.tag != "clipPath":
            return clips  # a reference to nothing does not clip
        return (*clips, Clip(self._clip_parts(target, here, own)))

    def _mask_parts(self, target: Element, here: _Place, own: tuple[Outline, ...] | None) -> ClipParts | None:
        """Return what a mask lets through if it does so whole, None if something shows through only in part."""
        matrix = self._units_of(target, "maskContentUnits", here, own)
        if matrix is None:
            return None
        style = self._style(target, INITIAL)
        by_alpha = style["mask-type"].lower() == "alpha"
        parts: list[ClipPart] = []
        waiting = [(child, style, matrix) for child in reversed(target.children)]
        while waiting:
            child, parent, outer = waiting.pop()
            if child.tag in _NEVER_PAINTED:
                continue
            inner = self._style(child, parent)
            if child.tag in _GROUPS and parse_opacity(inner["opacity"]) >= OPAQUE:
                outer = compose(outer, self._transform(inner, here.viewport))
                waiting += [(each, inner, outer) for each in reversed(child.children)]
                continue
            part = self._clip_part(child, parent, outer, here.viewport)
            if part is None or not self._lets_through(child, parent, by_alpha=by_alpha):
                return None
            parts.append((part[0], self._style(child, parent)["fill-rule"].lower() == "evenodd"))
        return tuple(parts)

    def _lets_through(self, child: Element, parent: Style, *, by_alpha: bool) -> bool:
        """Tell whether what a shape in a mask covers is shown whole (CSS Masking 1, section 7.10)."""
        style = self._style(child, parent)
        if child.tag == "use":
            style = self._style(self._ids.get((child.href() or "").removeprefix("#"), child), style)
        fill = self._painted(style).fill
        if fill is None or not fill.fabric.startswith("#"):
            return False
        opacity = fill.opacity * parse_opacity(style["opacity"])
        red, green, blue = (int(fill.fabric[k : k + 2], 16) / 255 for k in (1, 3, 5))
        luminance = 1.0 if by_alpha else 0.2125 * red + 0.7154 * green + 0.0721 * blue
        return style["mix-blend-mode"] == "normal" and opacity * luminance >= OPAQUE

    def _units_of(
        self, target: Element, attribute: str, here: _Place, own: tuple[Outline, ...] | None
    ) -> Affine | None:
        """Return the map to px from the units in which a clip or mask is drawn; None if they are not known."""
        matrix = here.matrix
        if target.get(attribute) == "objectBoundingBox":
            if not own:
                return None
            left, top, right, bottom = bounds_of(own)
            matrix = compose(matrix, (right - left, 0.0, 0.0, bottom - top, left, top))
        return matrix

    def _clip_parts(self, target: Element, here: _Place, own: tuple[Outline, ...] | None) -> ClipParts | None:
        """Return the outlines of a ``clipPath`` in px, each with whether its rule is even-odd; None if unknown."""
        style = self._style(target, INITIAL)
        here = here._replace(matrix=compose(here.matrix, self._transform(style, here.viewport)))
        matrix = self._units_of(target, "clipPathUnits", here, own)
        if matrix is None or style["clip-path"].lower() != "none":
            return None
        parts = []
        for child in target.children:
            part = self._clip_part(child, style, matrix, here.viewport)
            if part is None:
                return None
            parts.append(part)
        return tuple(parts)

    def _clip_part(self, child: Element, parent: Style, matrix: Affine, viewport: Viewport) -> ClipPart | None:
        """Return what one child of a ``clipPath`` lets through, as in `_clip_parts`."""
        style = self._style(child, parent)
        if child.tag in _NEVER_PAINTED or not _shows(style) or style["visibility"].lower() != "visible":
            return (), False
        matrix = compose(matrix, self._transform(style, viewport))
        if child.tag == "use":
            # SVG lets a clip refer to shapes only, so this goes one step deep.
            x, y = (read_length(name, style[name] or "0", style, viewport) for name in ("x", "y"))
            child = self._ids.get((child.href() or "").removeprefix("#"), child)
            style = self._style(child, style)
            matrix = compose(compose(matrix, translation(x, y)), self._transform(style, viewport))
        if child.tag not in SHAPES or style["clip-path"].lower() != "none":
            return None
        self._check_length(child, style)
        drawn = read_outlines(child, style, viewport)
        self._count_pieces(drawn)
        return tuple(moved(outline, matrix) for outline in drawn), style["clip-rule"].lower() == "evenodd"

    # Messages ---------------------------------------------------------------------------------------------------

    def _name(self, element: Element, place: _Place) -> str:
        """Return what messages call a shape: as an editor's list shows it, else by its kind and number and where."""
        own = label_of(element) or element.get("id")
        name = short(unescaped(own)) if own else f"{element.tag} {self._numbers[element]}"
        if place.uses:
            use = place.uses[-1]
            return f"{name} in {short(unescaped(label_of(use) or use.get('id') or f'use {self._numbers[use]}'))}"
        return name if own or not place.group else f"{name} in {short(unescaped(place.group))}"

    def _find(self, element: Element, place: _Place, code: str, sentence: str) -> None:
        if place.layer is not None:
            return
        identity = label_of(element) or element.get("id")
        name = f"{element.tag} '{short(identity)}'" if identity else f"{element.tag} {self._numbers[element]}"
        message = f"In {self._source}, {name} (line {element.line}) {sentence}."
        self._tally.findings.setdefault((element, code, sentence), Finding(code, message))

    def _find_bad_value(self, element: Element, place: _Place, fault: BadValueError) -> None:
        place = place._replace(layer=self._layer(element, place))
        if not fault.attribute:
            self._find(element, place, fault.code, fault.reason)
        else:
            sentence = f"cannot be used: its {fault.attribute} '{short(fault.value)}' {fault.reason}"
            self._find(element, place, fault.code, sentence)

    def _note_unseen(self, element: Element, here: _Place) -> None:
        if here.layer is None and here.style["visibility"].lower() == "visible":
            self._tally.unseen.setdefault(element.tag, []).append(self._name(element, here))

    def _count_left_out(self, layer: str) -> None:
        self._tally.left_out[layer] = self._tally.left_out.get(layer, 0) + 1

    def _check_length(self, element: Element, style: Style) -> None:
        data = style["d"] if element.tag == "path" else element.get("points") or ""
        # Every piece needs two characters at least, so that short data needs no counting.
        if len(data) > 2 * limits.MAX_POINTS and sum(map(data.count, COMMANDS)) > limits.MAX_POINTS:
            self._refuse(f"more than {limits.MAX_POINTS:,} lines and curves in one path")
        if len(data) > limits.MAX_OUTLINE_TEXT:
            self._refuse(f"more than {limits.MAX_OUTLINE_TEXT:,} characters in one path")

    def _count_pieces(self, outlines: Iterable[Outline]) -> None:
        self._count(sum([outline.pieces for outline in outlines]))

    def _count(self, more: int) -> None:
        # Copies are read anew, so that a long path or text with many copies costs time before it has points.
        self._tally.pieces += more
        if self._tally.pieces > limits.MAX_POINTS:
            self._refuse(f"more than {limits.MAX_POINTS:,} lines and curves once references are followed")

    def _check_count(self) -> None:
        if len(self._tally.shapes) + len(self._tally.labels) > limits.MAX_SHAPES:
            self._refuse(f"more than {limits.MAX_SHAPES:,} shapes")

    def _refuse(self, what: str) -> None:
        limits.refuse(f"{self._source} has {what}. Simplify or split the drawing.", source=self._source)

    def _notes(self) -> Iterator[Finding]:
        for layer in sorted(self._skip):
            count = self._tally.left_out.get(layer, 0)
            yield Finding("layer-left-out", f"'{layer}' is left out as asked: {_counted(count, 'shape or text')}.")
        for tag, names in self._tally.unseen.items():
            shown = ", ".join(short(name) for name in names[:5]) + (", ..." if len(names) > 5 else "")
            plural = _PLURALS.get(tag, f"elements '{tag}'")
            code = {"image": "image-left-out", "foreignObject": "image-left-out"}.get(tag, "element-left-out")
            yield Finding(code, f"{len(names)} {plural} left out ({shown}): only lines and shapes are read.")
        if self._tally.marked_texts:
            texts = _counted(self._tally.marked_texts, "text")
            yield Finding(
                "marked-text",
                f"{texts} among the markings label nothing and are not shown: letters are not drawn here.",
            )
        if self._tally.missing:
            shown = ", ".join(f"'#{short(name)}'" for name in [*self._tally.missing][:5])
            yield Finding("paint-missing", f"Fills or strokes refer to {shown}, which the file does not hold.")
        if self._sheet.left_out:
            shown = ", ".join(f"'{short(text)}'" for text in self._sheet.left_out[:5])
            yield Finding("style-left-out", f"Style rules that are not understood are left out: {shown}.")


def _is_css(element: Element) -> bool:
    kind = (element.get("type") or "text/css").strip().lower()
    media = (element.get("media") or "all").strip().lower()
    return kind == "text/css" and media in {"all", "screen", ""}


def _shows(style: Style) -> bool:
    """Tell whether an element and what is inside it can show at all."""
    return style["display"].lower() != "none" and parse_opacity(style["opacity"]) > 0.0


def _stop_opacity(style: Style) -> float:
    colour = parse_colour(style["stop-color"])
    return parse_opacity(style["stop-opacity"]) * (1.0 if colour is None else colour.alpha)


def _stroke(paint: Paint | None, here: _Place) -> Stroke | None:
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


_ORIGIN_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}


def _origin(style: Style, viewport: Viewport) -> Point:
    """Return the point that a transform leaves in place (CSS Transforms 1: in the nearest viewport)."""
    words = style["transform-origin"].lower().split()[:2]
    if words[0] in {"top", "bottom"} or words[-1] in {"left", "right"}:
        words.reverse()
    words = [_ORIGIN_WORDS.get(word, word) for word in words]
    across, down = words[0], words[1] if len(words) > 1 else "50%"
    return (
        read_length("x", across, style, viewport),
        read_length("y", down, style, viewport),
    )


def _is_chosen(element: Element) -> bool:
    """Tell whether a ``switch`` may show its child: foreign content and required extensions it may not."""
    return (
        element.tag not in {"", "foreignObject"}
        and not element.get("requiredExtensions")
        and element.get("systemLanguage") != ""
    )


def _url_target(value: str) -> str | None:
    """Return the id that ``url(#id)`` names."""
    stripped = value.strip()
    if not stripped.lower().startswith("url(") or ")" not in stripped:
        return None
    address = stripped[4 : stripped.index(")")].strip().strip("\"'").strip()
    return address[1:] if address.startswith("#") else None


def _are_near(points: Iterable[Point]) -> bool:
    return all(abs(x) <= MAX_PX and abs(y) <= MAX_PX for x, y in points)


def _is_within_reach(outline: Outline) -> bool:
    return _are_near(placing(outline))


def _has_area(outline: Outline) -> bool:
    if outline.curves and any(isinstance(curve, Arc) for curve in outline.curves):
        return True
    points = placing(outline)
    return len(points) > 2 and encloses(points)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what.replace('shape', 'shapes').replace('text', 'texts')}"
