"""Long lines of a terminal: wrapped, and what follows is set in."""

from tripplan.sheets.text_lines import COLUMNS, folded


def test_a_long_line_is_wrapped_and_what_follows_is_set_in_further() -> None:
    """If not, the rows behind a verdict would run over the edge and begin anywhere."""
    words = " ".join(f"word{n}" for n in range(40))
    told = folded(f"head\n\n  {words}\n  short  [row 2]").splitlines()
    assert told[:2] == ["head", ""] and told[-1] == "  short  [row 2]"
    assert told[2].startswith("  word0 ") and all(line.startswith("      word") for line in told[3:-1])
    assert all(len(line) <= COLUMNS for line in told)
    assert " ".join(" ".join(told[2:-1]).split()) == words
