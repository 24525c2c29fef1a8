"""Prints a view: jinja2 to self-contained HTML, WeasyPrint to PDF. The only door to both.

A paper is one file: its style, its fonts and reduced copies of its pictures are inside. WeasyPrint fetches nothing
from outside, and a single line in its log is an error, because it only logs what it leaves out.
"""

from __future__ import annotations

import gc
import logging
import os
from bisect import bisect_left
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from recover.base.counted import by_number
from recover.base.errors import PaperError
from recover.job.writing import write_whole
from recover.report.paper import View
from recover.report.words import words

FONTS = Path(str(files("recover.report"))) / "fonts"
NO_PANGO = (
    "PDF needs the Pango library, which is not installed here. The HTML prints from any browser. To get PDF: "
    "Debian or Ubuntu: apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0; macOS: brew install pango; "
    "Windows: see the README's section on installing."
)
_TEMPLATES = {
    "form": "form",
    "recovery": "recovery",
    "record": "record",
    "first-days": "first_days",
    "bring-list": "bring",
    "tag": "tag",
    "kiln-room": "kiln_room",
    "handover": "handover",
    "annex": "annex",
}


_AS: dict[str, Any] = {"pdf_variant": "pdf/ua-1", "full_fonts": False}


def _template_folder() -> Path:
    """Return the folder of templates: beside the package where it is installed, at the top of a checkout otherwise."""
    package = Path(str(files("recover")))
    inside = package / "templates"
    return inside if inside.is_dir() else package.parent / "templates"


def html(view: View) -> str:
    """Return a view as one self-contained HTML document."""
    from markupsafe import Markup

    template = _environment().get_template(f"{_TEMPLATES[view['paper']['kind']]}.html.j2")
    document: str = template.render(**view, style=Markup(_style()), words=words())
    return document


@cache
def _environment() -> Any:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_template_folder()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["by_number"] = by_number
    return environment


@cache
def _style() -> str:
    return _fonts() + (_template_folder() / "print.css").read_text("utf-8")


def pdf(document: str) -> bytes:
    """Return HTML as PDF. Raises PaperError if Pango is missing, or if WeasyPrint had anything to say."""
    laid_out = _FITTED.pop(document, None) or _laid_out(document)
    content: bytes = laid_out.write_pdf(**_AS)
    return content


_FITTED: dict[str, Any] = {}
"""What was laid out to find the view that fits, by its HTML, until it is printed."""


def fitted(view: View) -> View:
    """Return a view set as loosely as stays on one page: by the first of its `sets` that does, else by the last.

    Only the layout itself knows how much goes on a page. Without Pango it is the last. Raises PaperError as `pdf` does.
    """
    views = [{**view, "set": one} for one in view["sets"]]
    tried: dict[int, tuple[str, Any]] = {}

    def fits(number: int) -> bool:
        document = html(views[number])
        tried[number] = document, _laid_out(document)
        return len(tried[number][1].pages) == 1

    try:
        fitting = bisect_left(range(len(views) - 1), True, key=fits)
    except PaperError as error:
        if str(error) == NO_PANGO:
            return views[-1]
        raise
    _FITTED.clear()
    _FITTED.update([tried[fitting]] if fitting in tried else [])
    return views[fitting]


def _laid_out(document: str) -> Any:
    """Return HTML as WeasyPrint's document. Raises PaperError if Pango is missing, or if it had anything to say."""
    os.environ["FONTCONFIG_FILE"] = str(FONTS / "fonts.conf")  # a paper sees the shipped fonts and no others
    logger, said = logging.getLogger("weasyprint"), _Said()
    logger.addHandler(said)
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher

        gc.disable()  # what a layout makes lives to its end: to look for garbage meanwhile costs a tenth and finds none
        only_inside = URLFetcher(allowed_protocols={"data"})  # an answer must not make a paper fetch anything
        laid_out = HTML(string=_drawable(document), base_url="recover:paper", url_fetcher=only_inside).render(**_AS)
    except OSError as error:
        raise PaperError(NO_PANGO) from error
    finally:
        gc.enable()
        logger.removeHandler(said)
    if said.lines:
        raise PaperError("the paper could not be laid out as designed: " + "; ".join(said.lines))
    return laid_out


def printed(view: View, name: str) -> dict[str, bytes]:
    """Return the files of a paper by name: its PDF where Pango is there, and its HTML. Raises PaperError."""
    document = html(view)
    page = {f"{name}.html": document.encode()}
    try:
        return {f"{name}.pdf": pdf(document), **page}
    except PaperError as error:
        if str(error) == NO_PANGO:
            return page
        raise


def write(view: View, folder: Path, name: str) -> list[Path]:
    """Write a view as HTML and, where Pango is there, as PDF; return the files. Raises PaperError, JobError."""
    files = printed(view, name)
    for file, content in files.items():
        write_whole(folder / file, content)
    return [folder / file for file in files]


class _Said(logging.Handler):
    """Keeps what WeasyPrint logs."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one line."""
        self.lines.append(record.getMessage())


def _drawable(document: str) -> str:
    """Return a document in which characters that the shipped fonts cannot draw stand as their code: [U+7AAF].

    Nothing is lost by it: the journal and the HTML keep what was written.
    """
    strange = set(document) - _characters() - set("\n\t")
    return document.translate({ord(one): f"[U+{ord(one):04X}]" for one in strange}) if strange else document


@cache
def _characters() -> frozenset[str]:
    from fontTools.ttLib import TTFont

    maps = [TTFont(file).getBestCmap() for file in sorted(FONTS.glob("*-Regular.woff"))]
    return frozenset(chr(code) for code in set(maps[0]).intersection(*maps))


def _fonts() -> str:
    """Return fonts.css with each font file as a data address."""
    import base64
    import re

    def inlined(found: re.Match[str]) -> str:
        content = (FONTS / found[1]).read_bytes()
        return f'url("data:font/woff;base64,{base64.b64encode(content).decode()}")'

    return re.sub(r'url\("?([^")]+\.woff)"?\)', inlined, (FONTS / "fonts.css").read_text("utf-8"))
