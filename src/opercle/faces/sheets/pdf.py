"""A sheet as PDF, through WeasyPrint (extra ``pdf``), which needs Pango from the system.

Knows: what is missing and how to get it; the size of the paper; that nothing outside the page is
read, for it carries its font and drawings within it.
Refuses to know: what is on the sheet.
"""

import contextlib
import io
import re
import warnings
from typing import Any

from opercle.errors import OpercleError

PAPERS = {"a4": "A4", "letter": "letter"}
_HTML = "Or take --to html and print it from a browser."
_EXTRA = f"Install the extra: pip install 'opercle[pdf]'. {_HTML}"
_PANGO = (
    "Install Pango from the system: apt-get install libpango-1.0-0 libpangoft2-1.0-0, dnf install "
    f"pango, or brew install pango. {_HTML}"
)

_HALO = re.compile(
    r' stroke="[^"]*"(?: stroke-width="[^"]*")? paint-order="stroke"(?: stroke-linejoin="[^"]*")?'
)
"""A white line behind a letter; WeasyPrint knows no paint-order and draws it over the letter."""


def made(html: str, paper: str) -> bytes:
    """The page as PDF on ``a4`` or ``letter``.

    Raises OpercleError where WeasyPrint or Pango is missing. The same page gives the same bytes.
    """
    weasy = _weasyprint()
    size = weasy.CSS(string=f"@page {{ size: {PAPERS[paper]} }}")
    within = weasy.urls.URLFetcher(allowed_protocols={"data"})
    page = weasy.HTML(string=_HALO.sub("", html), url_fetcher=within)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        written: bytes = page.write_pdf(stylesheets=[size], pdf_identifier=b"opercle")
    return written


def _weasyprint() -> Any:
    """The library; what it prints on a failed import stays off standard output."""
    try:
        with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
            warnings.simplefilter("ignore", DeprecationWarning)
            import weasyprint
    except ImportError:
        raise OpercleError("PDF is not installed.", "weasyprint", _EXTRA) from None
    except OSError as error:
        first = str(error).splitlines()[0] if str(error) else "a library is missing"
        raise OpercleError(
            f"PDF needs Pango, which this system lacks: {first}", "weasyprint", _PANGO
        ) from None
    return weasyprint
