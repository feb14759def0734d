"""Floor 3: what each test would read under each hypothesis, over all that is not known of a vehicle."""
