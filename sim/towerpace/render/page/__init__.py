"""The report: what it says, as a page, a PDF and a workbook."""
