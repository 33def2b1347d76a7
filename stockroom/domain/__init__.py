"""The trade itself: values in, values out. No database, screen, file, clock or network."""
