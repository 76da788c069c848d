"""The functions that `seamtree` offers: each looks at its arguments, then hands them on.

What is behind them may be used as well; it takes arguments as they come.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from seamtree import arguments
from seamtree.block.model import Block
from seamtree.errors import ArgumentTypeError, DrawingError, Finding, OptionError
from seamtree.planning.model import Join, Node, Plan, Unit
from seamtree.proofs.claims import Proof
from seamtree.tolerances import TOLERANCE

if TYPE_CHECKING:
    from seamtree.auditing.record import Record, Settings
    from seamtree.auditing.run import Limits
    from seamtree.block.sketch import Sketch
    from seamtree.drawing.drawn import Drawing
    from seamtree.drawing.reading import White
    from seamtree.mending.model import Goal, Mending
    from seamtree.pattern.pack import Options, Pack
    from seamtree.pattern.work import Work
    from seamtree.picture.draw import Look
    from seamtree.planning.explain import Explanation
    from seamtree.planning.wishes import Wishes
    from seamtree.proofreading.outcome import Proofreading
    from seamtree.proofs.check import Checked
    from seamtree.rating.judgement import Rating
    from seamtree.rating.scale import Scale

_WHITES = ("paper", "fabric")

_GOALS = ("straight seams", "units", "frontier", "merged")

_ENCODING = r"""(<\?xml[^>]*?)\s+encoding\s*=\s*(?:"[^"]*"|'[^']*')"""
"""The encoding of an XML file, which no longer holds once its bytes have been made text."""

_MOST_WORKERS = 1000

_MOST_UNITS = 20_000

MOST_POINTS = 100_000.0
"""Largest size of a picture, and largest scale in points to an inch: 35 m, beyond any use."""


def read(
    source: str | os.PathLike[str] | bytes | IO[bytes] | IO[str],
    *,
    name: str | None = None,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
    pdf_page: int | None = None,
) -> tuple[Block, ...]:
    """Read the blocks of a drawing.

    Parameters
    ----------
    source
        An SVG, PDF, DXF, GeoJSON or WKT file: its path (``-`` for standard input), its bytes, or the open file.
    name
        What the drawing is called in messages, and its blocks after it; its suffix tells the format where the
        content does not. None for the path, the name of the open file, or ``drawing``.
    width
        Inches that the bounding box of the whole drawing is made wide; None keeps the size that the file states.
    tolerance
        What cloth cannot tell apart, inches.
    skip_layers
        Labels, ids or classes of what to leave out.
    marks
        Labels, ids or classes of what is sewn on afterwards: markings and no seams.
    lines
        Whether strokes are lines however thick they are; otherwise those wider than 1/8 in that are drawn among
        filled shapes are strips of fabric.
    white
        Whether a white rectangle under everything is ``paper`` or ``fabric``; None lets the drawing decide.
    pdf_page
        Number of the page of a PDF file, from 1 on; None for the first.

    Returns
    -------
    tuple of Block
        Sorted by the left, then the top of their bounding boxes.

    Raises
    ------
    DrawingError
        If the drawing cannot be read or used; it names every place that is wrong.
    LimitError
        If it is larger than what is read.
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> seamtree.read("samples/buoy.svg")
    (<Block 'buoy': 8.66 × 10 in, 26 patches, 56 junctions>,)
    >>> seamtree.read(b"POLYGON ((0 0, 3 0, 0 3, 0 0))", name="pennant")
    (<Block 'pennant': 3 × 3 in, 1 patch, 3 junctions>,)
    """
    from seamtree.block.build import build_blocks

    drawing = _parsed(
        source,
        name=name,
        width=width,
        tolerance=tolerance,
        skip_layers=skip_layers,
        marks=marks,
        lines=lines,
        white=white,
        pdf_page=pdf_page,
    )
    return build_blocks(drawing, tolerance=float(tolerance))


