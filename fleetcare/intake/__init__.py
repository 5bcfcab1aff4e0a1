"""Words in: what was typed, read strictly against the rulebook's kinds."""
