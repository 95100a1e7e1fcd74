"""The record on disk: one behaviour over SQLite today and PostgreSQL later."""
