"""Somebody's old spreadsheet: every row ends as a record, a question or a stated skip.

In come the file, the rig, what the history holds already and the owner's mapping file; out go records, questions and
skips that add up to the rows of the table. Decided here: what each column, row and clause means, where that is sure.
"""
