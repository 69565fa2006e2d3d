"""Figures, drawn from tables alone."""
