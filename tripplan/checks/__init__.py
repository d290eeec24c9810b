"""What contradicts what in the records: passes that each give the problems they find.

Comes in: records that are well-formed one by one. Goes out: Problems. Decided here: which records cannot both be
true, or cannot be planned from.
"""
