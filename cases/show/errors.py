"""What goes wrong when a picture is drawn."""

from __future__ import annotations


class PictureError(Exception):
    """The picture could not be drawn; the message says what to do.  Numbers and tables are not touched."""
