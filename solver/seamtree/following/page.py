"""One page to sew by: every step of a pattern, with pictures, one at a time or as a list.

The page needs nothing but itself: styles, script and data are in it, and its own security policy forbids to load or
to run anything else, for it names what is in it by its digest (Content Security Policy level 3, 2.3.1). The steps
stand in it as a list, which is what is printed and what is seen where scripts do not run; the script shows one at a
time and draws its pictures.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from typing import Any

from seamtree.following.screens import TOOLS, Screen, Screens, build_screens
from seamtree.following.stills import Stills
from seamtree.pattern.directions import CAUTIONS
from seamtree.pattern.pack import Options, cloths_of
from seamtree.pattern.work import Work
from seamtree.words import count, one_line

_HIDES = re.compile(r"[<>&\u2028\u2029]")
"""Characters that JSON has to hide from whoever looks for the end of a script in a page."""


@dataclass(frozen=True, slots=True)
class Live:
    """What makes a page follow a drawing that is watched.

    Parameters
    ----------
    events
        Address, as seen from the page, that tells of new states (server-sent events).
    news
        What has changed since the state before.
    """

    events: str
    news: tuple[str, ...] = ()


def render_follow_page(work: Work, options: Options | None = None, *, live: Live | None = None) -> str:
    """Return the page (HTML).

    Parameters
    ----------
    work
        The pattern.
    options
        As for a pack: allowance, margin, how lengths are written.
    live
        How it follows a drawing that is watched; None for a page that stands by itself.

    Raises
    ------
    OptionError
        If an option makes no sense.
    """
    options = options or Options()
    cloths = cloths_of(work, options)
    blocks = [
        build_screens(
            block,
            [cloth for cloth in cloths if cloth.block == number],
            work.fabrics,
            options=options,
            alone=len(work.blocks) == 1,
        )
        for number, block in enumerate(work.blocks)
    ]
    style, script = _asset("page.css"), _asset("page.js")
    title = _text(work.title)
    steps = sum(len(block.screens) for block in blocks)
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{page_policy(live=live is not None)}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            '<link rel="icon" href="data:,">',
            f"<title>{title}: step by step</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            f"<header><h1>{title}</h1>",
            f'<p class="soft">{f"by {_text(work.by)}. " if work.by else ""}{count(steps, "step")}, first to last. '
            "Sizes to cut: along the line × deep.</p></header>",
            _news(live),
            "<main>",
            _controls(blocks),
            *_notes(work),
            _cautions(),
            '<ol id="steps">',
            *(item for number, block in enumerate(blocks) for item in _items(block, number)),
            "</ol>",
            "</main>",
            f'<script type="application/json" id="data">{_data(blocks, live)}</script>',
            f"<script>{script}</script>",
            "</body>",
            "</html>",
            "",
        ]
    )


def page_policy(*, live: bool) -> str:
    """Return what the page may load and run: what is in it, and news of a watched drawing from where it came from."""
    style, script = (_digest(_asset(name)) for name in ("page.css", "page.js"))
    connect = "'self'" if live else "'none'"
    return (
        f"default-src 'none'; img-src data:; style-src '{style}'; script-src '{script}'; connect-src {connect}; "
        "base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _asset(name: str) -> str:
    return "\n" + (files("seamtree.following") / name).read_text(encoding="utf-8")


def _text(text: str) -> str:
    return escape(one_line(text))


def _data(blocks: Sequence[Screens], live: Live | None) -> str:
    """Return what the script draws from, as JSON that can stand in a page."""
    steps = [
        {"block": number, "title": one_line(screen.title), **screen.shows}
        for number, block in enumerate(blocks)
        for screen in block.screens
    ]
    drawn: dict[str, Any] = {"blocks": [block.shapes for block in blocks], "steps": steps}
    key = hashlib.sha256(json.dumps([drawn, [b.title for b in blocks]]).encode()).hexdigest()[:16]
    everything = drawn | {"key": key, "events": live.events if live else None}
    text = json.dumps(everything, separators=(",", ":"), ensure_ascii=False)
    return _HIDES.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


# -- above the steps --------------------------------------------------------------------------------------------


def _news(live: Live | None) -> str:
    """Return where a page that follows a drawing says what has changed, or what is wrong now."""
    if live is None:
        return ""
    told = "".join(f"<li>{_text(phrase)}</li>" for phrase in live.news)
    changed = f"<p>The drawing has changed:</p><ul>{told}</ul>" if told else ""
    return f'<div id="news" role="status">{changed}</div>'


def _controls(blocks: Sequence[Screens]) -> str:
    """Return what leads through the steps; it is shown only where the script runs."""
    number, entries = 0, []
    for block in blocks:
        inside = ""
        for screen in block.screens:
            if screen.where:
                inside += f'<option value="{number}">{_text(screen.where)}</option>'
            number += 1
        entries.append(f'<optgroup label="{_text(block.title)}">{inside}</optgroup>' if len(blocks) > 1 else inside)
    return "\n".join(
        [
            '<nav id="lead" aria-label="Steps" hidden>',
            '<div class="turn"><button type="button" id="back">Back</button>',
            '<button type="button" id="next">Next</button></div>',
            f'<div class="goto"><label for="part">Go to</label> <select id="part">{"".join(entries)}</select></div>',
            '<button type="button" id="side" aria-pressed="false">Printed side</button>',
            '<progress id="done" aria-label="Steps done" value="0" max="1"></progress>',
            '<p id="where" role="status"></p>',
            "</nav>",
        ]
    )


def _notes(work: Work) -> Iterator[str]:
    """Yield the designer's own notes."""
    paragraphs = [part for part in work.notes.split("\n\n") if part.strip()]
    if paragraphs:
        yield f'<div id="notes">{"".join(f"<p>{_text(part)}</p>" for part in paragraphs)}</div>'


