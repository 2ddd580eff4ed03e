"""Paragraphs of the manual that are read from right to left."""

from __future__ import annotations

import io

from pypdf import PdfReader
from reportlab.platypus import SimpleDocTemplate

from shaftscore.make.manual.markup import plain_para

WORDS = ("אחת", "שתיים", "שלוש", "ארבע", "חמש", "שש", "שבע", "שמונה", "תשע", "עשר")
"""One to ten, as they are read."""


def test_a_long_name_from_right_to_left_begins_in_its_first_line() -> None:
    """What is read first is at the right end of the first line, what is read last in the last line."""
    written = io.BytesIO()
    page = SimpleDocTemplate(written, pagesize=(120.0, 200.0), leftMargin=10, rightMargin=10)
    page.build([plain_para(" ".join(WORDS))])
    lines = PdfReader(written).pages[0].extract_text().split("\n")
    assert len(lines) > 1
    assert [word for line in lines for word in line.split()] == list(WORDS)  # pypdf turns each line back
