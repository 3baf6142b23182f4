"""Warmdraw: warm a board, coat it as it cools, hold it under vacuum, and know what is happening."""
