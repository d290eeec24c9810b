"""Saving: tried in a shadow, written whole, remembered, and taken back on request."""