def sketch(
    source: str | os.PathLike[str] | bytes | IO[bytes] | IO[str],
    *,
    name: str | None = None,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
    pdf_page: int | None = None,
    within: float | None = None,
    time_limit: float = 10.0,
) -> tuple[Sketch, ...]:
    """Read the blocks of a drawing in which patches may float in others, as a motif does on its background.

    `mend` gives such a block the seams of its background.

    Parameters
    ----------
    source, name, width, tolerance, skip_layers, marks, lines, white, pdf_page
        As for `read`.
    within
        How large slips of the hand may be that are mended first, inches; None mends none. The sketches tell what was
        mended.
    time_limit
        Effort for that in seconds of an ordinary machine; counted, not clocked.

    Returns
    -------
    tuple of Sketch
        Sorted by the left, then the top of their bounding boxes.

    Raises
    ------
    DrawingError
        If the drawing cannot be read or used; it names every place that is wrong.
    LimitError
        If it is larger than what is read.
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> head = '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'
    >>> shapes = '<path fill="#87ceeb" d="M0 0H8V8H0Z"/><path fill="#c8102e" d="M2 2H6V6H2Z"/></svg>'
    >>> (block,) = seamtree.sketch((head + shapes).encode())
    >>> seamtree.mend(block).best.counts.patches
    5
    """
    from seamtree.block.build import build_sketches

    drawing = _parsed(
        source,
        name=name,
        width=width,
        tolerance=tolerance,
        skip_layers=skip_layers,
        marks=marks,
        lines=lines,
        white=white,
        pdf_page=pdf_page,
    )
    if within is None:
        return build_sketches(drawing, tolerance=float(tolerance))
    from seamtree.mending.slips import mend_slips, with_slips

    size = arguments.number("within", within, unit="inches")
    mended = mend_slips(drawing, within=size, tolerance=float(tolerance), time_limit=_time_limit(time_limit))
    sketches = build_sketches(mended.drawing, tolerance=float(tolerance))
    return with_slips(sketches, mended.slips)


def _parsed(
    source: Any,
    *,
    name: Any,
    width: Any,
    tolerance: Any,
    skip_layers: Any,
    marks: Any,
    lines: Any,
    white: Any,
    pdf_page: Any,
) -> Drawing:
    """Look at what `read` was given, and return what the file says."""
    from seamtree.drawing import limits
    from seamtree.drawing.read import parse_drawing

    if width is not None:
        width = arguments.number("width", width, most=limits.MAX_INCHES, unit="inches")
    tolerance = arguments.number(
        "tolerance", tolerance, least=limits.LEAST_TOLERANCE, most=limits.MAX_INCHES, unit="inches"
    )
    skip_layers = arguments.texts("skip_layers", skip_layers)
    marks = arguments.texts("marks", marks)
    arguments.flag("lines", lines)
    if white is not None:
        arguments.choice("white", white, _WHITES)
    if pdf_page is not None:
        pdf_page = arguments.whole("pdf_page", pdf_page, least=1, most=limits.MAX_PAGES)
    if name is not None:
        arguments.text("name", name)
    data, found = _load(source)
    called = name or found
    limits.check_size(data, called)
    return parse_drawing(
        data,
        source=called,
        width=width,
        tolerance=tolerance,
        skip_layers=skip_layers,
        marks=marks,
        lines=lines,
        white=white,
        pdf_page=pdf_page,
    )


def _load(source: Any) -> tuple[bytes, str]:
    """Return the bytes of a drawing and what it is called."""
    from seamtree.drawing.read import load

    if isinstance(source, bytes | bytearray | memoryview):
        return bytes(source), "drawing"
    if isinstance(source, str | os.PathLike):
        path = os.fspath(source)
        if isinstance(path, str):
            return load(path), path
    elif hasattr(source, "read"):
        return _load_open(source)
    raise ArgumentTypeError(
        f"source must be a path, bytes or an open file, not a {type(source).__name__}", argument="source"
    )


def _load_open(file: Any) -> tuple[bytes, str]:
    from seamtree.drawing.limits import MAX_BYTES

    name = getattr(file, "name", None)
    called = name if isinstance(name, str) else "drawing"
    try:
        data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:  # closed, not readable, or no text in the encoding of the file
        reason = getattr(error, "strerror", None) or str(error)
        raise DrawingError(Finding("unreadable", f"The file cannot be read: {reason}."), source=called) from error
    if isinstance(data, str):
        return re.sub(_ENCODING, r"\1", data, count=1).encode("utf-8", "surrogatepass"), called
    if isinstance(data, bytes):
        return data, called
    raise ArgumentTypeError(f"source must read bytes or text, not {type(data).__name__}", argument="source")


