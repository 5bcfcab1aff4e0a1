"""Lets `python -m fleetcare` stand for the `fleetcare` command."""

from fleetcare.cli.app import main

if __name__ == "__main__":
    main()
