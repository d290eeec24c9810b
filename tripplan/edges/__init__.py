"""The only places with files, clock and sockets: readers, writers, command line."""
