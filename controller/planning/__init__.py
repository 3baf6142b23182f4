"""What to do with this board: woods, resins and a batch sheet with times and limits."""
