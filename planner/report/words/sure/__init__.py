"""How sure a plan is, in words: its promise, and the odds of its returns."""
