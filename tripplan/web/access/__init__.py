"""Who may open the page: keys, tokens, what a browser is told to refuse."""
