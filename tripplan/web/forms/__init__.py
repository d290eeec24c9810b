"""What is filled in: fields, tables, and the first visit."""