def plan(
    block: Block,
    *,
    time_limit: float = 10.0,
    largest: tuple[float, float] | str | None = None,
    fit: str | None = None,
    prefer: str = "units",
    renumber: bool = False,
) -> Plan:
    """Find the best sewing order of a block and check it by sewing it step by step.

    Parameters
    ----------
    block
        What is to be sewn.
    time_limit
        Effort in seconds of an ordinary machine. It is counted in steps of the search, not clocked, so that the
        answer is the same on every machine; when it ends, the plan is valid and its bound honest.
    largest
        Width and height of a rectangle (inches, or text such as ``19cmx25cm``; finished size) that no unit may be
        larger than, turned by any angle. A patch that is too large by itself stays a unit.
    fit
        ``a4`` or ``letter``: no unit may be larger than a sheet of this paper holds; instead of `largest`.
    prefer
        ``units`` for fewest units, ``repeats`` for fewest different foundations and then fewest units.
    renumber
        Whether units and numbers that are printed on the drawing, and can be sewn, give way to the best ones.

    Returns
    -------
    Plan
        Units in sewing order, joins, counts, and what is proven.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.
    ReplayError, ProofError
        If the plan describes no real sewing order or its proof has a gap, which would be a fault of this program.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> seamtree.plan(block)
    <Plan of 'buoy': joined units, 26 patches, 8 units, no hard corners, proven>
    >>> seamtree.plan(block, largest=(4, 4)).counts.units
    15
    """
    from seamtree.planning.build import plan

    wishes = _wishes(largest, fit, arguments.choice("prefer", prefer, ("units", "repeats")), renumber=renumber)
    block = arguments.instance("block", block, Block)
    return plan(block, time_limit=_time_limit(time_limit), wishes=wishes)


def explain(plan: Plan, *, time_limit: float = 10.0) -> Explanation:
    """Find what stands in the way of fewer units in a plan, and what each choice of a seam costs.

    Parameters
    ----------
    plan
        The plan that is explained.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.

    Returns
    -------
    Explanation
        The reasons, as sentences and as plain data.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> explanation = seamtree.explain(seamtree.plan(block))
    >>> len(explanation.reasons.certain), len(explanation.reasons.knots)
    (7, 0)
    """
    from seamtree.planning.explain import explain

    return explain(arguments.instance("plan", plan, Plan), time_limit=_time_limit(time_limit))


def check_proof(block: Block, proof: Proof) -> Checked:
    """Check a proof that no sewing order of a block has fewer hard corners or units.

    Nothing is searched for: each claim is followed on the block alone. A proof of a plan with repeats first also says
    how many different foundations there are at least; that of one with printed units, that these can be sewn.

    Parameters
    ----------
    block
        The block.
    proof
        What is claimed, as `Plan.proof` has it.

    Returns
    -------
    Checked
        What the proof shows, and what of it stands as a search has settled it.

    Raises
    ------
    ProofError
        If a claim does not follow, or the proof is about another block.
    OptionError
        If an argument is of the wrong type.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> checked = seamtree.check_proof(block, seamtree.plan(block).proof)
    >>> checked.units, checked.units_witnessed
    (8, True)
    """
    from seamtree.proofs.check import check_proof

    return check_proof(arguments.instance("block", block, Block), arguments.instance("proof", proof, Proof))


