"""The pages: a rim for browsers, as the terminal is one."""
