"""Links of the book that lead out of docs/: a reader of the book has no repository.

They stay links for who reads the Markdown there; in the book they become the path as text.
"""

import re
from typing import Any

OUTWARD = re.compile(r"\[([^\]]+)\]\(\.\./([^)#\s]+)(#[^)\s]*)?\)")


#: Wide tables need the room of the page's own contents.
WIDE = {"CHECKS.md", "ERRORS.md", "FIELDS.md", "RESULTS.md", "SOURCES.md"}


def on_page_markdown(markdown: str, page: Any, **_: object) -> str:
    """Replaces every link that begins with ``../``."""
    if page.file.src_uri in WIDE:
        page.meta["hide"] = ["toc"]

    def plain(match: re.Match[str]) -> str:
        text, path = match[1], match[2]
        return text if path in text else f"{text} (`{path}` in the repository)"

    return OUTWARD.sub(plain, markdown)