def mend(
    block: Block | Sketch,
    *,
    goal: Goal = "straight seams",
    units: int | None = None,
    spare: Sequence[str] = (),
    curve_tolerance: float | None = None,
    alternatives: int = 1,
    time_limit: float = 10.0,
    before: Plan | None = None,
) -> Mending:
    """Find the smallest change of a block that makes it sewable with straight seams.

    Parameters
    ----------
    block
        The block as drawn; a sketch, as `sketch` reads it, where patches may float in others.
    goal
        ``straight seams``: carry seams on, adding as few patches as possible; among equals, fewest units, then most
        of the drawing's symmetry, then fewest matched points and different foundations. ``units``: add as few patches
        as possible so that no more than `units` units are needed. ``frontier``: what each further patch buys, from
        the fewest patches to the fewest units. ``merged``: drop as few seams as possible between neighbours of the
        same fabric, so that there are no hard corners, or fewer of them, or fewer units.
    units
        Most units; for the goal ``units`` alone.
    spare
        Fabrics, by colour or word, through whose patches no seam is carried.
    curve_tolerance
        Replace curved seams by straight ones within this distance first (inches); None leaves them curved.
    alternatives
        How many equally small changes are wanted, 1 to 5.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    before
        The plan of the block as drawn, where there is one already: its patch ids are then used.

    Returns
    -------
    Mending
        The changes, and the plans before and after.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/net-shed.svg")
    >>> mending = seamtree.mend(block)
    >>> mending.before.verdict, mending.best.verdict
    ('hard corners', 'joined units')
    """
    from seamtree.block.sketch import Sketch
    from seamtree.mending.find import MOST_ALTERNATIVES, mend

    if not isinstance(block, Sketch):
        arguments.instance("block", block, Block)
    arguments.choice("goal", goal, _GOALS)
    if curve_tolerance is not None:
        curve_tolerance = arguments.number("curve_tolerance", curve_tolerance, unit="inches")
    alternatives = arguments.whole("alternatives", alternatives, least=1, most=MOST_ALTERNATIVES)
    if units is not None:
        units = arguments.whole("units", units, least=1, most=_MOST_UNITS)
    if isinstance(block, Block):
        _plan_of("before", before, block)
    return mend(
        block,
        goal=goal,
        units=units,
        spare=arguments.texts("spare", spare),
        curve_tolerance=curve_tolerance,
        alternatives=alternatives,
        time_limit=_time_limit(time_limit),
        before=before,
    )


def proofread(block: Block, *, time_limit: float = 10.0, best: Plan | None = None) -> Proofreading:
    """Prove that a block can be sewn exactly as its printed numbers say, or say what is wrong with them.

    Parameters
    ----------
    block
        What is to be sewn; the labels of its patches are the printed numbers.
    time_limit
        For the search whether fewer units would do, as for `seamtree.plan`.
    best
        What `seamtree.plan` returned for the block, if it is known already.

    Returns
    -------
    Proofreading
        The printed units, how straight seams join them, and everything that is wrong.

    Raises
    ------
    DrawingError
        If no patch has a label to read.
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/mussel.svg")
    >>> seamtree.proofread(block).proven
    True
    """
    from seamtree.proofreading.prove import proofread

    arguments.instance("block", block, Block)
    _plan_of("best", best, block)
    return proofread(block, time_limit=_time_limit(time_limit), best=best)


def rate(plan: Plan, *, scale: Scale | None = None, changes: bool = True, time_limit: float = 1.0) -> Rating:
    """Rate how hard a planned block is to sew at the size that it has.

    Parameters
    ----------
    plan
        The plan.
    scale
        Points, levels and skills; None for the scale that comes with the package.
    changes
        Whether to look for what would lower the score most; that takes far longer than all the rest.
    time_limit
        Effort of each search for other seams that would lower the score, in seconds of an ordinary machine; counted,
        not clocked.

    Returns
    -------
    Rating
        The level, the points behind it, and what would lower it.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> rating = seamtree.rate(seamtree.plan(block), changes=False)
    >>> rating.level, rating.word
    (3, 'intermediate')
    """
    from seamtree.rating import Scale, rate

    arguments.instance("plan", plan, Plan)
    if scale is not None:
        arguments.instance("scale", scale, Scale)
    return rate(plan, scale=scale, changes=arguments.flag("changes", changes), time_limit=_time_limit(time_limit))


