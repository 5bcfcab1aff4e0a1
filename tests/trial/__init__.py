"""Scripted trials: how many commands a person needs, from paper to answer."""
