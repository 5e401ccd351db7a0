"""The page: one HTML file that needs nothing beside it, and runs no script."""

from base64 import b64encode
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib import resources

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from sessions.ruling.timing import seconds_text
from sessions.sanitize import sanitize
from tui.documents.pages import RulingDocument
from tui.documents.stills import Stills
from tui.documents.view import view


def html(document: RulingDocument, pictures: Mapping[str, Stills]) -> str:
    """The document as HTML; ``pictures`` holds the stills of every exhibit by its name."""
    # the style sheet is the program's own text, the only one that is not escaped
    return _template().render(
        document=document, page=view(document), pictures=pictures, css=Markup(_read("ruling.css"))
    )


@cache
def _template() -> Template:
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(data_uri=_data_uri, share=_share)
    return environment.from_string(_read("ruling.html.j2"))


def _read(name: str) -> str:
    return resources.files("tui.documents").joinpath(name).read_text(encoding="utf-8")


def _shown(value: object) -> object:
    """Text from outside with its hidden characters shown; escaping comes after."""
    return sanitize(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _data_uri(data: bytes) -> str:
    return f"data:image/jpeg;base64,{b64encode(data).decode('ascii')}"


def _share(part: int, whole: int) -> str:
    """A part of a whole in per cent."""
    return seconds_text(Fraction(100 * part, whole), 2)
