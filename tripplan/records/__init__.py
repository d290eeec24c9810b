"""What comes in and what goes out, as data: facts, plan, catalogue, words, problems, units, look-ups.

Comes in: nothing; every other room imports from here. Goes out: frozen records that know where they came from,
the table rows with source and basis, the Problem, and the reading of one cell. Decided here: what a fact is and
which words it may use. Nothing is worked out from two records.
"""
