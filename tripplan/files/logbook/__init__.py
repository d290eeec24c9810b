"""One file that holds a trip folder and loses no record."""
