"""Everything handed to a person: worksheet, lists, calendar, cards, plan.json, pictures, and all words.

Comes in: a plan. Goes out: text and bytes. Decided here: wording and layout; nothing is computed and nothing made
here is ever read back for its meaning.
"""
