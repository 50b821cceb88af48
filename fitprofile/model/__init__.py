"""What a person writes down: riders, bikes and the shop's tolerances. Nothing is solved here."""
