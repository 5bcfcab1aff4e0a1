"""The question of a hire: may it go, can it be booked."""
