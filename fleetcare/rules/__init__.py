"""Rules: code that turns a van's records into days. No data, no database, no clock."""
