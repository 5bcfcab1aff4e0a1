"""fleetcare: may this motorhome go out on hire, and what falls due."""

__version__ = "0.16.0"
