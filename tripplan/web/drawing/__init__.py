"""Pictures that only the page has: the side view and what moved."""
