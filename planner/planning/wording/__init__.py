"""An answer in dates, names and words: the plan that people read."""
