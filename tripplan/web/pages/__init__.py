"""What is read: one function a page, each with its JSON twin."""
