"""A batch on paper: its record as HTML and CSV."""
