"""One airplane at any condition, from what is known of it."""
