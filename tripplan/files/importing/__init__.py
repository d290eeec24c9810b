"""Somebody's old spreadsheet: every row ends as a record, a question or a stated skip.

`files/importing/` goes from the file to records in this order; each step either knows, asks or says what it skips:
`grid` (sheets of text), `columns` with `distance` (km or miles) and `ticks` (grids of jobs), `raw` (rows by column),
`headings` (unit and year named around the rows), `rows` with `work`, `findings`, `clauses`, `match` and `corners` (what one row says),
`odometer` (rows held against each other), `report`. Rules that the tests hold:

- Every word of a part must be known, and every part of a cell comes to work, a finding or a doubt; none is dropped unsaid.
- A verb binds its own part, over `and` the list it stands before or behind; over a comma alone it only may, and is asked.
- A side or an end of what is kept as a whole is asked (was all of it done?), unless all are named or the end is its own:
  two new shocks at the rear are no renewal of four, and grease in the front shaft is none in the rear one.
- A finding that is not sure keeps its work back, since an answer has to find the row still open.
- A row that is asked is evidence all the same: its reading counts when others are held against it.
- The questions file carries what is known of each row (day, unit), and the mapping file leaves open what was asked.

`tests/files/importing/corpus/` holds tables in the styles people use, each with the records a person would write, by hand;
`pytest tests/files/importing/test_corpus.py -s` prints precision, recall, questions and what is silently wrong (must be 0).
New styles go in there first, with their records written before the importer is run.
"""
