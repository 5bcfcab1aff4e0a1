"""The only home of SQLAlchemy: tables, opening, appending, reading."""
