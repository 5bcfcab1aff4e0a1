"""A second opinion on every verdict: a day-by-day simulation that shares no code with the rules."""
