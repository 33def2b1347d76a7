"""A shop's own files in and out, checked at the border."""
