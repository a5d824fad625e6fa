"""Word documents (`.docx`): a plan read out of one, and findings and repairs written into it.

The package is opened by python-docx, and its XML walked here: the library's own text leaves out tracked insertions,
content controls, fields and some tables, and a reader for a safety check must know of all that stands in a plan. What
is not understood there is named, and the plan is then unread. Import this only for a Word document.
"""

from groundlint.reading.word.opening import NoDocumentError
from groundlint.reading.word.plan import Document, read_document

__all__ = ["Document", "NoDocumentError", "read_document"]
