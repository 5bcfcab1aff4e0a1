"""Reports: judgements in, frozen rows out. Nothing is printed here."""
