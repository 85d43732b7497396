"""A folder of files as one thing."""
