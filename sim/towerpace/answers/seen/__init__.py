"""The site as its record shows it at a data date, beside what befell it."""