def pack(plans: Plan | Iterable[Plan] | Work, options: Options | None = None, *, title: str | None = None) -> Pack:
    """Make everything on paper that a sewist needs for some blocks: one PDF file, and what is in it as data.

    Parameters
    ----------
    plans
        A plan, or the plans of the blocks of a drawing; or a pattern, which `seamtree.pattern.build_work` puts
        together of blocks with copies, fabrics and a setting.
    options
        Paper, allowances and how lengths are written; None for what is usual.
    title
        Of the document; None for the name of the first block. A pattern has a title of its own.

    Returns
    -------
    Pack
        Its `pdf` is the content of the file; the same for the same arguments, always.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.
    SeamtreeError
        If a unit would take an absurd number of pages.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> pack = seamtree.pack(seamtree.plan(block), seamtree.PackOptions(pages=("foundations",)))
    >>> pack.pdf[:5]
    b'%PDF-'
    """
    from seamtree.pattern.pack import Options, make_pack
    from seamtree.pattern.work import Work

    options = Options() if options is None else arguments.instance("options", options, Options)
    if isinstance(plans, Work):
        if title is not None:
            raise OptionError("title must be None for a pattern, which has one of its own", argument="title")
        return make_pack(plans, options)
    found = arguments.instances("plans", plans, Plan)
    return make_pack(found, options, title="" if title is None else arguments.text("title", title))


def render_svg(
    plan: Plan,
    *,
    node: Node | None = None,
    look: Look | None = None,
    size: float | None = None,
    scale: float | None = None,
    prefix: str = "picture",
    declaration: bool = True,
) -> str:
    """Return a picture of a plan as the text of an SVG file.

    Parameters
    ----------
    plan
        What to draw.
    node
        The part to draw, a unit or join of the plan; None for the whole block.
    look
        How; None for everything there is.
    size
        Longest side of the block in the picture (points); margins, caption and legend come on top. None for one that
        fits a page, and as much more as many small patches need.
    scale
        Points to an inch of the block instead of `size`, so that several pictures have one scale.
    prefix
        What the ids in the file begin with. Pictures in one HTML page need prefixes that differ.
    declaration
        Whether it begins with an XML declaration, as a file does; inside an HTML page there is none.

    Returns
    -------
    str
        The same for the same arguments, always.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> plan = seamtree.plan(block)
    >>> seamtree.render_svg(plan, node=plan.unit("B"), declaration=False)[:4]
    '<svg'
    """
    from seamtree.picture.render import render_svg

    _check_picture(plan, node, look)
    return render_svg(
        plan,
        node=node,
        look=look,
        size=_points("size", size),
        scale=_points("scale", scale),
        prefix=arguments.text("prefix", prefix),
        declaration=arguments.flag("declaration", declaration),
    )


def render_png(
    plan: Plan,
    *,
    node: Node | None = None,
    look: Look | None = None,
    size: float | None = None,
    scale: float | None = None,
    resolution: float = 144.0,
) -> bytes:
    """Return a picture of a plan as the bytes of a PNG file, on white.

    Parameters
    ----------
    plan, node, look, size, scale
        As for `seamtree.render_svg`.
    resolution
        Pixels to an inch of the picture.

    Returns
    -------
    bytes
        The same for the same arguments, always.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense, or the image would be too large.

    Examples
    --------
    >>> import seamtree
    >>> (block,) = seamtree.read("samples/buoy.svg")
    >>> seamtree.render_png(seamtree.plan(block), resolution=36)[1:4]
    b'PNG'
    """
    from seamtree.picture.draw import draw_plan
    from seamtree.picture.png import write_png

    _check_picture(plan, node, look)
    resolution = arguments.number("resolution", resolution, unit="pixels to an inch")
    picture = draw_plan(plan, node=node, look=look, size=_points("size", size), scale=_points("scale", scale))
    return write_png(picture, resolution=resolution)


