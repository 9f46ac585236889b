"""One bench: the one step, what is asked for, when a part is away, when passes are enough."""
