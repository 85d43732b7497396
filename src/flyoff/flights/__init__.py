"""A day as flown: the flight file, recorder logs, their repairs, and the steady conditions in them."""
