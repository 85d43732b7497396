"""Charts: one definition each, from the comparison's numbers, for print, screen and film."""
