"""Papers that travel with seed and plants, as PDFs: documents, delivery notes, labels, passports."""

from nursery.documents.papers.document import document_pdf
from nursery.documents.papers.label import label_pdf
from nursery.documents.papers.passport import passport_pdf
from nursery.documents.papers.printed import Passport, Printed, Section

__all__ = ["Passport", "Printed", "Section", "document_pdf", "label_pdf", "passport_pdf"]
