"""The façade, by what a person came to do. Each function is a list of calls; no sums are done here."""
