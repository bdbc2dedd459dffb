"""`wireslot scene`: pictures of the wire in its attachments, a window, and a page to turn it in a browser."""
