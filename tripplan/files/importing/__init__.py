"""Somebody's old spreadsheet: every row ends as a record, a question or a stated skip."""