def _cautions() -> str:
    """Return the cautions; the script shows those that a step asks for beside it."""
    told = "".join(f'<li data-tool="{tool}">{_text(said)}</li>' for tool, said in zip(TOOLS, CAUTIONS, strict=True))
    return f'<aside id="care" aria-label="Take care"><h2>Take care</h2><ul>{told}</ul></aside>'


# -- the steps --------------------------------------------------------------------------------------------------


def _items(block: Screens, number: int) -> Iterator[str]:
    """Yield the steps of a block as items of a list."""
    stills = Stills(block.shapes, number)
    for n, screen in enumerate(block.screens):
        still = stills.block() if n == 0 else _still(screen, stills)
        yield _item(screen, still, f'<h2 class="block">{_text(block.title)}</h2>' if n == 0 and number else "")


def _still(screen: Screen, stills: Stills) -> str:
    """Return the picture of a unit at its first piece, and that of a join."""
    shows = screen.shows
    if shows["kind"] == "add" and shows["number"] == 1:
        return stills.unit(shows["unit"])
    return stills.join(shows["parts"], shows["path"]) if shows["kind"] == "join" else ""


def _item(screen: Screen, still: str, above: str) -> str:
    what = f"Picture: {screen.title}"
    picture = f'<div class="still" role="img" aria-label="{_text(what)}">{still}</div>' if still else ""
    sentences = "".join(f"<li>{_text(sentence)}</li>" for sentence in screen.sentences)
    return (
        f'<li class="step" data-tools="{" ".join(screen.tools)}">{above}<h2>{_text(screen.title)}</h2>'
        f'{_take(screen)}<div class="drawn"></div>{picture}<ul class="todo">{sentences}</ul></li>'
    )


def _take(screen: Screen) -> str:
    """Return the piece to take, with a swatch."""
    if screen.take is None:
        return ""
    swatch = (
        '<svg class="swatch" width="28" height="28" viewBox="0 0 28 28" aria-hidden="true">'
        f'<rect x="1" y="1" width="26" height="26" rx="4" fill="{escape(screen.take.colour)}" stroke="#555"/></svg>'
    )
    return f'<p class="take">{swatch}<b>{_text(screen.take.fabric)}</b> <span>{_text(screen.take.size)}</span></p>'
