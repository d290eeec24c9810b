"""The calendar files and the register that keeps their identities over re-plans."""
