"""The façade, by what a person came to do: each function is a list of calls, no sums."""
