"""The command line: words to types, one call to the desk, print."""
