"""The job's types, its JSON, its schema, and files written whole or not at all."""
