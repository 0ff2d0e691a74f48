"""What goes wrong while a document is made."""


class DocumentError(Exception):
    """A document that could not be made as it should be; nothing half-made is handed out."""
