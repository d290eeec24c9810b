"""Pictures that only the page has: what moved."""