def audit(
    places: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
    settings: Settings | None = None,
    *,
    limits: Limits | None = None,
    workers: int = 1,
    store: str | os.PathLike[str] | None = None,
) -> Iterator[Record]:
    """Audit the drawings in files and below folders, each within limits of its own, and yield records as they come.

    Parameters
    ----------
    places
        Files, and folders below which every drawing is audited.
    settings
        How drawings are read and worked on; None for what is usual.
    limits
        What one drawing may take before it is cut off; None for what is usual.
    workers
        How many processes work at a time.
    store
        File that keeps finished records, so that nothing is audited twice; None keeps none.

    Returns
    -------
    iterator of Record
        One for each drawing, in the order in which they are done. A drawing that is faulty, cut off or crashes has
        a record that says so.

    Raises
    ------
    OptionError
        If an argument is of the wrong type or makes no sense, or there are no drawings below a folder.
    SeamtreeError
        If the store cannot be used.

    Examples
    --------
    >>> import seamtree
    >>> [record.verdict for record in seamtree.audit("samples/buoy.svg")]
    ['joined units']
    """
    from seamtree.auditing.places import find_drawings
    from seamtree.auditing.record import Settings
    from seamtree.auditing.run import Limits

    given = (places,) if isinstance(places, str | os.PathLike) else arguments.several("places", places)
    sources = find_drawings([_path("places", place) for place in given])
    settings = Settings() if settings is None else arguments.instance("settings", settings, Settings)
    settings.check()
    limits = Limits() if limits is None else arguments.instance("limits", limits, Limits)
    workers = arguments.whole("workers", workers, least=1, most=_MOST_WORKERS)
    kept = Path(":memory:") if store is None else Path(_path("store", store))
    return _records(sources, settings, limits, workers, kept)


def _records(sources: list[str], settings: Settings, limits: Limits, workers: int, store: Path) -> Iterator[Record]:
    from seamtree.auditing.run import audit, local_executor
    from seamtree.auditing.store import Store

    with Store(store) as kept, local_executor(workers=workers, limits=limits) as executor:
        yield from audit(sources, settings, executor=executor, store=kept, limits=limits)


# -- arguments that several functions have ----------------------------------------------------------------------


def _time_limit(value: Any) -> float:
    return arguments.number("time_limit", value, unit="seconds")


def _wishes(largest: Any, fit: Any, prefer: str, *, renumber: Any) -> Wishes:
    """Return what is asked of a plan.

    Raises
    ------
    OptionError
        If it makes no sense.
    """
    from seamtree.pattern.lengths import parse_size
    from seamtree.pattern.paper import find_paper
    from seamtree.planning.wishes import Wishes

    repeats, renumber = prefer == "repeats", arguments.flag("renumber", renumber)
    if largest is not None and fit is not None:
        raise OptionError("largest and fit both say how large a unit may be; give one of them", argument="fit")
    if fit is not None:
        paper = find_paper(arguments.text("fit", fit))
        return Wishes(paper.holds(), paper.name, repeats, renumber)
    if isinstance(largest, str):
        return Wishes(parse_size(largest), "", repeats, renumber)
    if largest is None:
        return Wishes(None, "", repeats, renumber)
    sides = arguments.several("largest", largest)
    if len(sides) != 2:
        raise OptionError(f"largest must be a width and a height, not {len(sides)} numbers", argument="largest")
    wide, high = (arguments.number("largest", side, unit="inches") for side in sides)
    return Wishes((wide, high), "", repeats, renumber)


def _plan_of(name: str, value: Any, block: Block) -> None:
    """Refuse what is neither None nor a plan of the block."""
    if value is not None and arguments.instance(name, value, Plan).block != block:
        raise OptionError(f"{name} must be a plan of this block, not of {value.block.name[:40]!r}", argument=name)


def _check_picture(plan: Any, node: Any, look: Any) -> None:
    from seamtree.picture.draw import Look

    arguments.instance("plan", plan, Plan)
    if not isinstance(node, Unit | Join | None):
        raise ArgumentTypeError(
            f"node must be a unit or join of the plan, not a {type(node).__name__}", argument="node"
        )
    if look is not None:
        arguments.instance("look", look, Look)


def _points(name: str, value: Any) -> float | None:
    return None if value is None else arguments.number(name, value, least=0.001, most=MOST_POINTS, unit="points")


def _path(name: str, value: Any) -> str:
    if isinstance(value, str | os.PathLike):
        path = os.fspath(value)
        if isinstance(path, str):
            return path
    raise ArgumentTypeError(f"{name} must be a path, not a {type(value).__name__}", argument=name)
