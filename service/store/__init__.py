"""The store: tables and the functions that read and write them.

Knows both databases, SQLite and PostgreSQL; refuses to know rules of the kitchen, HTTP and the
clock. Functions take a session first and never commit.
"""
