"""An airplane as published: typed and frozen, every value with its source, unit and place."""
