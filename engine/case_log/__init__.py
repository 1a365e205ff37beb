"""The case log on disk: SQLite or PostgreSQL, its migrations, integrity, exchange and sums."""
