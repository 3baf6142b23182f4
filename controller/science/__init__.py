"""Formulas of the job, SI floats in and out, each with its unit, range and source."""
