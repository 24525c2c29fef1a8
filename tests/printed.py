"""What a PDF says, as its reader sees it."""

import pypdfium2


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
