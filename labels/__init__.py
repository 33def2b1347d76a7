"""Everything that goes on paper: plain data in, PDF bytes out. Knows nothing of the shop."""
