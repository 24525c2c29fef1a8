"""What a PDF says, as its reader sees it, and a machine that prints none."""

import os

import pypdfium2


def without_pango(folder):
    """Return the environment of a machine without Pango: a stand-in for `weasyprint` in a folder fails as there.

    Papers come as HTML alone, and in a tenth of the time: for tests of what is said and kept, not of what is laid out.
    """
    (folder / "weasyprint.py").write_text("raise OSError('cannot load library libpango-1.0-0')\n")
    return {**os.environ, "PYTHONPATH": str(folder)}


def pages_of(printed):
    """Return the words of each page of a PDF, which is given as a file or as bytes."""
    document = pypdfium2.PdfDocument(printed)
    try:
        return [page.get_textpage().get_text_range().replace("\ufffe", "-").replace("\r\n", "\n") for page in document]
    finally:
        document.close()


def folded(text):
    """Return a text with its white space folded."""
    return " ".join(text.split())


def text_of(printed):
    """Return the words of a PDF, white space folded."""
    return folded(" ".join(pages_of(printed)))
