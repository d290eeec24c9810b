"""The worksheet as a page and as plain text."""
