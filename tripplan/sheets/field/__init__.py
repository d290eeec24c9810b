"""`field.html`: the plan on a phone, in one file, without a laptop, a signal or a server.

Comes in: a finished plan, its cards, and the situation it was made from. Goes out: one page that asks for nothing,
reads as the sheet without script, keeps what is recorded on the phone, and says at the bank what a crossing calls
for. Decided here: what the phone is told and how it is shown. The rules of the water are not written a second time:
`water_rules.py` hands on the tables and levels that `water/` uses, and `water.js` does nothing but read them.
The text in which the records come home is read in `files/field_records/`.
"""
