"""One van's facts arranged; knows no rule."""
