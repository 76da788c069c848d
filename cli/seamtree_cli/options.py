"""Arguments and options that several commands share."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple

import typer

from seamtree.errors import OptionError
from seamtree.tolerances import TOLERANCE
from seamtree_cli.work import Job

if TYPE_CHECKING:
    from seamtree.planning.wishes import Wishes

READING = "How the drawing is read"
WORKING = "How it is worked on"
ASKING = "What is asked of the plan"
SHOWING = "What is shown"
CLOTH = "How the cloth is cut"

Drawings = Annotated[
    list[str],
    typer.Argument(
        metavar="DRAWING...",
        help="Drawings to read: SVG, PDF, DXF, GeoJSON or WKT files; - reads one from standard input.",
        show_default=False,
    ),
]

Drawing = Annotated[
    str,
    typer.Argument(
        metavar="DRAWING",
        help="Drawing to read: an SVG, PDF, DXF, GeoJSON or WKT file; - reads one from standard input.",
        show_default=False,
    ),
]


def read_length(text: str) -> float:
    """Read a length; what is wrong with it is told as for every option."""
    from seamtree.pattern.lengths import parse_length

    try:
        return parse_length(text)
    except OptionError as error:
        raise typer.BadParameter(str(error)) from error


Width = Annotated[
    float | None,
    typer.Option(
        metavar="LENGTH",
        parser=read_length,
        help="Finished width of the whole drawing: 6, 6in, 15cm, 150mm. Without it the drawing's own size counts.",
        rich_help_panel=READING,
        show_default=False,
    ),
]

Tolerance = Annotated[
    float,
    typer.Option(
        metavar="INCHES",
        help="What cloth cannot tell apart: line ends that miss by less are closed up, bends that stray less are "
        "straight.",
        rich_help_panel=READING,
    ),
]

SkipLayer = Annotated[
    list[str] | None,
    typer.Option(
        metavar="NAME",
        help="Leave out a layer, by its name, id or class; may be given several times.",
        rich_help_panel=READING,
        show_default=False,
    ),
]

Marks = Annotated[
    list[str] | None,
    typer.Option(
        metavar="NAME",
        help="What is in this layer (or has this id or class) is sewn on afterwards, as buttons and embroidery are: "
        "markings and no seams; may be given several times.",
        rich_help_panel=READING,
        show_default=False,
    ),
]

Lines = Annotated[
    bool,
    typer.Option(
        "--lines",
        help="Strokes are lines however thick they are. Otherwise those wider than 1/8 in, among filled shapes, are "
        "strips of fabric.",
        rich_help_panel=READING,
    ),
]

White = Annotated[
    Literal["paper", "fabric"] | None,
    typer.Option(
        help="What a white rectangle under everything is. Without it, paper if what is left has straight sides.",
        rich_help_panel=READING,
        show_default=False,
    ),
]

PdfPage = Annotated[
    int | None,
    typer.Option(
        metavar="N",
        min=1,
        help="Which page of a PDF file to read. Without it the first.",
        rich_help_panel=READING,
        show_default=False,
    ),
]

TimeLimit = Annotated[
    float,
    typer.Option(
        metavar="SECONDS",
        help="How long to look for the best sewing order of each block. When time runs out you get the best one "
        "found, and how much better another could be.",
        rich_help_panel=WORKING,
    ),
]

Largest = Annotated[
    str | None,
    typer.Option(
        metavar="WxH",
        help="No unit may be larger than this, finished size, turned by any angle: 5x5, 19cmx25cm.",
        rich_help_panel=ASKING,
        show_default=False,
    ),
]

Fit = Annotated[
    str | None,
    typer.Option(
        metavar="a4|letter",
        help="No unit may be larger than a sheet of this paper holds, so that no foundation has to be taped.",
        rich_help_panel=ASKING,
        show_default=False,
    ),
]


Prefer = Annotated[
    Literal["units", "repeats"],
    typer.Option(
        help="What counts first where straight seams sew the block: fewer units, or fewer different foundations "
        "(repeats), so that equal motifs are sewn one like the other.",
        rich_help_panel=ASKING,
    ),
]

Renumber = Annotated[
    bool,
    typer.Option(
        "--renumber",
        help="Give new units and numbers. Without it those printed on the drawing are kept if they can be sewn.",
        rich_help_panel=ASKING,
    ),
]


class Asked(NamedTuple):
    """What the options ask of plans; see `about_plans`."""

    largest: str | None
    fit: str | None
    prefer: str
    renumber: bool

    def wishes(self, *, allowance: float | None = None) -> Wishes:
        """Return what is asked of plans, with foundations of an allowance in inches.

        Raises
        ------
        OptionError
            If an option makes no sense.
        """
        from seamtree.planning.wishes import Wishes

        repeats = self.prefer == "repeats"
        if self.largest is not None and self.fit is not None:
            raise OptionError("--largest and --fit both say how large a unit may be; give one of them")
        if self.largest is not None:
            from seamtree.pattern.lengths import parse_size

            return Wishes(parse_size(self.largest), repeats=repeats, renumber=self.renumber)
        if self.fit is not None:
            from seamtree.pattern.paper import ALLOWANCE, find_paper

            paper = find_paper(self.fit)
            size = paper.holds(ALLOWANCE if allowance is None else allowance)
            return Wishes(size, paper.name, repeats, self.renumber)
        return Wishes(repeats=repeats, renumber=self.renumber)


Workers = Annotated[
    int,
    typer.Option(
        metavar="N",
        min=1,
        max=64,
        help="How many drawings to work on at the same time. The answers are the same for any number.",
        rich_help_panel=WORKING,
    ),
]

Json = Annotated[
    bool,
    typer.Option("--json", help="Print one JSON object a drawing, each on a line, instead.", rich_help_panel=SHOWING),
]

Watch = Annotated[
    bool,
    typer.Option(
        "--watch",
        help="Go on: answer again whenever the drawing is saved, what has changed first. Ctrl-C ends.",
        rich_help_panel=WORKING,
    ),
]

Allowance = Annotated[
    str,
    typer.Option(metavar="LENGTH", help="Seam allowance round each unit, like 0.25in or 6mm.", rich_help_panel=CLOTH),
]

Margin = Annotated[
    str,
    typer.Option(
        metavar="LENGTH", help="How much larger than its patch a piece is cut, all round.", rich_help_panel=CLOTH
    ),
]

RoundUp = Annotated[
    str | None,
    typer.Option(
        metavar="LENGTH",
        help="Round the sides of pieces up to a multiple of this. Without it 0.25in, or 5mm with --metric.",
        rich_help_panel=CLOTH,
        show_default=False,
    ),
]


def about_a_drawing(body: Callable[..., int], *, more: tuple[inspect.Parameter, ...] = ()) -> Callable[..., int]:
    """Give a command the options on how a drawing is read, where its parameter `job` stands.

    Parameters
    ----------
    body
        Gets them together as a `Job` without a source.
    more
        Options that follow them.
    """
    return _gather(body, "job", (*_READING, *more), _job)


def about_drawings(body: Callable[..., int]) -> Callable[..., int]:
    """Give a command the options on how drawings are read and how long they are worked on."""
    return about_a_drawing(body, more=(_option("time_limit", TimeLimit, 10.0),))


def about_plans(body: Callable[..., int]) -> Callable[..., int]:
    """Give a command the options on what is asked of plans, where its parameter `asked` stands."""
    return _gather(body, "asked", _ASKING, Asked)


def _gather(
    body: Callable[..., int], name: str, ours: Sequence[inspect.Parameter], build: Callable[..., Any]
) -> Callable[..., int]:
    """Give a command options in place of one of its parameters, which gets what is built of them."""

    @functools.wraps(body)
    def run(*args: Any, **given: Any) -> int:
        mine = {parameter.name: given.pop(parameter.name) for parameter in ours}
        return body(*args, **given, **{name: build(**mine)})

    signature = inspect.signature(body, eval_str=True)
    parameters: list[inspect.Parameter] = []
    for parameter in signature.parameters.values():
        parameters += ours if parameter.name == name else [parameter]
    run.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return run


def _option(name: str, kind: Any, default: object) -> inspect.Parameter:
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=kind)


_READING = (
    _option("width", Width, None),
    _option("tolerance", Tolerance, TOLERANCE),
    _option("skip_layer", SkipLayer, None),
    _option("marks", Marks, None),
    _option("lines", Lines, False),
    _option("white", White, None),
    _option("pdf_page", PdfPage, None),
)

_ASKING = (
    _option("largest", Largest, None),
    _option("fit", Fit, None),
    _option("prefer", Prefer, "units"),
    _option("renumber", Renumber, False),
)


def _job(*, skip_layer: list[str] | None, marks: list[str] | None, time_limit: float = 10.0, **others: Any) -> Job:
    return Job("", skip_layers=tuple(skip_layer or ()), marks=tuple(marks or ()), time_limit=time_limit, **others)
