"""A walkthrough of one dryer: heat balance from readings, what the model expected, causes of the gap, what to read next."""
