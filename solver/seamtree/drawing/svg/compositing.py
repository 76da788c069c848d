"""What is done to an element of an SVG document as a whole: opacity, blending, masks and clips."""

from __future__ import annotations

from seamtree.drawing.affine import Affine, compose, translation
from seamtree.drawing.clips import Clip, ClipPart, ClipParts
from seamtree.drawing.outlines import Outline, bounds_of, moved
from seamtree.drawing.svg.place import Place
from seamtree.drawing.svg.shapes import SHAPES, Viewport, read_length, read_outlines
from seamtree.drawing.svg.style import INITIAL, Style
from seamtree.drawing.svg.styles import SERVERS, Styles, shows, url_target
from seamtree.drawing.svg.tally import Tally
from seamtree.drawing.svg.values import parse_opacity
from seamtree.drawing.svg.xml import Element
from seamtree.drawing.wording import short
from seamtree.tolerances import OPAQUE

GROUPS = frozenset({"g", "a"})
NEVER_PAINTED = frozenset(
    {
        *SERVERS,
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


class Compositing:
    """Follows clips and masks.

    Parameters
    ----------
    styles
        The styles of the document.
    tally
        What is counted on the walk.
    """

    def __init__(self, styles: Styles, tally: Tally) -> None:
        self._styles, self._tally = styles, tally

    def composed(self, here: Place, own: tuple[Outline, ...] | None) -> Place:
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
        mask = self._styles.ids.get(url_target(style["mask"]) or "")
        if mask is not None and mask.tag == "mask":
            parts = self._mask_parts(mask, here, own)
            if parts is None:
                here = here._replace(veil=here.veil or "masked")
            else:
                here = here._replace(clips=(*here.clips, Clip(parts)))
        return here._replace(clips=self._clips(here, own))

    def _clips(self, here: Place, own: tuple[Outline, ...] | None) -> tuple[Clip, ...]:
        """Return the clips of an element: those around it and its own."""
        clips = here.clips
        value = here.style["clip-path"]
        clip = url_target(value)
        if clip is None:
            # Neither a reference nor nothing: one of the shapes of CSS.
            return clips if value.lower() in {"none", ""} else (*clips, Clip(None))
        target = self._styles.ids.get(clip)
        if target is None or target.tag != "clipPath":
            return clips  # a reference to nothing does not clip
        return (*clips, Clip(self._clip_parts(target, here, own)))

    def _mask_parts(self, target: Element, here: Place, own: tuple[Outline, ...] | None) -> ClipParts | None:
        """Return what a mask lets through if it does so whole, None if something shows through only in part."""
        matrix = self._units_of(target, "maskContentUnits", here, own)
        if matrix is None:
            return None
        style = self._styles.of(target, INITIAL)
        by_alpha = style["mask-type"].lower() == "alpha"
        parts: list[ClipPart] = []
        waiting = [(child, style, matrix) for child in reversed(target.children)]
        while waiting:
            child, parent, outer = waiting.pop()
            if child.tag in NEVER_PAINTED:
                continue
            inner = self._styles.of(child, parent)
            if child.tag in GROUPS and parse_opacity(inner["opacity"]) >= OPAQUE:
                outer = compose(outer, self._styles.transform(inner, here.viewport))
                waiting += [(each, inner, outer) for each in reversed(child.children)]
                continue
            part = self._clip_part(child, parent, outer, here.viewport)
            if part is None or not self._lets_through(child, parent, by_alpha=by_alpha):
                return None
            parts.append((part[0], self._styles.of(child, parent)["fill-rule"].lower() == "evenodd"))
        return tuple(parts)

    def _lets_through(self, child: Element, parent: Style, *, by_alpha: bool) -> bool:
        """Tell whether what a shape in a mask covers is shown whole (CSS Masking 1, section 7.10)."""
        style = self._styles.of(child, parent)
        if child.tag == "use":
            style = self._styles.of(self._styles.ids.get((child.href() or "").removeprefix("#"), child), style)
        fill = self._styles.painted(style).fill
        if fill is None or not fill.fabric.startswith("#"):
            return False
        opacity = fill.opacity * parse_opacity(style["opacity"])
        red, green, blue = (int(fill.fabric[k : k + 2], 16) / 255 for k in (1, 3, 5))
        luminance = 1.0 if by_alpha else 0.2125 * red + 0.7154 * green + 0.0721 * blue
        return style["mix-blend-mode"] == "normal" and opacity * luminance >= OPAQUE

    def _units_of(
        self, target: Element, attribute: str, here: Place, own: tuple[Outline, ...] | None
    ) -> Affine | None:
        """Return the map to px from the units in which a clip or mask is drawn; None if they are not known."""
        matrix = here.matrix
        if target.get(attribute) == "objectBoundingBox":
            if not own:
                return None
            left, top, right, bottom = bounds_of(own)
            matrix = compose(matrix, (right - left, 0.0, 0.0, bottom - top, left, top))
        return matrix

    def _clip_parts(self, target: Element, here: Place, own: tuple[Outline, ...] | None) -> ClipParts | None:
        """Return the outlines of a ``clipPath`` in px, each with whether its rule is even-odd; None if unknown."""
        style = self._styles.of(target, INITIAL)
        here = here._replace(matrix=compose(here.matrix, self._styles.transform(style, here.viewport)))
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
        style = self._styles.of(child, parent)
        if child.tag in NEVER_PAINTED or not shows(style) or style["visibility"].lower() != "visible":
            return (), False
        matrix = compose(matrix, self._styles.transform(style, viewport))
        if child.tag == "use":
            # SVG lets a clip refer to shapes only, so this goes one step deep.
            x, y = (read_length(name, style[name] or "0", style, viewport) for name in ("x", "y"))
            child = self._styles.ids.get((child.href() or "").removeprefix("#"), child)
            style = self._styles.of(child, style)
            matrix = compose(compose(matrix, translation(x, y)), self._styles.transform(style, viewport))
        if child.tag not in SHAPES or style["clip-path"].lower() != "none":
            return None
        self._tally.check_length(child, style)
        drawn = read_outlines(child, style, viewport)
        self._tally.count_pieces(drawn)
        return tuple(moved(outline, matrix) for outline in drawn), style["clip-rule"].lower() == "evenodd"
