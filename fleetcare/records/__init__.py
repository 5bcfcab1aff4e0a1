"""What a record is, spelled once."""
